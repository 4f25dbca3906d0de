"""The phase that a minimum-phase system must have, from its level alone."""

import numpy as np
from scipy.special import spence

from forehear.ground.arrays import FloatArray

DB_PER_NEPER = 20 / np.log(10)


def minimum_phase_rad(
    frequency_hz: FloatArray,
    level_db: FloatArray,
    *,
    slope_below_db_per_octave: float,
    slope_above_db_per_octave: float,
    at_hz: FloatArray | None = None,
) -> FloatArray:
    r"""Phase of a minimum-phase system whose level is known.

    .. math::
        \varphi(f) = \frac{1}{\pi} \int_{-\infty}^{\infty} \frac{\mathrm{d} \ln|H|}{\mathrm{d} u}
        \ln \coth \frac{|u|}{2} \, \mathrm{d} u, \quad u = \ln (f' / f)

    The level is straight in log frequency between the given points and follows the stated slopes for ever
    beyond them; for such a level the integral is evaluated exactly, so only the spacing of the points limits
    the result.

    Parameters
    ----------
    frequency_hz : array
        Where the level is known, rising. [Hz]
    level_db : array
        Level there, any reference. [dB]
    slope_below_db_per_octave, slope_above_db_per_octave : float
        How the level goes on below and above, rising frequency taken as positive: a closed box is +12 below,
        a voice coil that only has mass -12 above. [dB/octave]
    at_hz : array, optional
        Where the phase is wanted; where the level is known if left out. [Hz]

    Returns
    -------
    array
        Phase for time going as exp(+jwt), not wrapped. [rad]

    Source
    ------
    bode-1945, phase from attenuation slope: holds for systems without delay and without all-pass parts.

    Examples
    --------
    A level that rises 6 dB an octave everywhere is a differentiator, 90 degrees ahead:

    >>> f = np.array([100.0, 1000.0])
    >>> slope = 20 * np.log10(2)
    >>> rising = slope * np.log2(f)
    >>> ahead = minimum_phase_rad(f, rising, slope_below_db_per_octave=slope, slope_above_db_per_octave=slope)
    >>> print(np.degrees(ahead).round(3))
    [90. 90.]
    """
    knots = np.log(frequency_hz)
    if knots.size < 2 or not np.all(np.diff(knots) > 0):
        raise ValueError("the level needs at least two frequencies, rising")
    nepers_per_octave = np.array([slope_below_db_per_octave, slope_above_db_per_octave]) / DB_PER_NEPER
    below, above = nepers_per_octave / np.log(2.0)
    slope = np.concatenate([[below], np.diff(np.asarray(level_db) / DB_PER_NEPER) / np.diff(knots), [above]])
    wanted = knots if at_hz is None else np.log(at_hz)
    ends = np.full((wanted.size, 1), np.pi**2 / 4)
    reached = np.concatenate([-ends, _weight_up_to(knots[None, :] - wanted[:, None]), ends], axis=1)
    phase: FloatArray = np.diff(reached, axis=1) @ slope / np.pi
    return phase


def _weight_up_to(u: FloatArray) -> FloatArray:
    """Integrate ln coth(|t| / 2) from 0 to u, by Legendre's chi function: odd, pi squared / 4 at infinity."""
    shrunk = np.exp(-np.abs(u))
    chi = (spence(-np.expm1(-np.abs(u))) - spence(1.0 + shrunk)) / 2  # spence(1 - x) is the dilogarithm of x
    weight: FloatArray = np.sign(u) * (np.pi**2 / 4 - 2 * chi)
    return weight
