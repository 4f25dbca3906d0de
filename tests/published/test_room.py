"""Direct sound, first reflections and air against print; sources stand beside each case in section7.yaml.

Reverberation times, room modes and the absorption of air are in test_room_decay.py, clarity and speech transmission
in test_clarity.py.
"""

import numpy as np
import pytest

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.room import SURFACES, Shoebox, first_order_paths, path_energy, reflection_factor
from published.printed import Case, cases

CASES = cases("section7.yaml")
# The data file names surfaces by the coordinate they hold.
PATHS = dict(zip(("direct", "x0", "xL", "y0", "yL", "z0", "zL"), ("direct", *SURFACES), strict=True))
TESTED = {"S7.direct.doubling", "S7.ism.first", "S7.air.c", "S7.floor.bounce"}
BAND = FrequencyGrid(np.array([999.99, 1000.0, 1000.01]))


def _level_db(distance_m: float, reflection: float) -> float:
    """Level of one arrival re the same source at 1 m."""
    one, volts = np.full((1, 1, 3), reflection, dtype=complex), np.ones((1, 3), dtype=complex)
    energy = path_energy(BAND, one, np.array([[distance_m]]), Air(), volts)
    return float(10 * np.log10(energy[1, 0, 0]))


def _close(case: Case, found: FloatArray, printed: list[float]) -> None:
    for answer, value in zip(np.atleast_1d(found), printed, strict=True):
        assert abs(answer - value) <= case.allowed("", value), f"{case.id}: {answer}, printed {value}"


def test_every_case_is_used() -> None:
    assert CASES.keys() == TESTED


def test_six_decibels_a_doubling() -> None:
    case = CASES["S7.direct.doubling"]
    found = np.array([_level_db(distance, 1.0) for distance in case.inputs["r"]])
    _close(case, found, case.expected)


@pytest.mark.parametrize("surface", PATHS)
def test_first_reflections(surface: str) -> None:
    case = CASES["S7.ism.first"]
    given = case.inputs
    room = Shoebox.uniform(tuple(given["L_m"]), given["alpha_x0xLy0yLz0zL"])
    paths = first_order_paths(room, given["src"], given["rec"])
    speed = Air().sound_speed_m_s
    at = list(PATHS).index(surface)
    factor = float(reflection_factor(room, paths.surface[at], np.array([1000.0]))[0])
    distance, direct = paths.distance_m[at], paths.distance_m[0]
    single = Case(f"{case.id} {surface}", given, case.expected[surface], case.tolerance, case.source)
    single.check(
        dist_m=distance,
        t_ms=1e3 * distance / speed,
        level_dB=_level_db(distance, factor),
        dt_ms=1e3 * (distance - direct) / speed,
        rel_direct_dB=_level_db(distance, factor) - _level_db(direct, 1.0),
    )


def test_air() -> None:
    case = CASES["S7.air.c"]
    air = [Air(temperature_c=temperature) for temperature in case.inputs["T_C"]]
    speed = np.array([a.sound_speed_m_s for a in air])
    density = np.array([a.density_kg_m3 for a in air])
    _close(case, speed, case.expected["c"])
    _close(case, speed, case.expected["c_iso9613"])
    _close(case, density, case.expected["rho"])
    _close(case, speed * density, case.expected["z"])


def test_floor_bounce() -> None:
    case = CASES["S7.floor.bounce"]
    given = case.inputs
    room = Shoebox.uniform((20.0, 20.0, 20.0), [0.0] * 6)
    paths = first_order_paths(room, (5.0, 10.0, given["h_src"]), (5.0 + given["d_m"], 10.0, given["h_rec"]))
    chosen = [0, 1 + SURFACES.index("floor")]
    distance = paths.distance_m[None, chosen]
    longer = distance[0, 1] - distance[0, 0]
    air = Air()
    case.check(
        dL_m=longer,
        dt_ms=1e3 * longer / air.sound_speed_m_s,
        f_null=_deepest_hz(distance, air, 1.5 * given["c"] / (2 * given["d_m"])),
        rel_dB=_level_db(distance[0, 1], 1.0) - _level_db(distance[0, 0], 1.0),
    )


def _deepest_hz(distance_m: FloatArray, air: Air, from_hz: float) -> float:
    """Frequency of the first minimum of two arrivals, read from the energies in narrow bands."""
    grid = FrequencyGrid(np.arange(from_hz, 600.0, 0.01))
    both, volts = np.ones((1, 2, len(grid)), dtype=complex), np.ones((1, len(grid)), dtype=complex)
    energy = path_energy(grid, both, distance_m, air, volts).sum(axis=(1, 2))
    return float(grid.frequency_hz[np.argmin(energy)])
