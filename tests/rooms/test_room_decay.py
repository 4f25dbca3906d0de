"""Laws of decay times, of surfaces made to fit one, and of the absorption of air."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.room import (
    OCTAVE_HZ,
    Shoebox,
    air_absorption_db_per_m,
    calibrated,
    eyring_s,
    sabine_s,
)

AIR = Air()
SIZE_M = (5.0, 4.0, 2.5)
OCTAVES = np.array(OCTAVE_HZ, dtype=float)
SHARES = st.lists(st.floats(0.02, 0.6), min_size=6, max_size=6)


def _times(seconds: float) -> FloatArray:
    return np.full(len(OCTAVE_HZ), seconds)


@given(SHARES)
def test_eyring_is_shorter_than_sabine(absorption: list[float]) -> None:
    room = Shoebox.uniform(SIZE_M, absorption)
    assert np.all(eyring_s(room, AIR) < sabine_s(room, AIR))


@given(st.floats(0.0005, 0.002))
def test_both_agree_where_little_is_swallowed(absorption: float) -> None:
    """-ln(1 - a) = a + a^2 / 2 + ..."""
    room = Shoebox.uniform(SIZE_M, [absorption] * 6)
    both = sabine_s(room, AIR, air_absorbs=False) / eyring_s(room, AIR, air_absorbs=False)
    assert np.allclose(both, 1 + absorption / 2, atol=absorption**2)


def test_air_alone_is_a_plain_exponential() -> None:
    """Between walls that swallow nothing, 60 dB are gone after 60 dB of air."""
    room = Shoebox.uniform(SIZE_M, [0.0] * 6)
    way_m = eyring_s(room, AIR) * AIR.sound_speed_m_s
    assert np.allclose(way_m * air_absorption_db_per_m(OCTAVES, AIR), 60.0)
    assert np.all(np.isinf(eyring_s(room, AIR, air_absorbs=False)))
    assert np.all(eyring_s(Shoebox.uniform(SIZE_M, [1.0] * 6), AIR) == 0.0)


@given(SHARES, st.floats(0.5, 2.0), st.integers(0, 6))
def test_surfaces_give_the_wanted_time(absorption: list[float], times: float, open_surfaces: int) -> None:
    absorption = [1.0 if at < open_surfaces - 4 else share for at, share in enumerate(absorption)]
    room = Shoebox.uniform(SIZE_M, absorption)
    reachable = [
        eyring_s(Shoebox(SIZE_M, 1 - (1 - room.absorption) ** factor), AIR) for factor in (9.0, 1 / 9)
    ]
    share = (times - 0.5) / 1.5
    wanted = reachable[0] ** (1 - share) * reachable[1] ** share
    mended = calibrated(room, wanted, AIR)
    assert np.allclose(eyring_s(mended, AIR), wanted, rtol=1e-9)
    assert np.array_equal(mended.absorption == 1.0, room.absorption == 1.0)
    closed = np.array(absorption) < 1.0
    exponent = np.log1p(-mended.absorption[closed]) / np.log1p(-room.absorption[closed])
    assert np.allclose(exponent, exponent[0])


def test_a_room_that_fits_stays_as_it_is() -> None:
    room = Shoebox.uniform(SIZE_M, [0.1, 0.2, 0.3, 0.0, 1.0, 0.15])
    assert np.allclose(calibrated(room, eyring_s(room, AIR), AIR).absorption, room.absorption, rtol=1e-9)
    furnished = Shoebox(SIZE_M, np.full((6, 8), 0.2), np.linspace(0.0, 0.3, 8))
    assert np.array_equal(calibrated(furnished, _times(0.4), AIR).scattering, furnished.scattering)


@pytest.mark.parametrize(
    ("absorption", "octave", "seconds", "said"),
    [
        ([0.1] * 6, 7, 3.0, ["3 s at 8 kHz cannot be had: the air alone gives 1.66 s"]),
        (
            [0.1, 1.0, 0.1, 0.1, 0.1, 0.1],
            4,
            2.5,
            ["2.5 s at 1 kHz", "the open rear wall alone gives 0.742 s"],
        ),
        (
            [1.0, 1.0, 0.1, 0.1, 0.1, 0.1],
            0,
            2.5,
            ["63 Hz", "the open front wall and the open rear wall alone give"],
        ),
        ([0.1] * 6, 2, 0.05, ["0.05 s at 250 Hz", "times 0.1 to 10 the room gives 0.0898 s to 8.42 s"]),
        ([0.3] * 6, 2, 3.0, ["3 s at 250 Hz", "0.1 to 10"]),
        ([0.0] * 6, 3, 0.5, ["0.5 s at 500 Hz", "no surface swallows a part"]),
    ],
)
def test_a_time_out_of_reach_is_said(
    absorption: Sequence[float], octave: int, seconds: float, said: Sequence[str]
) -> None:
    room = Shoebox.uniform(SIZE_M, absorption)
    wanted = eyring_s(room, AIR)
    wanted[octave] = seconds
    with pytest.raises(OutsideValidity) as caught:
        calibrated(room, wanted, AIR)
    assert all(words in caught.value.what for words in said), caught.value.what
    assert caught.value.cure
    assert not caught.value.where


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan"), float("inf")])
def test_a_time_is_above_zero(seconds: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        calibrated(Shoebox.uniform(SIZE_M, [0.1] * 6), _times(seconds), AIR)
    with pytest.raises(ValueError, match="octaves"):
        calibrated(Shoebox.uniform(SIZE_M, [0.1] * 6), _times(0.4)[:7], AIR)


@given(st.floats(20.0, 20e3), st.floats(-10.0, 40.0), st.floats(0.1, 0.9))
def test_air_swallows_more_at_higher_frequency(
    frequency_hz: float, temperature: float, humidity: float
) -> None:
    air = Air(temperature_c=temperature, relative_humidity=humidity)
    lost = air_absorption_db_per_m(np.array([frequency_hz, 1.1 * frequency_hz]), air)
    assert 0 < lost[0] < lost[1]


def test_dry_air_without_relaxation_is_classical() -> None:
    """Far above both relaxations, what is left grows with the square of frequency: viscosity and heat."""
    air = Air(relative_humidity=1e-6)
    lost = air_absorption_db_per_m(np.array([5e6, 1e7]), air)
    assert lost[1] / lost[0] == pytest.approx(4.0, rel=1e-3)
    assert lost[1] == pytest.approx(8.686 * 1.84e-11 * 1e14, rel=1e-3)
