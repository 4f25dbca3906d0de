"""Laws of the modes of a room and of the sound they carry."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forehear.ground.air import Air
from forehear.ground.errors import OutsideValidity
from forehear.room import OCTAVE_HZ, Shoebox, modal_transfer, mode_frequencies

AIR = Air()
SIZE_M = (5.2, 4.1, 2.5)
INSIDE = st.tuples(*(st.floats(0.1 * side, 0.9 * side) for side in SIZE_M))
HZ = np.array([23.0, 33.0, 41.7, 58.0, 76.0])


def test_modes_are_as_many_as_the_room_has_space_for() -> None:
    """Weyl's law with its terms of surface and edges, as Maa and Bolt gave it in 1939, from memory."""
    speed, highest = AIR.sound_speed_m_s, 800.0
    count = len(mode_frequencies(SIZE_M, highest, speed).frequency_hz)
    length, width, height = SIZE_M
    surface = 2 * (length * width + length * height + width * height)
    volume_term = 4 * np.pi / 3 * length * width * height * (highest / speed) ** 3
    surface_term = np.pi / 4 * surface * (highest / speed) ** 2
    edge_term = sum(SIZE_M) / 2 * highest / speed
    assert count == pytest.approx(volume_term + surface_term + edge_term, rel=0.01)


@given(st.floats(1.0, 9.0), st.floats(1.0, 9.0), st.floats(1.0, 9.0))
def test_modes_rise_and_stay_below_the_highest(length: float, width: float, height: float) -> None:
    modes = mode_frequencies((length, width, height), 200.0, 343.2)
    assert np.all(np.diff(modes.frequency_hz) >= 0)
    assert modes.frequency_hz[0] == pytest.approx(343.2 / 2 / max(length, width, height))
    assert modes.frequency_hz[-1] <= 200.0


@settings(max_examples=10)
@given(INSIDE, INSIDE)
def test_sound_goes_both_ways(here: tuple[float, ...], there: tuple[float, ...]) -> None:
    room = Shoebox.uniform(SIZE_M, [0.1, 0.35, 0.1, 0.12, 0.05, 0.3])
    forth = modal_transfer(room, here, np.array([there]), HZ, AIR)
    assert np.allclose(forth, modal_transfer(room, there, np.array([here]), HZ, AIR))


def test_hard_walls_give_the_lossless_sum() -> None:
    """Rayleigh's sum over real modes, far from each of them."""
    room = Shoebox.uniform(SIZE_M, [0.0] * 6)
    source, ear = np.array([0.6, 1.3, 0.9]), np.array([4.4, 3.3, 1.15])
    modes = mode_frequencies(SIZE_M, 3000.0, AIR.sound_speed_m_s)
    wave = modes.order * np.pi / np.array(SIZE_M)
    here = (
        np.cos(wave * source).prod(axis=1)
        * np.cos(wave * ear).prod(axis=1)
        * 2.0 ** np.count_nonzero(modes.order, axis=1)
    )
    between = np.array([25.0, 37.5, 60.0])
    k = 2 * np.pi * between / AIR.sound_speed_m_s
    faded = 1 - (modes.frequency_hz / 3000.0) ** 2
    answer = (faded * here / ((wave**2).sum(axis=1) - k[:, None] ** 2)).sum(axis=1) - 1 / k**2
    lossless = 4 * np.pi / np.prod(SIZE_M) * answer
    heard = modal_transfer(room, source, np.array([ear]), between, AIR)[0]
    assert np.allclose(heard, lossless, rtol=0.01)


def test_many_frequencies_are_answered_one_by_one() -> None:
    room = Shoebox(SIZE_M, np.tile(np.linspace(0.05, 0.3, len(OCTAVE_HZ)), (6, 1)))
    many = np.linspace(20.0, 120.0, 150)
    ears = np.array([[4.4, 3.3, 1.15], [3.0, 1.0, 1.2]])
    together = modal_transfer(room, (0.6, 1.3, 0.9), ears, many, AIR)
    assert together.shape == (2, 150)
    alone = modal_transfer(room, (0.6, 1.3, 0.9), ears[1:], many[[3, 149]], AIR)
    assert np.allclose(together[1:, [3, 149]], alone)


def test_more_absorption_means_lower_peaks() -> None:
    first = np.array([343.2 / 2 / SIZE_M[0]])
    ear = np.array([[4.9, 3.3, 1.15]])
    peaks = [
        float(
            np.abs(modal_transfer(Shoebox.uniform(SIZE_M, [share] * 6), (0.4, 1.3, 0.9), ear, first, AIR))[
                0, 0
            ]
        )
        for share in (0.02, 0.05, 0.1, 0.2, 0.3)
    ]
    assert peaks == sorted(peaks, reverse=True)


def test_too_dead_a_room_is_refused() -> None:
    room = Shoebox.uniform(SIZE_M, [0.1, 0.1, 0.7, 0.8, 0.1, 0.1])
    with pytest.raises(
        OutsideValidity, match=r"left wall and the right wall together send back 0\.24"
    ) as caught:
        modal_transfer(room, (0.6, 1.3, 0.9), np.array([[4.4, 3.3, 1.15]]), HZ, AIR)
    assert "image sources" in caught.value.cure


def test_places_outside_are_refused() -> None:
    room = Shoebox.uniform(SIZE_M, [0.1] * 6)
    with pytest.raises(ValueError, match="not inside"):
        modal_transfer(room, (0.6, 1.3, 0.9), np.array([[6.0, 3.3, 1.15]]), HZ, AIR)
