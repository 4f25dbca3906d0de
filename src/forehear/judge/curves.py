"""The standard curves of ANSI/CTA-2034-A, from the energies on both orbits.

Angle sets, weights and averaging are from memory of the 2015 text, not re-read.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, TENTHS
from forehear.ground.levels import level_db

LISTENING_WINDOW_DEG = {"horizontal": (-30, -20, -10, 0, 10, 20, 30), "vertical": (-10, 10)}
FLOOR_DEG = (-20, -30, -40)  # vertical
CEILING_DEG = (40, 50, 60)  # vertical
FRONT_WALL_DEG = (0, 10, -10, 20, -20, 30, -30)  # horizontal
SIDE_WALLS_DEG = (40, -40, 50, -50, 60, -60, 70, -70, 80, -80)  # horizontal
REAR_WALL_DEG = (180, 90, -90)  # horizontal
WHOLE_REAR_DEG = (180, *(sign * angle for angle in range(90, 180, 10) for sign in (1, -1)))
IN_ROOM_WEIGHTS = (0.12, 0.44, 0.44)  # listening window, early reflections, sound power
STEP_DEG = 10


class EarlyReflections(StrEnum):
    """How the early reflections are averaged; the standard can be read in more than one way."""

    GROUPS = "mean of the five surfaces' means"  # the default
    POINTS = "mean of all directions"
    WHOLE_REAR = "mean of the five surfaces' means, rear wall from 90 to 180 degrees"


class PowerWeights(StrEnum):
    """How the directions of both orbits are weighted into sound power."""

    DISTINCT = "standard weights, 70 directions"  # the default: each pole counts once
    LISTED = "standard weights, poles listed in all four half circles"
    ZONES = "zones of the sphere"  # right where the source is round, and the standard 0.1 to 0.5 dB high


@dataclass(frozen=True, eq=False)
class StandardCurves:
    """Levels re 20 uPa at 1 m and 2.83 V, and the differences between them, each [frequency]."""

    on_axis_db: FloatArray
    listening_window_db: FloatArray
    early_reflections_db: FloatArray
    sound_power_db: FloatArray
    directivity_index_db: FloatArray
    early_reflections_directivity_index_db: FloatArray
    estimated_in_room_db: FloatArray
    early_reflections_mean: EarlyReflections = EarlyReflections.GROUPS
    power_weights: PowerWeights = PowerWeights.DISTINCT


def standard_curves(
    horizontal_energy: FloatArray,
    vertical_energy: FloatArray,
    *,
    early: EarlyReflections = EarlyReflections.GROUPS,
    power: PowerWeights = PowerWeights.DISTINCT,
) -> StandardCurves:
    """Average both orbits into the standard curves; averages are of squared pressure.

    Parameters
    ----------
    horizontal_energy, vertical_energy : array
        Mean square pressure per volt squared at 1 m, [orbit angle, frequency] on `ORBIT_ANGLES_DEG`, of which
        every tenth degree is used, or on those `TENTHS` alone. [Pa2/V2]
    early : EarlyReflections
        How early reflections are averaged. [-]
    power : PowerWeights
        How sound power is weighted. [-]

    Returns
    -------
    StandardCurves
        Levels and indices. [dB]

    Source
    ------
    ansi-cta-2034-a, from memory: angle sets, weights on squared pressure, 20 Hz to 20 kHz.

    Examples
    --------
    A source that radiates alike everywhere has no directivity:

    >>> orbit = np.ones((72, 3))
    >>> print(standard_curves(orbit, orbit).directivity_index_db.round(6) + 0.0)
    [0. 0. 0.]
    """
    on_axis = _at(horizontal_energy, (0,))[0]
    window = np.concatenate(
        [
            _at(horizontal_energy, LISTENING_WINDOW_DEG["horizontal"]),
            _at(vertical_energy, LISTENING_WINDOW_DEG["vertical"]),
        ]
    ).mean(axis=0)
    reflections = early_reflections_energy(horizontal_energy, vertical_energy, early)
    whole = orbit_power(horizontal_energy, vertical_energy, power)
    in_room = IN_ROOM_WEIGHTS[0] * window + IN_ROOM_WEIGHTS[1] * reflections + IN_ROOM_WEIGHTS[2] * whole
    window_db, reflections_db, power_db = level_db(window), level_db(reflections), level_db(whole)
    return StandardCurves(
        on_axis_db=level_db(on_axis),
        listening_window_db=window_db,
        early_reflections_db=reflections_db,
        sound_power_db=power_db,
        directivity_index_db=window_db - power_db,
        early_reflections_directivity_index_db=window_db - reflections_db,
        estimated_in_room_db=level_db(in_room),
        early_reflections_mean=early,
        power_weights=power,
    )


def early_reflections_energy(
    horizontal_energy: FloatArray,
    vertical_energy: FloatArray,
    early: EarlyReflections = EarlyReflections.GROUPS,
) -> FloatArray:
    """Mean square pressure sent toward the five surfaces of an ordinary room.

    Parameters
    ----------
    horizontal_energy, vertical_energy : array
        Mean square pressure, [orbit angle, frequency]. [Pa2/V2]
    early : EarlyReflections
        How it is averaged. [-]

    Returns
    -------
    array
        Mean square pressure, [frequency]. [Pa2/V2]

    Source
    ------
    ansi-cta-2034-a, from memory: floor, ceiling, front wall, side walls, rear wall.

    Examples
    --------
    >>> float(early_reflections_energy(np.ones((72, 1)), np.ones((72, 1)))[0])
    1.0
    """
    rear = WHOLE_REAR_DEG if early is EarlyReflections.WHOLE_REAR else REAR_WALL_DEG
    groups = [_at(vertical_energy, angles) for angles in (FLOOR_DEG, CEILING_DEG)]
    groups += [_at(horizontal_energy, angles) for angles in (FRONT_WALL_DEG, SIDE_WALLS_DEG, rear)]
    if early is EarlyReflections.POINTS:
        points: FloatArray = np.concatenate(groups).mean(axis=0)
        return points
    means: FloatArray = np.mean([group.mean(axis=0) for group in groups], axis=0)
    return means


def sound_power_weight(angle_deg: FloatArray) -> FloatArray:
    r"""Weight of one direction at an angle from the axis, where the orbits pass it four times.

    .. math:: w = [A(\theta + 5^\circ) - A(\theta - 5^\circ)] / 16\pi, \quad A(h) = 4 \arcsin \sin^2 h

    with A the area of the spherical square of half angle h (beyond 90 degrees 4 pi less the square behind),
    and only A(5 degrees) at the poles.

    Parameters
    ----------
    angle_deg : array
        Angle from the axis, a multiple of 10, 0 to 180. [deg]

    Returns
    -------
    array
        Weight of each of the four directions at this angle. [-]

    Source
    ------
    ansi-cta-2034-a, table of weights, from memory; the formula returns that table to 1e-9.

    Examples
    --------
    >>> print(sound_power_weight(np.array([0.0, 90.0])).round(6))
    [0.000604 0.019629]
    """
    from_pole = np.minimum(angle_deg, 180.0 - angle_deg)  # the table is the same seen from behind
    outer = _square_area(from_pole + STEP_DEG / 2)
    inner = np.where(from_pole > 0, _square_area(np.abs(from_pole - STEP_DEG / 2)), 0.0)
    weight: FloatArray = (outer - inner) / (16 * np.pi)
    return weight


def orbit_power(
    horizontal_energy: FloatArray, vertical_energy: FloatArray, power: PowerWeights = PowerWeights.DISTINCT
) -> FloatArray:
    """Sound power as mean square pressure over the sphere, estimated from both orbits.

    The weights are divided by their own sum, so a source that radiates alike everywhere reads its own level.

    Parameters
    ----------
    horizontal_energy, vertical_energy : array
        Mean square pressure, [orbit angle, frequency]; every tenth degree is used. [Pa2/V2]
    power : PowerWeights
        Which weights. [-]

    Returns
    -------
    array
        Mean square pressure, [frequency]. [Pa2/V2]

    Source
    ------
    ansi-cta-2034-a, from memory; for directive sources its weights read 0.1 to 0.5 dB high.

    Examples
    --------
    >>> round(float(orbit_power(np.ones((72, 1)), np.ones((72, 1)))[0]), 9)
    1.0
    """
    angles = range(-180 + STEP_DEG, 181, STEP_DEG)
    away = np.abs(np.array(angles, dtype=float))
    weight = _zone_weight(away) if power is PowerWeights.ZONES else sound_power_weight(away)
    poles = (away == 0) | (away == 180)
    # Both orbits hold both poles: half the weight in each counts a pole once, twice the weight counts it four
    # times.
    weight = np.where(poles, weight * (0.5 if power is PowerWeights.DISTINCT else 2.0), weight)
    both: FloatArray = _at(horizontal_energy, angles) + _at(vertical_energy, angles)
    total: FloatArray = weight @ both / (2 * weight.sum())
    return total


def sphere_power(energy: FloatArray, weight: FloatArray) -> FloatArray:
    """Sound power as mean square pressure over a sphere of weighted directions.

    Parameters
    ----------
    energy : array
        Mean square pressure, [direction, frequency]. [Pa2/V2]
    weight : array
        Share of the sphere each direction stands for, [direction]. [-]

    Returns
    -------
    array
        Mean square pressure, [frequency]. [Pa2/V2]

    Source
    ------
    own-definition: the mean over the sphere.

    Examples
    --------
    >>> float(sphere_power(np.array([[1.0], [3.0]]), np.array([0.5, 0.5]))[0])
    2.0
    """
    mean: FloatArray = weight @ energy / weight.sum()
    return mean


def _square_area(half_angle_deg: FloatArray) -> FloatArray:
    """Solid angle of a spherical square; its sides are great circles."""
    inside = 4 * np.arcsin(np.sin(np.radians(np.minimum(half_angle_deg, 180.0 - half_angle_deg))) ** 2)
    area: FloatArray = np.where(half_angle_deg <= 90.0, inside, 4 * np.pi - inside)
    return area


def _zone_weight(angle_deg: FloatArray) -> FloatArray:
    """Return a quarter of the share of the sphere within half a step of this angle from the axis."""
    lower = np.radians(np.maximum(angle_deg - STEP_DEG / 2, 0.0))
    upper = np.radians(np.minimum(angle_deg + STEP_DEG / 2, 180.0))
    weight: FloatArray = (np.cos(lower) - np.cos(upper)) / 8
    return weight


def _at(energy: FloatArray, angles_deg: Iterable[int]) -> FloatArray:
    """Rows of an orbit at whole angles, all of them tenths."""
    whole, tenths = ORBIT_ANGLES_DEG, ORBIT_ANGLES_DEG[TENTHS]
    if energy.shape[0] not in (whole.size, tenths.size):
        raise ValueError(f"an orbit has {whole.size} or {tenths.size} angles, not {energy.shape[0]}")
    there = whole if energy.shape[0] == whole.size else tenths
    rows = np.searchsorted(there, np.array(list(angles_deg), dtype=float))
    chosen: FloatArray = energy[rows]
    return chosen
