"""Meshes of a sphere with round caps whose rims the triangles follow: what exact series can be held against."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, cKDTree

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Elements, Indices
from forehear.radiation.layout import GROWTH, ROOM, away_from_rims, rim_middles
from forehear.radiation.meshing import Mesh

_FEWEST_SIDES = 12  # of a rim
_BLOWN_UP = 8  # triangles of side s keep the volume of the unit sphere with corners 1 + s^2/8 from its middle
_ROUNDS = 4  # of new triangles; free points are moved to the middle of their neighbours twice in each
_GOLDEN_RAD = np.pi * (3 - np.sqrt(5))


@dataclass(frozen=True)
class Cap:
    """A round part of a sphere."""

    axis: tuple[float, float, float]  # unit vector through its middle
    half_angle_rad: float  # from there to the rim

    def sides(self, step_rad: float) -> int:
        """How many sides the rim gets."""
        return max(round(2 * np.pi * float(np.sin(self.half_angle_rad)) / step_rad), _FEWEST_SIDES)

    def step_rad(self, step_rad: float) -> float:
        """Length of one side of the rim on a sphere of radius 1."""
        return float(2 * np.pi * np.sin(self.half_angle_rad)) / self.sides(step_rad)

    def rim(self, step_rad: float) -> FloatArray:
        """Points on the rim, [point, 3]: corners of a polygon of the cap's own area once the sphere is blown up."""
        sides = self.sides(step_rad)
        turn = 2 * np.pi / sides
        wider = np.sqrt(turn / np.sin(turn)) / (1 + step_rad**2 / _BLOWN_UP)
        sine = wider * np.sin(self.half_angle_rad)
        angle = self.half_angle_rad if sine > 1 else float(np.arcsin(sine))
        return self._ring(np.pi - angle if np.cos(self.half_angle_rad) < 0 and sine <= 1 else angle, sides)

    def rings(self, step_rad: float) -> list[FloatArray]:
        """Rings inside the rim, the middle, and rings outside until they are as coarse as the rest."""
        step = self.step_rad(step_rad)
        layers = max(1, round(self.half_angle_rad / step / 0.9))
        angles = self.half_angle_rad * np.arange(layers - 1, -1, -1) / layers
        found = [self._ring(angle, round(2 * np.pi * np.sin(angle) / step)) for angle in angles]
        angle, wanted = self.half_angle_rad, step
        while True:
            angle += 0.87 * wanted
            wanted = min(step + GROWTH * (angle - self.half_angle_rad), step_rad)
            if angle > np.pi - wanted:
                return found
            found.append(self._ring(angle, round(2 * np.pi * np.sin(angle) / wanted)))
            if wanted >= step_rad:
                return found

    def wanted(self, unit: FloatArray, step_rad: float) -> FloatArray:
        """Size of triangles at points of the sphere, [point]."""
        away = np.abs(np.arccos(np.clip(unit @ self.axis, -1.0, 1.0)) - self.half_angle_rad)
        size: FloatArray = np.minimum(self.step_rad(step_rad) + GROWTH * away, step_rad)
        return size

    def _ring(self, angle_rad: float, count: int) -> FloatArray:
        axis = np.array(self.axis)
        side = np.eye(3)[int(np.argmin(np.abs(axis)))]
        first = np.cross(axis, side)
        first /= np.linalg.norm(first)
        turn = 2 * np.pi * np.arange(max(count, 1))[:, None] / max(count, 1)
        around = np.cos(turn) * first + np.sin(turn) * np.cross(axis, first)
        ring: FloatArray = np.cos(angle_rad) * axis + np.sin(angle_rad) * around
        return ring


def sphere_surface(radius_m: float, caps: Sequence[Cap], element_m: float) -> Mesh:
    """Mesh a sphere about the origin with caps; its corners stand a little out, so that it holds the true volume."""
    step = min(element_m / radius_m, 1.0)
    for number, cap in enumerate(caps):
        _require_apart(number, caps)
        if not 0 < cap.half_angle_rad < np.pi or abs(np.linalg.norm(cap.axis) - 1) > 1e-9:
            raise SurfaceError(
                f"cap {number} has a half angle of {np.degrees(cap.half_angle_rad):.1f} degrees about {cap.axis}",
                cure="give an angle between 0 and 180 degrees and a unit vector",
            )
    unit, locked = _points(caps, step)
    for _ in range(_ROUNDS):
        unit = _towards_neighbours(unit, locked)
        unit = unit[away_from_rims(unit, np.arange(len(unit)) < locked, [cap.rim(step) for cap in caps])]
    triangle = hull(unit)
    centre = unit[triangle].mean(axis=1)
    centre /= np.linalg.norm(centre, axis=1, keepdims=True)
    source = np.full(len(triangle), -1, dtype=np.int64)
    for number, cap in enumerate(caps):
        source[centre @ cap.axis > np.cos(cap.half_angle_rad)] = number
    elements = Elements(unit, triangle)
    volume = float(np.einsum("ti,ti->", elements.corner_m[:, 0], elements.vector_area_m2)) / 3
    return Mesh(radius_m * unit * (4 * np.pi / 3 / volume) ** (1 / 3), triangle, source)


def _require_apart(number: int, caps: Sequence[Cap]) -> None:
    """Caps must not overlap."""
    cap = caps[number]
    for other in caps[:number]:
        between = float(np.arccos(np.clip(np.dot(cap.axis, other.axis), -1.0, 1.0)))
        if between < cap.half_angle_rad + other.half_angle_rad:
            raise SurfaceError(
                f"cap {number} overlaps another by "
                f"{np.degrees(cap.half_angle_rad + other.half_angle_rad - between):.1f} degrees",
                cure="move the caps apart",
            )


def _points(caps: Sequence[Cap], step: float) -> tuple[FloatArray, int]:
    """Points on the unit sphere, and how many of them, the rims', must stay."""
    count = round(8 * np.pi / np.sqrt(3) / step**2)
    height = 1 - (2 * np.arange(count) + 1) / count
    turn = _GOLDEN_RAD * np.arange(count)
    level = np.sqrt(1 - height**2)
    even = np.stack([level * np.cos(turn), level * np.sin(turn), height], axis=1)
    if not caps:
        return even, 0
    rims = [cap.rim(step) for cap in caps]
    clear = np.concatenate([rim_middles(rim) for rim in rims])
    taken = np.concatenate(rims)
    locked = len(taken)
    for group in [*(ring for cap in caps for ring in cap.rings(step)), even]:
        wanted = np.min([cap.wanted(group, step) for cap in caps], axis=0)
        apart, _ = cKDTree(np.concatenate([taken, clear])).query(group)
        taken = np.concatenate([taken, group[apart > ROOM * wanted]])
    return taken, locked


def hull(unit: FloatArray) -> Indices:
    """Return triangles between points of a sphere, wound counter-clockwise seen from outside."""
    triangle = ConvexHull(unit).simplices.astype(np.int64)
    first, second, third = (unit[triangle[:, i]] for i in range(3))
    inward = np.einsum("ti,ti->t", first, np.cross(second, third)) < 0
    wound: Indices = np.where(inward[:, None], triangle[:, ::-1], triangle)
    return wound


def _towards_neighbours(unit: FloatArray, locked: int) -> FloatArray:
    """Move what is free to the middle of its neighbours, twice between the same triangles."""
    triangle = hull(unit)
    corner, beside = triangle.ravel(), np.roll(triangle, 1, axis=1).ravel()
    for _ in range(2):
        middle = np.stack([np.bincount(corner, along[beside], len(unit)) for along in unit.T], axis=1)
        middle[:locked] = unit[:locked]
        unit = middle / np.linalg.norm(middle, axis=1, keepdims=True)
    return unit
