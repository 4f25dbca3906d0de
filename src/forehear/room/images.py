"""Mirror images of the listener beyond the first ones: as many as a time allows, all at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray, locked
from forehear.room.shoebox import SURFACES, Shoebox, specular_factor


@dataclass(frozen=True, eq=False)
class Images:
    """Mirror images of one listener.

    An image has an index along each axis: how often the way to it meets a surface there, negative where the first
    one met is the near one (x = 0, y = 0, floor).
    """

    index: NDArray[np.int32]  # [image, 3]
    place_m: FloatArray  # [image, 3], room axes

    def __post_init__(self) -> None:
        locked(self, "index", (-1, 3), "image x (x, y, z)")
        locked(self, "place_m", (len(self.index), 3), "image x (x, y, z)")

    def __len__(self) -> int:
        return len(self.index)

    @property
    def order(self) -> NDArray[np.int32]:
        """Number of reflections on the way to each image."""
        order: NDArray[np.int32] = np.abs(self.index).sum(axis=1)
        return order

    def departures_m(self, source_m: Sequence[float] | FloatArray) -> tuple[FloatArray, FloatArray]:
        """Vectors from a source to every image [image, 3], and their lengths [image]."""
        departure = self.place_m - np.asarray(source_m, dtype=float)
        return departure, np.sqrt(np.einsum("ix,ix->i", departure, departure))


def later_images(
    shoebox: Shoebox,
    source_m: Sequence[float] | FloatArray,
    listener_m: Sequence[float] | FloatArray,
    longest_m: float,
    *,
    least_order: int = 2,
) -> Images:
    """Find every image of the listener behind at least `least_order` surfaces and within `longest_m` of the source.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [m]
    source_m, listener_m : array
        Where the sound starts and where it is heard, room axes, both inside. [m]
    longest_m : float
        Length of the longest way; there are about 4 pi L^3 / 3 V of them. [m]
    least_order : int
        Least number of reflections. [-]

    Returns
    -------
    Images
        In no particular order. [m]

    Source
    ------
    allen-berkley-1979, image method: in a shoebox every image is seen from everywhere.

    Examples
    --------
    Eighteen ways meet two surfaces:

    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1] * 6)
    >>> found = later_images(room, (1.0, 1.2, 1.1), (3.8, 2.6, 1.15), 40.0)
    >>> print(int((found.order == 2).sum()), len(found))
    18 5392
    """
    places, offsets, indices = [], [], []
    for side_m, source, listener in zip(shoebox.size_m, source_m, listener_m, strict=True):
        most = int((longest_m + source) / side_m) + 1
        index = np.arange(-most, most + 1)
        place = index * side_m + np.where(index % 2 == 0, listener, side_m - listener)
        indices.append(index)
        places.append(place)
        offsets.append(place - source)
    length2 = _sum_over_axes([offset**2 for offset in offsets])
    order = _sum_over_axes([np.abs(index) for index in indices])
    wanted = np.nonzero((length2 <= longest_m**2) & (order >= least_order))
    return Images(
        np.stack([index[each] for index, each in zip(indices, wanted, strict=True)], axis=1).astype(np.int32),
        np.stack([place[each] for place, each in zip(places, wanted, strict=True)], axis=1),
    )


def _sum_over_axes(values: Sequence[NDArray[Any]]) -> NDArray[Any]:
    """Sum one value of each axis for every combination, [x, y, z]."""
    total: NDArray[Any] = values[0][:, None, None] + values[1][:, None] + values[2]
    return total


def meetings(index: NDArray[np.int32]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Count how often a way with an index along one axis meets the near and the far surface of it.

    The first surface met is the far one for a positive index; then they take turns.
    """
    size = np.abs(index)
    first, second = (size + 1) // 2, size // 2
    return np.where(index > 0, second, first), np.where(index > 0, first, second)


def reflected_share(
    shoebox: Shoebox, index: NDArray[np.int32], frequency_hz: FloatArray
) -> NDArray[np.float32]:
    """Product of the specular factors met on each way.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    index : array of int
        Of `Images`, [image, 3]. [-]
    frequency_hz : array
        [frequency]. [Hz]

    Returns
    -------
    array
        [image, frequency], single precision: there are many. [-]

    Source
    ------
    allen-berkley-1979: every surface multiplies by its factor, the same at every angle.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.36, 0.75, 0.1, 0.1, 0.1, 0.1])
    >>> print(reflected_share(room, np.array([[2, 0, 0], [-1, 0, 0]]), np.array([1000.0])).T.round(3))
    [[0.4 0.8]]
    """
    factor = [specular_factor(shoebox, surface, frequency_hz) for surface in range(len(SURFACES))]
    tables, places = [], []
    for axis in range(3):
        first, last = int(index[:, axis].min(initial=0)), int(index[:, axis].max(initial=0))
        near, far = meetings(np.arange(first, last + 1, dtype=np.int32))
        table = factor[2 * axis] ** near[:, None] * factor[2 * axis + 1] ** far[:, None]
        tables.append(table.astype(np.float32))
        places.append(index[:, axis] - first)
    across = (tables[0][:, None] * tables[1]).reshape(-1, len(frequency_hz))
    share: NDArray[np.float32] = across[places[0] * len(tables[1]) + places[1]]
    share *= tables[2][places[2]]
    return share
