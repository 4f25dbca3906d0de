"""Meshes of a box with sharp, rounded or chamfered edges, round drivers with or without relief on its faces."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Indices
from forehear.radiation.layout import Disc, mesh_face
from forehear.radiation.meshing_edges import Edges, bent, border_points, cuts
from forehear.radiation.meshing_relief import (
    FEWEST_SIDES,
    Around,
    Shape,
    Stretch,
    curve_of,
    depth_behind_m,
    outer_radius_m,
    relief,
    require_possible,
    sides_for_detail,
)
from forehear.radiation.surface import Surface

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
    """A round driver in a face of a box, moving along the normal of the face; flat unless it has a shape."""

    centre_m: tuple[float, float]  # from the middle of the face along its two axes, (y, z) on the front
    radius_m: float  # of what moves
    face: Face = Face.FRONT
    shape: Shape = None
    around: Around = None
    velocity_profile: tuple[float, ...] = ()  # at equal steps from the middle to the rim; empty: 1 all over

    @property
    def outer_radius_m(self) -> float:
        """Radius of all that it takes of its face."""
        return outer_radius_m(self.radius_m, self.around)

    @property
    def relief(self) -> list[Stretch]:
        """Curve of what is not flat in the face; empty where all is."""
        if self.shape is None and self.around is None:
            return []
        return curve_of(self.radius_m, self.shape, self.around)

    def velocity_at(self, away_m: FloatArray) -> FloatArray:
        """Velocity along the axis at distances from it, re that of the driver."""
        if not self.velocity_profile:
            return np.ones(away_m.shape)
        place = np.linspace(0.0, self.radius_m, len(self.velocity_profile))
        velocity: FloatArray = np.interp(away_m, place, self.velocity_profile)
        return velocity


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles, which driver moves them (-1: none), and how fast along their normals when it moves at 1 m/s."""

    vertices_m: FloatArray  # [vertex, 3]
    triangles: Indices  # [triangle, 3]
    source_of_triangle: Indices  # [triangle]
    velocity_of_triangle: FloatArray = field(default_factory=lambda: np.ones(0))  # [triangle], 1 unless given

    def __post_init__(self) -> None:
        if not self.velocity_of_triangle.size:
            object.__setattr__(self, "velocity_of_triangle", np.ones(len(self.triangles)))

    @cached_property
    def surface(self) -> Surface:
        """The surface of it, checked."""
        return Surface(self.vertices_m, self.triangles, self.source_of_triangle, self.velocity_of_triangle)


def box_surface(
    size_m: tuple[float, float, float],
    pistons: Sequence[Piston],
    element_m: float,
    *,
    edge_radius_m: float = 0.0,
    chamfer_m: float = 0.0,
) -> Mesh:
    """Mesh a box (width, height, depth) whose front lies in x = 0 about the origin, with drivers on its faces.

    Rims are polygons of the drivers' own area. A layout that is its own mirror image left to right gives a mesh
    that is, too. Edges bend the outermost `edge_radius_m` of every face, or the outermost `chamfer_m`, where the
    faces next to each other are joined by a flat of 45 degrees. What a driver's relief adds to or takes from the
    box is meshed after it; what then crosses is found when the surface is checked.

    Examples
    --------
    A dome moves no more air than a flat piston of its radius:

    >>> from forehear.radiation import Dome
    >>> mesh = box_surface((0.2, 0.3, 0.2), [Piston((0.0, 0.05), 0.02, shape=Dome(0.008))], 0.05)
    >>> flow = mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s[:, 0]
    >>> print(f"{1e4 * flow:.4f} cm2, {1e4 * np.pi * 0.02**2:.4f} cm2")
    12.5664 cm2, 12.5664 cm2
    """
    width, height, depth = size_m
    size = np.array([depth, width, height])
    edges = Edges(max(edge_radius_m, chamfer_m), chamfer_m > 0)
    _require_box(size_m, element_m, edge_radius_m, chamfer_m)
    for number, piston in enumerate(pistons):
        _require_on_face(number, piston, size, edges.reach_m)
    _require_apart(pistons)
    half = _mirrored(pistons)
    parts = [
        _face(face, size, edges, ([p for p in pistons if p.face is face], element_m, half))
        for face in Face
        if not (half and face is Face.LEFT)
    ]
    place, triangle = _joined(parts)
    if half:
        flip = np.array([1.0, -1.0, 1.0])
        place, triangle = _joined([(place, triangle), (place * flip, triangle[:, ::-1])])
    source = _sources(place, triangle, pistons, size)
    _require_whole_pistons(place, triangle, source, pistons)
    place = bent(place, size, edges)
    place, triangle, source = _with_reliefs((place, triangle, source), pistons, size, element_m)
    velocity = _velocities(place, triangle, source, pistons)
    place[:, 0] -= depth / 2
    return Mesh(place, triangle, source, velocity)


def _require_box(
    size_m: tuple[float, float, float], element_m: float, edge_radius_m: float, chamfer_m: float
) -> None:
    width, height, depth = size_m
    reach, kind = max((edge_radius_m, "radius"), (chamfer_m, "chamfer"))
    if min(size_m) <= 2 * reach or min(element_m, min(size_m)) <= 0 or min(edge_radius_m, chamfer_m) < 0:
        raise SurfaceError(
            f"a box of {width:.3f} x {height:.3f} x {depth:.3f} m has no room for edges of {reach:.3f} m "
            f"{kind} in triangles of {element_m:.3f} m",
            cure=f"give an edge {kind} below half the smallest side, and triangles above zero",
        )
    if edge_radius_m > 0 and chamfer_m > 0:
        raise SurfaceError(
            f"edges have a radius of {1000 * edge_radius_m:.1f} mm and a chamfer of {1000 * chamfer_m:.1f} mm",
            cure="give one of them",
        )


def _require_on_face(number: int, piston: Piston, size: FloatArray, reach_m: float) -> None:
    require_possible(f"piston {number}", piston.radius_m, piston.shape, piston.around)
    room = [size[axis] / 2 - reach_m for axis in piston.face.across]
    radius = piston.outer_radius_m
    over = max(abs(c) + radius - r for c, r in zip(piston.centre_m, room, strict=True))
    if over > 0 or piston.radius_m <= 0:
        raise SurfaceError(
            f"piston {number} of {1000 * radius:.1f} mm radius reaches {1000 * over:.1f} mm over the flat "
            f"part of the {piston.face.name.lower()}",
            cure="move it inward, or make it smaller",
        )
    depth, room_m = depth_behind_m(piston.shape, piston.around), float(size[piston.face.axis])
    if depth >= room_m:
        raise SurfaceError(
            f"piston {number} reaches {1000 * depth:.1f} mm behind the {piston.face.name.lower()}, through a box "
            f"{1000 * room_m:.1f} mm thick there",
            cure="make it shallower, or the box deeper",
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
    own = {_told_apart(piston, piston.face, piston.centre_m) for piston in pistons}
    for piston in pistons:
        first, second = piston.centre_m
        centre = (first, second)
        if piston.face in (Face.FRONT, Face.REAR):
            centre = (-first, second)
        elif piston.face in (Face.TOP, Face.BOTTOM):
            centre = (first, -second)
        face = swap.get(piston.face, piston.face)
        if _told_apart(piston, face, centre) not in own:
            return False
    return True


def _told_apart(piston: Piston, face: Face, centre_m: tuple[float, float]) -> tuple[object, ...]:
    """Tell pistons apart but for rounding."""
    lengths = tuple(round(length / _SAME_M) for length in (*centre_m, piston.radius_m))
    return face, *lengths, piston.shape, piston.around, piston.velocity_profile


def _face(
    face: Face, size: FloatArray, edges: Edges, what: tuple[list[Piston], float, bool]
) -> tuple[FloatArray, Indices]:
    """Mesh one face about the middle of the box; of a symmetric layout only the right half."""
    pistons, element_m, half = what
    first, second = face.across
    upper = np.array([size[first], size[second]]) / 2
    lower = -upper
    lines = [cuts(float(size[axis]), edges, element_m) for axis in (first, second)]
    mirror = face.across.index(1) if half and 1 in face.across else None
    if mirror is not None:
        lower[mirror] = 0.0
        lines[mirror] = lines[mirror][lines[mirror] >= 0]
    border = border_points(lines, upper - edges.reach_m, edges, mirror)
    discs = [
        Disc(
            piston.centre_m,
            piston.outer_radius_m,
            _fewest_sides(piston, pistons, upper - edges.reach_m, mirror),
        )
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
    radius = piston.outer_radius_m
    gaps = [end - abs(c) - radius for c, end in zip(piston.centre_m, upper, strict=True)]
    gaps += [_between(piston, other) for other in others if other is not piston]
    if mirror is not None and (aside := abs(piston.centre_m[mirror]) - radius) > 0:
        gaps.append(aside)
    gap = max(min(gaps), radius * _SMALLEST_GAP)
    detail = sides_for_detail(piston.relief) if piston.relief else FEWEST_SIDES
    return max(FEWEST_SIDES, detail, 4 * int(np.ceil(2 * np.pi * radius / gap / 4)))


def _between(first: Piston, second: Piston) -> float:
    """Gap between two pistons of one face, below zero where they overlap [m]."""
    return math.dist(first.centre_m, second.centre_m) - first.outer_radius_m - second.outer_radius_m


def _joined(parts: list[tuple[FloatArray, Indices]]) -> tuple[FloatArray, Indices]:
    """Join meshes; points that coincide become one, and those that no triangle has go."""
    place = np.concatenate([part[0] for part in parts])
    first = np.cumsum([0, *(len(part[0]) for part in parts[:-1])])
    triangle = np.concatenate([part[1] + start for part, start in zip(parts, first, strict=True)])
    pairs = cKDTree(place).query_pairs(1e-7, output_type="ndarray")
    number = np.arange(len(place))
    np.minimum.at(number, pairs[:, 1], pairs[:, 0])
    used, number = np.unique(number[triangle], return_inverse=True)
    return place[used], number.reshape(-1, 3)


def _sources(place: FloatArray, triangle: Indices, pistons: Sequence[Piston], size: FloatArray) -> Indices:
    """Tell which piston each triangle of a box about its middle belongs to."""
    centre = place[triangle].mean(axis=1)
    source = np.full(len(triangle), -1, dtype=np.int64)
    for number, piston in enumerate(pistons):
        axis, end = piston.face.value
        on_face = np.abs(centre[:, axis] - end * size[axis] / 2) < _SAME_M
        away = np.linalg.norm(centre[:, list(piston.face.across)] - piston.centre_m, axis=1)
        source[on_face & (away < piston.outer_radius_m)] = number
    return source


def _require_whole_pistons(
    place: FloatArray, triangle: Indices, source: Indices, pistons: Sequence[Piston]
) -> None:
    """Triangles must cover each piston exactly, or they do not follow its rim."""
    corner = place[triangle]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1) / 2
    for number, piston in enumerate(pistons):
        covered = area[source == number].sum() / (np.pi * piston.outer_radius_m**2)
        if abs(covered - 1) > _WHOLE:
            raise SurfaceError(
                f"triangles cover {100 * covered:.1f} % of piston {number}: its rim is too close to an edge "
                "or to another rim",
                cure="leave more room around it, or use smaller triangles",
            )


def _with_reliefs(
    flat: tuple[FloatArray, Indices, Indices], pistons: Sequence[Piston], size: FloatArray, element_m: float
) -> tuple[FloatArray, Indices, Indices]:
    """Put reliefs in the place of the flat discs that follow their outer rims."""
    place, triangle, source = flat
    raised = [number for number, piston in enumerate(pistons) if piston.relief]
    if not raised:
        return flat
    keep = ~np.isin(source, raised)
    parts, sources = [(place, triangle[keep])], [source[keep]]
    for number in raised:
        piston = pistons[number]
        disc = triangle[source == number]
        way = np.sort(np.stack([disc, np.roll(disc, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
        rim = int(np.sum(np.unique(way, axis=0, return_counts=True)[1] == 1))
        patch, patch_triangle, moves = relief(piston.relief, rim, element_m)
        axis, end = piston.face.value
        full = np.zeros((len(patch), 3))
        full[:, list(piston.face.across)] = patch[:, :2] + piston.centre_m
        full[:, axis] = end * (size[axis] / 2 + patch[:, 2])
        handed = (-1 if axis == 1 else 1) * end
        parts.append((full, patch_triangle[:, ::handed]))
        sources.append(np.where(moves, number, -1))
    whole, joined = _joined(parts)
    return whole, joined, np.concatenate(sources)


def _velocities(
    place: FloatArray, triangle: Indices, source: Indices, pistons: Sequence[Piston]
) -> FloatArray:
    """Work out the normal velocity of every triangle when its piston moves along its axis, [triangle]."""
    corner = place[triangle]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    velocity = np.ones(len(triangle))
    for number, piston in enumerate(pistons):
        mine = source == number
        axis, end = piston.face.value
        away = np.linalg.norm(
            corner[mine].mean(axis=1)[:, list(piston.face.across)] - piston.centre_m, axis=1
        )
        velocity[mine] = end * normal[mine, axis] * piston.velocity_at(away)
    return velocity
