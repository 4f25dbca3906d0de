"""How sound arrives at each seat: straight, early and late, and how it dies away by octave."""

from collections.abc import Sequence

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge import SPEECH_OCTAVE_HZ
from forehear.publish.heard import seat_label
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.pictures.axes import Ticks
from forehear.publish.pictures.level_bars import level_bars
from forehear.publish.pictures.lines import Line, Rule, Strip, chart
from forehear.publish.turning import SEAT_LOOKS
from forehear.publish.words import frequency, number, quantity
from forehear.spine.arriving import speech_parts, still_to_come_db
from forehear.spine.prediction import Prediction, SpeechResult

SHOWN_OCTAVES_HZ = (250, 1000, 4000)
TOLD_S = (0.0, 0.05, 0.1, 0.2)
LAST_S, LOWEST_DB = 0.4, -40.0
Heard = Sequence[tuple[str, SpeechResult]]


def arriving_figures(prediction: Prediction, name: str) -> list[Markup]:
    """Draw the parts of the sound at every seat, and its decay."""
    heard = [(seat_label(seat, prediction.seats), seat.speech) for seat in prediction.seats if seat.speech]
    return [_parts(heard, name), _decay(heard, name)] if heard else []


def _parts(heard: Heard, name: str) -> Markup:
    groups, rows = [], []
    for label, speech in heard:
        parts = speech_parts(speech)
        told = [
            ("direct", parts.direct_db_a),
            ("early", parts.early_db_a),
            ("late", parts.late_db_a),
            ("noise", speech.noise_db_a),
        ]
        groups.append((label, told))
        rows.append([label, *(quantity(level, "dB(A)", 1) for _, level in told), *_whole(speech)])
    words = "level of speech by when it arrives; early: reflections up to 50 ms later, late: the rest"
    caption = joined(["How speech arrives ", element("small", words)])
    picture = level_bars(f"Direct, early and late speech, and noise, at every seat: {name}", groups, " dB(A)")
    return figure(
        caption, picture, table(["seat", "direct", "early", "late", "noise", "all speech", "C50"], rows)
    )


def _whole(speech: SpeechResult) -> tuple[str, str]:
    return quantity(speech.speech_db_a, "dB(A)", 1), quantity(speech.c50_db, "dB", 1)


def _decay(heard: Heard, name: str) -> Markup:
    time_s = _edges_s(heard)
    along = 1000 * np.concatenate([[0.0], time_s])  # twice 0 ms: before and after the direct sound
    curves = {
        label: np.pad(still_to_come_db(speech.decay, time_s), ((0, 0), (1, 0))) for label, speech in heard
    }
    strips = []
    for hz in SHOWN_OCTAVES_HZ:
        octave = SPEECH_OCTAVE_HZ.index(hz)
        lines = [
            Line(label, _cut(curve[octave]), SEAT_LOOKS[index % len(SEAT_LOOKS)], labelled=False)
            for index, (label, curve) in enumerate(curves.items())
        ]
        late = Rule(50.0, f"{frequency(float(hz))}, late from here")
        strips.append(Strip(lines, LOWEST_DB, 0.0, 10.0, " dB", 112.0, uprights=[late]))
    ticks = Ticks(0.0, 1000 * LAST_S, {0.0: "0", 100.0: "100", 200.0: "200", 300.0: "300", 400.0: "400 ms"})
    words = "what is still to come after a time, re all that arrives; the first step is the direct sound"
    caption = joined(["Decay by octave ", element("small", words)])
    picture = joined(
        [
            _key([label for label, _ in heard]),
            chart(f"Decay at every seat: {name}", along, strips, label_px=30.0, ticks=ticks),
        ]
    )
    return figure(caption, picture, _decay_table(heard))


def _edges_s(heard: Heard) -> FloatArray:
    """Return the times that the energy is known at: the edges of the bins; in a bin it is only spread evenly."""
    edges = np.unique(np.concatenate([[0.0, LAST_S], *(speech.decay.edges_s for _, speech in heard)]))
    inside: FloatArray = edges[edges <= LAST_S]
    return inside


def _cut(curve_db: FloatArray) -> FloatArray:
    """End a curve where it leaves the picture."""
    below = curve_db < LOWEST_DB
    below[int(np.argmax(below))] = False  # the first one outside ends the line at the frame
    return np.where(below, np.nan, curve_db)


def _key(labels: Sequence[str]) -> Markup:
    """Which line is whose."""
    items = []
    for index, label in enumerate(labels):
        line = element("polyline", points="1,6 39,6", class_=f"line {SEAT_LOOKS[index % len(SEAT_LOOKS)]}")
        drawn = element("svg", line, viewBox="0 0 40 12", role="img", aria_label=f"line of {label}")
        items.append(element("li", drawn, label))
    return element("ul", *items, class_="legend")


def _decay_table(heard: Heard) -> Markup:
    heads = [
        "octave",
        "seat",
        "C50",
        *(f"after {number(1000 * at)} ms" for at in TOLD_S),
        "decay time at the end",
    ]
    rows = []
    for octave, hz in enumerate(SPEECH_OCTAVE_HZ):
        for label, speech in heard:
            left = still_to_come_db(speech.decay, np.array(TOLD_S))[octave]
            rows.append(
                [
                    frequency(float(hz)),
                    label,
                    quantity(float(speech.c50_octave_db[octave]), "dB", 1),
                    *(quantity(float(level), "dB", 1) for level in left),
                    quantity(float(speech.decay.decay_time_s[octave]), "s", 2),
                ]
            )
    return table(heads, rows)
