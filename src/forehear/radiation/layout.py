"""Points on a flat face for a mesh: round rims followed, sizes graded away from them, the rest even."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay, cKDTree

from forehear.ground.arrays import FloatArray
from forehear.radiation.elements import Indices

GROWTH = 0.35  # how fast triangles may grow away from a rim, metre a metre
ROOM = 0.62  # of the size wanted: closer than that a point is not taken
_TOO_LONG = 1.35  # of the size wanted: a longer side gets a point in its middle
_FILLINGS = 2
_CLEAR = 1.05  # of half a side of a rim: so far from its middle no free point stays
_ON_LINE_M = 1e-9
_ROUNDS = 5  # of moving free points to the middle of their neighbours


@dataclass(frozen=True)
class Disc:
    """A round rim on a face, in the face's own two axes."""

    centre_m: tuple[float, float]
    radius_m: float
    fewest_sides: int

    def sides(self, size_m: float) -> int:
        """How many sides the rim gets: a multiple of four, so that it is its own mirror image."""
        return max(4 * int(np.ceil(2 * np.pi * self.radius_m / size_m / 4)), self.fewest_sides)

    def rim_radius_m(self, size_m: float) -> float:
        """Radius of the corners of a polygon of the disc's own area."""
        step = 2 * np.pi / self.sides(size_m)
        return self.radius_m * float(np.sqrt(step / np.sin(step)))

    def rings(self, size_m: float) -> list[FloatArray]:
        """Points on the rim, then rings inside it, then rings outside it until they are as coarse as the rest."""
        rim = self.rim_radius_m(size_m)
        sides = self.sides(size_m)
        step = 2 * np.pi * rim / sides
        found = [self._ring(rim, sides)]
        layers = max(1, round(rim / step / 0.9))
        for layer in range(1, layers):
            radius = rim * (1 - layer / layers)
            found.append(self._ring(radius, max(4, 4 * round(sides * radius / rim / 4))))
        found.append(np.array([self.centre_m]))
        radius, wanted = rim, step
        while True:
            radius += 0.87 * wanted
            wanted = min(step + GROWTH * (radius - rim), size_m)
            found.append(self._ring(radius, 4 * max(1, round(2 * np.pi * radius / wanted / 4))))
            if wanted >= size_m:
                return found

    def _ring(self, radius_m: float, count: int) -> FloatArray:
        angle = 2 * np.pi * np.arange(count) / count
        ring: FloatArray = radius_m * np.stack([np.cos(angle), np.sin(angle)], axis=1) + self.centre_m
        return ring


def mesh_face(
    border_m: FloatArray,
    bounds_m: tuple[FloatArray, FloatArray],
    discs: list[Disc],
    size_m: float,
    mirror: int | None,
) -> tuple[FloatArray, Indices]:
    """Mesh a rectangle whose outer points are given, [point, 2]; its corners wind counter-clockwise.

    Rims follow the discs; `border_m` may hold other points that must stay, such as lines along which the face will
    bend. Where the lower bound of one axis is a `mirror`, points are put on it as the discs need them.
    """
    lower, upper = bounds_m
    open_to = lower - np.where(np.arange(2) == mirror, _ON_LINE_M, 0.0)
    rims = [disc.rings(size_m) for disc in discs]
    within = [_inside(rings[0], lower - _ON_LINE_M, upper + _ON_LINE_M) for rings in rims]
    clear = np.concatenate([np.zeros((0, 2)), *(rim_middles(rings[0]) for rings in rims)])
    taken = np.concatenate([border_m, *within])
    fixed = len(taken)

    def wanted(place: FloatArray) -> FloatArray:
        size = np.full(len(place), size_m)
        for disc in discs:
            step = 2 * np.pi * disc.radius_m / disc.sides(size_m)
            away = np.abs(np.linalg.norm(place - disc.centre_m, axis=1) - disc.radius_m)
            size = np.minimum(size, step + GROWTH * away)
        return size

    def with_room(place: FloatArray) -> FloatArray:
        place = _inside(place, open_to, upper)
        apart, _ = cKDTree(np.concatenate([taken, clear])).query(place)
        return place[apart > ROOM * wanted(place)]

    candidates = [ring for rings in rims for ring in rings[1:]]
    if mirror is not None:  # before the rings of discs beside it; those on it bring their own points
        line = _line(bounds_m, mirror, wanted)
        candidates = [_outside(line, discs), *candidates, line]
    for group in [*candidates, _lattice(lower, upper, size_m)]:
        taken = np.concatenate([taken, with_room(group)])
    for _ in range(_FILLINGS):
        taken = np.concatenate([taken, with_room(_gaps(taken, wanted))])
    if mirror is not None:
        taken[np.abs(taken[:, mirror] - lower[mirror]) < _ON_LINE_M, mirror] = lower[mirror]
    stays = (np.arange(len(taken)) < fixed) | np.any((taken == lower) | (taken == upper), axis=1)
    return _smoothed(taken, stays, [rings[0] for rings in rims])


def rim_middles(rim_m: FloatArray) -> FloatArray:
    """Middles of the sides of a rim: no other point may come near, or triangles would not follow the rim."""
    middles: FloatArray = (rim_m + np.roll(rim_m, -1, axis=0)) / 2
    return middles


def away_from_rims(
    place_m: FloatArray, stays: NDArray[np.bool_], rims_m: list[FloatArray]
) -> NDArray[np.bool_]:
    """Tell which points may be kept: all that stay, and no free one inside the circle about a side of a rim."""
    keep = np.ones(len(place_m), dtype=bool)
    for rim in rims_m:
        half = np.linalg.norm(rim - np.roll(rim, -1, axis=0), axis=1).max() / 2
        keep &= cKDTree(rim_middles(rim)).query(place_m)[0] > _CLEAR * half
    return keep | stays


def _line(
    bounds_m: tuple[FloatArray, FloatArray], mirror: int, wanted: Callable[[FloatArray], FloatArray]
) -> FloatArray:
    """Points on a mirror line, as far apart as the sizes wanted there."""
    lower, upper = bounds_m
    along = 1 - mirror
    place = [lower]
    while place[-1][along] < upper[along]:
        step = np.zeros(2)
        step[along] = wanted(place[-1][None])[0]
        place.append(place[-1] + step)
    line = np.array(place)
    line[:, along] -= lower[along]
    line[:, along] *= (upper[along] - lower[along]) / line[-1, along]
    line[:, along] += lower[along]
    return line[1:-1]


def _gaps(place: FloatArray, wanted: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """Middles of sides that are much longer than wanted, no two of them close together."""
    triangle = Delaunay(place).simplices
    side = np.unique(
        np.sort(np.concatenate([triangle[:, [0, 1]], triangle[:, [1, 2]], triangle[:, [2, 0]]])), axis=0
    )
    start, end = place[side[:, 0]], place[side[:, 1]]
    middle = (start + end) / 2
    over = np.linalg.norm(end - start, axis=1) / wanted(middle)
    middle = middle[np.argsort(-over, kind="stable")][: int(np.sum(over > _TOO_LONG))]
    apart = cKDTree(place).query(middle)[0] > ROOM * wanted(middle)
    kept: list[FloatArray] = []
    for point, size in zip(middle[apart], wanted(middle[apart]), strict=True):
        if all(np.linalg.norm(point - other) > ROOM * size for other in kept):
            kept.append(point)
    return np.array(kept).reshape(-1, 2)


def _lattice(lower_m: FloatArray, upper_m: FloatArray, size_m: float) -> FloatArray:
    """Rows of even points, every second row moved by half a step, the same from both sides."""
    rows = max(2, round((upper_m[1] - lower_m[1]) / (size_m * np.sqrt(3) / 2)) + 1)
    columns = max(2, round((upper_m[0] - lower_m[0]) / size_m) + 1)
    across = np.linspace(lower_m[0], upper_m[0], columns)
    between = (across[1:] + across[:-1]) / 2
    up = np.linspace(lower_m[1], upper_m[1], rows)
    lines = [across if row % 2 == 0 else between for row in range(rows)]
    return np.concatenate(
        [np.stack([line, np.full(line.size, z)], axis=1) for line, z in zip(lines, up, strict=True)]
    )


def _outside(place: FloatArray, discs: list[Disc]) -> FloatArray:
    within = [np.linalg.norm(place - disc.centre_m, axis=1) < disc.radius_m for disc in discs]
    outside: FloatArray = place[~np.any([np.zeros(len(place), dtype=bool), *within], axis=0)]
    return outside


def _inside(place: FloatArray, lower_m: FloatArray, upper_m: FloatArray) -> FloatArray:
    return place[np.all((place > lower_m) & (place < upper_m), axis=1)]


def _smoothed(
    place: FloatArray, stays: NDArray[np.bool_], rims: list[FloatArray]
) -> tuple[FloatArray, Indices]:
    """Move what is free to the middle of its neighbours a few times."""
    for _ in range(_ROUNDS):
        triangle = Delaunay(place).simplices
        start, end = triangle.ravel(), np.roll(triangle, 1, axis=1).ravel()
        count = np.bincount(start, minlength=len(place)) + np.bincount(end, minlength=len(place))
        middle = np.zeros_like(place)
        for axis in range(2):
            middle[:, axis] = np.bincount(start, place[end, axis], len(place))
            middle[:, axis] += np.bincount(end, place[start, axis], len(place))
        middle /= np.maximum(count, 1)[:, None]
        place = np.where(stays[:, None], place, middle)
        keep = away_from_rims(place, stays, rims)
        place, stays = place[keep], stays[keep]
    whole = Delaunay(place).simplices.astype(np.int64)
    return place, _wound(place, whole)


def _wound(place: FloatArray, triangle: Indices) -> Indices:
    """Wind counter-clockwise and leave out triangles without area."""
    first, second = (place[triangle[:, i]] - place[triangle[:, 0]] for i in (1, 2))
    turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    size: NDArray[np.float64] = np.maximum(np.sum(first**2, axis=1), np.sum(second**2, axis=1))
    triangle = np.where(turn[:, None] < 0, triangle[:, ::-1], triangle)
    return triangle[np.abs(turn) > 1e-9 * size]
