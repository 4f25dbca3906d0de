"""What air itself takes from sound on its way."""

import numpy as np

from forehear.ground.air import ZERO_CELSIUS_K, Air
from forehear.ground.arrays import FloatArray

_REFERENCE_PA = 101_325.0
_REFERENCE_K = 293.15
_TRIPLE_POINT_K = ZERO_CELSIUS_K + 0.01  # of water


def air_absorption_db_per_m(frequency_hz: FloatArray, air: Air) -> FloatArray:
    r"""Level that a pure tone loses for each metre of air it crosses, besides spreading.

    .. math::
        a = 8.686 f^2 \left[ 1.84 \cdot 10^{-11} \frac{p_r}{p} \sqrt{\frac{T}{T_0}}
        + \left( \frac{T}{T_0} \right)^{-5/2} \left( \frac{0.01275 e^{-2239.1/T}}{f_O + f^2/f_O}
        + \frac{0.1068 e^{-3352/T}}{f_N + f^2/f_N} \right) \right]

    with the relaxation frequencies of oxygen and nitrogen, which depend on the share of water vapour.

    Parameters
    ----------
    frequency_hz : array
        Frequency. [Hz]
    air : Air
        Temperature, humidity and pressure. [-]

    Returns
    -------
    array
        Loss of level. [dB/m]

    Source
    ------
    iso-9613-1, eq. 3 to 5 and annex B, from memory: -20 to 50 C, 0.05 to 5 % of the molecules water, up to 2 bar,
    frequency over pressure from 0.4 mHz/Pa to 10 Hz/Pa; within 10 % there.

    Examples
    --------
    A room of ordinary air takes 4.7 dB a kilometre at 1 kHz:

    >>> print(air_absorption_db_per_m(np.array([1000.0]), Air()).round(5))
    [0.00466]
    """
    warmth_k = ZERO_CELSIUS_K + air.temperature_c
    relative = warmth_k / _REFERENCE_K
    pressure = air.pressure_pa / _REFERENCE_PA
    saturation = 10.0 ** (4.6151 - 6.8346 * (_TRIPLE_POINT_K / warmth_k) ** 1.261)
    vapour = 100.0 * air.relative_humidity * saturation / pressure  # per cent of the molecules
    oxygen_hz = pressure * (24.0 + 4.04e4 * vapour * (0.02 + vapour) / (0.391 + vapour))
    slowed = np.exp(-4.170 * (relative ** (-1 / 3) - 1.0))
    nitrogen_hz = pressure / np.sqrt(relative) * (9.0 + 280.0 * vapour * slowed)
    squared = np.square(frequency_hz)
    relaxing = 0.01275 * np.exp(-2239.1 / warmth_k) / (oxygen_hz + squared / oxygen_hz)
    relaxing = relaxing + 0.1068 * np.exp(-3352.0 / warmth_k) / (nitrogen_hz + squared / nitrogen_hz)
    lost: FloatArray = 8.686 * squared * (1.84e-11 * np.sqrt(relative) / pressure + relative**-2.5 * relaxing)
    return lost
