"""The flat front of a cabinet and the moving surfaces on it."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from forehear.ground.arrays import FloatArray, locked
from forehear.ground.errors import OutsideValidity


@dataclass(frozen=True, eq=False)
class Front:
    """The flat front of a cabinet, in the plane x = 0, about the origin (the reference point of the design).

    The outline is a convex polygon, its corners in the order that goes counter-clockwise for somebody who
    stands in front and looks at the speaker (so from y to z: y is to that listener's right). The side walls
    stand square to the front; its edges are sharp.
    """

    outline_m: FloatArray  # [corner, (y, z)]
    depth_m: float  # of the cabinet behind the front

    def __post_init__(self) -> None:
        locked(self, "outline_m", (-1, 2), "corners x (y, z)")
        if self.outline_m.shape[0] < 3 or not np.all(np.isfinite(self.outline_m)):
            raise ValueError(f"a front needs at least three corners, not {self.outline_m.shape[0]}")
        if not self.depth_m > 0:
            raise ValueError(f"the depth of a cabinet must be above zero, not {self.depth_m} m")
        side = np.roll(self.outline_m, -1, axis=0) - self.outline_m
        turn = _cross(side, np.roll(side, -1, axis=0))
        if np.any(turn < -1e-12) or self.area_m2 <= 0:
            raise OutsideValidity(
                "the outline of the front is not convex with corners counter-clockwise seen from in front",
                cure="list the corners in that order, and leave re-entrant corners out",
            )

    @classmethod
    def rectangle(
        cls, width_m: float, height_m: float, depth_m: float, centre_m: tuple[float, float] = (0.0, 0.0)
    ) -> Self:
        """Make a rectangular front whose centre lies at `centre_m` (y, z) from the origin."""
        half = np.array([width_m, height_m]) / 2
        corner = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        return cls(corner * half + np.asarray(centre_m), depth_m)

    @property
    def area_m2(self) -> float:
        """Area of the front [m2]."""
        return float(_cross(self.outline_m, np.roll(self.outline_m, -1, axis=0)).sum()) / 2


@dataclass(frozen=True)
class Diaphragm:
    """One moving surface in the front: a flat rigid piston, a rigid dome, or (radius 0) a point source."""

    centre_m: tuple[float, float]  # (y, z) about the origin
    radius_m: float  # effective radius; 0 is a point source that carries area_m2
    area_m2: float
    dome_height_m: float = 0.0  # 0 is flat; above 0 a rigid convex dome that moves along its axis
    set_back_m: float = 0.0  # acoustic centre this far behind the front

    def __post_init__(self) -> None:
        if self.radius_m < 0 or not self.area_m2 > 0:
            raise ValueError(f"a diaphragm of {self.radius_m} m radius and {self.area_m2} m2 cannot radiate")
        if not 0 <= self.dome_height_m <= max(self.radius_m, 0.0):
            raise OutsideValidity(
                f"a dome {self.dome_height_m} m high on {self.radius_m} m radius is over half a ball",
                cure="give a dome height between zero and the radius",
            )


def equal_volume_sphere_radius_m(front: Front) -> float:
    """Radius of the ball that holds as much as the cabinet: front area times depth.

    Examples
    --------
    >>> round(equal_volume_sphere_radius_m(Front.rectangle(0.2, 0.2, 0.2)), 4)
    0.1241
    """
    return float((3 * front.area_m2 * front.depth_m / (4 * np.pi)) ** (1 / 3))


def _cross(first: FloatArray, second: FloatArray) -> FloatArray:
    """Out-of-plane component of the cross product of vectors in the front's plane."""
    product: FloatArray = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return product
