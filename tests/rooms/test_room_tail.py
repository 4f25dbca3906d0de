"""Laws of what follows the counted images: average energy of images, and the diffuse field that scattering feeds."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import sphere_directions
from forehear.ground.errors import OutsideValidity
from forehear.room import (
    OCTAVE_HZ,
    Losses,
    Shoebox,
    air_absorption_db_per_m,
    diffuse_between,
    eyring_s,
    later_images,
    losses,
    reflected_share,
    specular_between,
)

AIR = Air()
OCTAVES = np.array(OCTAVE_HZ, dtype=float)
KILOHERTZ = np.array([1000.0])
SEEDS = st.integers(0, 2**31)
SHARES = st.lists(st.floats(0.05, 0.5), min_size=6, max_size=6)
DIRECTIONS, WEIGHT = sphere_directions(10.0)
UNIT = DIRECTIONS.unit
Pattern = Callable[[FloatArray], FloatArray]
PLACES = 24  # of source and ear a room; the figures are means over them


def _level(energy: FloatArray) -> FloatArray:
    return 10 * np.log10(energy)


def _counted(
    room: Shoebox, edges_m: FloatArray, random: np.random.Generator, sent: Pattern
) -> tuple[FloatArray, FloatArray]:
    """Energy and number of images between distances, all of them one by one, [bin]; no air."""
    energy, number = np.zeros(edges_m.size - 1), np.zeros(edges_m.size - 1)
    for _ in range(PLACES):
        source, ear = (random.uniform(0.05, 0.95, 3) * room.size_m for _ in range(2))
        images = later_images(room, source, ear, float(edges_m[-1]), least_order=0)
        departure, distance = images.departures_m(source)
        share = reflected_share(room, images.index, KILOHERTZ)[:, 0].astype(float)
        heard = share * sent(departure / distance[:, None]) / distance
        energy += np.histogram(distance, edges_m, weights=heard**2)[0] / PLACES
        number += np.histogram(distance, edges_m)[0] / PLACES
    return energy, number


def _average(room: Shoebox, edges_m: FloatArray, sent: Pattern) -> FloatArray:
    lost = losses(room, UNIT, KILOHERTZ, np.zeros(1))
    pressure = sent(UNIT)[np.newaxis, :, np.newaxis].astype(complex)
    return specular_between(pressure, WEIGHT, lost, room.volume_m3, edges_m)[:, 0, 0, 0].real


def _alike(unit: FloatArray) -> FloatArray:
    return np.ones(len(unit))


def _sideways(unit: FloatArray) -> FloatArray:
    return np.asarray(unit[:, 1])


def _forward(unit: FloatArray) -> FloatArray:
    return np.asarray((1 + unit[:, 0]) / 2)


@pytest.mark.parametrize(
    ("sent", "within_db"),
    [
        (_alike, 0.3),
        (_sideways, 0.3),
        (_forward, 0.7),  # the average does not know that the first surface met is the one faced
    ],
    ids=["alike all round", "to both sides", "forward"],
)
@pytest.mark.parametrize("seed", range(6))
def test_the_average_is_what_counting_gives(seed: int, sent: Pattern, within_db: float) -> None:
    """Random rooms, surfaces of 0.05 to 0.5, in every stretch of 10 m with over 200 images."""
    random = np.random.default_rng(seed)
    room = Shoebox.uniform(tuple(random.uniform(2.4, 6.5, 3)), random.uniform(0.05, 0.5, 6))
    edges = np.array([10.0, 20.0, 30.0, 40.0])
    energy, number = _counted(room, edges, random, sent)
    apart = _level(energy / _average(room, edges, sent))
    assert (number > 200).sum() >= 2
    assert np.abs(apart[number > 200]).max() < within_db


@pytest.mark.parametrize(
    ("absorption", "within_db"),
    [
        ([0.1, 1.0, 0.1, 0.1, 0.3, 0.1], 1.0),  # an open side
        ([0.1, 1.0, 0.1, 1.0, 0.3, 0.1], 2.0),  # two of them
        ([0.1, 0.1, 0.1, 0.1, 0.8, 0.1], 1.0),  # a thick absorber for a floor
        ([0.1, 0.1, 0.1, 0.1, 0.8, 0.8], 1.6),  # and for a ceiling
    ],
    ids=["one side open", "two sides open", "soft floor", "soft floor and ceiling"],
)
def test_sides_that_swallow_nearly_all(absorption: list[float], within_db: float) -> None:
    """Images crowd into a few directions there, for which 10 degrees are coarse; the tolerances say how much."""
    room = Shoebox.uniform((5.0, 4.0, 2.5), absorption)
    edges = np.array([10.0, 20.0, 30.0])
    energy, number = _counted(room, edges, np.random.default_rng(4), _alike)
    assert number.min() > 200
    assert np.abs(_level(energy / _average(room, edges, _alike))).max() < within_db


def _sent(random: np.random.Generator, sources: int) -> ComplexArray:
    shape = (sources, len(WEIGHT), 3)
    return np.asarray(random.normal(size=shape) + 1j * random.normal(size=shape))


@given(SEEDS, st.floats(0.01, 0.5))
@settings(max_examples=15)
def test_scattering_loses_nothing_by_itself(seed: int, lost_1_m: float) -> None:
    """Where the diffuse field falls off as images would without scattering, both together are those, in every bin.

    However much is scattered, and whichever way: rounding alone, 1e-9 of all energy.
    """
    random = np.random.default_rng(seed)
    scattered = random.uniform(0.001, 1.0, (len(WEIGHT), 3))
    alike = np.full(3, lost_1_m)
    plain = Losses(np.full_like(scattered, lost_1_m), np.zeros_like(scattered), alike)
    with_it = Losses(lost_1_m + scattered, scattered, alike)
    edges = np.array([0.0, 3.0, 10.0, 40.0, np.inf])
    about = (_sent(random, 2), WEIGHT)
    without = specular_between(*about, plain, 50.0, edges)
    both = specular_between(*about, with_it, 50.0, edges) + diffuse_between(*about, with_it, 50.0, edges)
    assert np.abs(both - without).max() < 1e-9 * np.abs(without).max()


@given(SEEDS, SHARES)
@settings(max_examples=15)
def test_energies_are_forms_that_add_up_over_distance(seed: int, absorption: list[float]) -> None:
    """Hermitian, never negative, and bins side by side make one: rounding alone, 1e-9."""
    random = np.random.default_rng(seed)
    room = Shoebox((5.0, 4.0, 2.5), np.repeat(np.array(absorption)[:, None], 8, axis=1), np.full(8, 0.2))
    lost = losses(room, UNIT, OCTAVES[2:5], np.zeros(3))
    edges, sent = np.array([0.0, 2.0, 8.0, 30.0, np.inf]), _sent(random, 3)
    for between in (specular_between, diffuse_between):
        bins = between(sent, WEIGHT, lost, room.volume_m3, edges)
        whole = between(sent, WEIGHT, lost, room.volume_m3, edges[[0, -1]])[0]
        largest = np.abs(whole).max()
        assert np.allclose(bins.sum(axis=0), whole, rtol=1e-9, atol=1e-9 * largest)
        assert np.allclose(bins, bins.conj().swapaxes(-1, -2), rtol=1e-9, atol=1e-9 * largest)
        assert np.linalg.eigvalsh(bins).min() > -1e-9 * largest


@given(SHARES)
@settings(max_examples=20)
def test_the_diffuse_field_decays_with_eyrings_time(absorption: list[float]) -> None:
    """Air included, at every octave; to rounding, 1e-9. Images whose share is scattered are gone long before."""
    room = Shoebox((5.0, 4.0, 2.5), np.repeat(np.array(absorption)[:, None], 8, axis=1), np.full(8, 0.9))
    lost = losses(room, UNIT, OCTAVES, air_absorption_db_per_m(OCTAVES, AIR))
    time_s = eyring_s(room, AIR)
    assert 6 * np.log(10) / AIR.sound_speed_m_s / lost.diffuse_1_m == pytest.approx(time_s, rel=1e-9)
    # and the energy itself, from three quarters of that time on
    for octave in (1, 4, 6):
        way_m = time_s[octave] * AIR.sound_speed_m_s
        edges = np.array([0.75, 0.85, 0.95]) * way_m
        omni = np.ones((1, len(WEIGHT), len(OCTAVES)), dtype=complex)
        late = diffuse_between(omni, WEIGHT, lost, room.volume_m3, edges)[:, octave, 0, 0].real
        assert late[0] / late[1] == pytest.approx(10**0.6, rel=0.01)


def test_a_room_that_swallows_nothing_is_refused() -> None:
    room = Shoebox.uniform((5.0, 4.0, 2.5), [0.0] * 6)
    with pytest.raises(OutsideValidity, match="ring for more than 120 s") as caught:
        losses(room, UNIT, KILOHERTZ, np.zeros(1))
    assert "0.02" in caught.value.cure
