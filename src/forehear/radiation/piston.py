"""Directivity of a rigid flat piston and of a rigid dome in an infinite baffle."""

from functools import cache

import numpy as np
from numpy.polynomial.legendre import leggauss
from scipy.special import j0, j1

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity

_FEWEST_RINGS = (
    4  # Gauss points over the dome: these and one for each unit of k times radius are right to 1e-6
)
_BEYOND_GRAZING = 1e-9


def piston_directivity(
    frequency_hz: FloatArray | float,
    angle_rad: FloatArray | float,
    radius_m: float,
    *,
    sound_speed_m_s: float = 343.2,
) -> FloatArray:
    r"""Far-field pressure of a rigid round piston in an infinite baffle, relative to on axis.

    .. math:: D = 2 J_1(x) / x, \quad x = k a \sin\theta

    Parameters
    ----------
    frequency_hz
        Frequency; shapes of frequency and angle are broadcast. [Hz]
    angle_rad
        Angle from the axis, at most 90 degrees either way. [rad]
    radius_m
        Effective radius; 0 is a point source. [m]
    sound_speed_m_s
        Speed of sound. [m/s]

    Returns
    -------
    array
        Signed ratio, 1 on axis. [-]

    Source
    ------
    kinsler-2000: ch. 7, circular piston: rigid, infinite baffle, far field, any frequency.

    Examples
    --------
    A radius of 13 mm at 10 kHz, 60 degrees off axis:

    >>> print(f"{20 * np.log10(piston_directivity(10_000.0, np.pi / 3, 0.013)):.1f} dB")
    -5.1 dB
    """
    _require_in_front(angle_rad)
    wavenumber_1_m = 2 * np.pi * np.asarray(frequency_hz, dtype=np.float64) / sound_speed_m_s
    x = wavenumber_1_m * radius_m * np.abs(np.sin(angle_rad))
    safe = np.maximum(x, 1e-8)  # 2 J1(x)/x is 1 to the last digit here, and 0/0 lower down
    ratio: FloatArray = 2 * j1(safe) / safe
    return ratio


def dome_directivity(
    frequency_hz: FloatArray | float,
    angle_rad: FloatArray | float,
    radius_m: float,
    height_m: float,
    *,
    sound_speed_m_s: float = 343.2,
) -> ComplexArray:
    r"""Far-field pressure of a rigid dome that moves along its axis, re a point of equal volume velocity.

    Rings of the dome radiate as rings of a piston would, each from its own height z above the rim (Rayleigh's
    integral over the displaced surface):

    .. math:: D = \frac{2}{a^2} \int_0^a J_0(k r \sin\theta) \, e^{+j k z(r) \cos\theta} \, r \, dr

    Parameters
    ----------
    frequency_hz
        Frequency; shapes of frequency and angle are broadcast. [Hz]
    angle_rad
        Angle from the axis, at most 90 degrees either way. [rad]
    radius_m
        Effective radius of the rim. [m]
    height_m
        Height of the spherical dome above its rim, at most the radius. [m]
    sound_speed_m_s
        Speed of sound. [m/s]

    Returns
    -------
    array
        Complex ratio, phase referred to the plane of the rim, exp(+jwt). [-]

    Source
    ------
    rayleigh-1896: sec. 278, integral over the surface; taken over a displaced surface, which is an
    approximation that holds for shallow domes (height up to about half the radius) and leaves out the shadow
    of the dome itself.

    Examples
    --------
    A dome 6 mm high on a radius of 13 mm loses a little on axis at 15 kHz:

    >>> print(f"{20 * np.log10(abs(dome_directivity(15_000.0, 0.0, 0.013, 0.006))):.1f} dB")
    -1.0 dB
    """
    _require_in_front(angle_rad)
    wavenumber_1_m = 2 * np.pi * np.asarray(frequency_hz, dtype=np.float64) / sound_speed_m_s
    node, weight = _gauss(_FEWEST_RINGS + int(np.ceil(np.max(wavenumber_1_m) * radius_m)))
    share = (node + 1) / 2  # of the area inside the ring: r^2/a^2
    ball_m = (radius_m**2 + height_m**2) / (2 * height_m)
    rise_m = np.sqrt(ball_m**2 - share * radius_m**2) - (ball_m - height_m)
    across, along = wavenumber_1_m * np.sin(angle_rad), wavenumber_1_m * np.cos(angle_rad)
    total = np.zeros(np.shape(across), dtype=np.complex128)
    for ring_m, height, part in zip(radius_m * np.sqrt(share), rise_m, weight / 2, strict=True):
        total = total + part * j0(ring_m * across) * np.exp(1j * height * along)
    return total


@cache
def _gauss(count: int) -> tuple[FloatArray, FloatArray]:
    """Nodes from -1 to 1 and their weights."""
    return leggauss(count)


def _require_in_front(angle_rad: FloatArray | float) -> None:
    """Refuse angles behind the baffle."""
    widest = float(np.max(np.abs(angle_rad), initial=0.0))
    if not widest <= np.pi / 2 + _BEYOND_GRAZING:
        raise OutsideValidity(
            f"the piston formula holds in front of the baffle; {np.degrees(widest):.0f} degrees is behind it",
            cure="ask for directions within 90 degrees of the axis",
        )
