"""Sounds of our own making, worked out when asked for: the same every time."""

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray

RATE_HZ = 48_000
PEAK = 0.7
SEED = 7
NOISE_S, NOISE_HZ = 8.0, (30.0, 18_000.0)
RISE_S = 0.02
TONES_HZ = (110.0, 164.81, 220.0, 277.18, 329.63, 440.0, 554.37, 659.26, 880.0, 659.26, 440.0, 277.18)
TONE_S, TONE_OVERTONES = 0.55, 10
BEAT_S, BEATS = 0.3, 24


def pink_noise() -> NDArray[np.float32]:
    """Noise of equal energy in every octave, 30 Hz to 18 kHz, [sample]."""
    samples = round(NOISE_S * RATE_HZ)
    random = np.random.default_rng(SEED)
    hz = scipy.fft.rfftfreq(samples, 1 / RATE_HZ)
    inside = (hz >= NOISE_HZ[0]) & (hz <= NOISE_HZ[1])
    phase = random.uniform(0.0, 2 * np.pi, hz.size)
    spectrum = np.where(inside, np.exp(1j * phase) / np.sqrt(np.maximum(hz, 1.0)), 0.0)
    rising = np.minimum(np.arange(samples) / (RISE_S * RATE_HZ), 1.0)
    return _finished(scipy.fft.irfft(spectrum, n=samples) * rising)


def tones() -> NDArray[np.float32]:
    """Plucked tones with ten overtones, up and down over three octaves, [sample]."""
    length = round(2.5 * TONE_S * RATE_HZ)
    time_s = np.arange(length) / RATE_HZ
    total = np.zeros(round(TONE_S * RATE_HZ) * (len(TONES_HZ) - 1) + length)
    for place, hz in enumerate(TONES_HZ):
        number = np.arange(1, TONE_OVERTONES + 1)[:, np.newaxis]
        fall = np.exp(-time_s * (2.5 + 0.8 * number))
        tone = (np.sin(2 * np.pi * hz * number * time_s) * fall / number**1.2).sum(axis=0)
        start = place * round(TONE_S * RATE_HZ)
        total[start : start + length] += tone * np.minimum(time_s / 0.003, 1.0)
    return _finished(total)


def percussion() -> NDArray[np.float32]:
    """Struck skins, clicking blocks and brushed noise in a steady beat, [sample]."""
    random = np.random.default_rng(SEED)
    beat, length = round(BEAT_S * RATE_HZ), round(0.8 * RATE_HZ)
    time_s = np.arange(length) / RATE_HZ
    total = np.zeros(beat * (BEATS - 1) + length)
    for place in range(BEATS):
        struck = _struck(place, time_s, random)
        total[place * beat : place * beat + length] += struck * np.minimum(time_s / 0.0005, 1.0)
    return _finished(total)


def _struck(place: int, time_s: FloatArray, random: np.random.Generator) -> FloatArray:
    """One stroke: a skin every fourth beat, a brush between two of them, a block elsewhere."""
    noise = random.standard_normal(time_s.size)
    if place % 4 == 0:
        skin: FloatArray = np.sin(2 * np.pi * (55.0 * time_s + 1.2 * (1 - np.exp(-time_s / 0.03))))
        return skin * np.exp(-time_s / 0.16)
    if place % 4 == 2:
        brush: FloatArray = np.diff(noise, prepend=0.0) * np.exp(-time_s / 0.05)
        return 0.25 * brush + 0.3 * np.sin(2 * np.pi * 190.0 * time_s) * np.exp(-time_s / 0.06)
    pitch_hz = 900.0 if place % 4 == 1 else 1350.0
    block: FloatArray = np.sin(2 * np.pi * pitch_hz * time_s) * np.exp(-time_s / 0.012)
    return 0.5 * block + 0.05 * noise * np.exp(-time_s / 0.004)


def _finished(sound: FloatArray) -> NDArray[np.float32]:
    """Let a sound fall softly at its end, and reach a stated peak."""
    rise = round(RISE_S * RATE_HZ)
    ends = np.minimum(np.arange(sound.size) + 1, rise) / rise
    shaped = sound * ends[::-1]
    finished: NDArray[np.float32] = (PEAK * shaped / np.abs(shaped).max()).astype(np.float32)
    return finished
