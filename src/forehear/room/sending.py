"""What a source sends into every direction, on a grid of directions and a few frequencies, for very many ways."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid, midband_hz

NODES = FrequencyGrid(midband_hz(3, np.arange(-17, 14)))  # thirds of an octave from 20 Hz to 20 kHz


@dataclass(frozen=True, eq=False)
class Sending:
    """Pressure of one source at 1 m in the directions of `sphere_directions(step_deg)`, phases about itself."""

    step_deg: float
    pressure_pa_s_m: ComplexArray  # [direction, node]

    def __post_init__(self) -> None:
        directions = round(180 / self.step_deg) * round(360 / self.step_deg)
        locked(self, "pressure_pa_s_m", (directions, len(NODES)), "directions x nodes")

    def toward(self, departure_m: FloatArray, distance_m: FloatArray) -> NDArray[np.complex64]:
        """Pressure after a way of free air, less its phase: [way, node], single precision.

        Directions between those of the grid are interpolated along both angles.
        """
        table = self.pressure_pa_s_m.astype(np.complex64).view(np.float32)
        sent: NDArray[np.float32] = _between(departure_m, distance_m, self.step_deg) @ table
        return sent.view(np.complex64)


def _between(departure_m: FloatArray, distance_m: FloatArray, step_deg: float) -> csr_array:
    """Weights of the four directions about each way, divided by its length, [way, direction]."""
    step, rings, around = np.radians(step_deg), round(180 / step_deg), round(360 / step_deg)
    azimuth = np.arctan2(departure_m[:, 1], departure_m[:, 0]) / step
    elevation = np.arcsin(np.clip(departure_m[:, 2] / distance_m, -1.0, 1.0)) / step + (rings - 1) / 2
    ring = np.clip(np.floor(elevation).astype(np.int32), 0, rings - 2)
    above = np.clip(elevation - ring, 0.0, 1.0)  # about the poles: as on the last ring
    left = np.floor(azimuth).astype(np.int32)
    beyond = azimuth - left
    left %= around
    right = (left + 1) % around
    lower, upper = ring * around, (ring + 1) * around
    place = np.stack([lower + left, lower + right, upper + left, upper + right], axis=1)
    share = np.stack(
        [(1 - above) * (1 - beyond), (1 - above) * beyond, above * (1 - beyond), above * beyond], axis=1
    )
    share /= distance_m[:, None]
    starts = np.arange(0, place.size + 1, 4, dtype=np.int32)
    shape = (len(distance_m), rings * around)
    return csr_array((share.astype(np.float32).ravel(), place.ravel(), starts), shape=shape)
