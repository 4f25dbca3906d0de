"""Laws of the ear's smoothing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from forehear.ground.axes import FrequencyGrid
from forehear.judge import band_means, ear_smoothing, erb_hz, erb_number, erb_weight, octave_smoothing

GRID = FrequencyGrid.standard()
EAR = ear_smoothing(GRID)
ENERGIES = arrays(float, 240, elements=st.floats(0.0, 1e6))


@given(st.floats(1e-12, 1e12))
def test_constants_are_kept(constant: float) -> None:
    for smoothing in (EAR, octave_smoothing(GRID, 3), band_means(GRID.split(2), GRID)):
        smoothed = smoothing.smooth(np.full(len(smoothing.grid), constant))
        assert np.allclose(smoothed, constant, rtol=1e-12)


@given(ENERGIES)
def test_no_more_and_no_less_than_was_there(energy: np.ndarray) -> None:
    smoothed = EAR.smooth(energy)
    slack = 1e-9 * (1 + energy.max())
    assert smoothed.min() >= energy.min() - slack
    assert smoothed.max() <= energy.max() + slack


@given(ENERGIES, ENERGIES)
def test_smoothing_is_linear(one: np.ndarray, other: np.ndarray) -> None:
    assert np.allclose(EAR.smooth(2 * one + other), 2 * EAR.smooth(one) + EAR.smooth(other), atol=1e-6)


@given(ENERGIES)
def test_many_curves_at_once(energy: np.ndarray) -> None:
    both = EAR.smooth(np.stack([energy, energy[::-1]]))
    assert np.allclose(both[0], EAR.smooth(energy))
    assert np.allclose(both[1], EAR.smooth(energy[::-1]))


@given(st.floats(100.0, 10e3))
def test_scale_counts_bandwidths(frequency_hz: float) -> None:
    """One bandwidth is one step of the scale; the printed constants 21.4 and 24.7 agree to 0.4 %."""
    around = frequency_hz + np.array([-0.05, 0.05]) * erb_hz(np.array(frequency_hz))
    assert np.diff(erb_number(around))[0] == pytest.approx(0.1, rel=5e-3)


@given(st.floats(30.0, 1000.0), st.floats(2000.0, 18e3))
def test_weights_share_out_the_range(lowest_hz: float, highest_hz: float) -> None:
    weight = erb_weight(GRID, lowest_hz, highest_hz)
    assert weight.sum() == pytest.approx(1.0)
    outside = (GRID.edges_hz[1:] <= lowest_hz * 1.000001) | (GRID.edges_hz[:-1] >= highest_hz * 0.999999)
    assert np.all(weight[outside] < 1e-6)
    assert np.all(weight[~outside] > 0)


@given(ENERGIES, st.integers(1, 4))
def test_split_bands_of_constant_energy_sound_the_same(energy: np.ndarray, parts: int) -> None:
    narrow = GRID.split(parts)
    smoothed = ear_smoothing(narrow, GRID).smooth(np.repeat(energy, parts))
    assert np.allclose(smoothed, EAR.smooth(energy), rtol=1e-9, atol=1e-9)


def test_a_window_is_one_bandwidth_wide() -> None:
    """A pure line in one band is heard by the windows that reach it, each in proportion to its share."""
    band = int(np.searchsorted(GRID.frequency_hz, 1000.0))
    line = np.zeros(240)
    width = np.diff(GRID.edges_hz)[band]
    line[band] = 1.0 / width  # one unit of power in all
    heard = EAR.smooth(line)
    assert heard[band] == pytest.approx(1.0 / erb_hz(GRID.frequency_hz[band]))


def test_wrong_number_of_bands_is_refused() -> None:
    with pytest.raises(ValueError, match="239 bands"):
        EAR.smooth(np.ones(239))


def test_range_without_bands_is_refused() -> None:
    with pytest.raises(ValueError, match="no band"):
        erb_weight(FrequencyGrid(np.array([20.0, 30.0])), 200.0, 10e3)
