"""Sums over modes and over a hundred thousand images are the same room; and how images really decay."""

import numpy as np
import pytest

from cross.images import images, summed
from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.room import Shoebox, eyring_s, modal_transfer

AIR = Air()
SIZE_M = (5.2, 4.1, 2.5)
SOURCE_M = np.array([0.6, 1.3, 0.9])
EARS_M = np.array([[3.9, 2.0, 1.1], [4.4, 3.3, 1.15], [2.2, 1.2, 1.2]])
BASS_HZ = np.arange(20.0, 100.5, 1.0)
UNEVEN = [0.1, 0.35, 0.1, 0.12, 0.05, 0.3]
LIVELY = [0.08, 0.15, 0.1, 0.12, 0.3, 0.1]  # a carpet in an else hard room


def _level(pressure: ComplexArray) -> FloatArray:
    return 20 * np.log10(np.abs(pressure))


def _third_octaves(pressure: ComplexArray) -> FloatArray:
    middles = 1000.0 * 10 ** (np.arange(-16, -10) / 10)  # 25 to 80 Hz
    inside = np.abs(np.log10(BASS_HZ / middles[:, None])) < 0.05
    return 10 * np.log10(inside @ np.abs(pressure) ** 2 / inside.sum(axis=1))


@pytest.mark.parametrize(
    ("absorption", "sound_s", "within_db"),
    [
        ([0.15] * 6, 1.1, 0.2),
        ([0.2] * 6, 0.9, 0.3),
        ([0.3] * 6, 0.7, 0.5),
        (UNEVEN, 1.1, 1.0),
        (LIVELY, 1.3, 0.3),
    ],
)
def test_modes_and_images_agree(absorption: list[float], sound_s: float, within_db: float) -> None:
    """Frequency by frequency down to 20 dB below the strongest, in third octaves, and with phase."""
    room = Shoebox.uniform(SIZE_M, absorption)
    by_modes = modal_transfer(room, SOURCE_M, EARS_M, BASS_HZ, AIR)
    speed = AIR.sound_speed_m_s
    for ear, modal in zip(EARS_M, by_modes, strict=True):
        counted = summed(room, SOURCE_M, ear, BASS_HZ, sound_s * speed, speed)
        below = _level(counted).max() - _level(counted)
        apart = np.abs(_level(modal) - _level(counted))
        assert apart[below < 10.0].max() < 0.3
        assert apart[below < 20.0].max() < within_db
        assert np.abs(_third_octaves(modal) - _third_octaves(counted)).max() < within_db
        assert np.abs(modal - counted).max() < 0.03 * np.abs(counted).max()


@pytest.mark.parametrize(
    ("absorption", "ratio"), [([0.2] * 6, 1.2), (UNEVEN, 1.3), (LIVELY, 1.6), ([0.1] * 4 + [0.6, 0.1], 2.6)]
)
def test_images_decay_more_slowly_than_eyring_says(absorption: list[float], ratio: float) -> None:
    """The slope from -5 to -25 dB of the energy still to come, against Eyring's time: the figures of decay.py."""
    room = Shoebox.uniform(SIZE_M, absorption)
    eyring = float(eyring_s(room, AIR, air_absorbs=False)[0])
    edges = np.arange(0.0, 1.3, 0.002)
    energy = np.zeros(edges.size - 1)
    for distance, factor in images(room, SOURCE_M, EARS_M[0], 1.3 * AIR.sound_speed_m_s):
        energy += np.histogram(distance / AIR.sound_speed_m_s, edges, weights=(factor / distance) ** 2)[0]
    to_come = 10 * np.log10(np.cumsum(energy[::-1])[::-1] / energy.sum())
    used = (to_come < -5.0) & (to_come > -25.0)
    slope_db_s = np.polyfit(edges[:-1][used], to_come[used], 1)[0]
    assert -60.0 / slope_db_s / eyring == pytest.approx(ratio, abs=0.06)
