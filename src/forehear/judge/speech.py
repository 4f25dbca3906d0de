"""Speech and the noise it is heard in, by octaves from 125 Hz to 8 kHz."""

from collections.abc import Sequence

import numpy as np

from forehear.ground.arrays import FloatArray

SPEECH_OCTAVE_HZ = (125, 250, 500, 1000, 2000, 4000, 8000)
NORMAL_SPEECH_DB = 60.0  # A-weighted, at 1 m in front of the talker (IEC 60268-16, from memory)
MALE_SPEECH_SHAPE_DB = (2.9, 2.9, -0.8, -6.8, -12.8, -18.8, -24.8)  # re its A-weighted level, same source
A_WEIGHTING_DB = (-16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)  # IEC 61672-1, rounded as printed there
ROOM_NOISE_SHAPE_DB = (44.0, 37.0, 31.0, 27.0, 24.0, 22.0, 21.0)  # noise criterion 25, from memory


def speech_levels_db(overall_db: float = NORMAL_SPEECH_DB) -> FloatArray:
    """Octave levels of male speech.

    Parameters
    ----------
    overall_db : float
        A-weighted level of the speech where it is heard; normal speech has 60 at 1 m. [dB re 20 uPa]

    Returns
    -------
    array
        Level of each octave from 125 Hz to 8 kHz. [dB re 20 uPa]

    Source
    ------
    iec-60268-16, standard male speech spectrum, from memory: long-term, continuous speech.

    Examples
    --------
    >>> print(speech_levels_db(60.0))
    [62.9 62.9 59.2 53.2 47.2 41.2 35.2]
    """
    return overall_db + np.array(MALE_SPEECH_SHAPE_DB)


def noise_levels_db(overall_db: float, shape_db: Sequence[float] = ROOM_NOISE_SHAPE_DB) -> FloatArray:
    """Octave levels of a steady noise of stated shape and A-weighted level.

    Parameters
    ----------
    overall_db : float
        A-weighted level of the noise where it is heard. [dB re 20 uPa]
    shape_db : sequence of float
        Its octaves from 125 Hz to 8 kHz, up to one constant; unless given, the curve by which the quiet of
        rooms is rated, at 25. [dB]

    Returns
    -------
    array
        Level of each octave. [dB re 20 uPa]

    Source
    ------
    beranek-1957, noise criterion 25, from memory, for the shape; iec-61672-1 for the A-weighting.

    Examples
    --------
    >>> print(noise_levels_db(35.0).round(1))
    [44.2 37.2 31.2 27.2 24.2 22.2 21.2]
    """
    shape = np.asarray(shape_db, dtype=float)
    return shape + (overall_db - a_weighted_level_db(shape))


def a_weighted_level_db(octave_level_db: FloatArray) -> FloatArray:
    """A-weighted level of octaves from 125 Hz to 8 kHz.

    Parameters
    ----------
    octave_level_db : array
        Levels, [..., octave]. [dB]

    Returns
    -------
    array
        One level, [...]. [dB]

    Source
    ------
    iec-61672-1, table of A-weighting at the octave midbands.

    Examples
    --------
    >>> print(f"{a_weighted_level_db(np.zeros(7)):.1f}")
    7.0
    """
    octaves = np.asarray(octave_level_db, dtype=float)
    if octaves.shape[-1:] != (len(A_WEIGHTING_DB),):
        raise ValueError(f"seven octaves from 125 Hz to 8 kHz are needed, not shape {octaves.shape}")
    weighted: FloatArray = 10 * np.log10(np.sum(10 ** ((octaves + A_WEIGHTING_DB) / 10), axis=-1))
    return weighted
