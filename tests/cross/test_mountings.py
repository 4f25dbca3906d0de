"""One driver, measured in four mountings, comes out alike in one and the same new cabinet.

The driver is made up here: textbook motion of its small-signal constants times a breakup of its own. What a
microphone would read in each mounting is worked out without the code that takes measurements apart: the
half-space formula, the formula for the face of a piston, a rim of secondary sources for a thin panel, and
boundary elements for a cabinet. So nothing of a mounting may be left in, or counted twice.
"""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from cross.boundary_elements import box_factor, box_mesh
from forehear.design import load, write_starter
from forehear.ground.air import Air
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.radiation import Diaphragm, Front, instant_pressure
from forehear.spine.translate import speaker_of

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

AIR = Air()
RHO, C = AIR.density_kg_m3, AIR.sound_speed_m_s
GRID = FrequencyGrid.standard()
VOLTS, REFERENCE_PA = 2.83, 20e-6
RE_OHM, LE_H, FS_HZ, QMS, QES, VAS_M3, SD_M2 = 5.8, 0.25e-3, 48.0, 4.1, 0.42, 9.1e-3, 84e-4
RADIUS_M = float(np.sqrt(SD_M2 / np.pi))
CURVE_HZ = np.geomspace(50.0, 15e3, 400)
KA_ONE_HZ = C / (2 * np.pi * RADIUS_M)
SMALL_BOX_M = (0.19, 0.28, 0.21)
SMALL_BOX_M3 = 6.5e-3
CENTRE_IN_BOX_M = (0.0, 0.04)
PANEL_M = (1.65, 1.35)  # the standard baffle of IEC 60268-5, driver well off its middle
CENTRE_ON_PANEL_M = (0.15, 0.225)
ELEMENTS_TO_HZ = 1300.0
CABINET_M = (0.24, 0.36, 0.26)
CENTRE_M = (0.02, -0.05)
CABINET_M3 = 9e-3
JUDGED = (GRID.frequency_hz >= 100.0) & (GRID.frequency_hz <= 10e3)

DRIVER = """
driver: Made up
kind: cone
data: {{source: invented for this test}}
thiele-small: {{Re: 5.8 ohm, fs: 48 Hz, Qms: 4.1, Qes: 0.42, Vas: 9.1 l, Sd: 84 cm2}}
voice coil: {{Le: 0.25 mH}}
size: {{overall diameter: 130 mm}}
response: {{file: response.txt, distance: 1 m, voltage: 2.83 V, mounted: {mounted}}}
"""
DESIGN = """
design: One driver
brief: brief.yaml
cabinet: {width: 240 mm, height: 360 mm, depth: 260 mm}
drivers:
  cone: {part: parts/made-up.yaml, centre: [20 mm, -50 mm]}
ways:
  all: {drivers: [cone], enclosure: {closed: 9 l}}
"""


def velocity_m_s_v(hz: Floats, box_m3: float | None) -> Complexes:
    """Velocity of the cone per volt: one mechanical resonator driven by one coil (Small 1972)."""
    jw = 2j * np.pi * hz
    compliance = VAS_M3 / (RHO * C**2 * SD_M2**2)
    mass = 1 / ((2 * np.pi * FS_HZ) ** 2 * compliance)
    bl = np.sqrt(2 * np.pi * FS_HZ * mass * RE_OHM / QES)
    mechanical = jw * mass + 2 * np.pi * FS_HZ * mass / QMS + 1 / (jw * compliance)
    if box_m3:
        mechanical = mechanical + SD_M2**2 * RHO * C**2 / (jw * box_m3)
    coil = RE_OHM + jw * LE_H
    return np.asarray(bl / coil / (mechanical + bl**2 / coil))


def breakup(hz: Floats) -> Complexes:
    """What this cone does beyond a rigid one: a peak, a dip and a roll-off, all of minimum phase."""
    s = 1j * hz
    total = np.ones_like(s)
    for at_hz, above, below in ((3600.0, 2.0, 4.0), (5200.0, 5.0, 2.5)):
        total = total * (s**2 + s * at_hz / above + at_hz**2) / (s**2 + s * at_hz / below + at_hz**2)
    return np.asarray(total * 9e3 / (s + 9e3))


def source_pa_m(hz: Floats, box_m3: float | None) -> Complexes:
    """Pressure at 1 m of a free source of this driver's volume velocity, flight time taken out."""
    return np.asarray(
        2j * np.pi * hz * RHO * SD_M2 * velocity_m_s_v(hz, box_m3) * breakup(hz) * VOLTS / (4 * np.pi)
    )


def in_large_baffle(hz: Floats) -> Complexes:
    """Half space: twice the free source, and on axis the piston is all there."""
    return 2 * source_pa_m(hz, None)


def at_its_face(hz: Floats) -> Complexes:
    """In the middle of the face of a rigid piston: p = rho c u (1 - exp(-jka)) (textbook, Rayleigh's integral)."""
    wave = RHO * C * (1 - np.exp(-2j * np.pi * hz / C * RADIUS_M))
    return np.asarray(wave * velocity_m_s_v(hz, None) * breakup(hz) * VOLTS)


def on_a_panel(hz: Floats) -> Complexes:
    """A thin panel as a rim of secondary sources: twice the free source less the mean echo of all directions."""
    angle = (np.arange(4000) + 0.5) * 2 * np.pi / 4000
    (width, height), (across, up) = PANEL_M, CENTRE_ON_PANEL_M
    with np.errstate(divide="ignore"):
        to_side = np.where(np.cos(angle) > 0, width / 2 - across, -width / 2 - across) / np.cos(angle)
        to_end = np.where(np.sin(angle) > 0, height / 2 - up, -height / 2 - up) / np.sin(angle)
    rim_m = np.minimum(to_side, to_end)
    wave_number = 2 * np.pi * hz / C
    ka = np.maximum(wave_number * RADIUS_M, 1e-9)
    sideways = np.array([np.exp(-1j * k * rim_m).mean() for k in wave_number])
    # toward the rim a cone that is large against the wavelength sends less; under ka = 2 that is its first lobe
    return np.asarray(source_pa_m(hz, None) * (2 - sideways * np.maximum(1 - ka**2 / 8, 0.0)))


@lru_cache
def small_box_factor() -> tuple[Floats, Complexes]:
    """Boundary elements of the measurement cabinet straight ahead, at a handful of frequencies."""
    width, height, depth = SMALL_BOX_M
    mesh = box_mesh(width, height, depth, 0.045)
    ring = np.arange(8) * np.pi / 4
    across, up = CENTRE_IN_BOX_M
    spread = RADIUS_M * np.sqrt(0.5)
    source = np.stack([0 * ring, across + spread * np.cos(ring), up + spread * np.sin(ring)], axis=1)
    ahead = np.array([[1.0, 0.0, 0.0]])
    hz = np.geomspace(60.0, ELEMENTS_TO_HZ, 11)
    return hz, np.array([box_factor(mesh, source, ahead, 2 * np.pi * f / C)[0] for f in hz])


def instant_factor(
    hz: Floats, size_m: tuple[float, float, float], centre_m: tuple[float, float]
) -> Complexes:
    width, height, depth = size_m
    front = Front.rectangle(width, height, depth, centre_m=(-centre_m[0], -centre_m[1]))
    cone = Diaphragm((0.0, 0.0), RADIUS_M, SD_M2)
    pressure = instant_pressure(cone, front, Directions(np.array([[1.0, 0.0, 0.0]])), hz, AIR)[0]
    return np.asarray(pressure / (0.5j * hz * RHO * SD_M2))


def in_its_own_cabinet(hz: Floats) -> Complexes:
    """A closed cabinet by boundary elements as far as they reach, from there by edges."""
    solved_hz, solved = small_box_factor()
    below = np.interp(np.log(hz), np.log(solved_hz), np.abs(solved))
    above = np.abs(instant_factor(hz, SMALL_BOX_M, CENTRE_IN_BOX_M))
    return np.asarray(source_pa_m(hz, SMALL_BOX_M3) * np.where(hz <= ELEMENTS_TO_HZ, below, above))


MOUNTINGS: dict[str, Callable[[Floats], Complexes]] = {
    "large baffle": in_large_baffle,
    "near field": at_its_face,
    "standard baffle, baffle: {width: 1650 mm, height: 1350 mm, centre: [150 mm, 225 mm]}": on_a_panel,
    "own cabinet, closed: 6.5 l, "
    "cabinet: {width: 190 mm, height: 280 mm, depth: 210 mm, centre: [0 mm, 40 mm]}": in_its_own_cabinet,
}
NAMES = [name.split(",")[0] for name in MOUNTINGS]


def in_new_cabinet(
    folder: Path, mounted: str, hz: Floats, measured_pa: Complexes, *, phase: bool
) -> Complexes:
    """Pressure on axis at 1 m of the driver as these curves describe it, in the new cabinet."""
    write_starter(folder)
    columns = [hz, 20 * np.log10(np.abs(measured_pa) / REFERENCE_PA)]
    if phase:
        flight = 2 * np.pi * hz / C  # a microphone 1 m away hears later
        columns.append(np.degrees(np.angle(measured_pa * np.exp(-1j * flight))))
    np.savetxt(folder / "parts" / "response.txt", np.stack(columns, axis=1), fmt="%.5f")
    (folder / "parts" / "made-up.yaml").write_text(DRIVER.format(mounted=mounted), encoding="utf-8")
    (folder / "one.yaml").write_text(DESIGN, encoding="utf-8")
    speaker = speaker_of(load(folder / "one.yaml"), GRID)
    ahead = speaker.pressure(Directions(np.array([[1.0, 0.0, 0.0]]))).pressure_pa_v[0, 0]
    return np.asarray(ahead * VOLTS)


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Floats]:
    """Level on axis in the new cabinet, from each description. [dB]"""
    found = {}
    for name, (mounted, measured) in zip(NAMES, MOUNTINGS.items(), strict=True):
        hz = CURVE_HZ[CURVE_HZ < KA_ONE_HZ] if name == "near field" else CURVE_HZ
        folder = tmp_path_factory.mktemp("mounted") / "folder"
        found[name] = level_db(in_new_cabinet(folder, mounted, hz, measured(hz), phase=False))
    return found


def level_db(pressure: Complexes) -> Floats:
    return np.asarray(20 * np.log10(np.abs(pressure) / REFERENCE_PA))


def reached(name: str) -> NDArray[np.bool_]:
    """Where a description says anything."""
    return JUDGED & (GRID.frequency_hz < KA_ONE_HZ) if name == "near field" else JUDGED


@pytest.mark.parametrize("name", NAMES)
def test_each_description_gives_the_driver_in_its_new_cabinet(
    described: dict[str, Floats], name: str
) -> None:
    hz = GRID.frequency_hz
    truth = level_db(source_pa_m(hz, CABINET_M3) * instant_factor(hz, CABINET_M, CENTRE_M))
    assert np.abs(described[name] - truth)[reached(name)].max() < 1.0


@pytest.mark.parametrize("one", NAMES)
@pytest.mark.parametrize("other", NAMES)
def test_the_descriptions_agree(described: dict[str, Floats], one: str, other: str) -> None:
    both = reached(one) & reached(other)
    assert np.abs(described[one] - described[other])[both].max() < 1.0


def test_the_mountings_themselves_differ_so_that_something_is_at_stake() -> None:
    hz = np.array([120.0, 1000.0])
    baffle, cabinet = (level_db(measured(hz)) for measured in (in_large_baffle, in_its_own_cabinet))
    assert abs(baffle - cabinet)[0] > 4.0  # the baffle step: half space against a small box
    assert np.ptp(level_db(at_its_face(hz)) - baffle) < 1.0  # only a level apart, as the near field promises
    assert (level_db(at_its_face(hz)) - baffle)[0] == pytest.approx(20 * np.log10(2 / RADIUS_M), abs=0.1)


def test_a_measured_phase_and_a_minimum_phase_agree(tmp_path: Path) -> None:
    measured = in_large_baffle(CURVE_HZ)
    with_phase, without = (
        in_new_cabinet(tmp_path / str(phase), "large baffle", CURVE_HZ, measured, phase=phase)
        for phase in (True, False)
    )
    assert np.abs(level_db(with_phase) - level_db(without))[JUDGED].max() < 0.01
    together = level_db((with_phase + without) / 2)  # as when a second driver of the same kind plays along
    assert np.abs(together - level_db(with_phase))[JUDGED].max() < 1.0
    apart_deg = np.degrees(np.angle(with_phase / without))[JUDGED]
    assert np.abs(apart_deg).max() < 30.0  # what the roll-off beyond the curve would add at its end
    assert (
        np.ptp(np.degrees(np.angle(breakup(GRID.frequency_hz)))[JUDGED]) > 60.0
    )  # there was phase to be found
