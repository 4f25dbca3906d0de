"""Ear scales and smoothing against print; the source of each value stands beside it in section6.yaml."""

import numpy as np
import pytest

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge import erb_hz, octave_smoothing
from forehear.room import path_energy
from published.printed import Case, cases

CASES = cases("section6.yaml")
NOT_APPLICABLE = {"S6.bark.zwicker": "the house hears in ERBs; critical-band rate is used nowhere"}
SLOPES = [name for name in CASES if name.startswith("S6.smooth.slope")]
COMBS = [name for name in CASES if name.startswith("S6.smooth.comb")]
TESTED = {"S6.erb", "S6.erb.oct", "S6.smooth.flat", *SLOPES, *COMBS}


def _all_close(case: Case, found: FloatArray) -> None:
    """Hold a list of answers against the list that is printed."""
    for answer, value in zip(np.atleast_1d(found), np.atleast_1d(case.expected), strict=True):
        assert abs(answer - value) <= case.allowed("", float(value)), f"{case.id}: {answer}, printed {value}"


def _grid(middle_hz: float, octaves: float, per_octave: int) -> FrequencyGrid:
    """Bands with one of them exactly at `middle_hz`."""
    steps = np.arange(-round(octaves * per_octave), round(octaves * per_octave) + 1)
    return FrequencyGrid(middle_hz * 2.0 ** (steps / per_octave))


def _comb(case: Case, grid: FrequencyGrid) -> FloatArray:
    """Two arrivals, the later one weaker, as the room adds them up in each band."""
    air, later, weaker = Air(), case.inputs["dt_s"], case.inputs["g"]
    distance = np.array([[1.0, 1.0 + later * air.sound_speed_m_s]])
    amplitude = np.empty((1, 2, len(grid)), dtype=complex)
    amplitude[0] = np.array([[1.0], [weaker * distance[0, 1]]])
    volts = np.ones((1, len(grid)), dtype=complex)
    return path_energy(grid, amplitude, distance, air, volts).sum(axis=(1, 2))


def test_every_case_is_used() -> None:
    assert TESTED | NOT_APPLICABLE.keys() == CASES.keys()


def test_bandwidth_of_the_ear() -> None:
    case = CASES["S6.erb"]
    _all_close(case, erb_hz(np.array(case.inputs["f_Hz"], dtype=float)))


def test_bandwidth_as_a_share_of_an_octave() -> None:
    case = CASES["S6.erb.oct"]
    frequency = np.array(case.inputs["f_Hz"], dtype=float)
    _all_close(case, np.log(2) / (2 * np.arcsinh(erb_hz(frequency) / (2 * frequency))))


@pytest.mark.parametrize("name", SLOPES)
def test_a_slope_is_kept_and_raised(name: str) -> None:
    case = CASES[name]
    grid = _grid(1000.0, 2.5, 160)
    level = case.inputs["slope_dB_oct"] * np.log2(grid.frequency_hz / 1000.0)
    smoothed = 10 * np.log10(octave_smoothing(grid, case.inputs["n"]).smooth(10 ** (level / 10)))
    inner = np.abs(np.log2(grid.frequency_hz / 1000.0)) < 1.9  # away from the ends, where the window is cut
    for raised in (smoothed - level)[inner]:
        _all_close(case, raised)


def test_flat_stays_flat_to_both_ends() -> None:
    case = CASES["S6.smooth.flat"]
    grid = FrequencyGrid.standard()
    worst = [
        np.abs(10 * np.log10(octave_smoothing(grid, n, per_hertz=per_hertz).smooth(np.ones(240)))).max()
        for per_hertz in (False, True)
        for n in case.inputs["n"]
    ]
    _all_close(case, np.array(worst[: len(worst) // 2]))
    _all_close(case, np.array(worst[len(worst) // 2 :]))


@pytest.mark.parametrize("name", COMBS)
def test_comb_smoothed_in_power(name: str) -> None:
    case = CASES[name]
    middle, n = case.inputs["f0"], case.inputs["n"]
    grid = _grid(middle, 1.25, 640)
    at = len(grid) // 2
    energy = _comb(case, grid)
    per_hertz = octave_smoothing(grid, n, per_hertz=True).smooth(energy)[at]
    per_octave = octave_smoothing(grid, n).smooth(energy)[at]
    # Two octaves from an odd multiple of half the comb's period to another: whole periods, so the ripple
    # averages out.
    wide = octave_smoothing(grid, 0.5, per_hertz=True).smooth(energy)[at]
    case.check(
        linear_f_dB=10 * np.log10(per_hertz),
        log_f_dB=10 * np.log10(per_octave),
        unsmoothed_dB=10 * np.log10(energy[at]),
        wide_limit_dB=10 * np.log10(wide),
    )


@pytest.mark.parametrize("name", COMBS)
def test_comb_averaged_by_the_room_in_one_band(name: str) -> None:
    case = CASES[name]
    step = 2.0 ** (1 / case.inputs["n"])
    grid = FrequencyGrid(case.inputs["f0"] * np.array([1 / step, 1.0, step]))
    case.check(linear_f_dB=10 * np.log10(_comb(case, grid)[1]))
