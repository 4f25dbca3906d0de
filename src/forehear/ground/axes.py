"""The axes of every array: frequency bands and directions, as values; different ones refuse to combine."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray, locked

OCTAVE = 10**0.3  # base-ten octave ratio of IEC 61260-1
BANDS_PER_OCTAVE = 24


def midband_hz(bands_per_octave: int, index: NDArray[np.int_]) -> FloatArray:
    r"""Exact midband frequencies of fractional octaves.

    .. math::
        f = 1000 G^{x/b} \;(b \text{ odd}), \quad f = 1000 G^{(2x+1)/2b} \;(b \text{ even}), \quad G =
        10^{0.3}

    Parameters
    ----------
    bands_per_octave : int
        b; an even number of bands an octave puts 1 kHz on an edge. [-]
    index : array of int
        x, counted from 1 kHz. [-]

    Returns
    -------
    array
        Midband frequencies. [Hz]

    Source
    ------
    iec-61260-1, exact midband frequencies, base ten.

    Examples
    --------
    >>> print(midband_hz(3, np.array([-1, 0, 1])).round(1))
    [ 794.3 1000.  1258.9]
    """
    offset = 0.0 if bands_per_octave % 2 else 0.5
    return 1000.0 * OCTAVE ** ((np.asarray(index) + offset) / bands_per_octave)


@dataclass(frozen=True, eq=False)
class FrequencyGrid:
    """Midband frequencies, rising; each band reaches halfway (in log f) to its neighbours."""

    frequency_hz: FloatArray  # [frequency]

    def __post_init__(self) -> None:
        locked(self, "frequency_hz", (-1,), "frequencies")
        if (
            self.frequency_hz.size < 2
            or not np.all(np.diff(self.frequency_hz) > 0)
            or self.frequency_hz[0] <= 0
        ):
            raise ValueError("a frequency grid needs at least two frequencies, above zero and rising")

    def __len__(self) -> int:
        return int(self.frequency_hz.size)

    @classmethod
    def standard(cls) -> Self:
        """Return the 240 bands of 1/24 octave from 20 Hz to 20 kHz.

        Source
        ------
        iec-61260-1: base-ten exact midband frequencies; an even number of bands an octave puts 1 kHz on an
        edge.
        """
        return cls(midband_hz(BANDS_PER_OCTAVE, np.arange(-136, 104)))

    @property
    def edges_hz(self) -> FloatArray:
        """Band edges [frequency + 1], in Hz: geometric means of neighbours, the outer ones mirrored."""
        inner = np.sqrt(self.frequency_hz[1:] * self.frequency_hz[:-1])
        first = self.frequency_hz[0] ** 2 / inner[0]
        last = self.frequency_hz[-1] ** 2 / inner[-1]
        return np.concatenate([[first], inner, [last]])

    def split(self, parts: int) -> Self:
        """Cut every band into parts of equal width in log frequency; exact where the bands are even."""
        edges = self.edges_hz
        middle = (np.arange(parts) + 0.5) / parts
        cut = edges[:-1, np.newaxis] * (edges[1:] / edges[:-1])[:, np.newaxis] ** middle
        return type(self)(cut.ravel())

    def same_as(self, other: "FrequencyGrid") -> bool:
        """Tell whether two grids hold the same frequencies."""
        return self is other or np.array_equal(self.frequency_hz, other.frequency_hz)

    def require_same(self, other: "FrequencyGrid") -> None:
        """Refuse to combine with another grid."""
        if not self.same_as(other):
            raise ValueError(
                f"two frequency grids differ ({len(self)} and {len(other)} bands): bring them to one first"
            )


@dataclass(frozen=True, eq=False)
class Directions:
    """Directions away from the speaker as unit vectors, x forward, y to the speaker's left, z up."""

    unit: FloatArray  # [direction, 3]

    def __post_init__(self) -> None:
        locked(self, "unit", (-1, 3), "direction x (x, y, z)")
        if not np.allclose(np.linalg.norm(self.unit, axis=1), 1.0, atol=1e-9):
            raise ValueError("directions must be unit vectors")

    def __len__(self) -> int:
        return int(self.unit.shape[0])

    @classmethod
    def from_angles(cls, azimuth_rad: FloatArray, elevation_rad: FloatArray) -> Self:
        """Make directions from azimuth (counter-clockwise seen from above) and elevation (up) [rad]."""
        azimuth, elevation = np.broadcast_arrays(np.atleast_1d(azimuth_rad), np.atleast_1d(elevation_rad))
        level = np.cos(elevation)
        return cls(np.stack([level * np.cos(azimuth), level * np.sin(azimuth), np.sin(elevation)], axis=1))

    @classmethod
    def towards(cls, offset_m: FloatArray) -> Self:
        """Make directions that point along `offset_m` [direction, 3]."""
        return cls(offset_m / np.linalg.norm(offset_m, axis=1, keepdims=True))

    @classmethod
    def horizontal_orbit(cls) -> Self:
        """Return the horizontal circle at `ORBIT_ANGLES_DEG`, positive toward the speaker's left."""
        angle = np.radians(ORBIT_ANGLES_DEG)
        return cls(np.stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)], axis=1))

    @classmethod
    def vertical_orbit(cls) -> Self:
        """Return the vertical circle at `ORBIT_ANGLES_DEG`, positive upward."""
        angle = np.radians(ORBIT_ANGLES_DEG)
        return cls(np.stack([np.cos(angle), np.zeros_like(angle), np.sin(angle)], axis=1))

    @classmethod
    def joined(cls, *parts: "Directions") -> Self:
        """Return several sets of directions one after the other."""
        return cls(np.concatenate([part.unit for part in parts]))


ORBIT_ANGLES_DEG: FloatArray = np.arange(-175.0, 181.0, 5.0)  # 72 angles, 0 and 180 among them
ORBIT_ANGLES_DEG.setflags(write=False)
TENTHS = slice(1, None, 2)  # of these angles, every tenth degree: what standard curves are made of


def sphere_directions(step_deg: float = 10.0) -> tuple[Directions, FloatArray]:
    """Directions over the full sphere and their weights, which sum to 1.

    Rings of constant elevation every `step_deg`, placed at ring middles so that no pole is counted many
    times; each direction stands for its patch of the sphere.

    Parameters
    ----------
    step_deg
        Step in azimuth and elevation; must divide 180. [deg]

    Returns
    -------
    directions, weight
        [direction], and [direction] share of the whole sphere. [-]
    """
    elevation = np.radians(np.arange(-90.0 + step_deg / 2, 90.0, step_deg))
    azimuth = np.radians(np.arange(0.0, 360.0, step_deg))
    ring_area = np.sin(elevation + np.radians(step_deg / 2)) - np.sin(elevation - np.radians(step_deg / 2))
    elevation_all, azimuth_all = (grid.ravel() for grid in np.meshgrid(elevation, azimuth, indexing="ij"))
    weight = np.repeat(ring_area / (2.0 * azimuth.size), azimuth.size)
    return Directions.from_angles(azimuth_all, elevation_all), weight
