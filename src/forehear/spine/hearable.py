"""Numbers that people can hear: of a seat or over the main seats, how sure they are, and what tells two apart."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from forehear.judge import C50_STEP, SPREAD_STEP, STI_STEP, Noticeable, difference_words
from forehear.judge.noticeable import SAME
from forehear.spine.compare import main_seats
from forehear.spine.prediction import RANGED, Prediction, Range, SeatResult

UNSURE = f"{SAME} for sure"
ENDS = (0.05, 0.95)  # a chance of 90 %, as the ranges of seats


@dataclass(frozen=True)
class Stated:
    """A number and the range it lies in, None where none was asked for."""

    value: float
    range: Range | None = None


@dataclass(frozen=True)
class Hearable:
    """One number of a seat that people can hear."""

    name: str
    key: str  # as `forehear.spine.prediction.RANGED`
    unit: str
    digits: int
    measure: Callable[[SeatResult], float | None]
    mean: Callable[[Sequence[float]], float]  # over seats
    step: Noticeable | None = None  # None where nobody has measured one


def _plain_mean(values: Sequence[float]) -> float:
    return float(np.mean(values))


def _root_mean_square(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


SPREAD = Hearable("spread", "spread_db", "dB", 1, lambda seat: seat.spread_db, _root_mean_square, SPREAD_STEP)
C50 = Hearable(
    "clarity C50",
    "c50_db",
    "dB",
    1,
    lambda seat: seat.speech.c50_db if seat.speech else None,
    _plain_mean,
    C50_STEP,
)
U50 = Hearable(
    "U50", "u50_db", "dB", 1, lambda seat: seat.speech.u50_db if seat.speech else None, _plain_mean, C50_STEP
)
STI = Hearable(
    "speech index STI",
    "sti",
    "",
    2,
    lambda seat: seat.speech.sti if seat.speech else None,
    _plain_mean,
    STI_STEP,
)
HEARABLE = (SPREAD, C50, U50, STI)


def stated(seat: SeatResult, what: Hearable) -> Stated | None:
    """Return a number of a seat with its range; None where it was not asked for."""
    value = what.measure(seat)
    if value is None:
        return None
    return Stated(value, range_of(seat, what.key))


def range_of(seat: SeatResult, key: str) -> Range | None:
    """Return where a number of `forehear.spine.prediction.RANGED` lies; None where that was not asked for."""
    if seat.ranges is None or key not in RANGED:
        return None
    found: Range = getattr(seat.ranges, key)
    return found


def at_main_seats(prediction: Prediction, what: Hearable) -> Stated | None:
    """Return the mean of a number over the main seats, with its range.

    Draws are the same ways at every seat, so the mean is taken in each draw and its ends are found after that.
    """
    seats = main_seats(prediction)
    values = [value for value in map(what.measure, seats) if value is not None]
    if not seats or len(values) < len(seats):
        return None
    ranges = [seat.ranges for seat in seats if seat.ranges]
    if len(ranges) < len(seats):
        return Stated(what.mean(values))
    drawn = np.array([one.drawn_of(what.key) for one in ranges])
    means = [what.mean(draw.tolist()) for draw in drawn.T]
    low, high = np.quantile(means, ENDS, method="weibull")
    return Stated(what.mean(values), Range(float(low), float(high)))


def apart_words(one: Stated, other: Stated, step: Noticeable) -> str:
    """Say how the first lies against the second, unless nobody could hear it or be sure of it.

    Examples
    --------
    >>> apart_words(Stated(12.0), Stated(9.9), C50_STEP)
    '2 dB higher'
    >>> apart_words(Stated(12.0, Range(9.0, 13.0)), Stated(9.9, Range(8.0, 10.0)), C50_STEP)
    'no difference you could hear for sure'
    """
    words = difference_words(one.value, other.value, step)
    if words != SAME and one.range and other.range and one.range.overlaps(other.range):
        return UNSURE
    return words
