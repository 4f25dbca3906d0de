"""A small source on a rigid sphere, by the exact series."""

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray


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
    x = np.asarray(wavenumber_radius, dtype=np.float64)
    largest = float(x.max())
    orders = int(np.ceil(largest + 6 * largest ** (1 / 3) + 14))  # beyond, the terms are below 1e-10
    coefficient = _inverse_hankel_slopes(x, orders)
    order = np.arange(orders)
    coefficient *= (-(2 * order + 1) * 1j ** ((order + 1) % 4))[:, None] / x**2
    total: ComplexArray = _legendre(np.asarray(cosine, dtype=np.float64), orders) @ coefficient
    return total


def _inverse_hankel_slopes(x: FloatArray, orders: int) -> ComplexArray:
    """One over the derivative of the spherical Hankel function of the second kind, [order, x].

    The recurrence runs on ratios of neighbouring orders, which stay small where the functions themselves
    overflow.
    """
    inverse = np.empty((orders, x.size), dtype=np.complex128)
    value = -1j * x * np.exp(1j * x)  # 1 / h_0, as h_0 = j exp(-jx) / x
    inverse[0] = -value / (1 / x + 1j)  # h_0' = -h_1 = -(1/x + j) h_0
    ratio = 1 / x + 1j  # h_1 / h_0
    for order in range(1, orders):
        value = value / ratio
        inverse[order] = value / (1 / ratio - (order + 1) / x)  # h_n' = h_(n-1) - (n+1)/x h_n
        ratio = (2 * order + 1) / x - 1 / ratio
    return inverse


def _legendre(cosine: FloatArray, orders: int) -> FloatArray:
    """Legendre polynomials, [direction, order]."""
    table = np.ones((orders, cosine.size))
    table[1] = cosine
    for order in range(1, orders - 1):
        table[order + 1] = ((2 * order + 1) * cosine * table[order] - order * table[order - 1]) / (order + 1)
    return np.ascontiguousarray(table.T)
