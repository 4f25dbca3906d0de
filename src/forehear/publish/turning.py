"""The speaker turned: what every seat gains and loses, as one picture and in words."""

from collections.abc import Sequence

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge import C50_STEP, SPREAD_STEP, difference_words
from forehear.judge.noticeable import SAME
from forehear.publish.heard import seat_label
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.pictures.axes import Ticks, even_ticks
from forehear.publish.pictures.lines import Line, Rule, Strip, chart
from forehear.publish.words import number, quantity
from forehear.spine.compare import main_seats
from forehear.spine.prediction import Prediction, Turning

SEAT_LOOKS = ("l0", "l1", "l2", "l4", "l5", "l3")  # beyond six seats they repeat; the names tell them apart
LABEL_PX = 128.0


def turning_figure(prediction: Prediction, name: str, turning: Turning) -> Markup:
    """Draw spread and clarity of every seat against the turn."""
    labels = [seat_label(seat, prediction.seats) for seat in prediction.seats]
    best = float(turning.turn_deg[best_turn(prediction, turning)])
    uprights = [Rule(0.0, "now")] + ([Rule(best, "best")] if best else [])
    strips = [
        _strip(labels, turning.spread_db, uprights, 190.0),
        _strip(labels, turning.c50_db, [Rule(rule.value, "") for rule in uprights], 110.0),
    ]
    turns = {float(turn): f"{number(turn)}°" for turn in turning.turn_deg[::2]}
    ticks = Ticks(float(turning.turn_deg[0]), float(turning.turn_deg[-1]), turns)
    picture = chart(
        f"Spread and C50 at every seat against the turn of {name}",
        turning.turn_deg,
        strips,
        label_px=LABEL_PX,
        ticks=ticks,
    )
    words = "spread, below it C50; counter-clockwise on the plan is positive"
    caption = joined(["Turned from how it stands ", element("small", words)])
    return figure(caption, picture, _table(labels, turning))


def turning_words(prediction: Prediction, turning: Turning) -> Markup:
    """Say what turning by the best angle costs and gains each seat."""
    now, best = now_turn(turning), best_turn(prediction, turning)
    if best == now:
        words = "No turn makes the main seats evener together than the way it stands."
        return element("p", words)
    mean_db = _main_mean_db(prediction, turning)
    lead = (
        f"The main seats are evenest with the speaker turned by {turn_words(float(turning.turn_deg[best]))}: "
        f"their mean spread falls from {quantity(mean_db[now], 'dB', 1)} to {quantity(mean_db[best], 'dB', 1)}, "
        f"{_step_words(float(mean_db[best]), float(mean_db[now]))}."
    )
    items = [
        element("li", f"{seat_label(seat, prediction.seats)}: {_seat_words(turning, index, now, best)}.")
        for index, seat in enumerate(prediction.seats)
    ]
    return joined([element("p", lead), element("ul", *items)])


def turn_words(turn_deg: float) -> str:
    """Name a turn as the plan shows it.

    Examples
    --------
    >>> turn_words(-20.0)
    '20° clockwise'
    """
    return f"{number(abs(turn_deg))}° {'counter-clockwise' if turn_deg > 0 else 'clockwise'}"


def now_turn(turning: Turning) -> int:
    """Return the place of the way it stands."""
    return int(np.argmin(np.abs(turning.turn_deg)))


def best_turn(prediction: Prediction, turning: Turning) -> int:
    """Return the place of the turn with the least mean spread over the main seats; the least turn of equals."""
    mean_db = np.round(_main_mean_db(prediction, turning), 2)
    order = np.lexsort((np.abs(turning.turn_deg), mean_db))
    return int(order[0])


def _main_mean_db(prediction: Prediction, turning: Turning) -> FloatArray:
    chosen = main_seats(prediction)
    rows = [index for index, seat in enumerate(prediction.seats) if seat in chosen]
    mean: FloatArray = turning.spread_db[rows].mean(axis=0)
    return mean


def _step_words(after_db: float, before_db: float) -> str:
    words = difference_words(after_db, before_db, SPREAD_STEP)
    return words if words == SAME else "which you could hear"


def _seat_words(turning: Turning, index: int, now: int, best: int) -> str:
    """Tell what one seat gains or loses."""
    told = []
    for name, values, step, better in (
        ("spread", turning.spread_db, SPREAD_STEP, -1.0),
        ("C50", turning.c50_db, C50_STEP, 1.0),
    ):
        before, after = float(values[index, now]), float(values[index, best])
        words = difference_words(after, before, step)
        if words != SAME:
            words = "gained" if (after - before) * better > 0 else "lost"
        told.append(f"{name} {number(before, 1)} to {quantity(after, 'dB', 1)} ({words})")
    return ", ".join(told)


def _strip(labels: Sequence[str], values: FloatArray, uprights: Sequence[Rule], height_px: float) -> Strip:
    ticks = even_ticks(float(values.min()), float(values.max()), 5)
    step = list(ticks.labels)[1] - ticks.low
    lines = [
        Line(label, row, SEAT_LOOKS[index % len(SEAT_LOOKS)])
        for index, (label, row) in enumerate(zip(labels, values, strict=True))
    ]
    return Strip(lines, ticks.low, ticks.high, step, " dB", height_px, uprights=uprights)


def _table(labels: Sequence[str], turning: Turning) -> Markup:
    heads = ["turn"]
    columns: list[FloatArray] = []
    for what, values in (
        ("spread", turning.spread_db),
        ("direct spread", turning.direct_spread_db),
        ("C50", turning.c50_db),
    ):
        heads += [f"{label}, {what} dB" for label in labels]
        columns += list(values)
    rows = [
        [f"{number(turn)}°", *(number(float(column[place]), 1) for column in columns)]
        for place, turn in enumerate(turning.turn_deg)
    ]
    return table(heads, rows)
