"""Triangles of any closed surface cut as small as wanted: long sides halved, flat neighbours turned."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Indices, sides

Wanted: TypeAlias = Callable[[FloatArray], FloatArray]
"""Size of triangles wanted at places [place, 3]."""

_LONGEST = 1.35  # of the size wanted: longer sides are cut
_IN_PLANE = 1e-5  # height of a corner over the size of the triangle beside: less is the same plane
_BETTER = 1e-6  # by how much two opposite angles must pass half a turn before their side is turned
_ROUNDS = 60
_MOST = 400_000  # triangles: more than any solve can take


def refined(place: FloatArray, triangle: Indices, wanted: Wanted) -> tuple[FloatArray, Indices]:
    """Halve sides that are longer than wanted, and turn sides between triangles of one plane for the better."""
    corner = place[triangle]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) / 2
    needed = float(np.sum(area / wanted(corner.mean(axis=1)) ** 2))  # less than there will be
    triangle = turned_for_the_better(place, triangle)
    for _ in range(_ROUNDS if needed < _MOST else 0):
        ends, side = sides(triangle)
        way = place[ends[:, 1]] - place[ends[:, 0]]
        length = np.linalg.norm(way, axis=1)
        cut = length > _LONGEST * wanted((place[ends[:, 0]] + place[ends[:, 1]]) / 2)
        if not cut.any():
            return place, triangle
        cut = _with_longest(cut, length, side)
        place, triangle = _cut(place, triangle, (ends, side, length), cut)
        triangle = turned_for_the_better(place, triangle)
        if len(triangle) > _MOST:
            break
    raise SurfaceError(
        f"the mesh needs more than {_MOST} triangles for the size wanted",
        cure="use larger triangles up to a lower frequency, or a smaller or plainer solid",
    )


def _with_longest(cut: NDArray[np.bool_], length: FloatArray, side: Indices) -> NDArray[np.bool_]:
    """Cut the longest side of every triangle of which any side is cut, until nothing changes."""
    longest = side[np.arange(len(side)), np.argmax(length[side], axis=1)]
    while True:
        more = cut.copy()
        more[longest[cut[side].any(axis=1)]] = True
        if np.array_equal(more, cut):
            return cut
        cut = more


def _cut(
    place: FloatArray,
    triangle: Indices,
    told: tuple[Indices, Indices, FloatArray],
    cut: NDArray[np.bool_],
) -> tuple[FloatArray, Indices]:
    """Cut triangles through the middle of their longest side, and each half again where its own side is cut."""
    ends, side, length = told
    middle = np.full(len(ends), -1, dtype=np.int64)
    middle[cut] = len(place) + np.arange(int(cut.sum()))
    place = np.concatenate([place, (place[ends[cut, 0]] + place[ends[cut, 1]]) / 2])
    touched = cut[side].any(axis=1)
    first = np.argmax(length[side], axis=1)[touched]  # the corner opposite the longest side
    turn = (first[:, None] + np.arange(3)) % 3
    corner = np.take_along_axis(triangle[touched], turn, axis=1)
    halves = np.take_along_axis(middle[side[touched]], turn, axis=1)
    top, left, right = corner.T
    foot, right_half, left_half = halves.T  # of the sides left-right, right-top, top-left
    parts = [triangle[~touched]]
    for (low, high), half, goes_up in (((right, top), right_half, True), ((left, top), left_half, False)):
        whole = half < 0
        halves_of = (
            [(foot, low, half), (foot, half, high)] if goes_up else [(low, foot, half), (half, foot, high)]
        )
        one = (foot, low, high) if goes_up else (low, foot, high)
        parts.append(np.stack(one, axis=1)[whole])
        parts += [np.stack(two, axis=1)[~whole] for two in halves_of]
    return place, np.concatenate(parts)


def turned_for_the_better(place: FloatArray, triangle: Indices) -> Indices:
    """Turn sides between triangles of one plane until every circle round a triangle is empty."""
    triangle = triangle.copy()
    for _ in range(_ROUNDS):
        first, second = _worth_turning(place, triangle)
        if not first.size:
            break
        _turn(triangle, first, second)
    return triangle


def _worth_turning(place: FloatArray, triangle: Indices) -> tuple[Indices, Indices]:
    """Pairs (triangle * 3 + corner opposite the side) of which no triangle stands in two."""
    _, side = sides(triangle)
    order = np.argsort(side.ravel(), kind="stable").reshape(-1, 2)
    owner, corner = order // 3, order % 3
    tip = place[triangle[owner, corner]]
    start = place[triangle[owner[:, 0], (corner[:, 0] + 1) % 3]]
    end = place[triangle[owner[:, 0], (corner[:, 0] + 2) % 3]]
    angle = _angle(start - tip[:, 0], end - tip[:, 0]) + _angle(start - tip[:, 1], end - tip[:, 1])
    normal = np.cross(end - start, tip[:, 0] - start)
    size = np.sqrt(np.linalg.norm(normal, axis=1))
    height = np.abs(np.einsum("si,si->s", normal, tip[:, 1] - start)) / size**3
    beside = np.cross(tip[:, 1] - start, end - start)
    alike = np.einsum("si,si->s", normal, beside) > 0
    worth = np.flatnonzero((angle > np.pi + _BETTER) & (height < _IN_PLANE) & alike)
    worth = worth[np.argsort(-angle[worth], kind="stable")]
    claim = np.full(len(triangle), len(worth), dtype=np.int64)
    rank = np.arange(len(worth))
    for i in range(2):
        np.minimum.at(claim, owner[worth, i], rank)
    free = np.all(claim[owner[worth]] == rank[:, None], axis=1)
    return order[worth[free], 0], order[worth[free], 1]


def _angle(first: FloatArray, second: FloatArray) -> FloatArray:
    across = np.linalg.norm(np.cross(first, second), axis=1)
    angle: FloatArray = np.arctan2(across, np.einsum("si,si->s", first, second))
    return angle


def _turn(triangle: Indices, first: Indices, second: Indices) -> None:
    """Join the two tips instead of the two ends, in place."""
    one, other = first // 3, second // 3
    tip, start, end = (triangle[one, (first % 3 + i) % 3] for i in range(3))
    far = triangle[other, second % 3]
    triangle[one] = np.stack([tip, start, far], axis=1)
    triangle[other] = np.stack([tip, far, end], axis=1)
