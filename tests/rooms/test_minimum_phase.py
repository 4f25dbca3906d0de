"""Laws of the phase that belongs to a level."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.arrays import FloatArray
from forehear.ground.minimum_phase import minimum_phase_rad

FREQUENCY = np.geomspace(0.5, 400e3, 240)  # so wide that filters have reached their tails
OCTAVE_DB = 20 * np.log10(2)  # a slope of one order, in dB an octave


def _phase(level_db: FloatArray, below: float = 0.0, above: float = 0.0) -> FloatArray:
    return minimum_phase_rad(
        FREQUENCY, level_db, slope_below_db_per_octave=below, slope_above_db_per_octave=above
    )


@given(st.integers(-4, 4), st.floats(-50.0, 150.0))
def test_a_straight_slope_turns_a_quarter_for_each_order(order: int, level_db: float) -> None:
    slope = order * OCTAVE_DB
    phase = _phase(level_db + slope * np.log2(FREQUENCY), slope, slope)
    assert np.allclose(phase, order * np.pi / 2, atol=1e-9)


@given(st.integers(0, 2**31), st.floats(-3.0, 3.0))
def test_phases_add_as_levels_do(seed: int, factor: float) -> None:
    random = np.random.default_rng(seed)
    one, other = random.normal(size=(2, 240)).cumsum(axis=1)
    together = _phase(one + factor * other, 6.0 + factor * 12.0, -12.0)
    assert np.allclose(together, _phase(one, 6.0, -12.0) + factor * _phase(other, 12.0, 0.0), atol=1e-9)


@given(st.integers(1, 4), st.floats(100.0, 4000.0))
def test_high_pass_of_any_order(order: int, corner_hz: float) -> None:
    """Closed form: (jw / (jw + 1))^n."""
    s = 1j * FREQUENCY / corner_hz
    one = s / (s + 1)
    phase = _phase(order * 20 * np.log10(np.abs(one)), order * OCTAVE_DB, 0.0)
    assert np.allclose(phase, order * np.angle(one), atol=np.radians(0.5) * order)


@given(st.floats(40.0, 500.0), st.floats(0.4, 1.2))
def test_closed_box_and_its_tails(corner_hz: float, quality: float) -> None:
    """Closed form: second-order high-pass; twelve decibels an octave go on below the first point."""
    s = 1j * FREQUENCY / corner_hz
    response = s**2 / (s**2 + s / quality + 1)
    phase = _phase(20 * np.log10(np.abs(response)), 2 * OCTAVE_DB, 0.0)
    apart = np.angle(np.exp(1j * phase) / response)
    assert np.abs(np.degrees(apart)).max() < 1.0


def test_frequencies_must_rise() -> None:
    for frequency in ([100.0], [200.0, 100.0]):
        with pytest.raises(ValueError, match="rising"):
            minimum_phase_rad(
                np.array(frequency),
                np.zeros(len(frequency)),
                slope_below_db_per_octave=0.0,
                slope_above_db_per_octave=0.0,
            )
