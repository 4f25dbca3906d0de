"""How loud sound is and how high it peaks, as broadcasters measure it."""

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DataError

RATE_HZ = 48_000
BLOCK_S, STEP_S = 0.4, 0.1
SILENT_LUFS, QUIET_LU = -70.0, -10.0
# The two filters at 48 kHz as Annex 1 prints them: a shelf for the head, and a high pass.
_WEIGHTING = np.array(
    [
        [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585],
        [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621],
    ]
)
_FINER = 4
_TAPS = 24  # of a phase, on both sides together
_BETWEEN = _FINER * scipy.signal.firwin(_FINER * _TAPS + 1, 1 / _FINER, window=("kaiser", 7.0)).astype(
    np.float32
)
_BOUND = float(np.abs(_BETWEEN[:-1]).reshape(_TAPS, _FINER).sum(axis=0).max())  # of a value between samples
_STRETCH = 240  # samples looked at together
_FIRST = 20  # stretches
Sound = FloatArray | NDArray[np.float32]


def loudness_lufs(sound: Sound) -> float:
    r"""Loudness of a programme, gated, all channels alike.

    .. math:: L = -0.691 + 10 \log_{10} \sum_i z_i

    with the mean squares z of the weighted channels over blocks of 0.4 s, three quarters of each shared with the
    next, of which only those count that lie above -70 LUFS and above 10 LU below the mean of these.

    Parameters
    ----------
    sound : array
        Full scale is 1, 48 kHz, [channel, sample]. [-]

    Returns
    -------
    float
        Loudness; minus infinity of silence. [dB re full scale]

    Raises
    ------
    DataError
        When it is shorter than one block.

    Source
    ------
    itu-r-bs-1770, Annex 1: coefficients for 48 kHz, from memory; held against a library.

    Examples
    --------
    A sine at 997 Hz that just reaches full scale, in one channel:

    >>> sine = np.sin(2 * np.pi * 997 * np.arange(3 * RATE_HZ) / RATE_HZ)
    >>> print(f"{loudness_lufs(sine[np.newaxis]):.2f}")
    -3.01
    """
    block, step = round(BLOCK_S * RATE_HZ), round(STEP_S * RATE_HZ)
    if sound.shape[1] < block:
        raise DataError(
            f"{sound.shape[1] / RATE_HZ:.2f} s of sound are too short to tell how loud it is: "
            f"at least {BLOCK_S} s are needed",
            cure="take a longer clip",
        )
    weighted = scipy.signal.sosfilt(_WEIGHTING, sound, axis=1)
    whole = weighted[:, : weighted.shape[1] // step * step]
    steps = (whole**2).reshape(len(sound), -1, step).sum(axis=(0, 2), dtype=float)
    energy = np.convolve(steps, np.ones(block // step), "valid") / block
    loud = energy[energy > _energy(SILENT_LUFS)]
    if not loud.size:
        return -np.inf
    loud = loud[loud > loud.mean() * 10 ** (QUIET_LU / 10)]
    return float(-0.691 + 10 * np.log10(loud.mean()))


def _energy(level_lufs: float) -> float:
    return float(10 ** ((level_lufs + 0.691) / 10))


def true_peak(sound: Sound) -> float:
    r"""Highest value of a sound, between its samples, too.

    Four values a sample are found by a windowed sinc, and the top of a parabola through the highest three. Only where
    it can be higher than the highest sample are they worked out: a value between samples is no more than the sum of
    the filter's magnitudes times the highest sample about it.

    Parameters
    ----------
    sound : array
        [channel, sample]. [any unit]

    Returns
    -------
    float
        Highest magnitude. [unit of the sound]

    Source
    ------
    itu-r-bs-1770, Annex 2: four times finer; the filter is our own.

    Examples
    --------
    A sine at a quarter of the rate whose samples all miss its top:

    >>> sine = np.sin(np.pi / 2 * np.arange(1000) + np.pi / 4)[np.newaxis]
    >>> print(f"{sine.max():.3f} {true_peak(sine * np.hanning(1000)):.2f}")
    0.707 1.00
    """
    highest = float(np.abs(sound).max(initial=0.0))
    for channel in sound:
        padded = np.pad(channel, (_TAPS, _TAPS + -channel.size % _STRETCH))
        tops = np.abs(padded[_TAPS:-_TAPS]).reshape(-1, _STRETCH).max(axis=1)
        tops = np.maximum(tops, np.maximum(np.append(tops[1:], 0.0), np.append(0.0, tops[:-1])))
        about = np.lib.stride_tricks.sliding_window_view(padded, _STRETCH + 2 * _TAPS)[::_STRETCH]
        falling = np.argsort(-tops)
        for some in (
            falling[:_FIRST],
            falling[_FIRST:],
        ):  # the first ones leave few others that can be higher
            wanted = some[tops[some] * _BOUND >= highest]
            if wanted.size:
                finer = scipy.signal.upfirdn(_BETWEEN, about[wanted], up=_FINER, axis=1)
                highest = max(highest, _top(np.abs(finer[:, _FINER * _TAPS : -_FINER * _TAPS])))
    return highest


def _top(values: NDArray[np.float32]) -> float:
    """Return the top of the parabola through the highest value [stretch, place] and its neighbours."""
    row, at = np.unravel_index(int(values.argmax()), values.shape)
    highest = float(values[row, at])
    if not 0 < at < values.shape[1] - 1:
        return highest
    before, after = float(values[row, at - 1]), float(values[row, at + 1])
    bend = before - 2 * highest + after
    return highest if bend >= 0 else highest - (before - after) ** 2 / (8 * bend)
