"""One candidate taken apart: findings, causes of its holes, directivity, curves, impedance, drivers."""

from collections.abc import Iterable

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.ground.findings import Finding, Level
from forehear.judge import Beamwidth
from forehear.publish.markup import Markup, behind, element, figure, joined, table
from forehear.publish.overview import SIGNS
from forehear.publish.pictures.axes import FREQUENCY_TICKS
from forehear.publish.pictures.bars import signed_bars
from forehear.publish.pictures.level_map import level_map, orbit_rows
from forehear.publish.pictures.lines import Line, Mark, Rule, Strip, chart, level_range, level_step
from forehear.publish.scene import rated_impedance_ohm
from forehear.publish.tables import curve_table
from forehear.publish.words import NO_BREAK_SPACE, decibels_of, frequency, number, quantity, typeset
from forehear.spine.prediction import HoleStory, Orbit, Prediction, RuleOfThumb, Trace

STANDARD_LOOKS = {
    "on axis": "l2 plain", "listening window": "l0", "early reflections": "l1",
    "in-room estimate": "l4", "sound power": "l5",
}  # fmt: skip
STORIES_SHOWN = 6
RATED_SHARE = 0.8  # IEC 60268-5: the impedance may not fall under 80 % of its rated value
PREFERENCE_LIMITS = (
    "one published regression, from memory, over listening tests with one speaker at a time in one room; "
    "good to about one point there; it knows nothing of these seats, this room or level"
)


def candidate(prediction: Prediction, name: str) -> Markup:
    """Return everything about one candidate."""
    pictures = [
        _orbit_map(prediction, name, horizontal=True),
        _orbit_map(prediction, name, horizontal=False),
        _standard_curves(prediction, name),
        _impedance(prediction, name),
        _voltages(prediction, name),
        _numbers(prediction),
    ]
    return joined(
        [
            element("div", element("h3", "Findings"), findings_list(prediction.findings), class_="card"),
            _causes(prediction),
            element("div", *pictures, class_="grid two"),
            _rules(prediction.rules),
        ]
    )


def findings_list(findings: tuple[Finding, ...]) -> Markup:
    """List findings, the gravest first."""
    if not findings:
        return element("p", "Nothing to check.")
    ranked = sorted(findings, key=lambda finding: list(Level).index(finding.level))
    return element("ul", *(_finding(finding) for finding in ranked), class_="findings")


def _finding(finding: Finding) -> Markup:
    sign = element("span", f"{SIGNS[finding.level]} {finding.level}", class_=str(finding.level))
    if finding.level is Level.FINE:  # nothing to do: one paragraph
        cause = (
            element("span", f" Cause: {typeset(finding.cause)}.", class_="quiet")
            if finding.cause
            else Markup("")
        )
        return element("li", sign, element("div", typeset(finding.what), cause), class_="fine-row")
    told = [
        piece
        for label, words in (
            ("cause", typeset(finding.cause)),
            ("cure", typeset(finding.cure)),
            ("where", finding.where),
        )
        if words
        for piece in (element("dt", label), element("dd", words, class_=label))
    ]
    more = element("dl", *told) if told else Markup("")
    return element("li", sign, element("div", element("span", typeset(finding.what)), more))


def _causes(prediction: Prediction) -> Markup:
    told = [(seat, story) for seat in prediction.seats for story in seat.stories]
    if not told:
        return Markup("")
    told.sort(key=lambda pair: -pair[1].depth_in_room_db)  # what remains in the room comes first
    longest = max(1.0, *(max(_worths(story).values(), default=1.0) for _, story in told))
    several = len({seat.placement for seat in prediction.seats}) > 1
    cards = [
        _story(f"{seat.name}, hearing {seat.placement}" if several else seat.name, story, longest)
        for seat, story in told
    ]
    note = (
        "Each cause is removed from the computed speaker, alone and with the others in every combination; "
        "its bar is its fair share of the hole in the direct sound. A bar to the left fills."
    )
    heading = element("h3", "Why the direct sound has holes")
    shown = element("div", *cards[:STORIES_SHOWN], class_="grid three")
    rest = element("div", *cards[STORIES_SHOWN:], class_="grid three")
    more = behind(f"{len(cards) - STORIES_SHOWN} more", rest) if len(cards) > STORIES_SHOWN else Markup("")
    return joined([heading, element("p", note, class_="note"), shown, more])


def _worths(story: HoleStory) -> dict[str, float]:
    worths = {share.cause: share.share_db for share in story.shares}
    if abs(story.rest_db) >= 0.05:
        worths["none of these"] = story.rest_db
    return worths


def _story(where: str, story: HoleStory, longest_db: float) -> Markup:
    hole = story.hole
    caption = joined(
        [
            where,
            " ",
            element("small", f"{number(-hole.depth_db)} dB at {frequency(hole.frequency_hz)}, direct"),
        ]
    )
    worths = _worths(story)
    picture = signed_bars(f"Causes of the hole at {where}", list(worths.items()), longest_db)
    rows = [[cause, quantity(worth, "dB", 1)] for cause, worth in worths.items()]
    rows += [[f"filled by {fill.surface}", quantity(fill.fill_db, "dB", 1)] for fill in story.fills]
    return figure(caption, picture, table(["cause", "worth"], rows), _in_the_room(story))


def _in_the_room(story: HoleStory) -> str:
    """Tell what the reflections make of a direct hole."""
    left = story.depth_in_room_db
    remains = (
        f"In the room {quantity(left, 'dB')} of it remain"
        if left >= 0.5
        else "In the room nothing of it remains"
    )
    fills = [f"{fill.surface} {quantity(fill.fill_db, 'dB')}" for fill in story.fills if fill.fill_db >= 0.5]
    return f"{remains}; reflections that fill it most: {', '.join(fills[:3])}." if fills else f"{remains}."


def _orbit_map(prediction: Prediction, name: str, *, horizontal: bool) -> Markup:
    orbit = prediction.horizontal if horizontal else prediction.vertical
    relative = orbit.level_db - orbit.level_db[ORBIT_ANGLES_DEG == 0.0]
    kind = "Horizontal" if horizontal else "Vertical"
    ends = ("right", "left") if horizontal else ("above", "below")
    picture = level_map(f"{kind} directivity of {name}", relative, minus_six_lines(orbit.beamwidth), ends)
    heads = ["angle", *(f"{tick} Hz" for tick in FREQUENCY_TICKS.values())]
    caption = joined([f"{kind} orbit ", element("small", "level re on axis (0 dB) at the same frequency")])
    sides = "Right and left are the listener’s. " if horizontal else ""
    note = (
        f"White lines: first 6 dB below on axis. {coverage_words(orbit, horizontal=horizontal)} {sides}"
        f"Beyond 90° estimated{_from_where(prediction.trace)}."
    )
    return figure(caption, picture, table(heads, orbit_rows(relative, prediction.grid.frequency_hz)), note)


def _from_where(trace: Trace) -> str:
    """Say from which frequency upward what leaves behind is estimated; nothing where it is everywhere."""
    return f" from {frequency(trace.bands[-1].from_hz)} upward" if len(trace.bands) > 1 else ""


def _standard_curves(prediction: Prediction, name: str) -> Markup:
    curves = prediction.curves
    levels = {
        "on axis": curves.on_axis_db,
        "listening window": curves.listening_window_db,
        "early reflections": curves.early_reflections_db,
        "in-room estimate": curves.estimated_in_room_db,
        "sound power": curves.sound_power_db,
    }
    indices = {
        "sound power": curves.directivity_index_db,
        "early reflections": curves.early_reflections_directivity_index_db,
    }
    shown_db = level_range(list(levels.values()), prediction.grid)
    strips = [
        Strip(
            [Line(what, level, STANDARD_LOOKS[what]) for what, level in levels.items()],
            *shown_db, level_step(shown_db), " dB",
        ),
        Strip([Line(what, index, STANDARD_LOOKS[what]) for what, index in indices.items()],
              -2.0, _even(indices.values()), 4.0, " dB", 90.0),
    ]  # fmt: skip
    estimated = f"estimated{_from_where(prediction.trace)}"
    caption = joined(
        [
            "Standard curves ",
            element("small", f"2.83 V, 1 m; below them the directivity indices; rear {estimated}"),
        ]
    )
    shown = {**levels, "sound power, whole sphere": prediction.sound_power_sphere_db}
    shown |= {f"directivity index, {what}": index for what, index in indices.items()}
    picture = chart(f"Standard curves of {name}", prediction.grid.frequency_hz, strips, label_px=142.0)
    return figure(caption, picture, curve_table(prediction.grid, shown, "dB"))


def _impedance(prediction: Prediction, name: str) -> Markup:
    magnitude = np.abs(prediction.impedance_ohm)
    phase = np.degrees(np.angle(prediction.impedance_ohm))
    lowest = int(np.argmin(magnitude))
    at = float(prediction.grid.frequency_hz[lowest])
    words = f"dot: lowest {quantity(float(magnitude[lowest]), 'ohm', 1)} at {frequency(at)}"
    rated = rated_impedance_ohm(prediction.design)
    rules = [] if rated is None else [Rule(RATED_SHARE * rated, f"80 % of the rated {number(rated)} ohm")]
    high = 10.0 * float(np.ceil(min(float(np.max(magnitude)), 80.0) / 10.0))
    step = 10.0 if high > 20 else 5.0
    mark = Mark(at, float(magnitude[lowest]), "", "l0")
    strips = [
        Strip(
            [Line("magnitude", magnitude, "l0", labelled=False)], 0.0, high, step, " ohm",
            marks=[mark], rules=rules,
        ),
        Strip([Line("phase", phase, "l1 plain", labelled=False)], -90.0, 90.0, 45.0, "°", 90.0),
    ]  # fmt: skip
    caption = joined(["Impedance ", element("small", f"phase below; {words}")])
    picture = chart(f"Impedance of {name}", prediction.grid.frequency_hz, strips, label_px=14.0)
    return figure(caption, picture, curve_table(prediction.grid, {"ohm": magnitude, "degrees": phase}, ""))


def _even(curves: Iterable[FloatArray]) -> float:
    """Top of the axis of the directivity indices, in even numbers, 14 dB at least."""
    return max(14.0, 2.0 * float(np.ceil(max(float(np.max(curve)) for curve in curves) / 2)))


def _voltages(prediction: Prediction, name: str) -> Markup:
    shared: dict[bytes, list[int]] = {}
    for index, driver in enumerate(prediction.drivers):
        shared.setdefault(np.round(decibels_of(driver.volts_v), 3).tobytes(), []).append(index)
    looks = ("l0", "l1", "l2", "l4", "l5", "l3")
    curves: dict[str, FloatArray] = {}
    for members in shared.values():
        first = prediction.drivers[members[0]]
        label = first.name if len(members) == 1 else f"{first.way}, {len(members)} drivers"
        curves[label] = decibels_of(prediction.drivers[members[0]].volts_v)
    lines = [
        Line(label, level, looks[rank % len(looks)]) for rank, (label, level) in enumerate(curves.items())
    ]
    high = 5.0 * float(np.ceil(max(5.0, *(float(np.max(level)) for level in curves.values())) / 5.0))
    strip = Strip(lines, high - 45.0, high, 10.0, " dB", 180.0)
    caption = joined(["Voltage at the drivers ", element("small", "re the speaker’s terminals")])
    picture = chart(f"Driver voltages of {name}", prediction.grid.frequency_hz, [strip], label_px=118.0)
    return figure(caption, picture, curve_table(prediction.grid, curves, "dB"))


def _numbers(prediction: Prediction) -> Markup:
    excursion = max(float(np.max(driver.excursion_m)) for driver in prediction.drivers)
    limits = element("p", f"Preference rating: {PREFERENCE_LIMITS}.", class_="note")
    crossings = [frequency(at) if at else "none on axis" for at in prediction.crossings_hz]
    rows = [
        ("spread among seats", quantity(prediction.spread_among_seats_db, "dB", 1)),
        ("crossings", ", ".join(crossings) or "none"),
        ("bass limit (sound power 6 dB below the listening window)", frequency(prediction.bass_limit_hz)),
        ("largest excursion of a diaphragm at 2.83 V", quantity(1000 * excursion, "mm", 1)),
        ("preference rating (Olive 2004)", number(prediction.preference.rating, 1)),
    ]
    if prediction.price is not None:
        rows.append(
            ("price of drivers and network", quantity(prediction.price, prediction.design.brief.currency))
        )
    return element(
        "div", element("h3", "In numbers"), table(["", ""], rows, class_="words"), limits, class_="card"
    )


def _rules(rules: tuple[RuleOfThumb, ...]) -> Markup:
    """Set the rules of the trade beside the exact answers."""
    if not rules:
        return Markup("")
    rows = ([typeset(words) for words in (rule.what, rule.rule, rule.exact)] for rule in rules)
    heading = element("h3", "Rules of thumb, and the exact answer")
    return element("div", heading, table(["", "rule", "exact"], rows, class_="words rules"), class_="card")


def coverage_words(orbit: Orbit, *, horizontal: bool) -> str:
    """How far off axis the whole speech range holds, in words."""
    sides = ("right", "left") if horizontal else ("upward", "downward")
    coverage = orbit.coverage
    ends = (
        (sides[0], coverage.positive_deg, coverage.positive_limit_hz),
        (sides[1], coverage.negative_deg, coverage.negative_limit_hz),
    )
    told = [
        f"{quantity(angle, '°').replace(NO_BREAK_SPACE, '')} {side}"
        + (f" (ends at {frequency(limit)})" if limit else "")
        for side, angle, limit in ends
    ]
    return f"Speech range covered to {' and '.join(told)}."


def minus_six_lines(beamwidth: Beamwidth) -> tuple[FloatArray, FloatArray]:
    """Return the angles of both edges of the beam over frequency; not a number where it has none."""
    right = np.where(beamwidth.positive_deg < 180.0, beamwidth.positive_deg, np.nan)
    left = np.where(beamwidth.negative_deg < 180.0, -beamwidth.negative_deg, np.nan)
    return right, left
