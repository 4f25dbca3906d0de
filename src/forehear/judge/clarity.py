"""Clarity of speech: sound that arrives early enough to help, against sound that blurs what comes next."""

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge.decay import EnergyDecay
from forehear.judge.speech import SPEECH_OCTAVE_HZ

EARLY_S = 0.050
MOST_DB = 40.0  # without any late sound the ratio would be infinite; clearer than this nobody hears
SINGLE_NUMBER_HZ = (500, 1000, 2000, 4000)


def clarity_c50_db(decay: EnergyDecay) -> FloatArray:
    r"""Early-to-late ratio of each octave.

    .. math:: C_{50} = 10 \log_{10} \frac{\int_0^{50 ms} p^2 dt}{\int_{50 ms}^\infty p^2 dt}

    Held between -40 and +40 dB, so that a place without any late sound has a number too.

    Parameters
    ----------
    decay : EnergyDecay
        Squared impulse response. [any unit]

    Returns
    -------
    array
        Clarity, [..., octave]. [dB]

    Source
    ------
    iso-3382-1, early-to-late index for speech, from memory; the cap is our own.

    Examples
    --------
    An ideal exponential decay of 0.4 s:

    >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, 0.4))
    >>> print(f"{clarity_c50_db(tail)[0]:.2f} dB")
    6.65 dB
    """
    return _capped_db(*decay.split(EARLY_S))


def definition_d50(decay: EnergyDecay) -> FloatArray:
    r"""Early share of all energy, octave by octave.

    .. math:: D_{50} = \int_0^{50 ms} p^2 dt \Big/ \int_0^\infty p^2 dt

    Parameters
    ----------
    decay : EnergyDecay
        Squared impulse response. [any unit]

    Returns
    -------
    array
        Definition from 0 to 1, [..., octave]. [-]

    Source
    ------
    iso-3382-1, definition, from memory.

    Examples
    --------
    >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, 0.4))
    >>> print(f"{definition_d50(tail)[0]:.3f}")
    0.822
    """
    early, late = decay.split(EARLY_S)
    return early / (early + late)


def useful_to_detrimental_u50_db(
    decay: EnergyDecay, speech_db: FloatArray, noise_db: FloatArray
) -> FloatArray:
    r"""Early speech over late speech and noise, octave by octave.

    .. math:: U_{50} = 10 \log_{10} \frac{D_{50}}{1 - D_{50} + 10^{(L_N - L_S) / 10}}

    Never above the clarity without noise. Held between -40 and +40 dB.

    Parameters
    ----------
    decay : EnergyDecay
        Squared impulse response. [any unit]
    speech_db : array
        Level of the speech at the seat, early and late sound together, [..., octave]. [dB re 20 uPa]
    noise_db : array
        Level of the noise at the seat, [..., octave]. [dB re 20 uPa]

    Returns
    -------
    array
        Useful-to-detrimental ratio, [..., octave]. [dB]

    Source
    ------
    bradley-1986 and bradley-sato-picard-2003, from memory: the noise is steady.

    Examples
    --------
    Noise as strong as the speech, and nothing late:

    >>> dry = EnergyDecay(np.zeros(2), np.ones((7, 1)), np.zeros(7), np.ones(7))
    >>> print(f"{useful_to_detrimental_u50_db(dry, np.full(7, 50.0), np.full(7, 50.0))[0]:.1f} dB")
    0.0 dB
    """
    early, late = decay.split(EARLY_S)
    excess_db = np.asarray(noise_db, dtype=float) - np.asarray(speech_db, dtype=float)
    noise = (early + late) * 10 ** (excess_db / 10)
    return _capped_db(early, late + noise)


def c50_single_db(octave_c50_db: FloatArray) -> FloatArray:
    """One number for clarity: the plain mean of the octaves 500 Hz, 1, 2 and 4 kHz.

    It serves the useful-to-detrimental ratio alike.

    Parameters
    ----------
    octave_c50_db : array
        Clarity of the octaves from 125 Hz to 8 kHz, [..., octave]. [dB]

    Returns
    -------
    array
        Mean, [...]. [dB]

    Source
    ------
    own-definition: the octaves that carry speech; averages over 500 Hz and 1 kHz are in use too.

    Examples
    --------
    >>> print(c50_single_db(np.array([40.0, 40.0, 1.0, 2.0, 3.0, 4.0, 40.0])))
    2.5
    """
    octaves = np.asarray(octave_c50_db, dtype=float)
    if octaves.shape[-1:] != (len(SPEECH_OCTAVE_HZ),):
        raise ValueError(f"seven octaves from 125 Hz to 8 kHz are needed, not shape {octaves.shape}")
    mean: FloatArray = octaves[..., np.isin(SPEECH_OCTAVE_HZ, SINGLE_NUMBER_HZ)].mean(axis=-1)
    return mean


def _capped_db(useful: FloatArray, harmful: FloatArray) -> FloatArray:
    """Level of a ratio, held within `MOST_DB` without ever dividing by nothing."""
    least = 10 ** (-MOST_DB / 10)
    ratio = np.maximum(useful, least * harmful) / np.maximum(harmful, least * useful)
    capped: FloatArray = 10 * np.log10(ratio)
    return capped
