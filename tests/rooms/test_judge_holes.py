"""Laws of trend, spread and holes, and holes of a known shape."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge import Hole, find_holes, in_room_trend, spread_among_seats, spread_db

GRID = FrequencyGrid.standard()
OCTAVES = np.log2(GRID.frequency_hz / 1000.0)
FLAT = np.zeros(240)
LEVELS = arrays(float, 240, elements=st.floats(-15.0, 15.0))


def _dip(middle_hz: float, depth_db: float, octaves: float) -> FloatArray:
    """A parabola that is 3 dB or more deep over exactly so many octaves."""
    width = octaves / 2 / np.sqrt(1 - 3.0 / depth_db)
    return np.minimum(0.0, -depth_db * (1 - (np.log2(GRID.frequency_hz / middle_hz) / width) ** 2))


@given(LEVELS, st.floats(-60.0, 120.0))
def test_spread_does_not_know_the_level(level: FloatArray, gain_db: float) -> None:
    trend = in_room_trend(level, GRID)
    louder = level + gain_db
    assert spread_db(louder, in_room_trend(louder, GRID), GRID) == pytest.approx(
        spread_db(level, trend, GRID), abs=1e-9
    )


@given(LEVELS, st.floats(-6.0, 6.0))
def test_spread_does_not_know_the_slope(level: FloatArray, slope_db_per_octave: float) -> None:
    tilted = level + slope_db_per_octave * OCTAVES
    assert spread_db(tilted, in_room_trend(tilted, GRID), GRID) == pytest.approx(
        spread_db(level, in_room_trend(level, GRID), GRID), abs=1e-9
    )


@given(st.floats(-6.0, 6.0), st.floats(0.0, 100.0))
def test_a_straight_line_is_its_own_trend(slope_db_per_octave: float, level_db: float) -> None:
    line = level_db + slope_db_per_octave * OCTAVES
    assert np.allclose(in_room_trend(line, GRID), line, atol=1e-9)
    assert np.allclose(in_room_trend(line, GRID, slope_db_per_octave), line, atol=1e-9)
    assert find_holes(line, in_room_trend(line, GRID), GRID) == ()


@given(LEVELS, st.floats(-4.0, 2.0))
def test_a_stated_slope_is_kept_and_leaves_no_mean(level: FloatArray, slope_db_per_octave: float) -> None:
    trend = in_room_trend(level, GRID, slope_db_per_octave)
    assert np.allclose(np.diff(trend) / np.diff(OCTAVES), slope_db_per_octave, atol=1e-9)
    share = np.diff(np.log(np.clip(GRID.edges_hz, 300.0, 6000.0)))
    assert share @ (level - trend) == pytest.approx(0.0, abs=1e-9)


@given(LEVELS)
def test_fitted_trend_is_the_nearest_line(level: FloatArray) -> None:
    """Nothing is left that a line could still explain (the normal equations of least squares)."""
    rest = level - in_room_trend(level, GRID)
    share = np.diff(np.log(np.clip(GRID.edges_hz, 300.0, 6000.0)))
    assert share @ rest == pytest.approx(0.0, abs=1e-8)
    assert share @ (rest * OCTAVES) == pytest.approx(0.0, abs=1e-8)


@given(LEVELS)
def test_trend_hears_only_its_range(level: FloatArray) -> None:
    changed = np.where((GRID.edges_hz[1:] < 300.0) | (GRID.edges_hz[:-1] > 6000.0), 50.0, level)
    assert np.allclose(in_room_trend(changed, GRID), in_room_trend(level, GRID))


def test_spread_is_a_standard_deviation() -> None:
    """Half of the ERBs 2 dB up, half 2 dB down: 2 dB; what lies 60 dB down counts as 20 dB."""
    middle = np.searchsorted(np.cumsum(_erbs()), _erbs().sum() / 2)
    step = np.where(np.arange(240) <= middle, 2.0, -2.0)
    assert spread_db(step, FLAT, GRID) == pytest.approx(2.0, abs=0.01)
    silent = np.where(np.arange(240) <= middle, 0.0, -60.0)
    assert spread_db(silent, FLAT, GRID) == pytest.approx(10.0, abs=0.05)


def _erbs() -> FloatArray:
    return np.diff(21.4 * np.log10(1 + 0.00437 * np.clip(GRID.edges_hz, 200.0, 10e3)))


@given(
    arrays(float, (3, 240), elements=st.floats(-15, 15)), arrays(float, (3, 1), elements=st.floats(-40, 40))
)
def test_spread_among_seats_does_not_know_their_levels(levels: FloatArray, gains_db: FloatArray) -> None:
    assert spread_among_seats(levels + gains_db, GRID) == pytest.approx(
        spread_among_seats(levels, GRID), abs=1e-9
    )
    assert spread_among_seats(levels[::-1], GRID) == pytest.approx(spread_among_seats(levels, GRID))


@given(LEVELS)
def test_seats_that_hear_alike_have_no_spread(level: FloatArray) -> None:
    assert spread_among_seats(np.stack([level, level + 3.0]), GRID) == pytest.approx(0.0, abs=1e-9)
    assert spread_among_seats(level[None], GRID) == 0.0


@given(st.floats(300.0, 6000.0), st.floats(4.0, 19.0), st.floats(0.40, 1.5))
def test_a_dip_of_known_shape_is_found(middle_hz: float, depth_db: float, octaves: float) -> None:
    holes = find_holes(_dip(middle_hz, depth_db, octaves), FLAT, GRID)
    assert len(holes) == 1
    assert holes[0].depth_db == pytest.approx(depth_db, rel=0.05)
    assert abs(np.log2(holes[0].frequency_hz / middle_hz)) <= 0.5 / 24 * 1.01
    assert np.log2(holes[0].upper_hz / holes[0].lower_hz) == pytest.approx(octaves, abs=0.03)


@given(st.floats(300.0, 6000.0), st.floats(4.0, 19.0), st.floats(0.05, 0.28))
def test_a_narrow_dip_is_no_hole(middle_hz: float, depth_db: float, octaves: float) -> None:
    assert find_holes(_dip(middle_hz, depth_db, octaves), FLAT, GRID) == ()


@given(LEVELS)
def test_every_hole_keeps_the_definition(level: FloatArray) -> None:
    holes = find_holes(level, FLAT, GRID)
    depths = [hole.depth_db for hole in holes]
    assert depths == sorted(depths, reverse=True)
    for hole in holes:
        assert 3.0 < hole.depth_db <= 20.0
        assert 200.0 <= hole.frequency_hz <= 10e3
        assert hole.lower_hz < hole.frequency_hz < hole.upper_hz
        assert np.log2(hole.upper_hz / hole.lower_hz) >= 1 / 3
        inside = (GRID.frequency_hz > hole.lower_hz) & (GRID.frequency_hz < hole.upper_hz)
        assert np.all(level[inside] < -3.0)
        assert hole.depth_db == pytest.approx(
            -level[np.argmin(np.abs(GRID.frequency_hz - hole.frequency_hz))]
        )


def test_one_stretch_is_one_hole_at_its_deepest() -> None:
    level = np.minimum(_dip(900.0, 8.0, 0.5), _dip(1200.0, 11.0, 0.5))
    level = np.minimum(level, np.where((GRID.frequency_hz > 880) & (GRID.frequency_hz < 1250), -4.0, 0.0))
    holes = find_holes(level, FLAT, GRID)
    assert len(holes) == 1
    assert holes[0].frequency_hz == pytest.approx(1200.0, rel=0.02)


def test_two_stretches_are_two_holes_deepest_first() -> None:
    holes = find_holes(_dip(500.0, 6.0, 0.5) + _dip(3000.0, 9.0, 0.5), FLAT, GRID)
    assert [round(hole.depth_db) for hole in holes] == [9, 6]


def test_depth_is_capped() -> None:
    assert find_holes(_dip(1000.0, 45.0, 0.6), FLAT, GRID)[0].depth_db == 20.0


@pytest.mark.parametrize("middle_hz", [120.0, 14_000.0])
def test_outside_the_range_is_no_hole(middle_hz: float) -> None:
    assert find_holes(_dip(middle_hz, 10.0, 0.5), FLAT, GRID) == ()


def test_a_level_that_only_falls_away_is_no_hole() -> None:
    falling = np.minimum(0.0, -12.0 * np.log2(GRID.frequency_hz / 5000.0))
    assert find_holes(falling, FLAT, GRID) == ()


def test_a_stretch_may_reach_beyond_the_range() -> None:
    holes = find_holes(_dip(215.0, 10.0, 1.0), FLAT, GRID)
    assert holes == (Hole(holes[0].depth_db, holes[0].frequency_hz, holes[0].lower_hz, holes[0].upper_hz),)
    assert holes[0].lower_hz < 200.0 < holes[0].frequency_hz


@pytest.mark.parametrize("judge", [lambda low: in_room_trend(np.zeros(3), low)])
def test_too_short_a_grid_is_refused(judge: object) -> None:
    with pytest.raises(ValueError, match="300 Hz"):
        judge(FrequencyGrid(np.array([20.0, 30.0, 40.0])))  # type: ignore[operator]
