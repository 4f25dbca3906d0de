"""Reliefs on a flat face: domes, cones, flanges and waveguides, as rings about the axis of a driver."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Indices
from forehear.radiation.layout import GROWTH

FEWEST_SIDES = 12  # of a rim
_FEWEST_INSIDE = 8  # of a ring near the middle
_MOST_FOR_DETAIL = 64  # sides that a low step or a shallow wall may ask of its rim
_LONGEST_OF_DETAIL = 4.0  # sides of a rim over the height of a wall at it
_FINE = 65  # points of a curve before it is cut into rings
_TURN_RAD = 0.45  # that a curve may take from one ring to the next
_NOTHING_M = 1e-7


@dataclass(frozen=True)
class Dome:
    """A part of a sphere over the rim; a height below zero is concave."""

    height_m: float


@dataclass(frozen=True)
class Cone:
    """A straight cone behind the rim, and the dust cap that moves with it."""

    depth_m: float  # from the rim to where the cap begins
    cap_radius_m: float = 0.0  # 0: the cone ends in a point
    cap_height_m: float = 0.0  # a part of a sphere over the cap's own rim; below zero concave


@dataclass(frozen=True)
class Flange:
    """A flat rigid ring round the diaphragm, raised above the face or, below zero, recessed into it."""

    radius_m: float  # where an upright wall leads to the face
    height_m: float


@dataclass(frozen=True)
class Waveguide:
    """A rigid funnel from the rim of the diaphragm to a mouth in the face; a mouth of the same radius is a recess."""

    mouth_radius_m: float
    depth_m: float
    between_m: tuple[tuple[float, float], ...] = ()  # (radius, depth) from throat to mouth, straight between


Shape: TypeAlias = Dome | Cone | None
Around: TypeAlias = Flange | Waveguide | None


@dataclass(frozen=True, eq=False)
class Stretch:
    """A smooth part of the curve that turns about the axis."""

    curve_m: FloatArray  # [point, (radius, height above the face)] from outside inward
    moves: bool

    @property
    def length_along_m(self) -> FloatArray:
        """Way along the curve up to each of its points."""
        steps = np.linalg.norm(np.diff(self.curve_m, axis=0), axis=1)
        return np.append(0.0, np.cumsum(steps))

    @property
    def turn_rad(self) -> float:
        """How much the curve turns in all."""
        way = np.diff(self.curve_m, axis=0)
        angle = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
        return float(np.abs(np.diff(angle)).sum())


def outer_radius_m(radius_m: float, around: Around) -> float:
    """Radius of all that a driver takes of its face."""
    if isinstance(around, Flange):
        return around.radius_m
    return around.mouth_radius_m if isinstance(around, Waveguide) else radius_m


def depth_behind_m(shape: Shape, around: Around) -> float:
    """How far a relief reaches behind its face, at most."""
    rim = around.height_m if isinstance(around, Flange) else -around.depth_m if around else 0.0
    lowest = min(shape.height_m, 0.0) if isinstance(shape, Dome) else 0.0
    if isinstance(shape, Cone):
        lowest = -shape.depth_m + min(shape.cap_height_m, 0.0)
    return max(0.0, -rim, -rim - lowest)


def require_possible(what: str, radius_m: float, shape: Shape, around: Around) -> None:
    """Refuse shapes that no surface of revolution has; `what` names the driver."""
    found, cure = _wrong_around(radius_m, around)
    if not found and isinstance(shape, Dome):
        found = _too_high("dome", shape.height_m, radius_m)
        cure = "give a height between minus and plus the radius"
    elif not found and isinstance(shape, Cone):
        if not (0 <= shape.cap_radius_m < radius_m and shape.depth_m > 0):
            found = f"a cone {1000 * shape.depth_m:.1f} mm deep with a cap of {1000 * shape.cap_radius_m:.1f} mm radius"
        elif shape.cap_radius_m > 0:
            found = _too_high("dust cap", shape.cap_height_m, shape.cap_radius_m)
        cure = (
            f"give a depth above 0 and a cap below {1000 * radius_m:.1f} mm radius, no higher than its radius"
        )
    if found:
        raise SurfaceError(f"{what} of {1000 * radius_m:.1f} mm radius has {found}", cure=cure)


def _too_high(name: str, height_m: float, radius_m: float) -> str:
    over = abs(height_m) > radius_m
    return f"a {name} {1000 * height_m:.1f} mm high over a radius of {1000 * radius_m:.1f} mm" if over else ""


def _wrong_around(radius_m: float, around: Around) -> tuple[str, str]:
    if isinstance(around, Flange) and around.radius_m < radius_m:
        return f"a flange of {1000 * around.radius_m:.1f} mm radius", "give the flange the larger radius"
    if isinstance(around, Waveguide):
        throat, mouth = (radius_m, around.depth_m), (around.mouth_radius_m, 0.0)
        radius, depth = np.array([throat, *around.between_m, mouth]).T
        if np.any(np.diff(radius) < 0) or np.any(np.diff(depth) > 0) or around.depth_m <= 0:
            return (
                f"a waveguide {1000 * around.depth_m:.1f} mm deep with a mouth of "
                f"{1000 * around.mouth_radius_m:.1f} mm radius that does not widen all the way",
                "let it start at the rim, widen, and end in the face",
            )
    return "", ""


def curve_of(radius_m: float, shape: Shape, around: Around) -> list[Stretch]:
    """Curve of a driver and its surroundings from the outer rim to the middle."""
    rim = 0.0
    parts: list[tuple[FloatArray, bool]] = []
    if isinstance(around, Flange):
        rim = around.height_m
        parts.append((_line((around.radius_m, 0.0), (around.radius_m, rim)), False))
        parts.append((_line((around.radius_m, rim), (radius_m, rim)), False))
    elif isinstance(around, Waveguide):
        rim = -around.depth_m
        ways = [(around.mouth_radius_m, 0.0), *((r, -d) for r, d in around.between_m[::-1]), (radius_m, rim)]
        parts.append((np.array(ways), False))
    if isinstance(shape, Dome):
        parts.append((_arc(radius_m, rim, shape.height_m), True))
    elif isinstance(shape, Cone):
        foot = rim - shape.depth_m
        parts.append((_line((radius_m, rim), (shape.cap_radius_m, foot)), True))
        parts.append((_arc(shape.cap_radius_m, foot, shape.cap_height_m), True))
    else:
        parts.append((_line((radius_m, rim), (0.0, rim)), True))
    found = [Stretch(curve, moves) for curve, moves in parts]
    return [stretch for stretch in found if stretch.length_along_m[-1] > _NOTHING_M]


def sides_for_detail(stretches: list[Stretch]) -> int:
    """Fewest sides of the outer rim, so that triangles on low walls are not too long."""
    radius = float(stretches[0].curve_m[0, 0])
    shortest = min(float(stretch.length_along_m[-1]) for stretch in stretches)
    wanted = 2 * np.pi * radius / (_LONGEST_OF_DETAIL * shortest)
    return min(4 * int(np.ceil(wanted / 4)), _MOST_FOR_DETAIL)


def relief(
    stretches: list[Stretch], outer_sides: int, size_m: float
) -> tuple[FloatArray, Indices, NDArray[np.bool_]]:
    """Mesh what a curve sweeps about its axis.

    Rings are polygons of their circle's own area. Returns places [point, (two axes of the face, height)] about the
    middle, triangles wound counter-clockwise seen from above, and which of them move.
    """
    corner = [stretches[0].curve_m[0, 0], *(stretch.curve_m[-1, 0] for stretch in stretches)]
    sides = [outer_sides, *(_sides(float(r), size_m) if r < corner[0] else outer_sides for r in corner[1:])]
    rings = [_ring(float(corner[0]), 0.0, outer_sides)]
    triangles, moves = [], []
    first = 0
    for number, stretch in enumerate(stretches):
        for radius, height, count in _rings(stretch, (sides[number], sides[number + 1]), size_m):
            rings.append(_ring(radius, height, count))
            between = _stitched(rings[-2], rings[-1])
            triangles.append(between + first)
            moves.append(np.full(len(between), stretch.moves))
            first += len(rings[-2])
    return np.concatenate(rings), np.concatenate(triangles), np.concatenate(moves)


def _line(start: tuple[float, float], end: tuple[float, float]) -> FloatArray:
    return np.array([start, end])


def _arc(radius_m: float, rim_m: float, height_m: float) -> FloatArray:
    """Part of a circle from the rim to the axis, [point, (radius, height)]."""
    if abs(height_m) < _NOTHING_M:
        return _line((radius_m, rim_m), (0.0, rim_m))
    half = 2 * np.arctan(abs(height_m) / radius_m)
    angle = np.linspace(half, 0.0, _FINE)
    bend = radius_m / np.sin(half)
    curve = np.stack(
        [bend * np.sin(angle), rim_m + np.sign(height_m) * bend * (np.cos(angle) - np.cos(half))], axis=1
    )
    curve[-1, 0] = 0.0
    return curve


def _sides(radius_m: float, size_m: float) -> int:
    """Sides of a rim inside a relief; 1 for the middle."""
    if radius_m < _NOTHING_M:
        return 1
    return max(4 * int(np.ceil(2 * np.pi * radius_m / size_m / 4)), FEWEST_SIDES)


def _rings(stretch: Stretch, ends: tuple[int, int], size_m: float) -> list[tuple[float, float, int]]:
    """Radius, height and number of points of every ring of a stretch but the first."""
    along = stretch.length_along_m
    fine = np.linspace(0.0, along[-1], 4 * _FINE)
    radius, height = (np.interp(fine, along, stretch.curve_m[:, axis]) for axis in range(2))
    wanted = np.full(fine.size, size_m)
    for place, sides in ((0, ends[0]), (-1, ends[1])):
        if sides > 1:
            step = 2 * np.pi * radius[place] / sides
            wanted = np.minimum(wanted, step + GROWTH * np.abs(fine - fine[place]))
    dense = np.append(0.0, np.cumsum(np.diff(fine) * (1 / wanted[1:] + 1 / wanted[:-1]) / 2)) / 0.9
    steps = max(1, round(float(dense[-1])), int(np.ceil(stretch.turn_rad / _TURN_RAD)))
    at = np.interp(np.linspace(0.0, dense[-1], steps + 1)[1:], dense, fine)
    found = []
    for place in at[:-1]:
        r, h, w = (float(np.interp(place, fine, values)) for values in (radius, height, wanted))
        found.append((r, h, max(_FEWEST_INSIDE, 4 * round(2 * np.pi * r / w / 4))))
    return [*found, (float(radius[-1]), float(height[-1]), ends[1])]


def _ring(radius_m: float, height_m: float, count: int) -> FloatArray:
    """Corners of a polygon of the circle's own area; one point is the middle."""
    if count == 1:
        return np.array([[0.0, 0.0, height_m]])
    step = 2 * np.pi / count
    angle = step * np.arange(count)
    wider = radius_m * np.sqrt(step / np.sin(step))
    return np.stack([wider * np.cos(angle), wider * np.sin(angle), np.full(count, height_m)], axis=1)


def _stitched(outer: FloatArray, inner: FloatArray) -> Indices:
    """Triangles between two rings; what is done in one quarter is mirrored into the others."""
    n, m = len(outer), len(inner)
    if m == 1:
        return np.stack([np.arange(n), (np.arange(n) + 1) % n, np.full(n, n)], axis=1)
    found = []
    i = j = 0
    while i < n // 4 or j < m // 4:
        if j == m // 4 or (i < n // 4 and _apart(outer[i + 1], inner[j]) <= _apart(outer[i], inner[j + 1])):
            found.append(((0, i), (0, i + 1), (1, j)))
            i += 1
        else:
            found.append(((0, i), (1, j + 1), (1, j)))
            j += 1
    ring, place = np.moveaxis(np.array(found), 2, 0)
    whole = np.where(ring == 0, n, m)
    first = np.where(ring == 0, 0, n)
    quarters = [place, whole // 2 - place, whole // 2 + place, (whole - place) % whole]
    return np.concatenate(
        [
            (first + quarter % whole)[:, :: 1 if number % 2 == 0 else -1]
            for number, quarter in enumerate(quarters)
        ]
    )


def _apart(first: FloatArray, second: FloatArray) -> float:
    return float(np.linalg.norm(first - second))
