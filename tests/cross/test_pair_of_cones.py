"""Facts of the trade (common practice, no source) on sizes of our own, through the instant model.

Ideal acoustic voltages of 24 dB an octave (textbook) go straight to the drivers; levels are re on axis at
the same frequency.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from acoustic_voltages import ideal_ways
from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.radiation import Diaphragm, Front, instant_pressure

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

AIR = Air()
HZ = np.geomspace(150.0, 8000.0, 500)
SPEECH = (HZ > 200.0) & (HZ < 5000.0)
NARROW = Front.rectangle(0.349, 0.127, 0.2)


def driver(y: float, z: float, diameter_m: float) -> Diaphragm:
    return Diaphragm((y, z), diameter_m / 2, math.pi * diameter_m**2 / 4)


def off_axis_db(
    drive: list[tuple[Diaphragm, Complexes]], front: Front, angles_deg: list[float], *, edges: bool
) -> Floats:
    """Level re on axis, [angle, frequency]; a drive of 1 is the level of a free source, whatever the area."""
    directions = Directions.from_angles(np.radians([0.0, *angles_deg]), np.zeros(1))
    total = np.zeros((len(directions), HZ.size), dtype=np.complex128)
    for speaker, volts in drive:
        total += instant_pressure(speaker, front, directions, HZ, AIR, edges=edges) * volts / speaker.area_m2
    return np.asarray(20 * np.log10(np.abs(total[1:] / total[0])))


def pair_about_a_dome(corner_hz: float) -> list[tuple[Diaphragm, Complexes]]:
    low, high = ideal_ways("LR4", HZ / corner_hz)
    cones = [(driver(y, 0.0, 0.074), low / 2) for y in (-0.111, 0.111)]
    return [*cones, (driver(0.0, 0.0, 0.025), high)]


def deepest(level_db: Floats, corner_hz: float) -> tuple[float, float]:
    """Depth and frequency of the lowest point within an octave of the crossing."""
    near = (corner_hz / 2 < HZ) & (corner_hz * 2 > HZ)
    at = int(np.argmin(np.where(near, level_db, np.inf)))
    return float(level_db[at]), float(HZ[at])


@pytest.mark.parametrize(
    ("corner_hz", "within", "hole", "around_hz", "with_edges_hz"),
    [
        (2550.0, (10.0, 3.0), (20.0, -8.4, 0.5), 2240.0, (1900.0, 2950.0)),
        (1700.0, (20.0, 4.0), (40.0, -16.8, 1.0), 1420.0, (1200.0, 1600.0)),
    ],
    ids=["crossed at 2.55 kHz", "crossed at 1.70 kHz"],
)
def test_two_cones_beside_a_dome(
    corner_hz: float,
    within: tuple[float, float],
    hole: tuple[float, float, float],
    around_hz: float,
    with_edges_hz: tuple[float, float],
) -> None:
    drive, angles = pair_about_a_dome(corner_hz), [within[0], hole[0]]
    near, far = off_axis_db(drive, NARROW, angles, edges=False)
    assert deepest(near, corner_hz)[0] > -within[1]
    depth, at = deepest(far, corner_hz)
    assert depth == pytest.approx(hole[1], abs=hole[2])
    assert at == pytest.approx(around_hz, rel=0.03)

    near_edges, far_edges = off_axis_db(drive, NARROW, angles, edges=True)
    assert deepest(near_edges, corner_hz)[0] == pytest.approx(deepest(near, corner_hz)[0], abs=2.0)
    depth_edges, at_edges = deepest(far_edges, corner_hz)
    assert depth_edges == pytest.approx(depth, abs=2.0)
    assert with_edges_hz[0] < at_edges < with_edges_hz[1]


def three_ways(spacing_m: float, low_hz: float) -> dict[str, list[tuple[Diaphragm, Complexes]]]:
    """A midrange below the dome, between two woofers."""
    woofers, rest = ideal_ways("LR4", HZ / low_hz)
    middle, top = ideal_ways("LR4", HZ / 2700.0)
    half = spacing_m / 2
    return {
        "woofers": [(driver(y, 0.0, 0.108), woofers / 2) for y in (-half, half)],
        "midrange": [(driver(0.0, -0.045, 0.074), rest * middle)],
        "dome": [(driver(0.0, 0.03, 0.025), rest * top)],
    }


@pytest.mark.parametrize("low_hz", [400.0, 450.0, 500.0])
def test_a_midrange_between_woofers_keeps_the_side_seats(low_hz: float) -> None:
    front = Front.rectangle(0.56, 0.2, 0.25)
    ways = three_ways(0.4, low_hz)
    drive = [part for way in ways.values() for part in way]
    *inside, far = off_axis_db(drive, front, [15.0, 30.0, 45.0, 60.0], edges=True)
    for level in inside:
        assert np.min(level[SPEECH]) > -6.0
    at = int(np.argmin(np.where(SPEECH, far, np.inf)))
    assert -9.0 < far[at] < -6.0
    assert low_hz / 1.4 < HZ[at] < low_hz * 1.4

    # not the midrange: as a point, it leaves the dip as deep; without edges or spacing it is much shallower
    point = [(Diaphragm(ways["midrange"][0][0].centre_m, 0.0, 1e-3), ways["midrange"][0][1])]
    same = off_axis_db([*ways["woofers"], *point, *ways["dome"]], front, [60.0], edges=True)[0]
    assert np.min(same[SPEECH]) == pytest.approx(far[at], abs=0.3)
    together = [(driver(0.0, 0.0, 0.108), volts) for _, volts in ways["woofers"]]
    assert np.min(off_axis_db(drive, front, [60.0], edges=False)[0][SPEECH]) > far[at] + 1.5
    closer = off_axis_db([*together, *ways["midrange"], *ways["dome"]], front, [60.0], edges=True)[0]
    assert closer[at] > far[at] + 1.5
