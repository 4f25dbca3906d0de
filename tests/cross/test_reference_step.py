"""How a cabinet takes over from free air: the step of a front, and what arrives behind, by the reference solver.

Gains are re a free source of equal volume velocity: nothing at low frequency, where sound goes all around, up to
about 6 dB ahead at high frequency, where the front reflects all of it.
"""

import math
import tomllib
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.design import load
from forehear.ground.air import Air
from forehear.radiation import Cap, Fineness, Mesh, Solver, Sweep, cap_on_sphere, sphere_surface
from surfaces_asked import CABINETS, DENSITY_KG_M3, SOUND_SPEED_M_S, STEP_HZ, UNIT, cabinet

STORED = tomllib.loads((Path(__file__).parent / "data" / "surfaces.toml").read_text(encoding="utf-8"))["step"]
FOLDER = Path(__file__).parent.parent.parent / "examples" / "attic-cinema"
AIR = Air()
AHEAD = np.array([[1.0, 0.0, 0.0]])
Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def free(hz: float, area_m2: float) -> float:
    """Pressure at 1 m of a free source of that volume velocity."""
    return hz * AIR.density_kg_m3 * area_m2 / 2


def sphere(radius_m: float, half_rad: float, element_m: float) -> Mesh:
    """A cap ahead that moves along its axis."""
    mesh = sphere_surface(radius_m, [Cap((1.0, 0.0, 0.0), half_rad)], element_m)
    area = mesh.surface.elements.vector_area_m2
    return replace(mesh, velocity_of_triangle=area[:, 0] / np.linalg.norm(area, axis=1))


def test_the_step_of_a_sphere() -> None:
    """Ahead within 0.1 dB of the exact series, and 3 dB gained at 108 m/s over the diameter."""
    radius_m, half_rad = 0.1, math.radians(15.0)
    hz = np.geomspace(0.1, 4.0, 30) * AIR.sound_speed_m_s / (2 * np.pi * radius_m)
    fineness = Fineness(coarsest_m=0.025)
    sweep = Sweep(lambda element_m: sphere(radius_m, half_rad, element_m), hz, AHEAD, AIR, fineness)
    area_m2 = math.pi * (radius_m * math.sin(half_rad)) ** 2
    found = np.concatenate([np.abs(band.pressure[0, 0]) for band in sweep.bands()])
    gain_db = 20 * np.log10(found / [free(each, area_m2) for each in hz])
    exact = cap_on_sphere(2 * np.pi * hz * radius_m / AIR.sound_speed_m_s, np.ones(1), half_rad)[0]
    assert np.max(np.abs(gain_db - 20 * np.log10(np.abs(exact)))) < 0.1
    assert abs(gain_db[0]) < 0.2
    risen = int(np.argmax(gain_db > 3.0))
    three_hz = np.interp(3.0, gain_db[risen - 1 : risen + 1], hz[risen - 1 : risen + 1])
    assert three_hz == pytest.approx(108.0 / (2 * radius_m), rel=0.03)


@lru_cache
def gains(name: str) -> tuple[Complexes, Complexes]:
    """Pressure all around re the free source, [frequency, direction]: ours, and bempp-cl's on finer triangles."""
    area_m2 = math.pi * CABINETS[name][1].radius_m ** 2
    rows = [row for row in STORED if row["cabinet"] == name]
    assert tuple(row["hz"] for row in rows) == STEP_HZ
    mesh = cabinet(name, AIR.sound_speed_m_s / max(STEP_HZ) / 7)
    solver = Solver(mesh.surface, SOUND_SPEED_M_S, DENSITY_KG_M3)
    ours = [solver.pressure(hz, UNIT)[0] / free(hz, area_m2) for hz in STEP_HZ]
    theirs = [
        (np.array(row["pressure_real_pa"]) + 1j * np.array(row["pressure_imag_pa"]))[0]
        / free(row["hz"], area_m2)
        for row in rows
    ]
    return np.array(ours), np.array(theirs)


def test_the_cabinets_are_those_of_the_examples() -> None:
    for name, (size_m, piston) in CABINETS.items():
        design = load(FOLDER / f"{name}.yaml")
        (driver,) = (driver for driver in design.drivers if driver.name == design.ways[0].drivers[0])
        box = design.cabinet
        assert (box.width_m, box.height_m, box.depth_m) == size_m
        assert driver.centre_m == piston.centre_m
        assert driver.part.diaphragm_radius_m == pytest.approx(piston.radius_m, abs=1e-4)


@pytest.mark.parametrize("name", CABINETS)
def test_the_step_of_an_example(name: str) -> None:
    """Ahead within 0.1 dB of the library; next to nothing gained at 80 Hz, more than 6 dB at 1 kHz."""
    ahead = int(np.argmax(UNIT[:, 0]))
    found, wanted = (20 * np.log10(np.abs(one[:, ahead])) for one in gains(name))
    assert np.max(np.abs(found - wanted)) < 0.1
    assert abs(found[0]) < 0.2
    assert found[-1] > 6.0


@pytest.mark.parametrize("name", CABINETS)
def test_what_arrives_behind_an_example(name: str) -> None:
    """Power of the rear half of both orbits within 0.1 dB of the library: as in front at 80 Hz, far less at 1 kHz."""
    behind, ahead = UNIT[:, 0] < -1e-9, UNIT[:, 0] > 1e-9
    ours, theirs = gains(name)
    rear, wanted, front = (
        10 * np.log10(np.sum(np.abs(one[:, where]) ** 2, axis=1))
        for one, where in ((ours, behind), (theirs, behind), (ours, ahead))
    )
    assert np.max(np.abs(rear - wanted)) < 0.1
    assert abs(rear[0] - front[0]) < 0.5
    assert rear[-1] < front[-1] - 6.0
