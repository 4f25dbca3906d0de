"""Laws of shares, coverage, standard curves, preference and rules of thumb."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, TENTHS, FrequencyGrid
from forehear.judge import (
    baffle_step_hz,
    beaming_frequency_hz,
    beamwidth,
    coverage,
    crossing_over_resonance,
    ear_smoothing,
    first_cancellation_hz,
    outer_width_m,
    preference_rating,
    shapley_shares,
    spacing_in_wavelengths,
    standard_curves,
)
from forehear.judge.preference import low_extension_hz, smoothness

GRID = FrequencyGrid.standard()
EAR = ear_smoothing(GRID)
CAUSES = ("spacing", "size", "crossing", "edges")
COMBINATIONS = [frozenset(some) for count in range(5) for some in combinations(CAUSES, count)]
WORTHS = st.lists(st.floats(-20.0, 20.0), min_size=16, max_size=16).map(
    lambda worths: dict(zip(COMBINATIONS, worths, strict=True))
)
ORBITS = arrays(float, (72, 3), elements=st.floats(1e-6, 1e3))


@given(WORTHS)
def test_shares_sum_to_the_whole(value: dict[frozenset[str], float]) -> None:
    shares = shapley_shares(value, CAUSES)
    assert sum(shares.values()) == pytest.approx(value[frozenset(CAUSES)] - value[frozenset()], abs=1e-9)


@given(WORTHS)
def test_order_of_the_causes_does_not_matter(value: dict[frozenset[str], float]) -> None:
    turned = shapley_shares(value, CAUSES[::-1])
    assert all(
        turned[cause] == pytest.approx(share) for cause, share in shapley_shares(value, CAUSES).items()
    )


@given(st.lists(st.floats(-20, 20), min_size=4, max_size=4))
def test_causes_that_only_add_keep_their_own(worths: list[float]) -> None:
    own = dict(zip(CAUSES, worths, strict=True))
    shares = shapley_shares({some: sum(own[cause] for cause in some) for some in COMBINATIONS}, CAUSES)
    assert all(shares[cause] == pytest.approx(own[cause], abs=1e-9) for cause in CAUSES)


@given(WORTHS)
def test_a_cause_that_changes_nothing_has_no_share(value: dict[frozenset[str], float]) -> None:
    idle = {some: value[some - {"size"}] for some in COMBINATIONS}
    assert shapley_shares(idle, CAUSES)["size"] == pytest.approx(0.0, abs=1e-12)


def test_a_cause_named_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="twice"):
        shapley_shares({frozenset(): 0.0, frozenset("a"): 1.0}, ["a", "a"])


@given(ORBITS, ORBITS, st.floats(0.01, 100.0))
def test_indices_do_not_know_the_level(horizontal: FloatArray, vertical: FloatArray, gain: float) -> None:
    one, louder = standard_curves(horizontal, vertical), standard_curves(gain * horizontal, gain * vertical)
    assert np.allclose(one.directivity_index_db, louder.directivity_index_db, atol=1e-9)
    assert np.allclose(louder.sound_power_db - one.sound_power_db, 10 * np.log10(gain), atol=1e-9)


@given(ORBITS, ORBITS)
def test_every_tenth_degree_is_enough(horizontal: FloatArray, vertical: FloatArray) -> None:
    whole, tenths = standard_curves(horizontal, vertical), standard_curves(horizontal, vertical[TENTHS])
    assert np.array_equal(whole.estimated_in_room_db, tenths.estimated_in_room_db)
    assert np.array_equal(whole.sound_power_db, tenths.sound_power_db)
    assert set(ORBIT_ANGLES_DEG[TENTHS] % 10) == {0.0}


@given(ORBITS, ORBITS)
def test_left_and_right_count_alike(horizontal: FloatArray, vertical: FloatArray) -> None:
    """The orbit's 180 degrees is its own mirror image; the other 71 angles turn round 0."""
    mirrored = np.concatenate([horizontal[70::-1], horizontal[71:]])
    one, other = standard_curves(horizontal, vertical), standard_curves(mirrored, vertical)
    assert np.allclose(one.estimated_in_room_db, other.estimated_in_room_db, atol=1e-9)
    width, turned = beamwidth(horizontal), beamwidth(mirrored)
    assert np.allclose(width.positive_deg, turned.negative_deg)


def test_an_orbit_of_other_length_is_refused() -> None:
    with pytest.raises(ValueError, match="72"):
        standard_curves(np.ones((35, 2)), np.ones((35, 2)))
    with pytest.raises(ValueError, match="72"):
        beamwidth(np.ones((36, 2)))


@given(st.floats(0.3, 8.0))
def test_beamwidth_of_a_power_of_the_cosine(power: float) -> None:
    """|p| = ((1 + cos) / 2)^n is 6 dB down where the bracket is 10^(-6 / 20n): closed form."""
    angle = np.radians(ORBIT_ANGLES_DEG)
    energy = ((1 + np.cos(angle)) / 2)[:, None] ** (2 * power)
    exact = np.degrees(np.arccos(2 * 10 ** (-6 / (20 * power)) - 1))
    width = beamwidth(energy)
    assert width.positive_deg[0] == pytest.approx(exact, abs=0.2)
    assert width.total_deg[0] == pytest.approx(2 * exact, abs=0.4)


def test_beamwidth_ends_at_the_first_fall() -> None:
    level = np.where(np.abs(ORBIT_ANGLES_DEG) == 30.0, -12.0, 0.0)
    width = beamwidth(10 ** (level / 10)[:, None])
    assert width.positive_deg[0] == pytest.approx(27.5)
    assert width.negative_deg[0] == pytest.approx(27.5)


def test_a_source_that_radiates_alike_covers_everything() -> None:
    covered = coverage(np.ones((72, 240)), EAR)
    assert (covered.positive_deg, covered.negative_deg) == (180.0, 180.0)
    assert covered.positive_limit_hz is None
    assert covered.negative_limit_hz is None


def test_coverage_is_ended_by_the_narrowest_band_of_speech() -> None:
    """Narrow above 6 kHz does not count; a narrow stretch around 2 kHz on one side does."""
    frequency, angle = GRID.frequency_hz, ORBIT_ANGLES_DEG[:, None]
    energy = np.where((frequency > 6000.0) & (np.abs(angle) > 10.0), 1e-3, 1.0)
    energy = np.where(
        (np.abs(np.log2(frequency / 2000.0)) < 0.5) & (np.abs(angle - 60.0) < 20.0), 1e-3, energy
    )
    covered = coverage(energy, EAR)
    assert 40.0 < covered.positive_deg < 45.0
    assert covered.positive_limit_hz == pytest.approx(2000.0, rel=0.42)
    assert covered.negative_deg == pytest.approx(180.0)


@given(st.floats(-3.0, 3.0), st.floats(60.0, 110.0))
def test_a_straight_line_is_smooth(slope_db_per_octave: float, level_db: float) -> None:
    level = level_db + slope_db_per_octave * np.log2(GRID.frequency_hz)
    assert smoothness(level, GRID) == pytest.approx(1.0 if abs(slope_db_per_octave) > 1e-6 else 0.0, abs=1e-3)


def test_a_perfectly_flat_curve_still_has_a_rating() -> None:
    flat = standard_curves(np.ones((72, 240)), np.ones((72, 240)))
    rated = preference_rating(flat, GRID)
    assert rated.in_room_smoothness == 0.0
    assert rated.rating == pytest.approx(12.69 - 4.31 * np.log10(rated.low_extension_hz))


@given(st.floats(30.0, 200.0), st.floats(12.0, 24.0))
def test_low_extension_of_a_straight_fall(corner_hz: float, slope_db_per_octave: float) -> None:
    power = np.minimum(0.0, slope_db_per_octave * np.log2(GRID.frequency_hz / corner_hz))
    exact = max(corner_hz * 2 ** (-6 / slope_db_per_octave), GRID.frequency_hz[0])
    assert low_extension_hz(power, np.zeros(240), GRID) == pytest.approx(exact, rel=0.01)


def test_low_extension_at_the_ends() -> None:
    assert low_extension_hz(np.zeros(240), np.zeros(240), GRID) == GRID.frequency_hz[0]
    assert low_extension_hz(np.full(240, -30.0), np.zeros(240), GRID) == 10_000.0


def test_preference_needs_the_whole_range() -> None:
    short = FrequencyGrid(np.geomspace(200.0, 5000.0, 100))
    curves = standard_curves(np.ones((72, 100)), np.ones((72, 100)))
    with pytest.raises(ValueError, match="must reach"):
        preference_rating(curves, short)


@given(st.floats(0.01, 1.0))
def test_rules_scale_with_size(size_m: float) -> None:
    """Common practice, no source; doubling a length halves its frequency."""
    assert beaming_frequency_hz(2 * size_m) == pytest.approx(beaming_frequency_hz(size_m) / 2)
    assert baffle_step_hz(2 * size_m) == pytest.approx(baffle_step_hz(size_m) / 2)
    first = first_cancellation_hz(size_m, np.radians(30.0))
    assert spacing_in_wavelengths(size_m, first) == pytest.approx(
        1.0
    )  # at 30 degrees half the spacing is half a wave
    assert first_cancellation_hz(size_m, -np.radians(30.0)) == pytest.approx(first)


def test_rules_of_thumb_at_their_ends() -> None:
    assert first_cancellation_hz(0.2, 0.0) == float("inf")
    assert outer_width_m([0.0], [0.05]) == pytest.approx(0.1)
    assert outer_width_m([-0.1, 0.15, 0.0], [0.03, 0.02, 0.3]) == pytest.approx(0.6)
    assert crossing_over_resonance(1800.0, 600.0) == pytest.approx(3.0)
