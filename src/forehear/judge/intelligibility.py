"""Speech transmission index: how much of the slow swing of speech, octave by octave, reaches a seat.

After IEC 60268-16, edition 2011, weights for male speech; all constants are from memory, not re-read. The
index is found from the room's energy decay and from levels (the indirect method), so nothing here knows of
distortion or of anything else that changes with time.
"""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge.decay import NEPERS_OF_60_DB, EnergyDecay
from forehear.judge.speech import SPEECH_OCTAVE_HZ

MODULATION_HZ = (0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 12.5)
OCTAVE_WEIGHT = (0.085, 0.127, 0.230, 0.233, 0.309, 0.224, 0.173)
REDUNDANCY_WEIGHT = (0.085, 0.078, 0.065, 0.011, 0.047, 0.095)  # of each octave with the next
RECEPTION_THRESHOLD_DB = (46.0, 27.0, 12.0, 6.5, 7.5, 8.0, 12.0)
LIMIT_DB = 15.0  # beyond which more or less signal over noise changes nothing
RATINGS = ((0.75, "excellent"), (0.60, "good"), (0.45, "fair"), (0.30, "poor"))


@dataclass(frozen=True, eq=False)
class SpeechTransmission:
    """The index of each seat, and what each octave alone would give."""

    index: FloatArray  # [...], 0 to 1
    octave_index: FloatArray  # [..., octave], 0 to 1


def speech_transmission(
    decay: EnergyDecay, speech_db: FloatArray, noise_db: FloatArray, *, with_hearing: bool = True
) -> SpeechTransmission:
    """Speech transmission index from a decay and the levels of speech and noise.

    Parameters
    ----------
    decay : EnergyDecay
        Squared impulse response. [any unit]
    speech_db : array
        Level of the speech at the seat, early and late sound together, [..., octave]. [dB re 20 uPa]
    noise_db : array
        Level of the steady noise there, [..., octave]. [dB re 20 uPa]
    with_hearing : bool
        False leaves out masking by the octave below and the threshold of hearing.

    Returns
    -------
    SpeechTransmission
        Index and index of each octave. [-]

    Source
    ------
    iec-60268-16, indirect method, male speech, from memory.

    Examples
    --------
    An ideal exponential decay of 1 s, speech of 60 dB(A), no noise, without and with hearing:

    >>> from forehear.judge import speech_levels_db
    >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.ones(7))
    >>> speech, silence = speech_levels_db(60.0), np.full(7, -200.0)
    >>> print(f"{speech_transmission(tail, speech, silence, with_hearing=False).index:.3f}")
    0.588
    >>> print(f"{speech_transmission(tail, speech, silence).index:.3f}")
    0.587
    """
    swing = modulation_transfer(decay) * noise_factor(speech_db, noise_db)[..., None]
    if with_hearing:
        swing = swing * hearing_factor(speech_db, noise_db)[..., None]
    octave_index = transmission_index(swing).mean(axis=-1)
    return SpeechTransmission(index_of_octaves(octave_index), octave_index)


def modulation_transfer(decay: EnergyDecay) -> FloatArray:
    r"""Find what is left of a swing in intensity after the room, no noise.

    .. math:: m(F) = \left| \int_0^\infty p^2(t) e^{-j 2 \pi F t} dt \right| \Big/ \int_0^\infty p^2(t) dt

    A bin of width w about t gives sinc(F w) exp(-j 2 pi F t); the tail, which starts at the last edge, falls
    by 60 dB in T: exp(-j 2 pi F t_e) / (1 + j 2 pi F T / (6 ln 10)).

    Parameters
    ----------
    decay : EnergyDecay
        Squared impulse response. [any unit]

    Returns
    -------
    array
        0 to 1, [..., octave, modulation] at `MODULATION_HZ`. [-]

    Source
    ------
    schroeder-1981, from memory.

    Examples
    --------
    >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.ones(7))
    >>> print(f"{modulation_transfer(tail)[0, 5]:.4f}")  # 2 Hz
    0.7398
    """
    modulation = np.array(MODULATION_HZ)
    turning = 2j * np.pi * modulation
    middle = (decay.edges_s[:-1] + decay.edges_s[1:])[:, None] / 2
    of_bin = np.sinc(np.diff(decay.edges_s)[:, None] * modulation) * np.exp(-turning * middle)
    of_tail = np.exp(-turning * decay.edges_s[-1]) / (
        1 + turning * decay.decay_time_s[:, None] / NEPERS_OF_60_DB
    )
    arriving = decay.energy @ of_bin + decay.tail_energy[..., None] * of_tail
    swing: FloatArray = np.abs(arriving) / decay.total[..., None]
    return swing


def noise_factor(speech_db: FloatArray, noise_db: FloatArray) -> FloatArray:
    r"""By what a steady noise shrinks the swing in each octave.

    .. math:: 1 \big/ (1 + 10^{(L_N - L_S) / 10})

    Parameters
    ----------
    speech_db, noise_db : array
        Levels at the seat, [..., octave]. [dB re 20 uPa]

    Returns
    -------
    array
        Factor, [..., octave]. [-]

    Source
    ------
    iec-60268-16, from memory.

    Examples
    --------
    >>> print(noise_factor(np.full(7, 60.0), np.full(7, 60.0))[0])
    0.5
    """
    excess_db = np.asarray(noise_db, dtype=float) - np.asarray(speech_db, dtype=float)
    factor: FloatArray = 1 / (1 + 10 ** (excess_db / 10))
    return factor


def hearing_factor(speech_db: FloatArray, noise_db: FloatArray) -> FloatArray:
    r"""By what the ear shrinks the swing: masking by the octave below, and the threshold of hearing.

    .. math:: I_k / (I_k + a_{k-1} I_{k-1} + I_{rt,k})

    I is the intensity of speech and noise together. The slope a depends on the level L of the octave that
    masks: 0.5 L - 65 dB below 63 dB, 1.8 L - 146.9 below 67 dB, 0.5 L - 59.8 below 100 dB, -10 dB above.

    Parameters
    ----------
    speech_db, noise_db : array
        Levels at the seat, [..., octave]. [dB re 20 uPa]

    Returns
    -------
    array
        Factor, [..., octave]. [-]

    Source
    ------
    iec-60268-16, level-dependent auditory masking and absolute reception threshold, from memory. That the
    level of the masking octave counts its noise too is our reading.

    Examples
    --------
    >>> print(hearing_factor(np.full(7, 46.0), np.full(7, -200.0)).round(4))
    [0.5    0.9875 0.9995 0.9998 0.9998 0.9998 0.9995]
    """
    speech, noise = (10 ** (np.asarray(level, dtype=float) / 10) for level in (speech_db, noise_db))
    heard = speech + noise
    below_db = 10 * np.log10(heard[..., :-1])
    masking = np.zeros_like(heard)
    masking[..., 1:] = heard[..., :-1] * 10 ** (_masking_slope_db(below_db) / 10)
    factor: FloatArray = heard / (heard + masking + 10 ** (np.array(RECEPTION_THRESHOLD_DB) / 10))
    return factor


def transmission_index(swing: FloatArray) -> FloatArray:
    r"""Share of the useful range of signal over noise that a swing is worth.

    .. math:: TI = \frac{10 \log_{10} \frac{m}{1 - m} + 15}{30}, \quad 0 \le TI \le 1

    Parameters
    ----------
    swing : array
        Modulation transfer, 0 to 1. [-]

    Returns
    -------
    array
        Index of the same shape. [-]

    Source
    ------
    iec-60268-16, transmission index, from memory.

    Examples
    --------
    >>> print(transmission_index(np.array([0.0, 0.5, 1.0])))
    [0.  0.5 1. ]
    """
    limit = 1 / (1 + 10 ** (LIMIT_DB / 10))
    held = np.clip(swing, limit, 1 - limit)
    index: FloatArray = np.clip((10 * np.log10(held / (1 - held)) + LIMIT_DB) / (2 * LIMIT_DB), 0.0, 1.0)
    return index


def index_of_octaves(octave_index: FloatArray) -> FloatArray:
    r"""Weigh the octaves; what two neighbours both bring counts once.

    .. math:: STI = \sum_k \alpha_k M_k - \sum_k \beta_k \sqrt{M_k M_{k+1}} \le 1

    The formula is not monotone: an octave far worse than both its neighbours can raise the index by sharing
    less with them, so read the octaves beside it.

    Parameters
    ----------
    octave_index : array
        Modulation transmission index of each octave, [..., octave]. [-]

    Returns
    -------
    array
        Speech transmission index, [...]. [-]

    Source
    ------
    iec-60268-16, edition 2011, male weights, from memory.

    Examples
    --------
    >>> print(f"{index_of_octaves(np.full(7, 0.6)):.3f}")
    0.600
    """
    octaves = np.asarray(octave_index, dtype=float)
    if octaves.shape[-1:] != (len(SPEECH_OCTAVE_HZ),):
        raise ValueError(f"seven octaves from 125 Hz to 8 kHz are needed, not shape {octaves.shape}")
    shared = np.sqrt(octaves[..., :-1] * octaves[..., 1:])
    index: FloatArray = np.minimum(
        octaves @ np.array(OCTAVE_WEIGHT) - shared @ np.array(REDUNDANCY_WEIGHT), 1
    )
    return index


def rating_word(index: float) -> str:
    """Rate an index in the word of the standard: bad, poor, fair, good or excellent.

    Parameters
    ----------
    index : float
        Speech transmission index. [-]

    Returns
    -------
    str
        The word; its lower bounds are 0.30, 0.45, 0.60 and 0.75.

    Source
    ------
    iso-9921, rating of intelligibility, from memory; edition 2003 of iec-60268-16 has the same.

    Examples
    --------
    >>> rating_word(0.6)
    'good'
    """
    return next((word for least, word in RATINGS if index >= least), "bad")


def _masking_slope_db(level_db: FloatArray) -> FloatArray:
    """Level of the masking by an octave in the next, re that octave, by its level."""
    bounds = [level_db < 63, level_db < 67, level_db < 100]
    slopes = [0.5 * level_db - 65.0, 1.8 * level_db - 146.9, 0.5 * level_db - 59.8]
    return np.select(bounds, slopes, -10.0)
