"""Noise settled: energies as wanted on top of what is counted, whatever chance had in mind."""

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.spine.settling import Wanted, settled

RATE_HZ = 48_000
COUNT = RATE_HZ // 2 + 1
FIRST, LAST = 480, 24_000  # samples between which there is noise
SPLIT = 2_880
Complex = NDArray[np.complex128]


def windows() -> NDArray[np.float32]:
    """An early part and a late one."""
    late = np.clip((np.arange(RATE_HZ) - SPLIT) / 480 + 0.5, 0.0, 1.0)
    inside = (np.arange(RATE_HZ) >= FIRST) & (np.arange(RATE_HZ) < LAST)
    return (np.array([1 - late, late]) * inside).astype(np.float32)


def falling() -> NDArray[np.float64]:
    """Energy a sample of noise that dies away by 60 dB in 0.4 s."""
    inside = (np.arange(RATE_HZ) >= FIRST) & (np.arange(RATE_HZ) < LAST)
    fallen: NDArray[np.float64] = 10 ** (-6 * (np.arange(RATE_HZ) - FIRST) / RATE_HZ / 0.4)
    return fallen * inside


def wanted() -> Wanted:
    seen = np.square(windows().astype(float)) @ falling()
    flat = np.ones(COUNT, dtype=np.float32)
    return Wanted(
        windows(), np.outer(seen, flat).astype(np.float32), (falling().sum() * flat).astype(np.float32)
    )


def drawn(seed: int) -> Complex:
    noise: Complex = np.fft.rfft(np.random.default_rng(seed).standard_normal(RATE_HZ) * np.sqrt(falling()))
    return noise[np.newaxis]


def counted() -> Complex:
    """A few sharp arrivals, as strong together as the noise."""
    sound = np.zeros(RATE_HZ)
    sound[[FIRST, FIRST + 130, FIRST + 700, FIRST + 2000]] = [30.0, 18.0, 12.0, 9.0]
    spectrum: Complex = np.fft.rfft(sound)
    return spectrum[np.newaxis]


def bands_db(energy: NDArray[np.floating]) -> NDArray[np.float64]:
    """In bands of the ear from 100 Hz to 10 kHz."""
    numbers = np.arange(3.37, 33.0, 1.0)
    edges = ((10 ** (numbers / 21.4) - 1) / 4.37e-3).astype(int)
    levels: NDArray[np.float64] = 10 * np.log10(np.add.reduceat(energy, edges)[:-1])
    return levels


@pytest.mark.parametrize("seed", range(6))
def test_energy_in_every_band_is_that_of_both_together(seed: int) -> None:
    """As if they had nothing in common: |C|^2 + E. One draw by itself is several decibels off."""
    goal = bands_db(np.abs(counted()[0]) ** 2 + wanted().in_all)
    by_chance = bands_db(np.abs(counted() + drawn(seed))[0] ** 2)
    found = bands_db(np.abs(counted() + settled(counted(), drawn(seed), wanted()))[0] ** 2)
    assert np.abs(by_chance - goal).max() > 2.0
    assert found == pytest.approx(goal, abs=1.0)


@pytest.mark.parametrize("seed", range(6))
def test_sound_before_and_after_a_split_keeps_its_share(seed: int) -> None:
    """In octaves, by cutting the sound in two, within a decibel."""
    goal_early = falling()[:SPLIT].sum() / falling()[SPLIT:].sum()
    sound = np.fft.irfft(settled(0 * counted(), drawn(seed), wanted())[0])
    early, late = (np.abs(np.fft.rfft(part, RATE_HZ)) ** 2 for part in (sound[:SPLIT], sound[SPLIT:]))
    for low_hz in (354, 707, 1414, 2828):
        octave = slice(low_hz, 2 * low_hz)
        share_db = 10 * np.log10(early[octave].sum() / late[octave].sum() / goal_early)
        assert share_db == pytest.approx(0.0, abs=1.0)


def test_channels_keep_what_they_have_in_common() -> None:
    both = settled(np.vstack([counted(), 0.5 * counted()]), np.vstack([drawn(1), 0.5 * drawn(1)]), wanted())
    assert both[1] == pytest.approx(0.5 * both[0], rel=1e-4, abs=1e-5 * float(np.abs(both[0]).max()))


def test_where_nothing_is_wanted_hardly_anything_is_left() -> None:
    nothing = Wanted(windows(), np.zeros((2, COUNT)), np.zeros(COUNT))
    left = settled(0 * counted(), drawn(1), nothing)
    assert np.sum(np.abs(left) ** 2) < 1e-3 * np.sum(np.abs(drawn(1)) ** 2)
