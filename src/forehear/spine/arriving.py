"""In what order sound arrives at a seat: straight, early and late, and what is still to come after a time."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.judge import EnergyDecay, a_weighted_level_db, speech_levels_db
from forehear.spine.prediction import SpeechResult

EARLY_S = 0.05  # what C50 and U50 count as early


@dataclass(frozen=True)
class SpeechParts:
    """A-weighted level of speech at one seat, by when it arrives; together they are the level of the speech."""

    direct_db_a: float
    early_db_a: float  # reflections up to 50 ms after the direct sound
    late_db_a: float


def speech_parts(speech: SpeechResult) -> SpeechParts:
    r"""Part the level of speech at a seat by when it arrives.

    .. math:: L_{part} = L + A(s + 10 \lg E_{part}) - A(s + 10 \lg E)

    with the octave levels s of speech, the energies E of the decay and A-weighting A.

    Parameters
    ----------
    speech
        What one seat hears; the first bin of its decay has no width and holds the direct sound.

    Returns
    -------
    SpeechParts
        Levels. [dB re 20 uPa, A-weighted]

    Source
    ------
    own-definition: the parts; the spectrum of speech as `forehear.judge.speech` has it.

    Examples
    --------
    A direct sound as strong as the tail of 0.6 s, 53.01 dB both together; of the tail 10^-0.5 is late.

    >>> decay = EnergyDecay(np.zeros(2), np.ones((7, 1)), np.ones(7), np.full(7, 0.6))
    >>> parts = speech_parts(SpeechResult(0.0, np.zeros(7), 0.0, 0.6, 53.01, 30.0, decay))
    >>> print(f"{parts.direct_db_a:.2f} {parts.early_db_a:.2f} {parts.late_db_a:.2f}")
    50.00 48.35 45.00
    """
    decay = speech.decay
    direct = decay.energy[:, 0]
    until, late = decay.split(EARLY_S)
    shape_db, whole = speech_levels_db(0.0), decay.total

    def level_db_a(part: FloatArray) -> float:
        parts_db, all_db = (shape_db + 10 * np.log10(np.maximum(one, 1e-12 * whole)) for one in (part, whole))
        return float(speech.speech_db_a + a_weighted_level_db(parts_db) - a_weighted_level_db(all_db))

    return SpeechParts(level_db_a(direct), level_db_a(until - direct), level_db_a(late))


def still_to_come_db(decay: EnergyDecay, time_s: FloatArray) -> FloatArray:
    """Energy that arrives after a time, re all that arrives.

    Parameters
    ----------
    decay
        Of one seat.
    time_s
        After the direct sound, [time]. [s]

    Returns
    -------
    array
        [octave from 125 Hz, time]. [dB]

    Source
    ------
    iso-3382-1: the decay curve, by integrating the squared impulse response from its end.

    Examples
    --------
    >>> tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, 0.6))
    >>> print(still_to_come_db(tail, np.array([0.0, 0.3]))[0])
    [  0. -30.]
    """
    late = np.stack([decay.split(float(at))[1] for at in time_s], axis=-1)
    level: FloatArray = 10 * np.log10(np.maximum(late / decay.total[..., np.newaxis], 1e-12))
    return level
