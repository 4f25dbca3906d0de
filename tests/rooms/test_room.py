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
    band_energy,
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


def _random_arrivals(seed: int, drivers: int = 3) -> tuple[ComplexArray, FloatArray, FloatArray]:
    random = np.random.default_rng(seed)
    shape = (drivers, 7, len(GRID))
    amplitude = random.normal(size=shape) + 1j * random.normal(size=shape)
    return amplitude, random.uniform(0.5, 8.0, (drivers, 7)), random.uniform(0.0, 1.0, (7, len(GRID)))


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
def test_energy_is_hermitian_and_never_negative(seed: int) -> None:
    form = band_energy(GRID, *_random_arrivals(seed), Air())
    assert np.allclose(form, form.conj().transpose(0, 2, 1))
    lowest = np.linalg.eigvalsh(form)[:, 0]
    assert np.all(lowest >= -1e-9 * np.abs(form).max())


@given(SEEDS)
def test_paths_and_drivers_sum_to_the_same_energy(seed: int) -> None:
    given_arrivals = _random_arrivals(seed)
    volts = np.exp(1j * np.outer([1.0, -2.0, 0.5], np.arange(len(GRID))))
    by_driver = np.einsum("if,fij,jf->f", volts.conj(), band_energy(GRID, *given_arrivals, Air()), volts).real
    by_path = path_energy(GRID, *given_arrivals, Air(), volts)
    assert np.allclose(by_path.sum(axis=(1, 2)), by_driver)
    assert np.allclose(by_path, by_path.transpose(0, 2, 1))


@given(SEEDS, st.floats(0.1, 20.0))
def test_a_longer_flight_for_all_changes_no_phase_between_them(seed: int, further_m: float) -> None:
    """Energy knows delays between arrivals only; amplitudes are scaled so that spreading stays as it was."""
    amplitude, distance, reflection = _random_arrivals(seed)
    moved = amplitude * ((distance + further_m) / distance)[..., None]
    here = band_energy(GRID, amplitude, distance, reflection, Air())
    there = band_energy(GRID, moved, distance + further_m, reflection, Air())
    assert np.allclose(here, there, rtol=1e-6, atol=1e-6)


def test_late_arrivals_add_their_energies() -> None:
    """A band of 100 Hz cannot hold the phase of an arrival one second late: the cross term is gone."""
    grid = FrequencyGrid(np.array([900.0, 1000.0, 1100.0]))
    distance = np.array([[1.0, 344.7]])
    amplitude = np.ones((1, 2, 3), dtype=complex) * distance[..., None]
    form = band_energy(grid, amplitude, distance, np.ones((2, 3)), Air())
    assert np.allclose(form[:, 0, 0].real, 2.0, atol=0.02)


def test_shapes_that_do_not_fit_are_refused() -> None:
    amplitude, distance, reflection = _random_arrivals(1)
    with pytest.raises(ValueError, match="do not fit"):
        band_energy(GRID, amplitude[:, :6], distance, reflection, Air())


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
    amplitude, distance, reflection = _random_arrivals(seed, drivers=1)
    volts = np.ones((1, len(GRID)), dtype=complex)
    energy = path_energy(GRID, amplitude, distance, reflection, Air(), volts)
    weight = np.zeros(len(GRID))
    weight[20] = 1.0
    fills = explain_fill(energy, range(6), weight)
    missed = [fill.missed_db for fill in fills]
    assert missed == sorted(missed, reverse=True)

    def level_db(paths: list[int]) -> float:
        form = band_energy(GRID, amplitude[:, paths], distance[:, paths], reflection[paths], Air())
        return float(10 * np.log10(form[20, 0, 0].real))

    for fill in fills:
        path = 1 + fill.surface
        others = [other for other in range(7) if other != path]
        assert fill.alone_db == pytest.approx(level_db([0, path]) - level_db([0]), abs=1e-6)
        assert fill.missed_db == pytest.approx(level_db(list(range(7))) - level_db(others), abs=1e-6)


def test_silence_fills_nothing() -> None:
    fills = explain_fill(np.zeros((1, 2, 2)), [4], np.ones(1))
    assert fills[0].alone_db == 0.0
    assert fills[0].missed_db == 0.0


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
