"""What the speaker sends all around: both orbits, the sphere, and the standard curves made of them."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, sphere_directions
from forehear.ground.flowing import DriverPressure, DriveVoltage, EnergyForm
from forehear.ground.levels import level_db, pressure_level_db
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


@dataclass(frozen=True, eq=False)
class Surroundings:
    """Each driver's pressure in all directions; made once per shape."""

    horizontal: DriverPressure
    vertical: DriverPressure
    sphere: EnergyForm  # mean over all directions


@dataclass(frozen=True, eq=False)
class Around:
    """What the driven speaker sends all around."""

    curves: StandardCurves
    sound_power_sphere_db: FloatArray
    horizontal: Orbit
    vertical: Orbit


def surroundings(speaker: Speaker) -> Surroundings:
    """Find each driver's pressure on both orbits and over the sphere."""
    return Surroundings(
        speaker.pressure(Directions.horizontal_orbit()),
        speaker.pressure(Directions.vertical_orbit()),
        _over_the_sphere(speaker),
    )


def _over_the_sphere(speaker: Speaker) -> EnergyForm:
    """Mean square pressure over all directions, as a form in the driver voltages."""
    sphere, weight = sphere_directions()
    pressure = speaker.pressure(sphere).pressure_pa_v
    drivers = range(len(speaker.drivers))
    form = np.zeros((1, len(speaker.grid), len(drivers), len(drivers)), dtype=complex)
    for first in drivers:
        for second in drivers[first:]:
            product = pressure[first].conj() * pressure[second]
            shared = sphere_power(product.real, weight) + 1j * sphere_power(product.imag, weight)
            form[0, :, first, second], form[0, :, second, first] = shared, shared.conj()
    return EnergyForm(speaker.grid, ("sphere",), speaker.drivers, form)


def heard_around(sound: Surroundings, voltage: DriveVoltage, smoothing: EarSmoothing) -> Around:
    """Drive the speaker and take the standard curves."""
    horizontal = sound.horizontal.driven(voltage)
    vertical = sound.vertical.driven(voltage)
    return Around(
        curves=standard_curves(np.abs(horizontal) ** 2, np.abs(vertical) ** 2),
        sound_power_sphere_db=level_db(sound.sphere.driven(voltage)[0]),
        horizontal=_orbit(horizontal, smoothing),
        vertical=_orbit(vertical, smoothing),
    )


def _orbit(pressure: ComplexArray, smoothing: EarSmoothing) -> Orbit:
    energy = np.abs(pressure) ** 2
    return Orbit(
        level_db=pressure_level_db(pressure),
        phase_deg=np.degrees(np.angle(pressure)),
        beamwidth=beamwidth(energy),
        coverage=coverage(energy, smoothing),
    )
