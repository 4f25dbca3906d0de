"""A room with six flat surfaces, and the first reflections in it by mirror images."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

import numpy as np

from forehear.ground.arrays import FloatArray, locked

OCTAVE_HZ = (63, 125, 250, 500, 1000, 2000, 4000, 8000)  # names of the octaves absorption is given in
SURFACES = ("front wall", "rear wall", "left wall", "right wall", "floor", "ceiling")
DIRECT = -1  # in place of a surface: the way that meets none


@dataclass(frozen=True, eq=False)
class Shoebox:
    """A rectangular room: x along the length, y along the width, z up, one corner at the origin.

    The surfaces, in order: x = 0, x = length, y = 0, y = width, floor, ceiling.
    """

    size_m: tuple[float, float, float]
    absorption: FloatArray  # [surface, octave], share of the arriving power that is swallowed
    scattering: FloatArray = field(
        default_factory=lambda: np.zeros(len(OCTAVE_HZ))
    )  # [octave], of what is left

    def __post_init__(self) -> None:
        locked(self, "scattering", (len(OCTAVE_HZ),), "octaves")
        if not np.all((self.scattering >= 0) & (self.scattering < 1)):
            raise ValueError("scattering is a share of what is reflected: from 0 to below 1")
        locked(self, "absorption", (len(SURFACES), len(OCTAVE_HZ)), "surfaces x octaves")
        if not all(np.isfinite(side) and side > 0 for side in self.size_m):
            raise ValueError(f"a room needs three sides above zero, not {self.size_m}")
        if not np.all((self.absorption >= 0) & (self.absorption <= 1)):
            raise ValueError("absorption is a share of the power: every value from 0 to 1")

    @classmethod
    def uniform(cls, size_m: tuple[float, float, float], absorption: Sequence[float]) -> Self:
        """Make a room whose surfaces each absorb alike at all frequencies, one value a surface."""
        return cls(size_m, np.repeat(np.asarray(absorption, dtype=float)[:, None], len(OCTAVE_HZ), axis=1))

    @property
    def volume_m3(self) -> float:
        """Volume."""
        return float(np.prod(self.size_m))

    @property
    def areas_m2(self) -> FloatArray:
        """Area of each surface."""
        length, width, height = self.size_m
        return np.repeat([width * height, length * height, length * width], 2)

    def is_inside(self, position_m: Sequence[float] | FloatArray, margin_m: float = 0.0) -> bool:
        """Tell whether a position keeps more than `margin_m` from every surface."""
        position, far_corner = np.asarray(position_m, dtype=float), np.asarray(self.size_m)
        return bool(np.all(position > margin_m) and np.all(position < far_corner - margin_m))


@dataclass(frozen=True, eq=False)
class Paths:
    """Ways from one source to one listener: the direct one first, then one by each surface."""

    surface: tuple[int, ...]  # index into `SURFACES`, or `DIRECT`
    departure_m: FloatArray  # [path, 3], from the source toward the listener or its mirror image
    distance_m: FloatArray  # [path]

    def __post_init__(self) -> None:
        locked(self, "departure_m", (len(self.surface), 3), "path x (x, y, z)")
        locked(self, "distance_m", (len(self.surface),), "paths")


def listener_images(shoebox: Shoebox, listener_m: Sequence[float] | FloatArray) -> FloatArray:
    """Place the listener and its six mirror images.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [m]
    listener_m : array
        The ear in room axes. [m]

    Returns
    -------
    array
        [path, 3]: the listener itself, then its image behind each surface. [m]

    Source
    ------
    allen-berkley-1979, image method, first order: flat surfaces large against the wavelength.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1] * 6)
    >>> print(listener_images(room, (1.0, 1.0, 1.0))[2])
    [9. 1. 1.]
    """
    images = np.tile(np.asarray(listener_m, dtype=float), (1 + len(SURFACES), 1))
    for surface in range(len(SURFACES)):
        axis, far = divmod(surface, 2)
        wall = shoebox.size_m[axis] if far else 0.0
        images[1 + surface, axis] = 2 * wall - images[1 + surface, axis]
    return images


def first_order_paths(
    shoebox: Shoebox, source_m: Sequence[float] | FloatArray, listener_m: Sequence[float] | FloatArray
) -> Paths:
    """Find the direct way and the six single reflections; in a shoebox every one of them exists.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [m]
    source_m, listener_m : array
        Where the sound starts and where it is heard, room axes, both inside. [m]

    Returns
    -------
    Paths
        Departures and lengths, direct first, then in the order of `SURFACES`. [m]

    Source
    ------
    allen-berkley-1979, image method, first order: flat surfaces large against the wavelength.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1] * 6)
    >>> print(first_order_paths(room, (1.0, 1.2, 1.1), (3.8, 2.6, 1.15)).distance_m[:2].round(4))
    [3.1309 5.0002]
    """
    for name, place in (("source", source_m), ("listener", listener_m)):
        if not shoebox.is_inside(place):
            raise ValueError(f"the {name} at {tuple(place)} m is not inside the room of {shoebox.size_m} m")
    departure = listener_images(shoebox, listener_m) - np.asarray(source_m, dtype=float)
    return Paths((DIRECT, *range(len(SURFACES))), departure, np.linalg.norm(departure, axis=1))


def reflection_factor(shoebox: Shoebox, surface: int, frequency_hz: FloatArray) -> FloatArray:
    r"""Pressure that a surface sends back, as a share of what arrives.

    .. math:: R = \sqrt{1 - \alpha}

    Real and positive: absorption says nothing of phase. It is interpolated between octaves in log frequency
    and held beyond the first and the last.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    surface : int
        Index into `SURFACES`; `DIRECT` gives 1. [-]
    frequency_hz : array
        Frequency. [Hz]

    Returns
    -------
    array
        Reflection factor. [-]

    Source
    ------
    allen-berkley-1979: a wall's reflection factor from its absorption, the same at every angle.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1, 0.1, 0.1, 0.1, 0.36, 0.1])
    >>> print(reflection_factor(room, SURFACES.index("floor"), np.array([1000.0])).round(6))
    [0.8]
    """
    if surface == DIRECT:
        return np.ones_like(frequency_hz)
    octave = np.log(np.array(OCTAVE_HZ, dtype=float))
    absorbed = np.interp(np.log(frequency_hz), octave, shoebox.absorption[surface])
    reflected: FloatArray = np.sqrt(1.0 - absorbed)
    return reflected


def scattered_share(shoebox: Shoebox, frequency_hz: FloatArray) -> FloatArray:
    """Share of the reflected power that goes elsewhere than a mirror would send it.

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    frequency_hz : array
        Frequency; between octaves straight in log frequency, beyond them held. [Hz]

    Returns
    -------
    array
        [frequency]. [-]

    Source
    ------
    iso-17497-1, definition of the scattering coefficient, from memory.

    Examples
    --------
    >>> print(scattered_share(Shoebox.uniform((5.0, 4.0, 2.5), [0.1] * 6), np.array([1000.0])))
    [0.]
    """
    octave = np.log(np.array(OCTAVE_HZ, dtype=float))
    return np.interp(np.log(frequency_hz), octave, shoebox.scattering)


def specular_factor(shoebox: Shoebox, surface: int, frequency_hz: FloatArray) -> FloatArray:
    r"""Pressure that a surface sends back as a mirror does, as a share of what arrives.

    .. math:: R = \sqrt{(1 - \alpha) (1 - s)}

    Parameters
    ----------
    shoebox, surface, frequency_hz
        As for `reflection_factor`. [-], [-], [Hz]

    Returns
    -------
    array
        [frequency]; 1 for the direct way. [-]

    Source
    ------
    iso-17497-1, from memory: specular energy is (1 - alpha)(1 - s).

    Examples
    --------
    >>> room = Shoebox((5.0, 4.0, 2.5), np.full((6, 8), 0.36), np.full(8, 0.19))
    >>> print(specular_factor(room, 0, np.array([1000.0])).round(3))
    [0.72]
    """
    factor = reflection_factor(shoebox, surface, frequency_hz)
    if surface == DIRECT:
        return factor
    return factor * np.sqrt(1 - scattered_share(shoebox, frequency_hz))
