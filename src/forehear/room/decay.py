r"""How long sound lingers in the room, from its surfaces, and surfaces that give a wanted time.

The statistical times hold for a field that is even in all directions. Mirror images in a shoebox are not that:
what travels along the harder walls outlives the rest, and the last of it decays late. Counted out in rooms of
53 m3, the slope from -5 to -25 dB of the image sources is 1.2 times Eyring's time where all surfaces are alike,
1.3 to 1.6 times where they are as uneven as in a living room, and 2.6 times with a thick carpet as the only soft
surface. A real room, whose furniture scatters, lies between.
"""

from dataclasses import replace

import numpy as np

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.room.air_absorption import air_absorption_db_per_m
from forehear.room.shoebox import OCTAVE_HZ, SURFACES, Shoebox

_DECAY = 24 * np.log(10.0)  # a millionth of the energy: 6 ln 10, times the 4 of the mean free path 4 V / S
_LEAST, _MOST = 0.1, 10.0  # what the absorption exponents may be multiplied by
_HALVINGS = 60  # of the range between, to the last digit


def sabine_s(shoebox: Shoebox, air: Air, *, air_absorbs: bool = True) -> FloatArray:
    r"""Time in which the energy of a diffuse field falls to a millionth, after Sabine.

    .. math:: T = \frac{24 \ln 10}{c} \frac{V}{\sum_i S_i \alpha_i + 4 m V}

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    air : Air
        For the speed of sound and, m, the share of energy lost a metre. [m/s], [1/m]
    air_absorbs : bool
        Whether the air counts; textbooks often leave it out. [-]

    Returns
    -------
    array
        Decay time, [octave], infinite where nothing absorbs. [s]

    Source
    ------
    kuttruff-2000, statistical room acoustics: small absorption, evenly spread.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1, 0.1, 0.1, 0.1, 0.3, 0.1])
    >>> print(sabine_s(room, Air(), air_absorbs=False)[:2].round(3), sabine_s(room, Air())[-1].round(3))
    [0.644 0.644] 0.464
    """
    return _time_s(shoebox, absorbing_area_m2(shoebox), air, air_absorbs=air_absorbs)


def eyring_s(shoebox: Shoebox, air: Air, *, air_absorbs: bool = True) -> FloatArray:
    r"""Time in which the energy of a diffuse field falls to a millionth, after Eyring.

    .. math:: T = \frac{24 \ln 10}{c} \frac{V}{-S \ln(1 - \bar\alpha) + 4 m V}

    Parameters
    ----------
    shoebox : Shoebox
        The room. [-]
    air : Air
        For the speed of sound and, m, the share of energy lost a metre. [m/s], [1/m]
    air_absorbs : bool
        Whether the air counts; textbooks often leave it out. [-]

    Returns
    -------
    array
        Decay time, [octave], infinite where nothing absorbs. [s]

    Source
    ------
    kuttruff-2000, statistical room acoustics: absorption evenly spread. Image sources of an unevenly damped
    shoebox decay more slowly (see the head of this file).

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1, 0.1, 0.1, 0.1, 0.3, 0.1])
    >>> print(eyring_s(room, Air(), air_absorbs=False)[:2].round(3))
    [0.595 0.595]
    """
    surface = float(shoebox.areas_m2.sum())
    mean = absorbing_area_m2(shoebox) / surface
    with np.errstate(divide="ignore"):  # everything open: nothing comes back, time 0
        exponent = -surface * np.log1p(-mean)
    return _time_s(shoebox, exponent, air, air_absorbs=air_absorbs)


def absorbing_area_m2(shoebox: Shoebox) -> FloatArray:
    """Area of open window that would swallow as much as all surfaces together, [octave] [m2]."""
    area: FloatArray = shoebox.areas_m2 @ shoebox.absorption
    return area


def schroeder_hz(volume_m3: float, decay_time_s: float) -> float:
    r"""Frequency above which so many modes overlap that the room is heard as statistics.

    .. math:: f = 2000 \sqrt{T / V}

    Parameters
    ----------
    volume_m3 : float
        Volume of the room. [m3]
    decay_time_s : float
        Decay time. [s]

    Returns
    -------
    float
        Frequency where three modes share a bandwidth. [Hz]

    Source
    ------
    kuttruff-2000: the rule in SI units, an order of magnitude rather than an edge.

    Examples
    --------
    >>> round(schroeder_hz(50.0, 0.5), 1)
    200.0
    """
    return float(2000.0 * np.sqrt(decay_time_s / volume_m3))


def critical_distance_m(absorbing_area_m2: float, directivity: float = 1.0) -> float:
    r"""Distance at which direct sound and a diffuse field are equally strong.

    .. math:: r = \sqrt{Q A / 16 \pi}

    Parameters
    ----------
    absorbing_area_m2 : float
        Absorbing area of the room. [m2]
    directivity : float
        Directivity factor Q of the source toward the listener, 1 for one that is alike all round. [-]

    Returns
    -------
    float
        Distance. [m]

    Source
    ------
    kuttruff-2000: steady state, diffuse field of a room with little absorption.

    Examples
    --------
    >>> round(critical_distance_m(12.5), 3), round(critical_distance_m(12.5, 4.0), 3)
    (0.499, 0.997)
    """
    return float(np.sqrt(directivity * absorbing_area_m2 / (16 * np.pi)))


def calibrated(shoebox: Shoebox, decay_time_s: FloatArray, air: Air) -> Shoebox:
    r"""Give the room surfaces with which Eyring's time, air included, is the wanted one.

    .. math:: \alpha_i' = 1 - (1 - \alpha_i)^q

    with one factor q an octave, so that what is said about one surface against another stays said. A surface
    that swallows everything stays open, one that swallows nothing stays hard. Image sources in the room so made
    decay more slowly than that time where surfaces are uneven (see the head of this file).

    Parameters
    ----------
    shoebox : Shoebox
        The room as first thought. [-]
    decay_time_s : array
        Wanted decay time, [octave]. [s]
    air : Air
        Its absorption counts. [-]

    Returns
    -------
    Shoebox
        The same room with other absorption.

    Source
    ------
    own-definition: equal scaling of the absorption exponents; kuttruff-2000 for the time.

    Examples
    --------
    >>> room = Shoebox.uniform((5.0, 4.0, 2.5), [0.1, 0.1, 0.1, 0.1, 0.3, 0.1])
    >>> mended = calibrated(room, np.full(8, 0.4), Air())
    >>> print(eyring_s(mended, Air()).round(6)[:2], mended.absorption[:, 4].round(3))
    [0.4 0.4] [0.146 0.146 0.146 0.146 0.414 0.146]
    """
    wanted = np.asarray(decay_time_s, dtype=float)
    if wanted.shape != (len(OCTAVE_HZ),) or not np.all(np.isfinite(wanted) & (wanted > 0)):
        raise ValueError(f"a decay time above zero for each of {len(OCTAVE_HZ)} octaves, not {wanted}")
    low, high = np.full(wanted.shape, _LEAST), np.full(wanted.shape, _MOST)
    shortest, longest = (eyring_s(_scaled(shoebox, factor), air) for factor in (high, low))
    missed = np.flatnonzero((wanted < shortest * (1 - 1e-9)) | (wanted > longest * (1 + 1e-9)))
    if missed.size:
        octave = int(missed[0])
        raise _out_of_reach(shoebox, air, octave, wanted[octave], (shortest[octave], longest[octave]))
    for _ in range(_HALVINGS):
        middle = np.sqrt(low * high)
        too_long = eyring_s(_scaled(shoebox, middle), air) > wanted
        low, high = np.where(too_long, middle, low), np.where(too_long, high, middle)
    return _scaled(shoebox, np.sqrt(low * high))


def _time_s(shoebox: Shoebox, exponent_m2: FloatArray, air: Air, *, air_absorbs: bool) -> FloatArray:
    """Decay time [octave] from the absorbing area of the surfaces, with or without that of the air."""
    volume = shoebox.volume_m3
    if air_absorbs:
        lost_1_m = air_absorption_db_per_m(np.array(OCTAVE_HZ, dtype=float), air) / (10 * np.log10(np.e))
        exponent_m2 = exponent_m2 + 4 * volume * lost_1_m
    with np.errstate(divide="ignore"):  # nothing absorbs: for ever
        time: FloatArray = _DECAY / air.sound_speed_m_s * volume / exponent_m2
    return time


def _scaled(shoebox: Shoebox, factor: FloatArray) -> Shoebox:
    """Multiply the absorption exponent of every surface by one factor an octave."""
    return replace(shoebox, absorption=1.0 - (1.0 - shoebox.absorption) ** factor)


def _out_of_reach(
    shoebox: Shoebox, air: Air, octave: int, wanted_s: float, reach_s: tuple[float, float]
) -> OutsideValidity:
    """Say why a decay time cannot be had, naming what already makes it shorter."""
    at = _octave_words(octave)
    what = f"decay time of {_seconds(wanted_s)} at {at} cannot be had"
    is_open = shoebox.absorption[:, octave] == 1.0
    empty = np.zeros_like(shoebox.absorption)
    air_s = eyring_s(Shoebox(shoebox.size_m, empty), air)[octave]
    open_s = eyring_s(Shoebox(shoebox.size_m, empty + is_open[:, None]), air)[octave]
    if wanted_s >= air_s:
        return OutsideValidity(
            f"{what}: the air alone gives {_seconds(air_s)}",
            cure=f"state less than {_seconds(air_s)} at {at}",
        )
    if is_open.any() and wanted_s >= open_s:
        names = " and ".join(f"the open {SURFACES[i]}" for i in np.flatnonzero(is_open))
        gives = "gives" if is_open.sum() == 1 else "give"
        return OutsideValidity(
            f"{what}: {names} alone {gives} {_seconds(open_s)}",
            cure=f"state less than {_seconds(open_s)} at {at}, or close what is open with an absorption below 1",
        )
    if np.all(is_open | (shoebox.absorption[:, octave] == 0.0)):
        return OutsideValidity(
            f"{what}: no surface swallows a part of the sound there, between nothing and all",
            cure=f"give the surfaces at {at} the absorption that their material would have",
        )
    shortest, longest = (_seconds(reach) for reach in reach_s)
    return OutsideValidity(
        f"{what}: with the absorption exponents of all surfaces times {_LEAST:g} to {_MOST:g} "
        f"the room gives {shortest} to {longest}",
        cure=f"state a time in that range at {at}, or surfaces that fit the time better",
    )


def _seconds(time_s: float) -> str:
    return f"{time_s:.3g} s" if time_s < 100 else f"{time_s:.0f} s"


def _octave_words(octave: int) -> str:
    hertz = OCTAVE_HZ[octave]
    return f"{hertz} Hz" if hertz < 1000 else f"{hertz // 1000} kHz"
