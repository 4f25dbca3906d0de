"""Levels as everybody quotes them: dB re 20 uPa, at 1 m, for 2.83 V at the terminals."""

import math

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray

REFERENCE_PRESSURE_PA = 20e-6
REFERENCE_VOLTAGE_V = math.sqrt(8.0)  # the "2.83 V" of the trade: 1 W into 8 ohm (IEC 60268-5)
QUIETEST_DB = -200.0  # stands for silence, so that no curve holds minus infinity


def level_db(energy_pa2_v2: FloatArray, volts: float = REFERENCE_VOLTAGE_V) -> FloatArray:
    """Sound pressure level of a mean-square pressure per volt squared [dB re 20 uPa]."""
    floor = 10 ** (QUIETEST_DB / 10) * REFERENCE_PRESSURE_PA**2 / volts**2
    return 10 * np.log10(np.maximum(energy_pa2_v2, floor) * (volts / REFERENCE_PRESSURE_PA) ** 2)


def pressure_level_db(pressure_pa_v: ComplexArray, volts: float = REFERENCE_VOLTAGE_V) -> FloatArray:
    """Sound pressure level of a complex pressure per volt [dB re 20 uPa]."""
    return level_db(np.abs(pressure_pa_v) ** 2, volts)
