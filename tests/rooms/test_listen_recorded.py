"""Levels of real speakers from recordings: as sure as is said, and as another meter has them."""

import numpy as np
import pyloudnorm
import pytest

from forehear.ground.arrays import FloatArray
from forehear.listen import RATE_HZ, Clip
from forehear.listen.recorded import SHORTEST_S, recorded_lufs


def pink(seed: int, seconds: float) -> FloatArray:
    """Noise with equal energy in every octave from 20 Hz on, worked out apart from the house."""
    samples = round(seconds * RATE_HZ)
    hz = np.fft.rfftfreq(samples, 1 / RATE_HZ)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal(samples))
    spectrum[hz < 20] = 0.0
    spectrum[hz >= 20] /= np.sqrt(hz[hz >= 20])
    noise = np.fft.irfft(spectrum, samples)
    return np.asarray(0.05 * noise / np.sqrt(np.mean(noise**2)), dtype=float)


def clip_of(*channels: FloatArray) -> Clip:
    return Clip("a recording", np.array(channels, dtype=np.float32), "")


def test_noise_of_the_shortest_length_is_even_to_a_tenth_of_a_decibel() -> None:
    """Different noise each time, as long as is just allowed: what is called matched (0.2 dB) can be told."""
    found = [recorded_lufs(clip_of(pink(seed, SHORTEST_S + 0.5))) for seed in range(30)]
    assert 0.005 < np.std(found) < 0.1


@pytest.mark.parametrize("channels", [1, 2])
def test_another_meter_says_the_same(channels: int) -> None:
    """pyloudnorm, a general-purpose implementation of ITU-R BS.1770."""
    sound = np.array([pink(seed, 8.0) for seed in range(channels)])
    meter = pyloudnorm.Meter(RATE_HZ)
    assert recorded_lufs(clip_of(*sound)) == pytest.approx(meter.integrated_loudness(sound.T), abs=0.1)


def test_quiet_before_and_after_the_noise_does_not_count() -> None:
    """The meter alone would find 0.16 dB less, for it counts blocks that are half in the noise."""
    noise, still = pink(3, 8.0), pink(4, 3.0) * 1e-3
    among = recorded_lufs(clip_of(np.concatenate([still, noise, still])))
    assert among == pytest.approx(recorded_lufs(clip_of(noise)), abs=0.03)
