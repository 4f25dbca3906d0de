"""What the speaker sends all around: both orbits, the sphere, and the standard curves made of them."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import TENTHS, Directions, sphere_directions
from forehear.ground.flowing import DriverPressure, DriveVoltage
from forehear.ground.levels import level_db
from forehear.ground.store import KeptResults, content_key
from forehear.judge import (
    EarSmoothing,
    StandardCurves,
    sphere_power,
    standard_curves,
)
from forehear.spine.prediction import Orbit
from forehear.spine.speaker import Speaker

_surroundings: KeptResults["Surroundings"] = KeptResults(most=3)  # a few megabytes each


class Circle(StrEnum):
    """One of the two orbits."""

    HORIZONTAL = "horizontal"
    VERTICAL = "vertical"


@dataclass(frozen=True, eq=False)
class Surroundings:
    """Each driver's pressure on both orbits, phases about the middle of the front; made once per shape.

    An orbit of which only the standard curves are wanted holds its `TENTHS` alone.
    """

    horizontal: DriverPressure
    vertical: DriverPressure
    speaker: Speaker


@dataclass(frozen=True, eq=False)
class Around:
    """What the driven speaker sends all around."""

    curves: StandardCurves
    horizontal: Orbit
    vertical: Orbit


def surroundings(speaker: Speaker, out_of_sight: Circle | None = None) -> Surroundings:
    """Find each driver's pressure on both orbits; a changed network changes nothing here.

    Of an orbit out of sight only the `TENTHS`.
    """
    key = content_key(speaker.acoustics, out_of_sight)
    return _surroundings.get(key, lambda: _surroundings_of(speaker, out_of_sight))


def _surroundings_of(speaker: Speaker, out_of_sight: Circle | None) -> Surroundings:
    horizontal, vertical = (
        Directions(orbit.unit[TENTHS]) if circle is out_of_sight else orbit
        for circle, orbit in zip(
            Circle, (Directions.horizontal_orbit(), Directions.vertical_orbit()), strict=True
        )
    )
    each = speaker.about_middle(Directions.joined(horizontal, vertical))
    first = np.array([pressure[: len(horizontal)] for pressure in each])
    second = np.array([pressure[len(horizontal) :] for pressure in each])
    return Surroundings(
        DriverPressure(speaker.grid, horizontal, speaker.drivers, first),
        DriverPressure(speaker.grid, vertical, speaker.drivers, second),
        speaker,
    )


def heard_around(sound: Surroundings, voltage: DriveVoltage, smoothing: EarSmoothing) -> Around:
    """Drive the speaker and take the standard curves."""
    horizontal, vertical = (
        _orbit(orbit, voltage, sound.speaker, smoothing) for orbit in (sound.horizontal, sound.vertical)
    )
    return Around(
        curves=standard_curves(horizontal.energy, vertical.energy),
        horizontal=horizontal,
        vertical=vertical,
    )


def sphere_power_db(speaker: Speaker, voltage: DriveVoltage) -> FloatArray:
    """Sound power from the whole sphere, a check of that from the orbits, [frequency] [dB]."""
    directions, weight = sphere_directions()
    pressure = speaker.pressure(directions).driven(voltage)
    return level_db(sphere_power(np.abs(pressure) ** 2, weight))


def _orbit(orbit: DriverPressure, voltage: DriveVoltage, speaker: Speaker, smoothing: EarSmoothing) -> Orbit:
    return Orbit(
        pressure_pa_v=orbit.driven(voltage),
        to_reference=lambda: speaker.to_reference(orbit.directions),
        smoothing=smoothing,
    )
