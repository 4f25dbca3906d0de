"""What the speaker sends all around: both orbits, the sphere, and the standard curves made of them."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, sphere_directions
from forehear.ground.flowing import DriverPressure, DriveVoltage
from forehear.ground.levels import level_db, pressure_level_db
from forehear.ground.store import KeptResults
from forehear.judge import (
    EarSmoothing,
    StandardCurves,
    beamwidth,
    coverage,
    sphere_power,
    standard_curves,
)
from forehear.spine.prediction import Orbit
from forehear.spine.speaker import Speaker

_surroundings: KeptResults["Surroundings"] = KeptResults(most=4)  # a few megabytes each


@dataclass(frozen=True, eq=False)
class Surroundings:
    """Each driver's pressure on both orbits; made once per shape."""

    horizontal: DriverPressure
    vertical: DriverPressure


@dataclass(frozen=True, eq=False)
class Around:
    """What the driven speaker sends all around."""

    curves: StandardCurves
    horizontal: Orbit
    vertical: Orbit


def surroundings(speaker: Speaker) -> Surroundings:
    """Find each driver's pressure on both orbits; a changed network changes nothing here."""
    return _surroundings.get(speaker.acoustics, lambda: _surroundings_of(speaker))


def _surroundings_of(speaker: Speaker) -> Surroundings:
    horizontal, vertical = Directions.horizontal_orbit(), Directions.vertical_orbit()
    both = speaker.pressure(Directions.joined(horizontal, vertical)).pressure_pa_v
    return Surroundings(
        DriverPressure(speaker.grid, horizontal, speaker.drivers, both[:, : len(horizontal)]),
        DriverPressure(speaker.grid, vertical, speaker.drivers, both[:, len(horizontal) :]),
    )


def heard_around(sound: Surroundings, voltage: DriveVoltage, smoothing: EarSmoothing) -> Around:
    """Drive the speaker and take the standard curves."""
    horizontal = sound.horizontal.driven(voltage)
    vertical = sound.vertical.driven(voltage)
    return Around(
        curves=standard_curves(np.abs(horizontal) ** 2, np.abs(vertical) ** 2),
        horizontal=_orbit(horizontal, smoothing),
        vertical=_orbit(vertical, smoothing),
    )


def sphere_power_db(speaker: Speaker, voltage: DriveVoltage) -> FloatArray:
    """Sound power from the whole sphere, a check of that from the orbits, [frequency] [dB]."""
    directions, weight = sphere_directions()
    pressure = speaker.pressure(directions).driven(voltage)
    return level_db(sphere_power(np.abs(pressure) ** 2, weight))


def _orbit(pressure: ComplexArray, smoothing: EarSmoothing) -> Orbit:
    energy = np.abs(pressure) ** 2
    return Orbit(
        level_db=pressure_level_db(pressure),
        phase_deg=np.degrees(np.angle(pressure)),
        beamwidth=beamwidth(energy),
        coverage=coverage(energy, smoothing),
    )
