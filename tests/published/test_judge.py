"""Standard curves, preference and fractional octaves against print; sources stand in section5.yaml.

The standard itself and the preference paper are from memory, not re-read, and the data file says so at each
case.
"""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.special import j1

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, FrequencyGrid, midband_hz, sphere_directions
from forehear.judge import (
    EarlyReflections,
    PowerWeights,
    StandardCurves,
    beaming_frequency_hz,
    lowest_allowed_impedance_ohm,
    orbit_power,
    preference_formula,
    sphere_power,
    standard_curves,
)
from forehear.judge import curves as angle_sets
from forehear.judge.curves import sound_power_weight
from forehear.judge.preference import narrow_band_deviation_db
from published.printed import Case, cases

CASES = cases("section5.yaml")
PATTERNS = [name for name in CASES if name.startswith("S5.pattern")]
TESTED = {
    *PATTERNS,
    "S5.sp.weights.std",
    "S5.sp.weights.sum",
    "S5.angles",
    "S5.pir.weights",
    "S5.olive.formula",
    "S5.olive.ripple",
    "S5.iec61260.third",
    "S5.iec61260.even",
    "S5.iec60268.ratedZ",
}


def _piston_in_front(angle: FloatArray) -> FloatArray:
    x = np.maximum(3.0 * np.abs(np.sin(angle)), 1e-9)
    return np.where(np.cos(angle) > -1e-9, 2 * j1(x) / x, 0.0)


# Amplitude re on axis at an angle from the axis, as the quantity of each case says.
AMPLITUDE: dict[str, Callable[[FloatArray], FloatArray]] = {
    "omni": np.ones_like,
    "cardioid": lambda angle: (1 + np.cos(angle)) / 2,
    "dipole": np.cos,
    "piston_halfspace_ka3": _piston_in_front,
}


def _orbit(case: Case) -> FloatArray:
    return AMPLITUDE[case.inputs["pattern"]](np.radians(ORBIT_ANGLES_DEG))[:, None] ** 2


def _close(case: Case, found: FloatArray, printed: list[float]) -> None:
    for answer, value in zip(np.atleast_1d(found), printed, strict=True):
        assert abs(answer - value) <= case.allowed("", value), f"{case.id}: {answer}, printed {value}"


def test_every_case_is_used() -> None:
    assert CASES.keys() == TESTED


def test_sound_power_weights() -> None:
    case = CASES["S5.sp.weights.std"]
    angles = np.array(case.inputs["theta_deg"], dtype=float)
    _close(case, sound_power_weight(angles), list(case.expected))


def test_sum_of_the_sound_power_weights() -> None:
    weight = sound_power_weight(np.arange(0.0, 181.0, 10.0))
    distinct = 4 * weight.sum() - 3 * (weight[0] + weight[-1])  # every angle four times, but each pole once
    CASES["S5.sp.weights.sum"].check(sum_4x=4 * weight.sum(), sum_70=distinct, dB_70=10 * np.log10(distinct))


@pytest.mark.parametrize("name", PATTERNS)
def test_curves_of_a_known_pattern(name: str) -> None:
    case = CASES[name]
    orbit = _orbit(case)
    made = {
        (early, power): standard_curves(orbit, orbit, early=early, power=power)
        for early in EarlyReflections
        for power in PowerWeights
    }
    listed = made[EarlyReflections.GROUPS, PowerWeights.LISTED]
    axis = listed.on_axis_db[0]

    def early_db(early: EarlyReflections) -> float:
        return float(made[early, PowerWeights.DISTINCT].early_reflections_db[0] - axis)

    def power_db(power: PowerWeights) -> float:
        return float(made[EarlyReflections.GROUPS, power].sound_power_db[0] - axis)

    case.check(
        on_dB=10 * np.log10(orbit[np.searchsorted(ORBIT_ANGLES_DEG, 0.0), 0]),
        LW_dB=listed.listening_window_db[0] - axis,
        ER_group_mean_dB=early_db(EarlyReflections.GROUPS),
        ER_point_mean_dB=early_db(EarlyReflections.POINTS),
        ER_group_mean_rear90to180_dB=early_db(EarlyReflections.WHOLE_REAR),
        SP_std_weights_dB=power_db(PowerWeights.LISTED),
        SP_70pt_normalised_dB=power_db(PowerWeights.DISTINCT),
        SP_zone_dB=power_db(PowerWeights.ZONES),
        SPDI_std_dB=listed.directivity_index_db[0],
        ERDI_group_dB=listed.early_reflections_directivity_index_db[0],
        PIR_dB=listed.estimated_in_room_db[0] - axis,
    )


@pytest.mark.parametrize("name", PATTERNS)
def test_power_over_the_whole_sphere(name: str) -> None:
    case = CASES[name]
    directions, weight = sphere_directions(0.5)  # the half-space piston ends abruptly at 90 degrees
    energy = AMPLITUDE[case.inputs["pattern"]](np.arccos(directions.unit[:, 0]))[:, None] ** 2
    power_db = 10 * np.log10(sphere_power(energy, weight)[0])
    case.check(SP_exact_dB=power_db, DI_exact_dB=-power_db)


def test_angle_sets() -> None:
    printed = CASES["S5.angles"].expected
    assert {key: list(angles) for key, angles in angle_sets.LISTENING_WINDOW_DEG.items()} == printed[
        "listening_window"
    ]
    assert list(angle_sets.FLOOR_DEG) == printed["floor"]["vertical"]
    assert list(angle_sets.CEILING_DEG) == printed["ceiling"]["vertical"]
    assert list(angle_sets.FRONT_WALL_DEG) == printed["front_wall"]["horizontal"]
    assert list(angle_sets.SIDE_WALLS_DEG) == printed["side_walls"]["horizontal"]
    assert list(angle_sets.REAR_WALL_DEG) == printed["rear_wall"]["horizontal"]
    assert printed["resolution"] == angle_sets.STEP_DEG


def test_distinct_directions_in_the_sound_power() -> None:
    silent, one = np.zeros((72, 1)), np.eye(72)
    heard = [
        (orbit_power(one, np.zeros((72, 72))) > 0).sum(),
        (orbit_power(np.zeros((72, 72)), one) > 0).sum(),
    ]
    shared = 2  # straight ahead and straight behind lie on both orbits
    assert orbit_power(silent, silent)[0] == 0
    assert sum(heard) - shared == CASES["S5.angles"].expected["measurements"]


def test_weights_of_the_estimated_in_room_response() -> None:
    case = CASES["S5.pir.weights"]
    found = dict(zip(("LW", "ER", "SP"), angle_sets.IN_ROOM_WEIGHTS, strict=True))
    case.check(**found)
    # Only the sound power hears 120 degrees, so the in-room response must hold its share of it and nothing
    # else.
    lone = np.where(np.isin(np.abs(ORBIT_ANGLES_DEG), [120.0]), 1.0, 0.0)[:, None]
    made = standard_curves(lone, lone)
    share = 10 ** ((made.estimated_in_room_db - made.sound_power_db)[0] / 10)
    assert share == pytest.approx(case.expected["SP"])


def test_preference_formula() -> None:
    case = CASES["S5.olive.formula"]
    given = case.inputs
    found = preference_formula(given["NBD_ON"], given["NBD_PIR"], given["LFX_Hz"], given["SM_PIR"])
    _close(case, np.array(found), [case.expected])


def test_deviation_of_a_ripple() -> None:
    case = CASES["S5.olive.ripple"]
    grid = FrequencyGrid(80.0 * 2.0 ** (np.arange(0, 8 * 400) / 400))
    ripple = case.inputs["A_dB"] * np.sin(2 * np.pi * 2 * np.log2(grid.frequency_hz / 100.0))
    _close(case, np.array(narrow_band_deviation_db(ripple, grid, 400)), [case.expected])


def test_third_octaves() -> None:
    case = CASES["S5.iec61260.third"]
    _close(case, midband_hz(case.inputs["b"], np.array(case.inputs["x"])), case.expected)


@pytest.mark.parametrize("per_octave", CASES["S5.iec61260.even"].inputs["b"])
def test_even_fractions_of_an_octave(per_octave: int) -> None:
    case = CASES["S5.iec61260.even"]
    _close(case, midband_hz(per_octave, np.arange(4)), case.expected[str(per_octave)])


def test_standard_grid_is_made_of_24ths() -> None:
    case = CASES["S5.iec61260.even"]
    grid = FrequencyGrid.standard()
    above = grid.frequency_hz[grid.frequency_hz >= 1000.0][:4]
    _close(case, above, case.expected["24"])


def test_lowest_impedance_a_rated_value_allows() -> None:
    case = CASES["S5.iec60268.ratedZ"]
    found = [lowest_allowed_impedance_ohm(rated) for rated in case.inputs["rated"]]
    _close(case, np.array(found), case.expected)


@pytest.mark.parametrize(("diameter_m", "frequency_hz"), [(0.070, 3100.0), (0.280, 780.0)])
def test_beaming_at_two_radians(diameter_m: float, frequency_hz: float) -> None:
    """Common practice, no source: 70 mm beams from 3.1 kHz, 280 mm from 0.78 kHz."""
    assert beaming_frequency_hz(diameter_m) == pytest.approx(frequency_hz, rel=0.01)


def test_a_flat_speaker_has_no_directivity() -> None:
    curves: StandardCurves = standard_curves(np.ones((72, 5)), np.ones((72, 5)))
    assert np.allclose(curves.directivity_index_db, 0.0, atol=1e-9)
