"""Laws of the shoebox and of energies at a seat."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.room import (
    DIRECT,
    OCTAVE_HZ,
    SURFACES,
    Shoebox,
    explain_fill,
    first_order_paths,
    listener_images,
    path_energy,
    reflection_factor,
)

GRID = FrequencyGrid(np.geomspace(50.0, 15e3, 40))
SIZE_M = (5.0, 4.0, 2.5)
ROOM = Shoebox.uniform(SIZE_M, [0.1, 0.2, 0.1, 0.3, 0.4, 0.15])
INSIDE = st.tuples(*(st.floats(0.05 * side, 0.95 * side) for side in SIZE_M))
SEEDS = st.integers(0, 2**31)


def _random_arrivals(seed: int, drivers: int = 3) -> tuple[ComplexArray, FloatArray]:
    random = np.random.default_rng(seed)
    shape = (drivers, 7, len(GRID))
    amplitude = random.normal(size=shape) + 1j * random.normal(size=shape)
    return amplitude, random.uniform(0.5, 8.0, (drivers, 7))


def _whole(grid: FrequencyGrid, amplitude: ComplexArray, distance_m: FloatArray) -> FloatArray:
    """Energy of all drivers at one volt on all paths."""
    volts = np.ones((len(amplitude), len(grid)), dtype=complex)
    return path_energy(grid, amplitude, distance_m, Air(), volts).sum(axis=(1, 2))


@given(INSIDE, INSIDE)
def test_sound_goes_both_ways(here: tuple[float, ...], there: tuple[float, ...]) -> None:
    forth, back = first_order_paths(ROOM, here, there), first_order_paths(ROOM, there, here)
    assert np.allclose(forth.distance_m, back.distance_m)


@given(INSIDE, INSIDE)
def test_a_reflection_meets_its_wall_at_equal_angles(
    source: tuple[float, ...], ear: tuple[float, ...]
) -> None:
    """Fermat: the way over a point of the wall is as long as the straight one to the image."""
    paths = first_order_paths(ROOM, source, ear)
    for surface in range(len(SURFACES)):
        axis, far = divmod(surface, 2)
        wall = SIZE_M[axis] if far else 0.0
        departure = paths.departure_m[1 + surface]
        point = np.array(source) + departure * (wall - source[axis]) / departure[axis]
        assert ROOM.is_inside(point, -1e-9)
        length = np.linalg.norm(point - source) + np.linalg.norm(point - np.array(ear))
        assert length == pytest.approx(paths.distance_m[1 + surface])


@given(INSIDE, INSIDE)
def test_no_reflection_is_shorter_than_the_direct_way(
    source: tuple[float, ...], ear: tuple[float, ...]
) -> None:
    paths = first_order_paths(ROOM, source, ear)
    assert paths.surface == (DIRECT, 0, 1, 2, 3, 4, 5)
    assert np.all(paths.distance_m >= paths.distance_m[0])


@given(INSIDE)
def test_an_image_of_an_image_is_the_listener(ear: tuple[float, ...]) -> None:
    images = listener_images(ROOM, ear)
    for surface in range(len(SURFACES)):
        assert np.allclose(listener_images(ROOM, images[1 + surface])[1 + surface], ear)


@given(SEEDS)
def test_energy_of_any_set_of_paths_is_never_negative(seed: int) -> None:
    """Whatever the paths are weighted by: no eigenvalue below zero but by rounding, 1e-9 of the largest element."""
    amplitude, distance = _random_arrivals(seed)
    volts = np.exp(1j * np.outer([1.0, -2.0, 0.5], np.arange(len(GRID))))
    energy = path_energy(GRID, amplitude, distance, Air(), volts)
    assert np.array_equal(energy, energy.transpose(0, 2, 1))
    assert np.linalg.eigvalsh(energy).min() >= -1e-9 * np.abs(energy).max()


@given(SEEDS)
def test_paths_and_drivers_may_change_places(seed: int) -> None:
    """Arrivals do not know which driver they come from: rounding alone."""
    amplitude, distance = _random_arrivals(seed)
    swapped = _whole(GRID, amplitude.transpose(1, 0, 2), distance.T)
    assert np.allclose(_whole(GRID, amplitude, distance), swapped, rtol=1e-10)


@given(SEEDS)
def test_volts_scale_their_own_driver(seed: int) -> None:
    """A driver at zero volts is not there, one at twice the volts is as one twice as strong: rounding alone."""
    amplitude, distance = _random_arrivals(seed)
    volts = np.repeat(np.array([[2.0], [0.0], [1j]]), len(GRID), axis=1)
    driven = path_energy(GRID, amplitude, distance, Air(), volts).sum(axis=(1, 2))
    by_hand = amplitude[[0, 2]] * np.array([2.0, 1j])[:, None, None]
    assert np.allclose(driven, _whole(GRID, by_hand, distance[[0, 2]]), rtol=1e-10)


@given(SEEDS, st.floats(0.1, 20.0))
def test_a_longer_flight_for_all_changes_no_phase_between_them(seed: int, further_m: float) -> None:
    """Energy knows delays between arrivals only; amplitudes are scaled so that spreading stays as it was."""
    amplitude, distance = _random_arrivals(seed)
    moved = amplitude * ((distance + further_m) / distance)[..., None]
    here, there = _whole(GRID, amplitude, distance), _whole(GRID, moved, distance + further_m)
    assert np.allclose(here, there, rtol=1e-6, atol=1e-6)


def test_late_arrivals_add_their_energies() -> None:
    """A band of 100 Hz cannot hold the phase of an arrival one second late: the cross term is gone, to 1 %."""
    grid = FrequencyGrid(np.array([900.0, 1000.0, 1100.0]))
    distance = np.array([[1.0, 344.7]])
    amplitude = np.ones((1, 2, 3), dtype=complex) * distance[..., None]
    assert np.allclose(_whole(grid, amplitude, distance), 2.0, atol=0.02)


def test_shapes_that_do_not_fit_are_refused() -> None:
    amplitude, distance = _random_arrivals(1)
    with pytest.raises(ValueError, match="does not fit"):
        _whole(GRID, amplitude[:, :6], distance)


@given(st.floats(20.0, 20e3))
def test_absorption_is_read_between_octaves(frequency_hz: float) -> None:
    absorption = np.tile(np.linspace(0.1, 0.8, len(OCTAVE_HZ)), (6, 1))
    room = Shoebox(SIZE_M, absorption)
    factor = reflection_factor(room, 2, np.array([frequency_hz]))[0]
    assert np.sqrt(0.2) - 1e-12 <= factor <= np.sqrt(0.9) + 1e-12
    named = reflection_factor(room, 2, np.array(OCTAVE_HZ, dtype=float))
    assert np.allclose(1 - named**2, absorption[2])


def test_direct_sound_meets_no_wall() -> None:
    assert np.all(reflection_factor(ROOM, DIRECT, GRID.frequency_hz) == 1.0)


@given(SEEDS)
def test_a_fill_is_a_level_with_and_without(seed: int) -> None:
    """Of six reflections and of all later ones, which come after them; levels to rounding, 1e-6 dB."""
    amplitude, distance = _random_arrivals(seed, drivers=1)
    volts = np.ones((1, len(GRID)), dtype=complex)
    energy = path_energy(GRID, amplitude, distance, Air(), volts)
    weight, later = np.zeros(len(GRID)), np.random.default_rng(seed).uniform(0.01, 1.0, len(GRID))
    weight[20] = 1.0
    fills = explain_fill(energy, later, weight)
    assert sorted(fill.path for fill in fills) == list(range(7))
    missed = [fill.missed_db for fill in fills]
    assert missed == sorted(missed, reverse=True)

    def level_db(paths: list[int], *, with_later: bool) -> float:
        heard = _whole(GRID, amplitude[:, paths], distance[:, paths])[20] + with_later * later[20]
        return float(10 * np.log10(heard))

    direct_db, everything_db = level_db([0], with_later=False), level_db(list(range(7)), with_later=True)
    for fill in fills:
        is_later = fill.path == 6
        alone = level_db([0] if is_later else [0, 1 + fill.path], with_later=is_later)
        others = [path for path in range(7) if path != 1 + fill.path]
        assert fill.alone_db == pytest.approx(alone - direct_db, abs=1e-6)
        without = level_db(others, with_later=not is_later)
        assert fill.missed_db == pytest.approx(everything_db - without, abs=1e-6)


def test_silence_fills_nothing() -> None:
    fills = explain_fill(np.zeros((1, 2, 2)), np.zeros(1), np.ones(1))
    assert [(fill.alone_db, fill.missed_db) for fill in fills] == [(0.0, 0.0)] * 2


@pytest.mark.parametrize("size_m", [(0.0, 4.0, 2.5), (5.0, -4.0, 2.5), (5.0, 4.0, float("nan"))])
def test_a_room_without_volume_is_refused(size_m: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="above zero"):
        Shoebox.uniform(size_m, [0.1] * 6)


@pytest.mark.parametrize("absorption", [-0.1, 1.2, float("nan")])
def test_absorption_is_a_share(absorption: float) -> None:
    with pytest.raises(ValueError, match="share"):
        Shoebox.uniform(SIZE_M, [absorption] + [0.1] * 5)


def test_places_outside_the_room_are_refused() -> None:
    assert ROOM.is_inside((1.0, 1.0, 1.0), 0.9)
    assert not ROOM.is_inside((1.0, 1.0, 1.0), 1.0)
    with pytest.raises(ValueError, match="listener"):
        first_order_paths(ROOM, (1.0, 1.0, 1.0), (6.0, 1.0, 1.0))
    with pytest.raises(ValueError, match="source"):
        first_order_paths(ROOM, (0.0, 1.0, 1.0), (1.0, 1.0, 1.0))
