"""Boxes and rectangles in the room: how deep one goes into another, and how far a point is from one."""

import itertools
from dataclasses import dataclass

import numpy as np

from forehear.design.brief import Placement, Reflector
from forehear.design.design import Cabinet
from forehear.design.geometry import speaker_axes
from forehear.ground.arrays import FloatArray, locked

PARALLEL = 1e-9  # the cross product of two edges shorter than this is no direction


@dataclass(frozen=True, eq=False)
class Box:
    """A box anywhere in the room; a rectangle where one half size is 0.

    Columns of `axes` are the directions of its edges; `half_m` is half its size along each.
    """

    middle_m: FloatArray
    axes: FloatArray
    half_m: FloatArray

    def __post_init__(self) -> None:
        locked(self, "middle_m", (3,), "x, y, z")
        locked(self, "axes", (3, 3), "room axis x edge")
        locked(self, "half_m", (3,), "edges")

    def corners_m(self) -> FloatArray:
        """Return the corners in room axes, [corner, 3]."""
        signs = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))
        corners: FloatArray = self.middle_m + signs * self.half_m @ self.axes.T
        return corners


def box_of_cabinet(cabinet: Cabinet, placement: Placement) -> Box:
    """Return the cabinet where it stands; position is the middle of its front."""
    axes = speaker_axes(placement)
    half_m = np.array([cabinet.depth_m, cabinet.width_m, cabinet.height_m]) / 2
    return Box(np.array(placement.position_m) - half_m[0] * axes[:, 0], axes, half_m)


def box_of_reflector(reflector: Reflector) -> Box:
    """Return the rectangle of a reflector."""
    width_m, height_m = reflector.width_m / 2, reflector.height_m / 2
    half_m = ((0.0, width_m, height_m), (width_m, 0.0, height_m), (height_m, width_m, 0.0))
    facing = int(np.abs(reflector.normal).argmax())
    return Box(np.array(reflector.middle_m), np.eye(3), np.array(half_m[facing]))


def overlap_m(one: Box, other: Box) -> float:
    """Return the shortest way that parts two boxes; negative or 0 where they do not overlap [m].

    Two convex bodies are apart where some direction tells them apart; for boxes the normals of their sides and
    the cross products of their edges are enough.

    Examples
    --------
    >>> unit = Box(np.zeros(3), np.eye(3), np.full(3, 0.5))
    >>> round(overlap_m(unit, Box(np.array([0.9, 0.2, 0.0]), np.eye(3), np.full(3, 0.5))), 6)
    0.1
    """
    crossed = np.cross(one.axes.T[:, None], other.axes.T[None]).reshape(9, 3)
    length = np.linalg.norm(crossed, axis=1)
    told = length > PARALLEL
    ways = np.vstack([one.axes.T, other.axes.T, crossed[told] / length[told, None]])
    reach = np.abs(ways @ one.axes) @ one.half_m + np.abs(ways @ other.axes) @ other.half_m
    return float((reach - np.abs(ways @ (other.middle_m - one.middle_m))).min())


def distance_m(box: Box, point_m: FloatArray) -> float:
    """Return how far a point is from a box, 0 inside [m]."""
    seen = (point_m - box.middle_m) @ box.axes
    return float(np.linalg.norm(np.maximum(np.abs(seen) - box.half_m, 0.0)))
