"""Meshes of a capsule: an upright cylinder with half balls as ends, round drivers on it anywhere."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Elements, Indices
from forehear.radiation.layout import GROWTH, ROOM, away_from_rims, rim_middles
from forehear.radiation.meshing import Mesh
from forehear.radiation.meshing_relief import FEWEST_SIDES
from forehear.radiation.meshing_sphere import hull

_ROUNDS = 8  # of moving free points to the middle of their neighbours
_GOLDEN_RAD = np.pi * (3 - np.sqrt(5))
_WIDEST = 0.98  # of the capsule's radius, for the radius of a driver or of a ring about it
_LONGEST = 12.0  # radii of the straight part: beyond, points of the ends come too close once unrolled
_HALVINGS = 60
_POLE = 1 - 1e-15


@dataclass(frozen=True)
class CapsulePiston:
    """A round driver that bends with the capsule and moves along its own axis, which starts on the capsule's."""

    height_m: float  # where its axis starts, from the middle
    azimuth_rad: float  # 0 is forward, positive toward the listener's right
    radius_m: float
    elevation_rad: float = 0.0

    @property
    def axis(self) -> FloatArray:
        """Direction in which it moves."""
        level = np.cos(self.elevation_rad)
        return np.array(
            [
                level * np.cos(self.azimuth_rad),
                level * np.sin(self.azimuth_rad),
                np.sin(self.elevation_rad),
            ]
        )

    @property
    def start_m(self) -> FloatArray:
        """Where its axis starts."""
        return np.array([0.0, 0.0, self.height_m])

    def holds(self, place_m: FloatArray) -> NDArray[np.bool_]:
        """Tell which points lie in the cylinder about its axis, ahead of where it starts."""
        about = place_m - self.start_m
        along = about @ self.axis
        aside = np.linalg.norm(about - along[:, None] * self.axis, axis=1)
        held: NDArray[np.bool_] = (along > 0) & (aside < self.radius_m)
        return held

    def sides(self, element_m: float) -> int:
        """How many sides the rim gets."""
        return max(4 * int(np.ceil(2 * np.pi * self.radius_m / element_m / 4)), FEWEST_SIDES)


@dataclass(frozen=True)
class _Capsule:
    radius_m: float
    half_m: float  # of the straight part

    def core(self, place: FloatArray) -> FloatArray:
        """Nearest points on the line within."""
        return np.stack(
            [0 * place[:, 0], 0 * place[:, 0], np.clip(place[:, 2], -self.half_m, self.half_m)], axis=1
        )

    def outside_m(self, place: FloatArray) -> FloatArray:
        """Distance from the surface, below zero inside."""
        away: FloatArray = np.linalg.norm(place - self.core(place), axis=1) - self.radius_m
        return away

    def onto(self, place: FloatArray) -> FloatArray:
        """Points of the surface next to points."""
        core = self.core(place)
        out = place - core
        near: FloatArray = core + self.radius_m * out / np.linalg.norm(out, axis=1, keepdims=True)
        return near

    def on_ball(self, place: FloatArray) -> FloatArray:
        """Take points of the surface to a ball so that small circles stay circles: triangles there are good here."""
        core = self.core(place)
        out = (place - core) / self.radius_m
        up = np.tanh(core[:, 2] / self.radius_m + np.arctanh(np.clip(out[:, 2], -_POLE, _POLE)))
        turn = np.arctan2(out[:, 1], out[:, 0])
        level = np.sqrt(1 - up**2)
        return np.stack([level * np.cos(turn), level * np.sin(turn), up], axis=1)

    def even(self, element_m: float) -> FloatArray:
        """Even points: equal heights hold equal areas on a cylinder and on a ball."""
        end = self.half_m + self.radius_m
        area = 4 * np.pi * self.radius_m * end
        count = round(area * 2 / np.sqrt(3) / element_m**2)
        height = end * (1 - (2 * np.arange(count) + 1) / count)
        level = np.sqrt(self.radius_m**2 - np.maximum(np.abs(height) - self.half_m, 0.0) ** 2)
        turn = _GOLDEN_RAD * np.arange(count)
        return np.stack([level * np.cos(turn), level * np.sin(turn), height], axis=1)

    def ring(self, piston: CapsulePiston, away_m: float, count: int) -> FloatArray:
        """Points of the surface around a driver's axis, [point, 3]; those beyond the end are left out."""
        side = np.array([-np.sin(piston.azimuth_rad), np.cos(piston.azimuth_rad), 0.0])
        turn = 2 * np.pi * np.arange(count)[:, None] / count
        start = piston.start_m + away_m * (np.cos(turn) * side + np.sin(turn) * np.cross(piston.axis, side))
        start = start[self.outside_m(start) < 0]
        near, far = np.zeros(len(start)), np.full(len(start), 2 * (self.half_m + self.radius_m))
        for _ in range(_HALVINGS):
            middle = (near + far) / 2
            out = self.outside_m(start + middle[:, None] * piston.axis) > 0
            near, far = np.where(out, near, middle), np.where(out, middle, far)
        found: FloatArray = start + near[:, None] * piston.axis
        return found


def capsule_surface(
    radius_m: float, length_m: float, pistons: Sequence[CapsulePiston], element_m: float
) -> Mesh:
    """Mesh an upright capsule about the origin, `length_m` its straight part, so that it holds the true volume.

    Examples
    --------
    A capsule of 0.2 m across and 0.5 m high in all:

    >>> mesh = capsule_surface(0.1, 0.3, [CapsulePiston(0.05, 0.0, 0.06)], 0.04)
    >>> corner = mesh.vertices_m[mesh.triangles]
    >>> volume = np.einsum("ti,ti->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])) / 6
    >>> print(f"{1000 * volume:.3f} litres")
    13.614 litres
    """
    if not (radius_m > 0 and 0 <= length_m <= _LONGEST * radius_m and element_m > 0):
        raise SurfaceError(
            f"a capsule of {radius_m:.3f} m radius has a straight part of {length_m:.3f} m "
            f"in triangles of {element_m:.3f} m",
            cure=f"give a straight part from 0 to {_LONGEST:.0f} radii, and triangles above zero",
        )
    shape = _Capsule(radius_m, length_m / 2)
    place, triangle, grown = _meshed(shape, pistons, min(element_m, radius_m))
    if pistons:  # growing moved the rims: once more with rims that it moves where they belong
        inward = [
            replace(piston, height_m=piston.height_m / grown, radius_m=piston.radius_m / grown)
            for piston in pistons
        ]
        place, triangle, grown = _meshed(shape, inward, min(element_m, radius_m))
    source, velocity = _motion(Elements(place * grown, triangle), pistons)
    return Mesh(place * grown, triangle, source, velocity)


def _meshed(
    shape: _Capsule, pistons: Sequence[CapsulePiston], element_m: float
) -> tuple[FloatArray, Indices, float]:
    """Mesh with corners on the capsule, and how much it must grow to hold the true volume."""
    rims = [_rim(shape, number, pistons, element_m) for number in range(len(pistons))]
    place, fixed = _points(shape, pistons, rims, element_m)
    for _ in range(_ROUNDS):
        place = _towards_neighbours(shape, place, fixed)
        place = place[away_from_rims(place, np.arange(len(place)) < fixed, rims)]
    triangle = hull(shape.on_ball(place))
    elements = Elements(place, triangle)
    volume = float(np.einsum("ti,ti->", elements.corner_m[:, 0], elements.vector_area_m2)) / 3
    exact = np.pi * shape.radius_m**2 * (2 * shape.half_m + 4 / 3 * shape.radius_m)
    return place, triangle, float(exact / volume) ** (1 / 3)


def _rim(shape: _Capsule, number: int, pistons: Sequence[CapsulePiston], element_m: float) -> FloatArray:
    """Points on a rim: corners of a polygon of the driver's own area, seen along its axis."""
    piston = pistons[number]
    sides = piston.sides(element_m)
    step = 2 * np.pi / sides
    rim = shape.ring(piston, piston.radius_m * float(np.sqrt(step / np.sin(step))), sides)
    told = f"driver {number} of {1000 * piston.radius_m:.1f} mm radius at a height of {1000 * piston.height_m:.1f} mm"
    if not 0 < piston.radius_m <= _WIDEST * shape.radius_m or len(rim) < sides:
        raise SurfaceError(
            f"{told} lies off the surface of a capsule of {1000 * shape.radius_m:.1f} mm radius, "
            f"{2000 * (shape.half_m + shape.radius_m):.1f} mm high",
            cure="move it toward the middle, or make it smaller",
        )
    for other, second in enumerate(pistons[:number]):
        own = shape.ring(second, second.radius_m, second.sides(element_m))
        if second.holds(rim).any() or piston.holds(own).any():
            raise SurfaceError(f"{told} overlaps driver {other}", cure="move them apart, or make one smaller")
    return rim


def _points(
    shape: _Capsule, pistons: Sequence[CapsulePiston], rims: list[FloatArray], element_m: float
) -> tuple[FloatArray, int]:
    """Points of the surface, and how many of them, the rims', must stay."""
    even = shape.even(element_m)
    if not pistons:
        return even, 0
    step = [float(np.linalg.norm(rim - np.roll(rim, 1, axis=0), axis=1).mean()) for rim in rims]
    trees = [cKDTree(rim) for rim in rims]

    def wanted(place: FloatArray) -> FloatArray:
        size = np.full(len(place), element_m)
        for s, tree in zip(step, trees, strict=True):
            size = np.minimum(size, s + GROWTH * tree.query(place)[0])
        return size

    clear = np.concatenate([rim_middles(rim) for rim in rims])
    taken = np.concatenate(rims)
    fixed = len(taken)
    rings = [
        ring for piston, s in zip(pistons, step, strict=True) for ring in _rings(shape, piston, s, element_m)
    ]
    for group in [*rings, even]:
        apart, _ = cKDTree(np.concatenate([taken, clear])).query(group)
        taken = np.concatenate([taken, group[apart > ROOM * wanted(group)]])
    return taken, fixed


def _rings(shape: _Capsule, piston: CapsulePiston, step_m: float, element_m: float) -> list[FloatArray]:
    """Rings inside a rim, its middle, and rings outside until they are as coarse as the rest."""
    layers = max(1, round(piston.radius_m / step_m / 0.9))
    away = [piston.radius_m * layer / layers for layer in range(layers - 1, -1, -1)]
    found = [shape.ring(piston, r, max(1, round(2 * np.pi * r / step_m))) for r in away]
    radius, wanted = piston.radius_m, step_m
    while wanted < element_m:
        radius += 0.87 * wanted
        if radius > _WIDEST * shape.radius_m:
            break
        wanted = min(step_m + GROWTH * (radius - piston.radius_m), element_m)
        found.append(shape.ring(piston, radius, round(2 * np.pi * radius / wanted)))
    return found


def _towards_neighbours(shape: _Capsule, place: FloatArray, fixed: int) -> FloatArray:
    """Move what is free to the middle of its neighbours."""
    triangle = hull(shape.on_ball(place))
    total, count = np.zeros_like(place), np.zeros(len(place))
    for turn in (1, 2):
        np.add.at(total, triangle, place[np.roll(triangle, turn, axis=1)])
        np.add.at(count, triangle, 1.0)
    moved = shape.onto(total / count[:, None])
    moved[:fixed] = place[:fixed]
    return moved


def _motion(elements: Elements, pistons: Sequence[CapsulePiston]) -> tuple[Indices, FloatArray]:
    """Which driver moves each triangle, and how fast along its normal: each driver moves its own area of air."""
    source = np.full(len(elements.triangle), -1, dtype=np.int64)
    velocity = np.ones(len(source))
    middle = elements.corner_m.mean(axis=1)
    for number, piston in enumerate(pistons):
        mine = piston.holds(middle)
        source[mine] = number
        along = elements.vector_area_m2[mine] @ piston.axis
        whole = np.pi * piston.radius_m**2 / float(along.sum())
        velocity[mine] = whole * along / elements.area_m2[mine]
    return source, velocity
