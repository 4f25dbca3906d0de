"""Laws of the images beyond the first, of what is sent along them, of their sums and of what follows them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid, sphere_directions
from forehear.room import (
    NODES,
    Block,
    Images,
    LinearGrid,
    Sending,
    Shoebox,
    arrivals_sum,
    band_means_of,
    few_arrivals_sum,
    first_order_paths,
    later_images,
    reflected_share,
    reflection_factor,
    scattered_share,
    specular_factor,
)

SIZE_M = (5.0, 4.0, 2.5)
ROOM = Shoebox.uniform(SIZE_M, [0.1, 0.2, 0.1, 0.3, 0.4, 0.15])
KILOHERTZ = np.array([1000.0])
INSIDE = st.tuples(*(st.floats(0.05 * side, 0.95 * side) for side in SIZE_M))
SEEDS = st.integers(0, 2**31)
Place = tuple[float, float, float]
Complex64 = NDArray[np.complex64]


def _ways(source: Place, ear: Place, longest_m: float) -> tuple[FloatArray, FloatArray]:
    """Lengths of all ways, rising; and how much of them all is left at 1 kHz, by order, fading to the longest."""
    found = later_images(ROOM, source, ear, longest_m, least_order=0)
    distance = found.departures_m(source)[1]
    share = reflected_share(ROOM, found.index, KILOHERTZ)[:, 0] * (1 - distance / longest_m)
    return np.sort(distance), np.bincount(found.order, share, minlength=20)


@given(INSIDE, INSIDE)
@settings(max_examples=30)
def test_sound_takes_the_same_ways_back(here: Place, there: Place) -> None:
    """As many and as long (1e-9; one at the very end may be in or out), and as much left (single precision, 1e-5)."""
    (forth, left_forth), (back, left_back) = _ways(here, there, 14.0), _ways(there, here, 14.0)
    inside = min(len(forth), len(back))
    assert max(len(forth), len(back)) <= inside + 2
    assert np.allclose(forth[:inside], back[:inside], rtol=1e-9)
    assert np.allclose(left_forth, left_back, rtol=1e-5, atol=1e-9)


@given(INSIDE, INSIDE)
@settings(max_examples=30)
def test_the_first_images_are_the_first_reflections(source: Place, ear: Place) -> None:
    """Two ways of finding them: places to 1e-12 m, shares to single precision, 1e-6."""
    found = later_images(ROOM, source, ear, 15.0, least_order=1)
    first = found.order == 1
    paths = first_order_paths(ROOM, source, ear)
    departure, distance = found.departures_m(source)
    by_length, known = np.argsort(distance[first]), np.argsort(paths.distance_m[1:])
    assert first.sum() == 6
    assert np.allclose(distance[first][by_length], paths.distance_m[1:][known])
    assert np.allclose(np.sort(departure[first], axis=0), np.sort(paths.departure_m[1:], axis=0), atol=1e-12)
    share = reflected_share(ROOM, found.index[first][by_length], KILOHERTZ)[:, 0]
    factors = [specular_factor(ROOM, paths.surface[1 + way], KILOHERTZ)[0] for way in known]
    unique = np.diff(np.sort(distance[first])).min() > 1e-6  # else which is which is anyone's guess
    assert not unique or np.allclose(share, factors, rtol=1e-6)


@given(INSIDE, INSIDE)
@settings(max_examples=30)
def test_moved_along_by_two_rooms_an_image_is_an_image_again(source: Place, ear: Place) -> None:
    """The lattice repeats after twice each side: every image has its like there, unless that is too far away."""
    found = later_images(ROOM, source, ear, 16.0, least_order=0)
    places = {tuple(np.round(place, 6)) for place in found.place_m}
    step = 2 * np.array(SIZE_M)
    for axis in range(3):
        moved = found.place_m + np.eye(3)[axis] * step
        reached = np.linalg.norm(moved - source, axis=1) < 16.0 - 1e-6
        assert reached.any()
        assert all(tuple(np.round(place, 6) + 0.0) in places for place in moved[reached])


@given(SEEDS)
@settings(max_examples=20)
def test_what_is_left_is_the_product_of_every_meeting(seed: int) -> None:
    """Each way followed from surface to surface: single precision, 1e-5."""
    random = np.random.default_rng(seed)
    octaves = np.array([125.0, 1000.0, 8000.0])
    room = Shoebox(SIZE_M, random.uniform(0.0, 0.9, (6, 8)), random.uniform(0.0, 0.4, 8))
    factor = np.array([specular_factor(room, surface, octaves) for surface in range(6)])
    scattered = 1 - scattered_share(room, octaves)
    bare = np.array([reflection_factor(room, surface, octaves) for surface in range(6)])
    assert np.allclose(factor**2, bare**2 * scattered)
    index = random.integers(-5, 6, (40, 3)).astype(np.int32)
    for row, found in zip(index, reflected_share(room, index, octaves), strict=True):
        share = np.ones(3)
        for axis, meetings in enumerate(row.tolist()):
            for meeting in range(abs(meetings)):
                far = (meetings > 0) == (meeting % 2 == 0)
                share *= factor[2 * axis + far]
        assert np.allclose(found, share, rtol=1e-5)


BLOCKS = LinearGrid(
    FrequencyGrid(100.0 * 2.0 ** np.arange(6)), (Block(0, 3, 1.0), Block(3, 4, 2.0), Block(4, 5, 4.0))
)


def _between_nodes(amplitude: Complex64, grid: LinearGrid) -> ComplexArray:
    """Amplitudes straight in log frequency, [arrival, frequency]."""
    at = np.log(grid.frequency_hz / grid.nodes.frequency_hz[0]) / np.log(2.0)
    node = np.minimum(at.astype(int), len(grid.nodes) - 2)
    share = at - node
    return np.asarray(amplitude[:, node] * (1 - share) + amplitude[:, node + 1] * share, dtype=complex)


def _random_amplitude(random: np.random.Generator, arrivals: int) -> Complex64:
    shape = (arrivals, len(BLOCKS.nodes))
    return (random.normal(size=shape) + 1j * random.normal(size=shape)).astype(np.complex64)


def _agree(found: Complex64, wanted: ComplexArray, within: float) -> None:
    size = np.sqrt(np.mean(np.abs(wanted) ** 2))
    off = np.abs(found - wanted) / size
    assert np.sqrt(np.mean(off**2)) < within
    assert off.max() < 10 * within


@given(SEEDS, st.integers(1, 200))
@settings(max_examples=25)
def test_a_sum_of_many_arrivals_is_the_direct_sum(seed: int, arrivals: int) -> None:
    """Off by 2e-4 of its size in the mean square and 2e-3 at the worst frequency, which lies at an end of a block.

    Whatever arrives up to half the inverse of the widest step.
    """
    random = np.random.default_rng(seed)
    time = random.uniform(0.0, 0.125, arrivals)
    amplitude = _random_amplitude(random, arrivals)
    turned = np.exp(-2j * np.pi * np.outer(time, BLOCKS.frequency_hz))
    direct = (_between_nodes(amplitude, BLOCKS) * turned).sum(axis=0)
    _agree(arrivals_sum(amplitude, time, BLOCKS), direct, 2e-4)


@given(SEEDS, st.floats(0.0, 0.06))
@settings(max_examples=15)
def test_arrivals_that_all_come_later_only_turn(seed: int, later_s: float) -> None:
    """No direct sum needed: phases turn by the delay. Both sums are off as above: twice as much."""
    random = np.random.default_rng(seed)
    time = random.uniform(0.0, 0.06, 50)
    amplitude = _random_amplitude(random, 50)
    turn = np.exp(-2j * np.pi * later_s * BLOCKS.frequency_hz)
    before, after = (arrivals_sum(amplitude, time + late, BLOCKS) for late in (0.0, later_s))
    _agree(after, before * turn, 4e-4)


@given(SEEDS, st.integers(1, 12))
@settings(max_examples=25)
def test_a_sum_of_few_arrivals_is_the_direct_sum(seed: int, arrivals: int) -> None:
    """Single precision: 1e-5 of the sum of all sizes. Amplitudes hold through their band, the outermost beyond it."""
    random = np.random.default_rng(seed)
    bands = FrequencyGrid(np.geomspace(150.0, 2000.0, 20))
    time = random.uniform(0.0, 0.1, arrivals)
    amplitude = random.normal(size=(arrivals, 20)) + 1j * random.normal(size=(arrivals, 20))
    found = few_arrivals_sum(amplitude, time, bands, BLOCKS)
    for hz, value in zip(BLOCKS.frequency_hz[::7], found[::7], strict=True):
        inside = np.flatnonzero((bands.edges_hz[:-1] < hz) & (hz <= bands.edges_hz[1:]))
        band = inside[0] if inside.size else (0 if hz < 1000 else 19)
        direct = (amplitude[:, band] * np.exp(-2j * np.pi * hz * time)).sum()
        assert abs(value - direct) < 1e-5 * np.abs(amplitude).max(axis=1).sum()


@given(SEEDS, st.lists(st.floats(101.0, 3000.0), min_size=3, max_size=6, unique=True))
def test_means_over_bands_side_by_side_make_the_mean_over_all(seed: int, edges: list[float]) -> None:
    """And no mean leaves the range of what is averaged; rounding of single precision, 1e-5."""
    values = np.random.default_rng(seed).uniform(1.0, 2.0, BLOCKS.frequency_hz.size).astype(np.complex64)
    edges_hz = np.sort(edges)
    each = band_means_of(values, BLOCKS, edges_hz).real
    whole = band_means_of(values, BLOCKS, edges_hz[[0, -1]]).real[0]
    assert whole == pytest.approx((each * np.diff(edges_hz)).sum() / (edges_hz[-1] - edges_hz[0]), rel=1e-5)
    wide = np.diff(edges_hz) > 0.01  # in less, the difference of two sums holds no digits
    assert np.all((each[wide] > 1.0 - 1e-3) & (each[wide] < 2.0 + 1e-3))


def _sending(pressure: ComplexArray, step_deg: float) -> Sending:
    return Sending(step_deg, np.repeat(pressure[:, None], len(NODES), axis=1))


@given(SEEDS, st.sampled_from([10.0, 20.0]))
@settings(max_examples=15)
def test_on_the_grid_nothing_is_interpolated(seed: int, step_deg: float) -> None:
    """What was solved in a direction is what goes there, less the distance: single precision, 2e-5 of the largest."""
    random = np.random.default_rng(seed)
    unit = sphere_directions(step_deg)[0].unit
    pressure = random.normal(size=(len(unit), len(NODES))) + 1j * random.normal(size=(len(unit), len(NODES)))
    distance = random.uniform(0.5, 50.0, len(unit))
    found = Sending(step_deg, pressure).toward(unit * distance[:, None], distance)
    assert np.abs(found * distance[:, None] - pressure).max() < 2e-5 * np.abs(pressure).max()


@given(SEEDS, st.sampled_from([10.0, 20.0]))
@settings(max_examples=15)
def test_a_dipole_between_directions(seed: int, step_deg: float) -> None:
    """A sine read straight between points a step h apart is off by at most h^2/8, along both angles h^2/4.

    About the poles, beyond the last ring, the sound of that ring is taken: off by h/2 at the very pole.
    """
    random = np.random.default_rng(seed)
    axis = random.normal(size=3)
    axis /= np.linalg.norm(axis)
    away = random.normal(size=(400, 3))
    distance = np.linalg.norm(away, axis=1)
    found = _sending(sphere_directions(step_deg)[0].unit @ axis + 0j, step_deg).toward(away, distance)
    off = np.abs(found[:, 0] * distance - away @ axis / distance)
    step = np.radians(step_deg)
    between_rings = np.abs(away[:, 2] / distance) < np.cos(step / 2)
    assert off[between_rings].max() < step**2 / 4
    assert off.max() < step / 2 + step**2 / 4
    assert off.max() > step**2 / 100  # it is interpolated, not solved


def test_a_sending_has_as_many_directions_as_its_step_says() -> None:
    with pytest.raises(ValueError, match="directions x nodes"):
        Sending(10.0, np.ones((162, len(NODES)), dtype=complex))


def test_places_and_indices_go_together() -> None:
    with pytest.raises(ValueError, match="place_m"):
        Images(np.zeros((2, 3), dtype=np.int32), np.zeros((3, 3)))
