"""Triangles of any surface made to follow a round rim: corners near it moved onto it, sides through it cut."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.radiation.elements import Indices, sides

Beyond: TypeAlias = Callable[[FloatArray], FloatArray]
"""How far places lie beyond a rim, below zero within it, not a number where the rim does not matter."""

_ON = 0.02  # of a side: so near the rim a corner is on it
_MOVED = 0.3  # of a side that goes through the rim: its corner is moved up to so far rather than the side cut
_CREASE = 0.94  # cosine of the angle between triangles about a corner, below which it stays where it is
_HALVINGS = 30


def along_rim(place: FloatArray, triangle: Indices, beyond: Beyond) -> tuple[FloatArray, Indices]:
    """Move and cut until no triangle lies on both sides of a rim."""
    ends, side = sides(triangle)
    over = beyond(place)
    length = np.linalg.norm(place[ends[:, 1]] - place[ends[:, 0]], axis=1)
    shortest = np.full(len(place), np.inf)
    np.minimum.at(shortest, ends.ravel(), np.repeat(length, 2))
    over = np.where(np.abs(over) < _ON * shortest, 0.0, over)
    place, over = _moved(place, triangle, ends, over, beyond)
    through = np.flatnonzero(over[ends[:, 0]] * over[ends[:, 1]] < 0)
    new = np.full(len(ends), -1, dtype=np.int64)
    new[through] = len(place) + np.arange(through.size)
    cut = place[ends[through]]
    at = _crossing(cut, beyond)[:, None]
    place = np.concatenate([place, (1 - at) * cut[:, 0] + at * cut[:, 1]])
    return place, _split(place, triangle, new[side])


def _crossing(ends: FloatArray, beyond: Beyond) -> FloatArray:
    """Share of each stretch [stretch, end, 3] where it goes through the rim."""
    low, high = np.zeros(len(ends)), np.ones(len(ends))
    first = beyond(ends[:, 0]) < 0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        place = (1 - middle[:, None]) * ends[:, 0] + middle[:, None] * ends[:, 1]
        same = (beyond(place) < 0) == first
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    share: FloatArray = (low + high) / 2
    return share


def _moved(
    place: FloatArray, triangle: Indices, ends: Indices, over: FloatArray, beyond: Beyond
) -> tuple[FloatArray, FloatArray]:
    """Move corners along the sides that go through the rim near them, where the surface is smooth."""
    through = ends[over[ends[:, 0]] * over[ends[:, 1]] < 0]
    at = _crossing(place[through], beyond)
    both = np.concatenate([through, through[:, ::-1]])
    share = np.concatenate([at, 1 - at])
    near = (share < _MOVED) & _smooth(place, triangle)[both[:, 0]]
    both, share = both[near], share[near]
    order = np.argsort(-share, kind="stable")  # of several ways the shortest is written last
    both, share = both[order], share[order, None]
    place, over = place.copy(), over.copy()
    place[both[:, 0]] = (1 - share) * place[both[:, 0]] + share * place[both[:, 1]]
    over[both[:, 0]] = 0.0
    return place, over


def _smooth(place: FloatArray, triangle: Indices) -> NDArray[np.bool_]:
    """Tell at which corners all triangles face nearly the same way."""
    corner = place[triangle]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    mean = np.zeros_like(place)
    np.add.at(mean, triangle, normal[:, None])
    mean /= np.maximum(np.linalg.norm(mean, axis=1, keepdims=True), 1e-300)
    least = np.ones(len(place))
    np.minimum.at(least, triangle, np.einsum("tci,ti->tc", mean[triangle], normal))
    smooth: NDArray[np.bool_] = least > _CREASE
    return smooth


def _split(place: FloatArray, triangle: Indices, new: Indices) -> Indices:
    """Split triangles at new corners on their sides; `new` stands opposite each corner, -1 where there is none."""
    count = np.sum(new >= 0, axis=1)
    parts = [triangle[count == 0]]
    lone = np.where((count == 1)[:, None], new >= 0, new < 0)  # the corner opposite the one side that differs
    turn = (np.argmax(lone, axis=1)[:, None] + np.arange(3)) % 3
    corner, cut = np.take_along_axis(triangle, turn, axis=1), np.take_along_axis(new, turn, axis=1)
    once = count == 1
    tip, left, right = corner[once].T
    foot = cut[once, 0]
    parts += [np.stack([tip, left, foot], axis=1), np.stack([tip, foot, right], axis=1)]
    tip, left, right = corner[count == 2].T
    on_right, on_left = cut[count == 2, 1], cut[count == 2, 2]  # of the sides right-tip and tip-left
    parts.append(np.stack([tip, on_left, on_right], axis=1))
    shorter = np.linalg.norm(place[on_left] - place[right], axis=1) < np.linalg.norm(
        place[left] - place[on_right], axis=1
    )
    for mine, first, second in (
        (shorter, (on_left, left, right), (on_left, right, on_right)),
        (~shorter, (left, right, on_right), (left, on_right, on_left)),
    ):
        parts += [np.stack(three, axis=1)[mine] for three in (first, second)]
    return np.concatenate(parts)
