r"""Behind the front: a cap on a rigid ball of the cabinet's volume, made to meet the front model at the rim.

An estimate, in three parts:

* the exact series of a rigid cap of the diaphragm's area on a ball of the cabinet's volume;
* a gain that keeps the power over all directions between half of that in an infinite baffle, at low
  frequency, and all of it, at high frequency: a sharp edge that is grazed lets less sound pass behind than a
  round side does, while at low frequency a box sends a little more behind than a ball;
* just behind the rim, part of the front model's own level at 90 degrees in the same plane through the axis,
  which dies out by 130 degrees.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.radiation.front import Diaphragm, Front, equal_volume_sphere_radius_m
from forehear.radiation.sphere import cap_means, legendre, series_on_sphere

CARRIED_TO_RAD = np.radians(130.0)
_FADED_BY_RAD = np.radians(100.0)
_CARRIED = 0.64  # of the front model's level, until it has faded
_HIGH_POWER = 0.34  # of the ball's power behind at high frequency
_MORE_POWER = 0.14  # below the corner
_MORE_FROM = 0.35  # all frequencies as k times the radius of a disc as large as the front
_CORNER = 1.9
_STEEPNESS = 8


@dataclass(frozen=True, eq=False)
class Ball:
    """A cap on a ball, before a direction is known."""

    wavenumber_radius: FloatArray  # [frequency]
    series: ComplexArray  # [order, frequency]
    gain: FloatArray  # [frequency]
    grazing: ComplexArray  # [frequency] square to the axis of the cap

    def factor(self, cosine: FloatArray) -> ComplexArray:
        """[direction, frequency] re a free-field source of equal volume velocity, phase of the pole."""
        rounded, place = np.unique(np.round(cosine, 12), return_inverse=True)
        table = legendre(rounded, len(self.series))
        ratio = table @ self.series.real + 1j * (table @ self.series.imag)
        ratio *= np.exp(-1j * np.outer(rounded, self.wavenumber_radius))
        behind: ComplexArray = ratio[place]
        return behind


def prepare_ball(diaphragm: Diaphragm, front: Front, wavenumber_1_m: FloatArray) -> Ball:
    """Find the terms of a cap as large as the diaphragm on a ball as large as the cabinet."""
    ball_m = equal_volume_sphere_radius_m(front)
    cosine_of_rim = max(0.0, 1 - diaphragm.radius_m**2 / (2 * ball_m**2))  # a cap of equal area
    series = series_on_sphere(wavenumber_1_m * ball_m)
    series *= cap_means(cosine_of_rim, len(series))[:, None]
    grazing = legendre(np.zeros(1), len(series))[0] @ series
    gain = rear_gain(wavenumber_1_m * float(np.sqrt(front.area_m2 / np.pi)))
    return Ball(wavenumber_1_m * ball_m, series, gain, grazing)


def rear_gain(wavenumber_radius: FloatArray) -> FloatArray:
    r"""Level of a cabinet behind re that of the ball, for the sake of the power over all directions.

    .. math:: g^2 = h + \frac{1 - h + m x^2 / (x^2 + x_1^2)}{1 + (x / x_2)^8}, \quad x = k \sqrt{S/\pi}

    Parameters
    ----------
    wavenumber_radius
        k times the radius of a disc as large as the front. [frequency] [-]

    Returns
    -------
    array
        [frequency] ratio of pressures, 1 at zero frequency. [-]

    Source
    ------
    common-practice: chosen here on the power of cabinets from bookshelf to tower, which it keeps between -3.05
    and +0.05 dB. Below x of 1.5 boundary elements of boxes ask for the same; above, for 2 to 3 dB more.

    Examples
    --------
    >>> print(np.round(rear_gain(np.array([0.01, 0.6, 10.0])), 2))
    [1.   1.05 0.58]
    """
    x = wavenumber_radius
    more = _MORE_POWER * x**2 / (x**2 + _MORE_FROM**2)
    gain: FloatArray = np.sqrt(_HIGH_POWER + (1 - _HIGH_POWER + more) / (1 + (x / _CORNER) ** _STEEPNESS))
    return gain


def carried_share(angle_rad: FloatArray) -> FloatArray:
    """Share of the front model's grazing level in the model behind, constant until the front has faded."""
    beyond = (angle_rad - _FADED_BY_RAD) / (CARRIED_TO_RAD - _FADED_BY_RAD)
    share: FloatArray = _CARRIED * (1 - np.clip(beyond, 0.0, 1.0))
    return share
