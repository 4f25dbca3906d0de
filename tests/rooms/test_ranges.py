"""Ranges by themselves, and candidates that are told apart only where their ranges are apart."""

from dataclasses import replace

import numpy as np
import pytest

from forehear.ground.arrays import FloatArray
from forehear.spine import compare
from forehear.spine.prediction import RANGED, Mattering, Prediction, Range, SeatRanges
from rooms.synthetic import made_up

# --- the ends of a range ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("draws", [19, 40, 100])
def test_the_next_draw_falls_into_the_range_nine_times_in_ten(draws: int) -> None:
    """Whatever the law: the k-th of n leaves k / (n + 1) below it on average (Wilks 1941, from memory)."""
    random, tries = np.random.default_rng(3), 3000
    drawn, following = random.lognormal(size=(tries, draws)), random.lognormal(size=tries)
    ranges = map(Range.of, drawn)
    inside = np.mean([one.low <= value <= one.high for one, value in zip(ranges, following, strict=True)])
    assert inside == pytest.approx(0.9, abs=4 * np.sqrt(0.09 / tries))


def test_ranges_that_share_a_number_overlap() -> None:
    assert Range(1, 2).overlaps(Range(2, 3))
    assert Range(1, 4).overlaps(Range(2, 3))
    assert not Range(1, 2).overlaps(Range(2.1, 3))


def test_what_matters_nearly_as_much_is_named_too() -> None:
    drawn = np.zeros((len(RANGED), 20))

    def most(*moves: tuple[str, float]) -> str:
        return ranges_of(drawn, "", *(Mattering(what, moves_db) for what, moves_db in moves)).matters_most

    assert most(("seat", 1.0), ("solver", 0.5)) == "seat"
    assert most(("seat", 1.0), ("solver", 0.9), ("depth", 0.85), ("rest", 0.1)) == "seat, solver and depth"
    assert most(("seat", 0.0), ("solver", 0.0)) == "nothing"


# --- candidates -------------------------------------------------------------------------------------------------------


def standing(title: str, spread_db: float, half_width_db: float) -> Prediction:
    """A made-up candidate whose seats all have one spread, known within a half width."""
    found = made_up(title, 0.0, 1800.0)
    drawn = np.zeros((len(RANGED), 39))  # the second and the last but one are the ends
    drawn[0] = spread_db + half_width_db * np.linspace(-19 / 18, 19 / 18, 39)
    seats = tuple(
        replace(seat, spread_db=spread_db, ranges=ranges_of(drawn, seat.name)) for seat in found.seats
    )
    return replace(found, seats=seats)


def ranges_of(drawn: FloatArray, name: str = "", *mattering: Mattering) -> SeatRanges:
    spread, *rest = (Range.of(own) for own in drawn)
    return SeatRanges("centre", name, spread, *rest, drawn=drawn, mattering=mattering)


@pytest.mark.parametrize(
    ("spreads", "half_width_db", "leaders", "praised", "blamed"),
    [
        ((1.0, 3.0), 0.4, (0,), {0}, {1}),
        ((2.0, 4.0), 1.2, (), set(), set()),  # ranges overlap
        ((1.0, 1.9), 0.1, (), set(), set()),  # no step that is noticed
        ((3.0, 1.0, 1.9), 0.1, (1, 2), {1, 2}, {0}),
        ((3.0, 1.0, 2.3), 0.1, (1,), {1}, {0, 2}),  # nearer to the worst, from which no step parts it
        ((2.5, 1.0, 1.75), 0.1, (1,), {1}, {0}),  # equal to both ends: neither praised nor blamed
    ],
)
def test_candidates_are_told_apart_only_by_steps_beyond_their_ranges(
    spreads: tuple[float, ...],
    half_width_db: float,
    leaders: tuple[int, ...],
    praised: set[int],
    blamed: set[int],
) -> None:
    found = compare([standing(f"{spread}", spread, half_width_db) for spread in spreads])
    row = next(row for row in found.table if row.label == "spread at the main seats")
    assert row.leaders == leaders
    named = [
        {index for index, told in enumerate(words) if any(sentence.startswith(start) for sentence in told)}
        for words, start in ((found.strengths, "even sound"), (found.costs, "uneven sound"))
    ]
    assert named == [praised, blamed]
    assert row.values[0] == (
        f"{spreads[0]:.1f} dB ({max(spreads[0] - half_width_db, 0):.1f} to {spreads[0] + half_width_db:.1f})"
    )


def test_clarity_is_compared_where_it_is_known() -> None:
    two = [standing("one", 1.0, 0.1), standing("two", 2.0, 0.1)]
    silent = [replace(one, seats=tuple(replace(seat, speech=None) for seat in one.seats)) for one in two]
    labels = {row.label: row for row in compare(silent).table}
    clarity = [row for label, row in labels.items() if label.startswith(("clarity", "speech transmission"))]
    assert len(clarity) == 4
    assert all(row.values == ("not known", "not known") and row.leaders == () for row in clarity)
