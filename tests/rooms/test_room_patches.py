"""Laws of small reflectors near the source."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from forehear.ground.arrays import FloatArray
from forehear.room import OCTAVE_HZ, Patch, patch_factor, patch_paths, patch_reflection

SPEED_M_S = 343.2
UP, ALONG = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
HZ = np.geomspace(50.0, 20e3, 60)
SIDES = st.floats(0.2, 2.0)
PLACES = st.tuples(st.floats(-2.0, 2.0), st.floats(-2.0, 2.0), st.floats(0.1, 3.0)).map(np.array)


def _lying(width: float, height: float, middle: tuple[float, float] = (0.0, 0.0)) -> Patch:
    return Patch(np.array([*middle, 0.0]), UP, ALONG, width, height, np.ones(len(OCTAVE_HZ)))


@given(SIDES, SIDES, PLACES, PLACES)
def test_sound_goes_both_ways(width: float, height: float, source: FloatArray, ear: FloatArray) -> None:
    patch = _lying(width, height)
    forth = patch_factor(patch, source, ear, HZ, SPEED_M_S)
    assert np.allclose(forth, patch_factor(patch, ear, source, HZ, SPEED_M_S), atol=1e-6)
    assert np.all(np.abs(forth) < 3.0)


@given(SIDES, SIDES, PLACES, PLACES, st.floats(0.1, 0.9))
def test_two_boards_side_by_side_are_one(
    width: float, height: float, source: FloatArray, ear: FloatArray, share: float
) -> None:
    whole = patch_factor(_lying(width, height), source, ear, HZ, SPEED_M_S)
    left = _lying(share * width, height, (-width * (1 - share) / 2, 0.0))
    right = _lying((1 - share) * width, height, (width * share / 2, 0.0))
    both = patch_factor(left, source, ear, HZ, SPEED_M_S) + patch_factor(right, source, ear, HZ, SPEED_M_S)
    assert np.allclose(both, whole, atol=1e-6)


@given(PLACES, PLACES)
def test_a_large_board_is_a_mirror(source: FloatArray, ear: FloatArray) -> None:
    """The wave from an edge 1 km away falls with its Fresnel number."""
    factor = patch_factor(_lying(2000.0, 2000.0), source, ear, HZ, SPEED_M_S)
    assert np.allclose(factor, 1.0, atol=0.02)


@given(PLACES, PLACES, st.floats(0.5, 1.5))
def test_an_edge_at_the_mirror_point_sends_half(
    source: FloatArray, ear: FloatArray, frequency: float
) -> None:
    """Sommerfeld's half plane on its shadow boundary, and any half of a symmetric whole."""
    point = source + (ear - source) * source[2] / (source[2] + ear[2])
    half = _lying(4000.0, 4000.0, (point[0] - 2000.0, point[1]))
    factor = patch_factor(half, source, ear, 1000.0 * np.array([frequency]), SPEED_M_S)
    assert np.allclose(factor, 0.5, atol=0.01)


@given(SIDES, SIDES, PLACES, PLACES)
def test_far_outside_the_mirror_there_is_little(
    width: float, height: float, source: FloatArray, ear: FloatArray
) -> None:
    point = source + (ear - source) * source[2] / (source[2] + ear[2])
    aside = _lying(width, height, (point[0] + width / 2 + 1.5, point[1]))
    way = np.linalg.norm(ear * [1, 1, -1] - source)
    assume(way < 4.0)
    factor = patch_factor(aside, source, ear, HZ, SPEED_M_S)
    assert np.all(np.abs(factor) < 0.35)
    assert np.abs(factor[-1]) < 0.1


@given(SIDES, SIDES, PLACES, PLACES, st.floats(-1e-4, 1e-4))
def test_nothing_jumps_where_the_mirror_point_leaves_the_board(
    width: float, height: float, source: FloatArray, ear: FloatArray, nudge: float
) -> None:
    point = source + (ear - source) * source[2] / (source[2] + ear[2])
    middle = (point[0] - width / 2, point[1] + height / 3)
    here = patch_factor(_lying(width, height, middle), source, ear, HZ[:40], SPEED_M_S)
    there = patch_factor(
        _lying(width, height, (middle[0] + nudge, middle[1])), source, ear, HZ[:40], SPEED_M_S
    )
    assert np.allclose(
        here, there, atol=0.03
    )  # of the mirror's pressure: steps of 0.016 were seen, 0.3 dB there


@given(st.floats(0.3, 1.0), st.floats(0.3, 1.0), PLACES, PLACES, st.floats(0.0, 6.28), PLACES)
def test_a_room_turned_about_changes_nothing(
    width: float, height: float, source: FloatArray, ear: FloatArray, turn: float, moved: FloatArray
) -> None:
    lean = np.array([[1, 0, 0], [0, 0.6, -0.8], [0, 0.8, 0.6]])
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    turned = lean @ spin
    patch = _lying(width, height)
    other = Patch(moved, turned @ UP, turned @ ALONG, width, height, patch.reflection)
    here, there = turned @ source + moved, turned @ ear + moved
    assert np.allclose(
        patch_factor(other, here, there, HZ, SPEED_M_S),
        patch_factor(patch, source, ear, HZ, SPEED_M_S),
        atol=1e-6,
    )
    paths, plain = patch_paths(other, here, there[None]), patch_paths(patch, source, ear[None])
    assert np.allclose(paths.distance_m, plain.distance_m)
    assert np.allclose(paths.departure_m, plain.departure_m @ turned.T)
    assert np.allclose(np.linalg.norm(paths.departure_m, axis=1), paths.distance_m)


@pytest.mark.parametrize(("source_z", "ear_z"), [(-0.5, 1.0), (0.5, -1.0), (-0.5, -1.0), (0.0, 1.0)])
def test_nothing_comes_from_behind(source_z: float, ear_z: float) -> None:
    factor = patch_factor(_lying(1.0, 1.0), (0.1, 0.2, source_z), (0.5, 0.3, ear_z), HZ, SPEED_M_S)
    assert np.all(factor == 0.0)


def test_a_small_board_far_away_sends_by_its_area() -> None:
    """Fraunhofer: one zone's part, area times distance over wavelength and both ways, straight on."""
    small = _lying(0.1, 0.08)
    factor = patch_factor(small, (0.0, 0.0, 2.0), (0.0, 0.0, 3.0), np.array([300.0]), SPEED_M_S)
    assert np.abs(factor[0]) == pytest.approx(0.1 * 0.08 * 5.0 / (2.0 * 3.0) * 300.0 / SPEED_M_S, rel=0.01)


def test_reflection_is_read_between_octaves() -> None:
    patch = Patch(np.zeros(3), UP, ALONG, 1.0, 1.0, np.linspace(0.9, 0.2, len(OCTAVE_HZ)))
    assert np.allclose(patch_reflection(patch, np.array(OCTAVE_HZ, dtype=float)), patch.reflection)
    assert patch_reflection(patch, np.array([125.0 * np.sqrt(2)])) == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"normal": np.array([0.0, 0.0, 2.0])}, "unit vectors"),
        ({"across": np.array([0.0, 0.6, 0.8])}, "unit vectors"),
        ({"width_m": 0.0}, "above zero"),
        ({"height_m": -1.0}, "above zero"),
        ({"reflection": np.full(8, 1.1)}, "no more than it gets"),
        ({"reflection": np.full(7, 1.0)}, "octaves"),
    ],
)
def test_a_patch_that_cannot_be_is_refused(change: dict[str, FloatArray], said: str) -> None:
    right = {"middle_m": np.zeros(3), "normal": UP, "across": ALONG, "width_m": 1.0, "height_m": 1.0}
    with pytest.raises(ValueError, match=said):
        Patch(**{**right, "reflection": np.ones(8), **change})
