"""How loud a real speaker is at a seat, from a recording of noise that it plays."""

import numpy as np
from numpy.typing import NDArray

from forehear.ground.errors import DataError
from forehear.listen.clip import Clip
from forehear.listen.loudness import RATE_HZ, STEP_S, loudness_lufs

SHORTEST_S = 5.0  # the loudness of pink noise wanders by less than 0.1 dB over so long; tests hold it
QUIETEST_LUFS = -60.0  # softer, what a recorder hisses by itself has a part in it: estimated
LOUD = 0.25  # of the energy that one step in ten passes: below, the noise has not begun or is over
EDGE_STEPS = 2  # left out at both ends of it, where it swells and dies away
CURE = "record the same noise from every speaker again, with one recorder that stays where it is and as it is set"


def recorded_lufs(clip: Clip) -> float:
    """Loudness of the steady noise in a recording; what is still before and after it does not count.

    Parameters
    ----------
    clip : Clip
        The recording, of one or two channels. [-]

    Returns
    -------
    float
        Loudness; differences between recordings by one recorder are differences at the seat. [dB re full scale]

    Raises
    ------
    DataError
        When it is clipped, too short or too quiet to tell.

    Source
    ------
    itu-r-bs-1770, Annex 1: the loudness; what is refused is our own choice.

    Examples
    --------
    >>> from forehear.listen.clip import bundled_clip
    >>> print(f"{recorded_lufs(bundled_clip('pink noise')):.1f}")
    -15.7
    """
    if clip.notes:
        raise DataError(
            f"{clip.name} is clipped, so how loud it was cannot be told",
            where=clip.name,
            cure=f"{CURE}, recording level lower",
        )
    noise = _steady(clip.sound)
    seconds = noise.shape[1] / RATE_HZ
    if seconds < SHORTEST_S:
        raise DataError(
            f"{clip.name} holds {seconds:.1f} s of noise, and it is even enough from {SHORTEST_S:.0f} s on",
            where=clip.name,
            cure="record ten seconds of it",
        )
    found_lufs = loudness_lufs(noise)
    if found_lufs < QUIETEST_LUFS:
        raise DataError(
            f"{clip.name} is at {found_lufs:.0f} LUFS, so quiet that the recorder itself is heard in it; "
            f"{QUIETEST_LUFS:.0f} or more can be used",
            where=clip.name,
            cure=f"{CURE}, recording level higher",
        )
    return found_lufs


def _steady(sound: NDArray[np.float32]) -> NDArray[np.float32]:
    """Cut a recording to its noise: blocks half in it would be counted by the meter as softer noise."""
    step = round(STEP_S * RATE_HZ)
    whole = sound[:, : sound.shape[1] // step * step].reshape(len(sound), -1, step)
    energy = np.square(whole, dtype=float).sum(axis=(0, 2))
    loud = np.flatnonzero(energy >= LOUD * np.quantile(energy, 0.9))
    start, end = loud[0] + EDGE_STEPS, loud[-1] + 1 - EDGE_STEPS
    return sound[:, start * step : max(start, end) * step]
