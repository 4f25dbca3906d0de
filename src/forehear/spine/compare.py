"""Candidates for one brief beside each other: what each is best at, and what it gives up for it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge import C50_STEP, SPREAD_STEP, STI_STEP, Noticeable
from forehear.judge.words import frequency_words
from forehear.spine.prediction import Prediction, Range, SeatResult

LEVEL_HZ = (300.0, 3000.0)


@dataclass(frozen=True)
class ComparisonRow:
    """One quality of all candidates, as shown; `leaders` do as well as the best, and clearly better than the worst."""

    label: str
    values: tuple[str, ...]
    leaders: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Comparison:
    """Candidates weighed against each other."""

    predictions: tuple[Prediction, ...]
    table: tuple[ComparisonRow, ...]
    strengths: tuple[tuple[str, ...], ...]  # [candidate] what it is best at
    costs: tuple[tuple[str, ...], ...]  # [candidate] what it gives up


@dataclass(frozen=True)
class _Quality:
    """One way of looking at a candidate. Less is better; `margin` is a difference that counts."""

    label: str
    measure: Callable[[Prediction], float | None]
    shown: Callable[[Prediction, float], str]
    margin: float  # absolute, or a ratio when `relative`
    relative: bool
    praise: str
    blame: str
    range: Callable[[Prediction], Range | None] = lambda _: (
        None
    )  # within which the measure may lie, where known


def compare(predictions: Sequence[Prediction]) -> Comparison:
    """Weigh candidates; with one alone there is a table, but nothing it is best at."""
    rows: list[ComparisonRow] = []
    strengths: list[list[str]] = [[] for _ in predictions]
    costs: list[list[str]] = [[] for _ in predictions]
    for quality in QUALITIES:
        values = [quality.measure(prediction) for prediction in predictions]
        shown = tuple(
            "not known" if value is None else quality.shown(prediction, value)
            for prediction, value in zip(predictions, values, strict=True)
        )
        leaders, trailers = _ends(values, [quality.range(prediction) for prediction in predictions], quality)
        rows.append(ComparisonRow(quality.label, shown, leaders))
        for index in leaders if quality.praise else ():
            strengths[index].append(f"{quality.praise}: {shown[index]}")
        for index in trailers if quality.blame else ():
            costs[index].append(f"{quality.blame}: {shown[index]}")
    return Comparison(tuple(predictions), tuple(rows), tuple(map(tuple, strengths)), tuple(map(tuple, costs)))


def _ends(
    values: Sequence[float | None], ranges: Sequence[Range | None], quality: _Quality
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return who does as well as the best and who as badly as the worst; nobody where these two are not apart.

    Two are apart where a margin lies between them and their ranges do not overlap; whoever is apart from neither
    the best nor the worst is not named.
    """
    known = np.array([value for value in values if value is not None])
    if known.size < max(2, len(values)):
        return (), ()
    scale = max(abs(known.min()), abs(known.max()), 1e-9) if quality.relative else 1.0
    margin = quality.margin * scale * (1 - 1e-9)

    def apart(one: int, other: int) -> bool:
        mine, theirs = ranges[one], ranges[other]
        told = mine is None or theirs is None or not mine.overlaps(theirs)
        return told and abs(known[one] - known[other]) >= margin

    best, worst = int(known.argmin()), int(known.argmax())
    leaders = tuple(one for one in range(known.size) if apart(one, worst) and not apart(one, best))
    trailers = tuple(one for one in range(known.size) if apart(one, best) and not apart(one, worst))
    return (leaders, trailers) if apart(best, worst) else ((), ())


def main_seats(prediction: Prediction) -> list[SeatResult]:
    """Return the seats that the brief calls main ones; all where it names none."""
    names = prediction.design.brief.goals.main_seats
    return [seat for seat in prediction.seats if not names or seat.name in names]


@dataclass(frozen=True)
class _OfSeats:
    """One number of the main seats taken together."""

    number: str  # one of `RANGED`
    of_seat: Callable[[SeatResult], float | None]
    together: Callable[[FloatArray], FloatArray]  # over the first axis
    more_is_better: bool = False

    def value(self, prediction: Prediction) -> float | None:
        """Return it so that less is better; None where a seat has none."""
        seats = main_seats(prediction)
        known = [value for seat in seats if (value := self.of_seat(seat)) is not None]
        return float(self._turned(np.array(known))) if len(known) == len(seats) else None

    def range(self, prediction: Prediction) -> Range | None:
        """Return where it may lie, turned alike; in each draw all seats are otherwise in the same way."""
        seats = main_seats(prediction)
        drawn = [seat.ranges.drawn_of(self.number) for seat in seats if seat.ranges]
        return Range.of(self._turned(np.array(drawn))) if len(drawn) == len(seats) else None

    def _turned(self, values: FloatArray) -> FloatArray:
        together = self.together(values)
        return -together if self.more_is_better else together

    def quality(self, label: str, step: Noticeable, praise: str = "", blame: str = "") -> _Quality:
        """Look at candidates in this way: what counts is a step that is noticed, and the range is shown."""
        digits, sign = (2 if step.step < 0.1 else 1), (-1 if self.more_is_better else 1)

        def shown(prediction: Prediction, value: float) -> str:
            told, ends = f"{sign * value:.{digits}f} {step.unit}".rstrip(), self.range(prediction)
            if ends is None:
                return told
            low, high = sorted((sign * ends.low, sign * ends.high))
            return f"{told} ({low:.{digits}f} to {high:.{digits}f})"

        return _Quality(
            label, self.value, shown, step.step, relative=False, praise=praise, blame=blame, range=self.range
        )


def _root_mean_square(values: FloatArray) -> FloatArray:
    mean: FloatArray = np.sqrt(np.mean(np.square(values), axis=0))
    return mean


def _least(values: FloatArray) -> FloatArray:
    least: FloatArray = values.min(axis=0)
    return least


def _greatest(values: FloatArray) -> FloatArray:
    greatest: FloatArray = values.max(axis=0)
    return greatest


def _mean(values: FloatArray) -> FloatArray:
    mean: FloatArray = values.mean(axis=0)
    return mean


def _c50(seat: SeatResult) -> float | None:
    return seat.speech.c50_db if seat.speech else None


def _sti(seat: SeatResult) -> float | None:
    return seat.speech.sti if seat.speech else None


def _hole(seat: SeatResult) -> float:
    return seat.hole.depth_db if seat.hole else 0.0


def _direct_hole(seat: SeatResult) -> float:
    return seat.direct_hole.depth_db if seat.direct_hole else 0.0


SPREAD = _OfSeats("spread_db", lambda seat: seat.spread_db, _root_mean_square)
DEEPEST = _OfSeats("hole_db", _hole, _greatest)
DEEPEST_DIRECT = _OfSeats("direct_hole_db", _direct_hole, _greatest)
WORST_C50 = _OfSeats("c50_db", _c50, _least, more_is_better=True)
MEAN_C50 = _OfSeats("c50_db", _c50, _mean, more_is_better=True)
WORST_STI = _OfSeats("sti", _sti, _least, more_is_better=True)
MEAN_STI = _OfSeats("sti", _sti, _mean, more_is_better=True)


def _worst_hole_words(prediction: Prediction, depth_db: float) -> str:
    for seat in main_seats(prediction):
        if seat.hole and seat.hole.depth_db == depth_db:
            return f"-{depth_db:.0f} dB at {frequency_words(seat.hole.frequency_hz)}, {seat.name}"
    return "none"


def _coverage(prediction: Prediction) -> float:
    covered = prediction.horizontal.coverage
    return -min(covered.positive_deg, covered.negative_deg)


def _level(prediction: Prediction) -> float:
    frequency_hz = prediction.grid.frequency_hz
    within = (frequency_hz >= LEVEL_HZ[0]) & (frequency_hz <= LEVEL_HZ[1])
    return -float(prediction.curves.listening_window_db[within].mean())


def _litres(prediction: Prediction) -> float:
    cabinet = prediction.design.cabinet
    return 1000 * cabinet.width_m * cabinet.height_m * cabinet.depth_m


def _size_words(prediction: Prediction, litres: float) -> str:
    cabinet = prediction.design.cabinet
    sizes = " x ".join(f"{1000 * size:.0f}" for size in (cabinet.width_m, cabinet.height_m, cabinet.depth_m))
    return f"{litres:.0f} l, {sizes} mm"


def _parts(prediction: Prediction) -> float:
    return float(len(prediction.design.drivers) + len(prediction.design.network_parts))


def _parts_words(prediction: Prediction, _count: float) -> str:
    design = prediction.design
    return f"{len(design.drivers)} drivers, {len(design.network_parts)} network parts"


QUALITIES: tuple[_Quality, ...] = (
    SPREAD.quality(
        "spread at the main seats", SPREAD_STEP, "even sound at the seats", "uneven sound at the seats"
    ),
    _Quality(
        "spread among seats", lambda p: p.spread_among_seats_db, lambda _, v: f"{v:.1f} dB", SPREAD_STEP.step,
        relative=False, praise="seats that hear alike", blame="seats that hear differently",
    ),
    WORST_C50.quality(
        "clarity C50, worst main seat", C50_STEP, "clear speech at every main seat", "blurred speech at a main seat"
    ),
    MEAN_C50.quality("clarity C50, mean of main seats", C50_STEP),
    WORST_STI.quality(
        "speech transmission index, worst main seat", STI_STEP, "speech understood at every main seat",
        "speech hard to follow at a main seat",
    ),
    MEAN_STI.quality("speech transmission index, mean", STI_STEP),
    _Quality(
        "deepest hole in the room", DEEPEST.value, _worst_hole_words, 1.0, relative=False,
        praise="shallow holes in the room", blame="the deepest hole in the room", range=DEEPEST.range,
    ),
    _Quality(
        "deepest direct hole", DEEPEST_DIRECT.value, lambda _, v: f"-{v:.0f} dB" if v else "none", 1.0,
        relative=False, praise="a direct sound without deep holes", blame="a deep hole in the direct sound",
        range=DEEPEST_DIRECT.range,
    ),
    _Quality(
        "speech coverage, to either side", _coverage, lambda _, v: f"{-v:.0f}°", 5.0, relative=False,
        praise="wide coverage", blame="narrow coverage",
    ),
    _Quality(
        "bass, -6 dB", lambda p: p.bass_limit_hz, lambda _, v: f"{v:.0f} Hz", 0.08, relative=True,
        praise="low bass", blame="little bass",
    ),
    _Quality("size outside", _litres, _size_words, 0.05, relative=True, praise="small", blame="large"),
    _Quality(
        "height", lambda p: p.design.cabinet.height_m, lambda _, v: f"{1000 * v:.0f} mm", 0.05, relative=True,
        praise="low, below a screen or on a shelf", blame="tall",
    ),
    _Quality("parts", _parts, _parts_words, 1.0, relative=False, praise="simple", blame="many parts"),
    _Quality(
        "price of drivers and network", lambda p: p.price,
        lambda p, v: f"{v:.0f} {p.design.brief.currency}".strip(), 0.05, relative=True,
        praise="cheap", blame="dear",
    ),
    _Quality(
        "level at 2.83 V, 300 Hz to 3 kHz", _level, lambda _, v: f"{-v:.1f} dB", 1.0, relative=False,
        praise="loud", blame="quiet",
    ),
    _Quality(
        "lowest impedance", lambda p: -float(np.abs(p.impedance_ohm).min()), lambda _, v: f"{-v:.1f} ohm", 0.5,
        relative=False, praise="an easy load", blame="",
    ),
)  # fmt: skip
