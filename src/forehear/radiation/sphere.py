"""A point or a moving cap on a rigid sphere, by the exact series."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import legendre_p_all

from forehear.ground.arrays import ComplexArray, FloatArray

_A_POINT = 1 - 1e-7  # cosine of the rim, from where a cap is as good as a point


def point_on_sphere(wavenumber_radius: FloatArray, cosine: FloatArray) -> ComplexArray:
    r"""Far-field pressure of a small source on a rigid sphere, re that source in free field at the centre.

    .. math:: F = -\frac{1}{(ka)^2} \sum_n (2n+1) \, j^{\,n+1} \frac{P_n(\cos\theta)}{h_n^{(2)\prime}(ka)}

    Parameters
    ----------
    wavenumber_radius
        k a, above zero. [frequency] [-]
    cosine
        Cosine of the angle between the direction and the source. [direction] [-]

    Returns
    -------
    array
        [direction, frequency] complex ratio, phase referred to the centre, exp(+jwt). [-]

    Source
    ------
    morse-ingard-1968: sec. 7.2: exact for a rigid sphere and a point source on it, far field, any frequency.

    Examples
    --------
    Toward the source at ka = 1:

    >>> value = point_on_sphere(np.array([1.0]), np.array([1.0]))[0, 0]
    >>> print(f"{20 * np.log10(abs(value)):.2f} dB, {np.degrees(np.angle(value)):.1f} degrees")
    3.04 dB, 76.9 degrees
    """
    coefficient = series_on_sphere(np.asarray(wavenumber_radius, dtype=np.float64))
    total: ComplexArray = legendre(np.asarray(cosine, dtype=np.float64), len(coefficient)) @ coefficient
    return total


def cap_on_sphere(wavenumber_radius: FloatArray, cosine: FloatArray, half_angle_rad: float) -> ComplexArray:
    r"""Far-field pressure of a rigid cap moving along its axis on a rigid sphere, re a free source of equal flow.

    The terms of `point_on_sphere`, each times the mean of the Legendre polynomial over the moving cap:

    .. math:: M_n = \int_{\cos\theta_0}^1 x P_n(x) \, dx \Big/ \int_{\cos\theta_0}^1 x \, dx

    Parameters
    ----------
    wavenumber_radius
        k a, above zero. [frequency] [-]
    cosine
        Cosine of the angle between the direction and the axis of the cap. [direction] [-]
    half_angle_rad
        Angle from the axis to the rim of the cap, 0 is a point. [rad]

    Returns
    -------
    array
        [direction, frequency] complex ratio, phase referred to the centre of the sphere, exp(+jwt). [-]

    Source
    ------
    morse-ingard-1968: sec. 7.2: exact for a rigid sphere, far field, any frequency.

    Examples
    --------
    A cap of 30 degrees seen from behind at ka = 8 is far weaker than a point there:

    >>> behind, ka = np.array([-1.0]), np.array([8.0])
    >>> cap, point = cap_on_sphere(ka, behind, np.pi / 6), point_on_sphere(ka, behind)
    >>> print(f"{20 * np.log10(abs(cap / point)[0, 0]):.1f} dB")
    -15.4 dB
    """
    coefficient = series_on_sphere(np.asarray(wavenumber_radius, dtype=np.float64))
    coefficient *= cap_means(float(np.cos(half_angle_rad)), len(coefficient))[:, None]
    total: ComplexArray = legendre(np.asarray(cosine, dtype=np.float64), len(coefficient)) @ coefficient
    return total


def point_near_sphere(
    wavenumber_radius: FloatArray, cosine: FloatArray, distance_radii: float
) -> ComplexArray:
    r"""Pressure on a rigid sphere of a small source near it, re that source's free field at the centre.

    .. math::
        F = -\frac{\rho}{ka} \mathrm{e}^{\mathrm{j} ka \rho} \sum_n (2n+1)
        \frac{h_n^{(2)}(ka \rho)}{h_n^{(2)\prime}(ka)} P_n(\cos\theta)

    Parameters
    ----------
    wavenumber_radius
        k a, above zero. [frequency] [-]
    cosine
        Cosine of the angle between the source and the place on the sphere. [place] [-]
    distance_radii
        Distance of the source from the centre in radii, 2 or more; endless as `point_on_sphere` has it. [-]

    Returns
    -------
    array
        [place, frequency] complex ratio, exp(+jwt). [-]

    Source
    ------
    duda-martens-1998: exact for a rigid sphere, the source outside it.

    Examples
    --------
    At low frequencies the far side is as far behind as the way is longer, and hears less of a source nearby:

    >>> far, near = (point_near_sphere(np.array([0.01]), np.array([-1.0, 1.0]), rho) for rho in (np.inf, 4.0))
    >>> print([[f"{20 * np.log10(abs(value)):.2f}" for value in place[:, 0]] for place in (far, near)])
    [['0.00', '0.00'], ['-3.01', '3.61']]
    """
    x = np.asarray(wavenumber_radius, dtype=np.float64)
    if np.isinf(distance_radii):
        return point_on_sphere(x, cosine)
    rising = np.argsort(x)
    away = x[rising] * distance_radii
    coefficient = series_on_sphere(x)[:, rising]
    coefficient *= np.exp(1j * away) * away
    coefficient *= _hankel(away, len(coefficient)) / 1j ** (np.arange(1, len(coefficient) + 1) % 4)[:, None]
    put_back = np.empty_like(coefficient)
    put_back[:, rising] = coefficient
    total: ComplexArray = legendre(np.asarray(cosine, dtype=np.float64), len(put_back)) @ put_back
    return total


def _hankel(x: FloatArray, orders: int) -> ComplexArray:
    """Spherical Hankel function of the second kind of a few orders, zero where it is too large to be held."""
    hankel = np.zeros((orders, x.size), dtype=np.complex128)
    hankel[0] = 1j * np.exp(-1j * x) / x
    hankel[1] = hankel[0] * (1 / x + 1j)
    for order in range(2, orders):
        held = np.abs(hankel[order - 1]) < 1e200
        hankel[order, held] = ((2 * order - 1) / x * hankel[order - 1] - hankel[order - 2])[held]
    return hankel


def series_on_sphere(wavenumber_radius: FloatArray) -> ComplexArray:
    """Terms of the series of `point_on_sphere` but for the Legendre polynomials, [order, frequency].

    Each frequency gets as many terms as it needs for ten digits; the rest of its column is zero.
    """
    rising = np.argsort(wavenumber_radius)
    x = wavenumber_radius[rising]
    needed = np.ceil(x + 6 * np.cbrt(x) + 14).astype(int)
    order = np.arange(int(needed[-1]))
    slope = _hankel_slopes(x, np.searchsorted(needed, order, "right"))
    terms = np.zeros_like(slope)
    np.divide((2 * order[:, None] + 1) / x**2, slope, out=terms, where=slope != 0)
    terms *= (-(1j ** ((order + 1) % 4)))[:, None]
    coefficient = np.empty_like(terms)
    coefficient[:, rising] = terms
    return coefficient


def cap_means(cosine_of_rim: float, orders: int) -> FloatArray:
    """Mean of each Legendre polynomial over a cap that moves along its axis, 1 for a point, [order]."""
    if cosine_of_rim > _A_POINT:
        return np.ones(orders)
    at_rim = legendre(np.array([cosine_of_rim]), orders + 2)[0]
    order = np.arange(1, orders + 1)
    plain = np.empty(orders + 1)  # integral of P_n from the rim to the pole
    plain[0] = 1 - cosine_of_rim
    plain[1:] = (at_rim[order - 1] - at_rim[order + 1]) / (2 * order + 1)
    order = np.arange(orders)
    weighted = ((order + 1) * plain[1:] + order * np.append(0.0, plain[: orders - 1])) / (2 * order + 1)
    means: FloatArray = weighted / weighted[0]
    return means


def _hankel_slopes(x: FloatArray, first: NDArray[np.int_]) -> ComplexArray:
    """Work out the slope of the spherical Hankel function of the second kind, [order, x], zero where not needed.

    Order n is worked out from the place `first[n]` of the rising x on, so that nothing overflows.
    """
    orders = first.size
    step = (2 * np.arange(orders)[:, None] + 1) / x
    hankel = np.zeros((orders, x.size), dtype=np.complex128)
    hankel[0] = 1j * np.exp(-1j * x) / x
    hankel[1] = hankel[0] * (1 / x + 1j)
    for order in range(2, orders):
        need = slice(first[order], None)
        np.multiply(step[order - 1, need], hankel[order - 1, need], out=hankel[order, need])
        hankel[order, need] -= hankel[order - 2, need]
    slope = np.empty_like(hankel)
    slope[0] = -hankel[1]
    slope[1:] = hankel[:-1] - (np.arange(2, orders + 1)[:, None] / x) * hankel[1:]  # h_(n-1) - (n+1)/x h_n
    for order, place in enumerate(first):
        slope[order, :place] = 0.0
    return slope


def legendre(cosine: FloatArray, orders: int) -> FloatArray:
    """Legendre polynomials, [direction, order]."""
    table: FloatArray = np.ascontiguousarray(legendre_p_all(orders - 1, cosine)[0].T)
    return table
