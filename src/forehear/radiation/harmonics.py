"""Far fields as sums of spherical harmonics: solved once, had in any direction."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray, locked

_DIGITS = 3.0  # asked of the largest pressure; one or two more come of it
_LOWEST_DEGREE = 4


def degree_for(ka: float) -> int:
    r"""Degree up to which a far field has anything to tell beside its largest pressure's third digit.

    .. math:: l = ka + 1.8 \, d^{2/3} (ka)^{1/3}, \quad d = 3

    Parameters
    ----------
    ka
        Wavenumber times the radius of a ball about the middle that holds all sources. [-]

    Returns
    -------
    int
        At least 4. [-]

    Source
    ------
    chew-2001, sec. 3.4: excess bandwidth of a multipole expansion, d digits.

    Examples
    --------
    A box whose corners lie 0.27 m from its middle, at 3.5 kHz:

    >>> degree_for(2 * np.pi * 3500 / 343.2 * 0.27)
    27
    """
    return max(_LOWEST_DEGREE, int(np.ceil(ka + 1.8 * _DIGITS ** (2 / 3) * ka ** (1 / 3))))


def quadrature(degree: int) -> tuple[FloatArray, FloatArray]:
    """Directions and weights that integrate products of two harmonics of a degree exactly; weights sum to 4 pi.

    Rings about the x axis lie where Gauss and Legendre put them, points on a ring are even.
    """
    along, ring_weight = np.polynomial.legendre.leggauss(degree + 1)
    count = 2 * degree + 2
    around = 2 * np.pi * np.arange(count) / count
    aside = np.sqrt(1 - along**2)[:, None]
    unit = np.stack(
        [np.repeat(along[:, None], count, axis=1), aside * np.cos(around), aside * np.sin(around)], axis=2
    )
    return unit.reshape(-1, 3), np.repeat(ring_weight * 2 * np.pi / count, count)


def harmonics(unit: FloatArray, degree: int) -> FloatArray:
    """Real spherical harmonics about the x axis in some directions, orthonormal over the sphere.

    Parameters
    ----------
    unit
        Unit vectors, [direction, 3]. [-]
    degree
        The highest. [-]

    Returns
    -------
    array
        [direction, harmonic], the lowest degree first: (degree + 1)^2 of them. [-]

    Source
    ------
    morse-ingard-1968, sec. 7.2: surface harmonics; here normalised, cosine and sine apart.

    Examples
    --------
    The first one is the same everywhere:

    >>> print(harmonics(np.array([[0.0, 0.6, 0.8]]), 1)[0, 0].round(4))
    0.2821
    """
    legendre = _along_the_axis(np.clip(unit[:, 0], -1.0, 1.0), degree)
    around = np.arctan2(unit[:, 2], unit[:, 1])
    turned = np.multiply.outer(np.arange(1, degree + 1), around)
    cosine, sine = np.sqrt(2.0) * np.cos(turned), np.sqrt(2.0) * np.sin(turned)
    rows = []
    for own, along in enumerate(legendre):  # of one degree: 2 degree + 1
        rows += [along[:1], along[1 : own + 1] * cosine[:own], along[1 : own + 1] * sine[:own]]
    return np.ascontiguousarray(np.concatenate(rows).T)


def _along_the_axis(along: FloatArray, degree: int) -> FloatArray:
    """Associated Legendre functions, orthonormal over the sphere with one of angle, [degree, order, direction].

    Own recurrence: the library's normalised ones are not normalised at the poles (version 1.17).
    """
    found = np.zeros((degree + 1, degree + 1, along.size))
    aside = np.sqrt(1 - along**2)
    found[0, 0] = np.sqrt(1 / (4 * np.pi))
    for own in range(1, degree + 1):
        found[own, own] = np.sqrt((2 * own + 1) / (2 * own)) * aside * found[own - 1, own - 1]
        found[own, own - 1] = np.sqrt(2 * own + 1) * along * found[own - 1, own - 1]
        order = np.arange(own - 1)
        gain = np.sqrt((4 * own**2 - 1) / (own**2 - order**2))[:, None]
        before = np.sqrt(((own - 1) ** 2 - order**2) / (4 * (own - 1) ** 2 - 1))[:, None]
        found[own, order] = gain * (along * found[own - 1, order] - before * found[own - 2, order])
    return found


@dataclass(frozen=True, eq=False)
class Expansion:
    """Far field of some sources about one point, as coefficients of harmonics of one degree."""

    frequency_hz: FloatArray  # [frequency]
    coefficient_pa: ComplexArray  # [source, harmonic, frequency], at 1 m for 1 m/s

    def __post_init__(self) -> None:
        locked(self, "frequency_hz", (-1,), "frequencies")
        locked(self, "coefficient_pa", (-1, -1, self.frequency_hz.size), "source x harmonic x frequency")

    @property
    def degree(self) -> int:
        """The highest degree."""
        return math.isqrt(self.coefficient_pa.shape[1]) - 1

    def of_source(self, source: int) -> "Expansion":
        """Return one source alone."""
        return Expansion(self.frequency_hz, self.coefficient_pa[source : source + 1])

    def pressure(self, source: int, of_directions: FloatArray) -> ComplexArray:
        """Far-field pressure of one source, [direction, frequency] [Pa].

        `of_directions` are `harmonics`, [direction, harmonic], of this degree or a higher one.
        """
        coefficient = self.coefficient_pa[source]
        own = of_directions[:, : coefficient.shape[0]]
        pressure: ComplexArray = own @ coefficient.real + 1j * (own @ coefficient.imag)
        return pressure


def joined(expansions: Sequence[Expansion]) -> Expansion:
    """Join expansions of one degree and the same frequencies, source after source."""
    every = np.concatenate([expansion.coefficient_pa for expansion in expansions])
    return Expansion(expansions[0].frequency_hz, every)


def expand(pressure_pa: ComplexArray, frequency_hz: FloatArray, degree: int) -> Expansion:
    """Expand a far field known in the directions of `quadrature`, [source, direction, frequency]."""
    unit, weight = quadrature(degree)
    weighed = harmonics(unit, degree) * weight[:, None]
    return Expansion(frequency_hz, np.einsum("dh,sdf->shf", weighed, pressure_pa, optimize=True))
