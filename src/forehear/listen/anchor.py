"""The hidden anchor: a sound made dull on purpose, which everybody should hear as the worst."""

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from forehear.listen.loudness import RATE_HZ, loudness_lufs, true_peak

UP_TO_HZ, NOTHING_FROM_HZ = 3500.0, 4000.0
_TAPS = 511
_LOWEST_DB = 63.0  # what is left above
_HIGHEST_PEAK = 10 ** (-1 / 20)


def anchor_of(sound: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return a sound [ear, sample] without its treble, as loud as before unless its peaks forbid it.

    It passes up to 3.5 kHz, as ITU-R BS.1534 has it (from memory), and is not delayed.
    """
    dull = scipy.signal.oaconvolve(sound.astype(np.float64), _low_pass()[None, :], mode="same", axes=-1)
    before, after = loudness_lufs(sound), loudness_lufs(dull)
    gain = 10 ** ((before - after) / 20) if np.isfinite(before) and np.isfinite(after) else 1.0
    peak = true_peak(dull)
    if peak * gain > _HIGHEST_PEAK:
        gain = _HIGHEST_PEAK / peak
    return np.asarray(gain * dull, dtype=np.float32)


def _low_pass() -> NDArray[np.float64]:
    middle_hz = (UP_TO_HZ + NOTHING_FROM_HZ) / 2
    window = ("kaiser", float(scipy.signal.kaiser_beta(_LOWEST_DB)))
    return np.asarray(scipy.signal.firwin(_TAPS, middle_hz, window=window, fs=RATE_HZ))
