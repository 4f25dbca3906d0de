"""Where one way hands over to the next."""

from itertools import pairwise

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriverPressure, DriveVoltage
from forehear.network import Branch


def way_pressure(
    pressure: DriverPressure, voltage: DriveVoltage, branches: tuple[Branch, ...]
) -> ComplexArray:
    """Pressure of each way by itself, driven, [way, direction, frequency] per volt at the terminals [Pa/V]."""
    driven = pressure.pressure_pa_v * voltage.volts_v[:, np.newaxis]
    rows = [[pressure.drivers.index(name) for name in branch.drivers] for branch in branches]
    return np.stack([driven[row].sum(axis=0) for row in rows])


def crossings_hz(on_axis: FloatArray, grid: FrequencyGrid) -> tuple[float | None, ...]:
    """Frequencies at which each way becomes weaker than the next, for good.

    Parameters
    ----------
    on_axis
        Level of each way on axis, ear-smoothed, ways from low to high, [way, frequency]. [dB]

    Returns
    -------
    tuple
        One frequency [Hz] for each pair of neighbours; None where they do not cross.
    """
    found: list[float | None] = []
    for lower, upper in pairwise(on_axis):
        ahead = lower - upper
        falls = np.flatnonzero((ahead[:-1] > 0) & (ahead[1:] <= 0))
        if falls.size == 0:
            found.append(None)
            continue
        # Ways may meet again where both are far down: the crossing that matters is the loudest one.
        at = int(max(falls, key=lambda band: lower[band]))
        share = ahead[at] / (ahead[at] - ahead[at + 1])
        low_hz, high_hz = grid.frequency_hz[at], grid.frequency_hz[at + 1]
        found.append(float(low_hz * (high_hz / low_hz) ** share))
    return tuple(found)
