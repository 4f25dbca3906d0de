"""What a measured response says of a driver beyond its small-signal constants.

A response curve was taken in some mounting: that mounting, the radiation of an ideal diaphragm in it, and the motion
the constants predict are divided out. What is left (breakup, surround, voice coil losses) belongs to the driver alone
and goes with it into any cabinet. So the baffle step and the box are never counted twice.
"""

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.levels import REFERENCE_PRESSURE_PA
from forehear.ground.minimum_phase import minimum_phase_rad
from forehear.parts import MeasuredResponse
from forehear.radiation import Diaphragm, Front, instant_pressure

LOWEST_RE_RESONANCE = 2.0  # below twice the resonance the constants rule, and the curve is held
NEAR_FIELD = "near field"
PANEL_DEPTH_M = 0.02  # of a baffle that is a bare panel; it only matters behind and at the lowest frequencies
NEAR_FIELD_LIMIT_KA = 1.0  # Keele 1974: the near field tells the volume velocity up to here


def measured_front(response: MeasuredResponse) -> Front | None:
    """Front of the mounting a response was measured in, about the driver itself; None for an infinite one."""
    if response.front_m is None:
        return None
    across, up = response.centre_m
    return Front.rectangle(*response.front_m, response.depth_m or PANEL_DEPTH_M, centre_m=(-across, -up))


def strength(
    response: MeasuredResponse,
    diaphragm: Diaphragm,
    velocity_m_s_v: ComplexArray,
    resonance_hz: float,
    grid: FrequencyGrid,
    air: Air,
) -> ComplexArray:
    """Ratio of measured to modelled pressure, the part of a response that belongs to the driver, [frequency].

    Parameters
    ----------
    diaphragm
        As mounted for the measurement, at the origin.
    velocity_m_s_v
        Modelled velocity in the measured mounting, per volt, [frequency]. [m/s/V]
    resonance_hz
        Resonance of the driver in that mounting. [Hz]

    Returns
    -------
    array
        Complex ratio, held constant outside the band that the curve covers and below twice the resonance. [-]
    """
    frequency_hz = grid.frequency_hz
    near = response.mounted == NEAR_FIELD
    modelled = _modelled_pressure(response, diaphragm, velocity_m_s_v, frequency_hz, air)
    curve_hz = response.curve.frequency_hz
    lowest_hz = max(float(curve_hz[0]), LOWEST_RE_RESONANCE * resonance_hz)
    highest_hz = float(curve_hz[-1])
    if near:
        highest_hz = min(
            highest_hz, NEAR_FIELD_LIMIT_KA * air.sound_speed_m_s / (2 * np.pi * diaphragm.radius_m)
        )
    held_hz = np.clip(frequency_hz, lowest_hz, highest_hz)
    level_db = np.interp(np.log(held_hz), np.log(curve_hz), response.curve.value)
    to_one_metre = 1.0 if near else response.distance_m
    measured_pa = 10 ** (level_db / 20) * REFERENCE_PRESSURE_PA * to_one_metre / response.voltage_v
    modelled_pa = np.interp(np.log(held_hz), np.log(frequency_hz), np.abs(modelled))
    magnitude = measured_pa / modelled_pa
    phase_rad = (
        _phase_of(frequency_hz, magnitude)
        if response.curve.phase_deg is None
        else _residual_phase(response, modelled, held_hz, frequency_hz, air)
    )
    ratio: ComplexArray = magnitude * np.exp(1j * phase_rad)
    return ratio


def _phase_of(frequency_hz: FloatArray, magnitude: FloatArray) -> FloatArray:
    """Minimum phase; the ratio is held beyond what was measured, so both its tails are flat."""
    return minimum_phase_rad(
        frequency_hz, 20 * np.log10(magnitude), slope_below_db_per_octave=0.0, slope_above_db_per_octave=0.0
    )


def _modelled_pressure(
    response: MeasuredResponse,
    diaphragm: Diaphragm,
    velocity: ComplexArray,
    frequency_hz: FloatArray,
    air: Air,
) -> ComplexArray:
    if response.mounted == NEAR_FIELD:
        wave_number = 2 * np.pi * frequency_hz / air.sound_speed_m_s
        # On the face of a piston, at its middle: p = rho c u (1 - exp(-jka)) (Keele 1974).
        impedance = air.density_kg_m3 * air.sound_speed_m_s
        at_middle: ComplexArray = impedance * velocity * (1 - np.exp(-1j * wave_number * diaphragm.radius_m))
        return at_middle
    directions = Directions.from_angles(np.array([response.angle_rad]), np.zeros(1))
    front = measured_front(response)
    field = instant_pressure(
        diaphragm,
        front or Front.rectangle(1.0, 1.0, 1.0),
        directions,
        frequency_hz,
        air,
        edges=front is not None,
    )
    pressure: ComplexArray = field[0] * velocity
    return pressure


def _residual_phase(
    response: MeasuredResponse,
    modelled: ComplexArray,
    held_hz: FloatArray,
    frequency_hz: FloatArray,
    air: Air,
) -> FloatArray:
    """Measured phase less flight time and model, near zero at its low end."""
    assert response.curve.phase_deg is not None
    phase_rad = np.unwrap(np.radians(response.curve.phase_deg))
    measured = np.interp(held_hz, response.curve.frequency_hz, phase_rad)
    distance_m = 0.0 if response.mounted == NEAR_FIELD else response.distance_m
    flight = 2 * np.pi * held_hz * distance_m / air.sound_speed_m_s
    model = np.interp(held_hz, frequency_hz, np.unwrap(np.angle(modelled)))
    residual: FloatArray = measured + flight - model
    turns: float = np.round(residual[0] / (2 * np.pi))
    whole: FloatArray = residual - 2 * np.pi * turns
    return whole
