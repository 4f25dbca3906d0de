"""Meshes of the shapes we make first: a box with sharp or rounded edges, flat round pistons on its faces."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Indices
from forehear.radiation.layout import Disc, mesh_face

_FEWEST_SIDES = 12  # of a rim
_SMALLEST_GAP = 0.05  # of the radius: a rim is not made finer than for this gap to its neighbours
_WHOLE = 1e-6  # how near to its own area the triangles of a piston must come
_SAME_M = 1e-9


class Face(Enum):
    """A side of a box: the axis it is square to, and toward which end; left and right as a listener sees them."""

    FRONT = (0, 1)
    REAR = (0, -1)
    RIGHT = (1, 1)
    LEFT = (1, -1)
    TOP = (2, 1)
    BOTTOM = (2, -1)

    @property
    def axis(self) -> int:
        """The axis that the face is square to."""
        return self.value[0]

    @property
    def across(self) -> tuple[int, int]:
        """The two axes in the face, the lower first."""
        first, second = (axis for axis in range(3) if axis != self.axis)
        return first, second


@dataclass(frozen=True)
class Piston:
    """A flat round piston in a face of a box."""

    centre_m: tuple[float, float]  # from the middle of the face along its two axes, (y, z) on the front
    radius_m: float
    face: Face = Face.FRONT


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles, and which piston or cap moves them (-1: none)."""

    vertices_m: FloatArray  # [vertex, 3]
    triangles: Indices  # [triangle, 3]
    source_of_triangle: Indices  # [triangle]


def box_surface(
    size_m: tuple[float, float, float],
    pistons: Sequence[Piston],
    element_m: float,
    *,
    edge_radius_m: float = 0.0,
) -> Mesh:
    """Mesh a box (width, height, depth) whose front lies in x = 0 about the origin, with flat pistons.

    Rims are polygons of the pistons' own area. A layout that is its own mirror image left to right gives a mesh
    that is, too. Rounded edges bend the outermost `edge_radius_m` of every face.
    """
    width, height, depth = size_m
    size = np.array([depth, width, height])
    if min(size_m) <= 2 * edge_radius_m or element_m <= 0:
        raise SurfaceError(
            f"a box of {width:.3f} x {height:.3f} x {depth:.3f} m has no room for edges of {edge_radius_m:.3f} m "
            f"radius in triangles of {element_m:.3f} m",
            cure="give an edge radius below half the smallest side, and triangles above zero",
        )
    for number, piston in enumerate(pistons):
        _require_on_face(number, piston, size, edge_radius_m)
    _require_apart(pistons)
    half = _mirrored(pistons)
    cuts = [_cuts(length, edge_radius_m, element_m) for length in size]
    parts = [
        _face(
            face,
            size,
            cuts,
            ([piston for piston in pistons if piston.face is face], edge_radius_m, element_m, half),
        )
        for face in Face
        if not (half and face is Face.LEFT)
    ]
    place, triangle = _joined(parts)
    if half:
        flip = np.array([1.0, -1.0, 1.0])
        place, triangle = _joined([(place, triangle), (place * flip, triangle[:, ::-1])])
    source = _sources(place, triangle, pistons, size)
    _require_whole_pistons(place, triangle, source, pistons)
    place = _rounded(place, size, edge_radius_m)
    place[:, 0] -= depth / 2
    return Mesh(place, triangle, source)


def _require_on_face(number: int, piston: Piston, size: FloatArray, edge_radius_m: float) -> None:
    room = [size[axis] / 2 - edge_radius_m for axis in piston.face.across]
    over = max(abs(c) + piston.radius_m - r for c, r in zip(piston.centre_m, room, strict=True))
    if over > 0 or piston.radius_m <= 0:
        raise SurfaceError(
            f"piston {number} of {1000 * piston.radius_m:.1f} mm radius reaches {1000 * over:.1f} mm over the flat "
            f"part of the {piston.face.name.lower()}",
            cure="move it inward, or make it smaller",
        )


def _require_apart(pistons: Sequence[Piston]) -> None:
    for (number, first), (other, second) in combinations(enumerate(pistons), 2):
        if first.face is second.face and (over := -_between(first, second)) > 0:
            raise SurfaceError(
                f"pistons {number} and {other} overlap by {1000 * over:.1f} mm",
                cure="move them apart, or make one smaller",
            )


def _mirrored(pistons: Sequence[Piston]) -> bool:
    """Tell whether the layout is its own mirror image left to right."""
    swap = {Face.LEFT: Face.RIGHT, Face.RIGHT: Face.LEFT}
    own = {_rounded_off(piston.face, piston.centre_m, piston.radius_m) for piston in pistons}
    for piston in pistons:
        first, second = piston.centre_m
        centre = (first, second)
        if piston.face in (Face.FRONT, Face.REAR):
            centre = (-first, second)
        elif piston.face in (Face.TOP, Face.BOTTOM):
            centre = (first, -second)
        face = swap.get(piston.face, piston.face)
        if _rounded_off(face, centre, piston.radius_m) not in own:
            return False
    return True


def _rounded_off(face: Face, centre_m: tuple[float, float], radius_m: float) -> tuple[Face, int, int, int]:
    first, second, radius = (round(length / _SAME_M) for length in (*centre_m, radius_m))
    return face, first, second, radius


def _cuts(length_m: float, edge_radius_m: float, element_m: float) -> FloatArray:
    """Cut one edge of the box: bends by themselves, an even number of steps between them."""
    flat = length_m / 2 - edge_radius_m
    steps = max(1, int(np.ceil(flat / element_m)))
    half = np.linspace(0.0, flat, steps + 1)
    if edge_radius_m > 0:
        bends = max(1, int(np.ceil(np.pi / 4 * edge_radius_m / element_m)))
        half = np.append(half, flat + edge_radius_m * np.arange(1, bends + 1) / bends)
    return np.append(-half[:0:-1], half)


def _face(
    face: Face,
    size: FloatArray,
    cuts: list[FloatArray],
    what: tuple[list[Piston], float, float, bool],
) -> tuple[FloatArray, Indices]:
    """Mesh one face about the middle of the box; of a symmetric layout only the right half."""
    pistons, edge_radius_m, element_m, half = what
    first, second = face.across
    upper = np.array([size[first], size[second]]) / 2
    lower = -upper
    lines = [cuts[first], cuts[second]]
    mirror = face.across.index(1) if half and 1 in face.across else None
    if mirror is not None:
        lower[mirror] = 0.0
        lines[mirror] = lines[mirror][lines[mirror] >= 0]
    border = _border(lines, upper - edge_radius_m, edge_radius_m, mirror)
    discs = [
        Disc(piston.centre_m, piston.radius_m, _fewest_sides(piston, pistons, upper - edge_radius_m, mirror))
        for piston in pistons
    ]
    place, triangle = mesh_face(border, (lower, upper), discs, element_m, mirror)
    full = np.zeros((len(place), 3))
    full[:, face.axis] = face.value[1] * size[face.axis] / 2
    full[:, first], full[:, second] = place[:, 0], place[:, 1]
    handed = -1 if face.axis == 1 else 1  # x cross z points to -y
    return full, triangle if handed * face.value[1] > 0 else triangle[:, ::-1]


def _fewest_sides(piston: Piston, others: list[Piston], upper: FloatArray, mirror: int | None) -> int:
    """Sides of a rim that are no longer than the gap to its neighbours, so that triangles can follow it."""
    gaps = [end - abs(c) - piston.radius_m for c, end in zip(piston.centre_m, upper, strict=True)]
    gaps += [_between(piston, other) for other in others if other is not piston]
    if mirror is not None and (aside := abs(piston.centre_m[mirror]) - piston.radius_m) > 0:
        gaps.append(aside)
    gap = max(min(gaps), piston.radius_m * _SMALLEST_GAP)
    return max(_FEWEST_SIDES, 4 * int(np.ceil(2 * np.pi * piston.radius_m / gap / 4)))


def _between(first: Piston, second: Piston) -> float:
    """Gap between two pistons of one face, below zero where they overlap [m]."""
    return math.dist(first.centre_m, second.centre_m) - first.radius_m - second.radius_m


def _border(
    lines: list[FloatArray], flat_m: FloatArray, edge_radius_m: float, mirror: int | None
) -> FloatArray:
    """Points that a face must hold: its outline but for a mirror line, and a grid where it will bend."""
    across, up = (grid.ravel() for grid in np.meshgrid(*lines, indexing="ij"))
    outside = np.zeros(across.shape, dtype=bool)
    for axis, place in enumerate((across, up)):
        outside |= place == lines[axis][-1]
        if axis != mirror:
            outside |= place == lines[axis][0]
    if edge_radius_m > 0:
        outside |= (np.abs(across) > flat_m[0] - _SAME_M) | (np.abs(up) > flat_m[1] - _SAME_M)
    border: FloatArray = np.stack([across, up], axis=1)[outside]
    return border


def _joined(parts: list[tuple[FloatArray, Indices]]) -> tuple[FloatArray, Indices]:
    """Join meshes; points that coincide become one."""
    place = np.concatenate([part[0] for part in parts])
    first = np.cumsum([0, *(len(part[0]) for part in parts[:-1])])
    triangle = np.concatenate([part[1] + start for part, start in zip(parts, first, strict=True)])
    pairs = cKDTree(place).query_pairs(1e-7, output_type="ndarray")
    number = np.arange(len(place))
    np.minimum.at(number, pairs[:, 1], pairs[:, 0])
    used, number = np.unique(number, return_inverse=True)
    return place[used], number[triangle]


def _sources(place: FloatArray, triangle: Indices, pistons: Sequence[Piston], size: FloatArray) -> Indices:
    """Tell which piston each triangle of a box about its middle belongs to."""
    centre = place[triangle].mean(axis=1)
    source = np.full(len(triangle), -1, dtype=np.int64)
    for number, piston in enumerate(pistons):
        axis, end = piston.face.value
        on_face = np.abs(centre[:, axis] - end * size[axis] / 2) < _SAME_M
        away = np.linalg.norm(centre[:, list(piston.face.across)] - piston.centre_m, axis=1)
        source[on_face & (away < piston.radius_m)] = number
    return source


def _require_whole_pistons(
    place: FloatArray, triangle: Indices, source: Indices, pistons: Sequence[Piston]
) -> None:
    """Triangles must cover each piston exactly, or they do not follow its rim."""
    corner = place[triangle]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) / 2
    for number, piston in enumerate(pistons):
        covered = area[source == number].sum() / (np.pi * piston.radius_m**2)
        if abs(covered - 1) > _WHOLE:
            raise SurfaceError(
                f"triangles cover {100 * covered:.1f} % of piston {number}: its rim is too close to an edge "
                "or to another rim",
                cure="leave more room around it, or use smaller triangles",
            )


def _rounded(place: FloatArray, size: FloatArray, edge_radius_m: float) -> FloatArray:
    """Bend the edges of a sharp box about its middle: every point goes to the edge radius from the box within."""
    if edge_radius_m <= 0:
        return place
    within = size / 2 - edge_radius_m
    nearest = np.clip(place, -within, within)
    out = place - nearest
    bent: FloatArray = nearest + edge_radius_m * out / np.linalg.norm(out, axis=1, keepdims=True)
    return bent
