"""Rules of thumb of the trade, to be printed beside the exact answer and never instead of it."""

from collections.abc import Sequence

import numpy as np

SOUND_SPEED_M_S = 343.2
LEAST_SHARE_OF_RATED_IMPEDANCE = 0.8
LEAST_CROSSING_OVER_RESONANCE = 2.0


def beaming_frequency_hz(diameter_m: float, *, sound_speed_m_s: float = SOUND_SPEED_M_S) -> float:
    r"""Frequency at which a diaphragm starts to beam: its circumference is two wavelengths.

    .. math:: k a = 2, \quad f = 2 c / (\pi d)

    For a group of drivers of one way the width from outer edge to outer edge takes the place of the diameter;
    the rule is then about a third of an octave too kind.

    Parameters
    ----------
    diameter_m : float
        Effective diameter, or the width of a group. [m]
    sound_speed_m_s : float
        Speed of sound. [m/s]

    Returns
    -------
    float
        Frequency. [Hz]

    Source
    ------
    common-practice: no source.

    Examples
    --------
    >>> print(f"{beaming_frequency_hz(0.070):.0f} Hz")
    3121 Hz
    """
    return float(2 * sound_speed_m_s / (np.pi * diameter_m))


def outer_width_m(middle_m: Sequence[float], radius_m: Sequence[float]) -> float:
    """Width of a group of drivers from outer edge to outer edge, in the plane of one orbit.

    Parameters
    ----------
    middle_m, radius_m : sequence of float
        Middle of each diaphragm along that plane, and its effective radius. [m]

    Returns
    -------
    float
        Width. [m]

    Source
    ------
    own-definition: plain geometry.

    Examples
    --------
    >>> print(f"{outer_width_m([-0.11, 0.11], [0.037, 0.037]):.3f} m")
    0.294 m
    """
    edges = [(m - r, m + r) for m, r in zip(middle_m, radius_m, strict=True)]
    return max(high for _, high in edges) - min(low for low, _ in edges)


def spacing_in_wavelengths(
    spacing_m: float, crossing_hz: float, *, sound_speed_m_s: float = SOUND_SPEED_M_S
) -> float:
    """Distance between two drivers in wavelengths at their crossing; the trade wants less than 1.

    Parameters
    ----------
    spacing_m : float
        Distance between the middles. [m]
    crossing_hz : float
        Frequency at which both play alike. [Hz]
    sound_speed_m_s : float
        Speed of sound. [m/s]

    Returns
    -------
    float
        Wavelengths. [-]

    Source
    ------
    common-practice: no source.

    Examples
    --------
    >>> print(f"{spacing_in_wavelengths(0.1716, 2000.0):.2f}")
    1.00
    """
    return spacing_m * crossing_hz / sound_speed_m_s


def first_cancellation_hz(
    spacing_m: float, angle_rad: float, *, sound_speed_m_s: float = SOUND_SPEED_M_S
) -> float:
    r"""Lowest frequency at which two equal drivers cancel toward a far listener; infinite straight ahead.

    .. math:: f = c / (2 S \sin\theta)

    Parameters
    ----------
    spacing_m : float
        Distance between the middles of the two. [m]
    angle_rad : float
        Angle of the listener from the plane between them. [rad]
    sound_speed_m_s : float
        Speed of sound. [m/s]

    Returns
    -------
    float
        Frequency. [Hz]

    Source
    ------
    own-definition: the paths differ by half a wavelength; far listener, equal drivers in phase.

    Examples
    --------
    >>> print(f"{first_cancellation_hz(0.222, np.radians(20)):.0f} Hz")
    2260 Hz
    """
    difference = abs(spacing_m * np.sin(angle_rad))
    return float(sound_speed_m_s / (2 * difference)) if difference > 0 else float("inf")


def baffle_step_hz(width_m: float) -> float:
    r"""Frequency at which a front of some width is 3 dB down from its high-frequency gain of 6 dB.

    .. math:: f_3 = 115 / W

    Parameters
    ----------
    width_m : float
        Width of the front. [m]

    Returns
    -------
    float
        Frequency. [Hz]

    Source
    ------
    common-practice: no source; the exact step of a sphere lies at 108 m/s over its diameter.

    Examples
    --------
    >>> print(f"{baffle_step_hz(0.2):.0f} Hz")
    575 Hz
    """
    return 115.0 / width_m


def crossing_over_resonance(crossing_hz: float, resonance_hz: float) -> float:
    """How many times its own resonance a tweeter is crossed at; the trade wants at least 2.

    Parameters
    ----------
    crossing_hz, resonance_hz : float
        Crossing below the driver, and its resonance in the cabinet. [Hz]

    Returns
    -------
    float
        Ratio, to be held against `LEAST_CROSSING_OVER_RESONANCE`. [-]

    Source
    ------
    common-practice: no source.

    Examples
    --------
    >>> crossing_over_resonance(2400.0, 800.0)
    3.0
    """
    return crossing_hz / resonance_hz


def lowest_allowed_impedance_ohm(rated_ohm: float) -> float:
    """Lowest magnitude of the impedance that a rated value allows.

    Parameters
    ----------
    rated_ohm : float
        Rated impedance. [ohm]

    Returns
    -------
    float
        80 % of it. [ohm]

    Source
    ------
    iec-60268-5, rated impedance, from memory.

    Examples
    --------
    >>> print(f"{lowest_allowed_impedance_ohm(8.0):.1f}")
    6.4
    """
    return LEAST_SHARE_OF_RATED_IMPEDANCE * rated_ohm
