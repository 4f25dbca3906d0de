"""Candidates for one brief beside each other: what each is best at, and what it gives up for it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from forehear.judge.words import frequency_words
from forehear.spine.prediction import Prediction, SeatResult

LEVEL_HZ = (300.0, 3000.0)


@dataclass(frozen=True)
class ComparisonRow:
    """One quality of all candidates, as shown; `leaders` do as well as the best where another is clearly worse."""

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
        leaders, trailers = _ends(values, quality)
        rows.append(ComparisonRow(quality.label, shown, leaders))
        for index in leaders if quality.praise else ():
            strengths[index].append(f"{quality.praise}: {shown[index]}")
        for index in trailers if quality.blame else ():
            costs[index].append(f"{quality.blame}: {shown[index]}")
    return Comparison(tuple(predictions), tuple(rows), tuple(map(tuple, strengths)), tuple(map(tuple, costs)))


def _ends(values: Sequence[float | None], quality: _Quality) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return who is within the margin of the least and of the most; nobody where the two are not apart by it."""
    known = np.array([value for value in values if value is not None])
    if known.size < max(2, len(values)):
        return (), ()
    scale = max(abs(known.min()), abs(known.max()), 1e-9) if quality.relative else 1.0
    margin = quality.margin * scale
    if known.max() - known.min() < margin:
        return (), ()
    leaders = np.flatnonzero(known < known.min() + margin)
    trailers = np.flatnonzero(known > known.max() - margin)
    return tuple(leaders.tolist()), tuple(trailers.tolist())


def _main_seats(prediction: Prediction) -> list[SeatResult]:
    names = prediction.design.brief.goals.main_seats
    return [seat for seat in prediction.seats if not names or seat.name in names]


def _mean_spread(prediction: Prediction) -> float:
    return float(np.sqrt(np.mean([seat.spread_db**2 for seat in _main_seats(prediction)])))


def _worst_hole(prediction: Prediction) -> float:
    return max((seat.hole.depth_db for seat in _main_seats(prediction) if seat.hole), default=0.0)


def _worst_hole_words(prediction: Prediction, depth_db: float) -> str:
    for seat in _main_seats(prediction):
        if seat.hole and seat.hole.depth_db == depth_db:
            return f"-{depth_db:.0f} dB at {frequency_words(seat.hole.frequency_hz)}, {seat.name}"
    return "none"


def _worst_direct_hole(prediction: Prediction) -> float:
    return max(
        (seat.direct_hole.depth_db for seat in _main_seats(prediction) if seat.direct_hole), default=0.0
    )


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
    _Quality(
        "spread at the main seats", _mean_spread, lambda _, v: f"{v:.1f} dB", 0.2, relative=False,
        praise="even sound at the seats", blame="uneven sound at the seats",
    ),
    _Quality(
        "spread among seats", lambda p: p.spread_among_seats_db, lambda _, v: f"{v:.1f} dB", 0.2, relative=False,
        praise="seats that hear alike", blame="seats that hear differently",
    ),
    _Quality(
        "deepest hole in the room", _worst_hole, _worst_hole_words, 1.0, relative=False,
        praise="shallow holes in the room", blame="the deepest hole in the room",
    ),
    _Quality(
        "deepest direct hole", _worst_direct_hole, lambda _, v: f"-{v:.0f} dB" if v else "none", 1.0,
        relative=False, praise="a direct sound without deep holes", blame="a deep hole in the direct sound",
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
