"""What a source sends into every direction, on a grid of directions and a few frequencies, for very many ways."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid, midband_hz

NODES = FrequencyGrid(midband_hz(3, np.arange(-17, 14)))  # thirds of an octave from 20 Hz to 20 kHz


def node_places(frequency_hz: FloatArray) -> FloatArray:
    """Find where frequencies lie among the nodes, straight in log frequency.

    Parameters
    ----------
    frequency_hz : array
        Above zero; beyond the nodes as at the end. [Hz]

    Returns
    -------
    array
        0 at the first node, 1 at the second, between them what lies between. [-]

    Source
    ------
    own-definition: linear in the logarithm.

    Examples
    --------
    >>> print(node_places(NODES.frequency_hz[[0, 3]]).round(9))
    [0. 3.]
    """
    return np.interp(np.log(frequency_hz), np.log(NODES.frequency_hz), np.arange(len(NODES)))


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


def toward_each(
    sendings: Sequence[Sending], departure_m: FloatArray, distance_m: FloatArray, nodes: slice = slice(None)
) -> NDArray[np.complex64]:
    """Pressure of several sources after their own ways of free air, all on directions of one step.

    Parameters
    ----------
    sendings : sequence of Sending
        One a source. [Pa s/m]
    departure_m, distance_m : array
        Vectors in the axes of the speaker and their lengths, [source, way, 3] and [source, way]. [m], [m]
    nodes : slice
        Which nodes are wanted; all unless given. [-]

    Returns
    -------
    array
        As `Sending.toward` gives it, [source, way, node]. [Pa s/m]

    Source
    ------
    own-definition: straight between directions along both angles.

    Examples
    --------
    >>> loud = [Sending(90.0, np.full((8, len(NODES)), value, dtype=complex)) for value in (1.0, 3.0)]
    >>> ahead = np.tile([2.0, 0.0, 0.0], (2, 1, 1))
    >>> print(toward_each(loud, ahead, np.full((2, 1), 2.0))[:, 0, 0].real)
    [0.5 1.5]
    """
    if len({sending.step_deg for sending in sendings}) != 1:
        raise ValueError("sources are looked up together only on directions of one step")
    table = np.concatenate([sending.pressure_pa_s_m[:, nodes] for sending in sendings]).astype(np.complex64)
    directions = len(table) // len(sendings)
    weight = _between(departure_m.reshape(-1, 3), distance_m.ravel(), sendings[0].step_deg)
    own = np.repeat(np.arange(len(sendings), dtype=np.int32) * directions, weight.nnz // len(sendings))
    joined = csr_array(
        (weight.data, weight.indices + own, weight.indptr), shape=(weight.shape[0], len(table))
    )
    sent: NDArray[np.float32] = joined @ table.view(np.float32)
    return sent.view(np.complex64).reshape(*distance_m.shape, -1)


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
