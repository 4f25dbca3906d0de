"""Any closed surface from a file: read, mended or refused, refined, and drivers placed on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.elements import Elements, Indices, sides
from forehear.radiation.layout import GROWTH
from forehear.radiation.mesh_files import read_triangles
from forehear.radiation.mesh_repair import repaired
from forehear.radiation.meshing import Mesh
from forehear.radiation.refining import refined
from forehear.radiation.rims import along_rim

_SIDES = 24  # triangles along the rim of a driver, at least
_REACH = 1.5  # radii along the axis: farther the surface does not follow the rim
_OFF = 0.1  # of the radius: farther from the surface a driver is off it
_COVERED = (0.8, 1.25)  # of the circle of a driver, by triangles whose middles lie in it


@dataclass(frozen=True, eq=False)
class ImportedShape:
    """A closed surface from a file, and what was mended on the way."""

    vertices_m: FloatArray  # [vertex, 3]
    triangles: Indices  # [triangle, 3] wound outward
    repairs: tuple[str, ...]


@dataclass(frozen=True)
class Patch:
    """What a cylinder about an axis cuts out of a surface around a point: a driver, moving along the axis."""

    centre_m: tuple[float, float, float]  # on the surface, within a tenth of the radius
    radius_m: float
    axis: tuple[float, float, float] | None = None  # outward; None is square to the surface at the centre


def read_surface(path: Path | str, unit_m: float = 1e-3) -> ImportedShape:
    """Read a closed surface from an STL, PLY or 3MF file: x forward, y to the listener's right, z up.

    `unit_m` is what the numbers of STL and PLY are counted in; 3MF says so itself. Corners that coincide are joined,
    triangles without area removed, all wound outward, inner surfaces left out; open or crossing surfaces are refused.
    """
    path = Path(path)
    try:
        return ImportedShape(*repaired(*read_triangles(path, unit_m)))
    except SurfaceError as error:
        raise SurfaceError(error.what, where=path.name, cure=error.cure) from error


def imported_surface(shape: ImportedShape, drivers: Sequence[Patch], element_m: float) -> Mesh:
    """Refine a shape to triangles of about `element_m`, smaller at rims, and let drivers move parts of it.

    Triangles follow the rims; what moves is scaled to the driver's own area of air. Triangles that are smaller than
    wanted stay as they are.

    Examples
    --------
    A driver of 50 mm radius on the front of a box that came from somewhere else:

    >>> from forehear.radiation import box_surface
    >>> box = box_surface((0.2, 0.3, 0.2), [], 0.1)
    >>> shape = ImportedShape(box.vertices_m, box.triangles, ())
    >>> mesh = imported_surface(shape, [Patch((0.0, 0.0, 0.05), 0.05)], 0.05)
    >>> flow = mesh.surface.elements.area_m2 @ mesh.surface.velocity_m_s[:, 0]
    >>> print(f"{1e4 * flow:.2f} cm2, {1e4 * np.pi * 0.05**2:.2f} cm2")
    78.54 cm2, 78.54 cm2
    """
    if not element_m > 0:
        raise SurfaceError(f"triangles of {element_m:.3f} m are wanted", cure="give a size above zero")
    axes = [_axis(number, driver, shape) for number, driver in enumerate(drivers)]

    def wanted(place: FloatArray) -> FloatArray:
        size = np.full(len(place), element_m)
        for driver, axis in zip(drivers, axes, strict=True):
            along, aside = _about(driver, axis, place)
            away = np.hypot(aside - driver.radius_m, np.maximum(np.abs(along) - driver.radius_m, 0.0))
            size = np.minimum(size, 2 * np.pi * driver.radius_m / _SIDES + GROWTH * away)
        return size

    place, triangle = refined(shape.vertices_m, shape.triangles, wanted)
    for driver, axis in zip(drivers, axes, strict=True):
        place, triangle = along_rim(place, triangle, partial(_beyond, driver, axis))
    elements = Elements(place, triangle)
    source, velocity = np.full(len(triangle), -1, dtype=np.int64), np.ones(len(triangle))
    for number, (driver, axis) in enumerate(zip(drivers, axes, strict=True)):
        mine = _moved(driver, axis, elements)
        _require_alone(number, source[mine])
        source[mine] = number
        velocity[mine] = _velocity(number, driver, axis, elements, mine)
    return Mesh(place, triangle, source, velocity)


def _about(driver: Patch, axis: FloatArray, place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distances along and from the axis of a driver."""
    about = place - driver.centre_m
    along = about @ axis
    aside: FloatArray = np.linalg.norm(about - along[:, None] * axis, axis=1)
    return along, aside


def _beyond(driver: Patch, axis: FloatArray, place: FloatArray) -> FloatArray:
    """How far places lie beyond the rim; not a number far before and behind the driver."""
    along, aside = _about(driver, axis, place)
    return np.where(np.abs(along) <= _REACH * driver.radius_m, aside - driver.radius_m, np.nan)


def _axis(number: int, driver: Patch, shape: ImportedShape) -> FloatArray:
    """Direction in which a driver moves; it must lie on the surface."""
    corner = shape.vertices_m[shape.triangles]
    at = np.array(driver.centre_m, dtype=np.float64)
    away, nearest = nearest_triangle(at, corner)
    if not driver.radius_m > 0 or away > _OFF * driver.radius_m:
        x, y, z = 1000 * at
        raise SurfaceError(
            f"driver {number} of {1000 * driver.radius_m:.1f} mm radius at ({x:.1f}, {y:.1f}, {z:.1f}) mm lies "
            f"{1000 * away:.1f} mm off the surface, more than {1000 * _OFF * driver.radius_m:.1f} mm",
            cure="give a centre on the surface",
        )
    if driver.axis is None:
        axis = np.cross(corner[nearest, 1] - corner[nearest, 0], corner[nearest, 2] - corner[nearest, 0])
    else:
        axis = np.array(driver.axis, dtype=np.float64)
    length = float(np.linalg.norm(axis))
    if not (np.isfinite(length) and length > 0):
        raise SurfaceError(f"driver {number} has the axis {driver.axis}", cure="give a direction")
    unit: FloatArray = axis / length
    return unit


def nearest_triangle(at: FloatArray, corner: FloatArray) -> tuple[float, int]:
    """Distance from a point to the nearest of triangles [triangle, corner, 3], and which that is."""
    side = np.roll(corner, -1, axis=1) - corner
    to = at - corner
    square = np.maximum(np.sum(side**2, axis=2), 1e-300)
    share = np.clip(np.einsum("tci,tci->tc", to, side) / square, 0.0, 1.0)
    away = np.linalg.norm(to - share[:, :, None] * side, axis=2).min(axis=1)
    normal = np.cross(side[:, 0], side[:, 1])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    inside = np.all(np.einsum("tci,ti->tc", np.cross(side, to), normal) >= 0, axis=1)
    height = np.abs(np.einsum("ti,ti->t", to[:, 0], normal))
    away = np.where(inside, np.minimum(height, away), away)
    return float(away.min()), int(np.argmin(away))


def _moved(driver: Patch, axis: FloatArray, elements: Elements) -> NDArray[np.bool_]:
    """Triangles whose middles lie in the cylinder of a driver and that hang together with the one at its centre."""
    middle = elements.corner_m.mean(axis=1)
    within = np.flatnonzero(_beyond(driver, axis, middle) < 0)
    mine = np.zeros(len(middle), dtype=bool)
    if within.size:
        _, side = sides(elements.triangle[within])
        owner = np.repeat(np.arange(within.size), 3)
        table = coo_array((np.ones(owner.size), (owner, side.ravel()))).tocsr()
        body = connected_components(table @ table.T, directed=False)[1]
        _, start = nearest_triangle(np.array(driver.centre_m), elements.corner_m[within])
        mine[within[body == body[start]]] = True
    return mine


def _require_alone(number: int, taken: Indices) -> None:
    if np.any(taken >= 0):
        raise SurfaceError(
            f"driver {number} overlaps driver {taken[taken >= 0][0]}",
            cure="move them apart, or make one smaller",
        )


def _velocity(
    number: int, driver: Patch, axis: FloatArray, elements: Elements, mine: NDArray[np.bool_]
) -> FloatArray:
    """Work out normal velocities that move the driver's own area of air."""
    along = elements.vector_area_m2[mine] @ axis
    covered = float(along.sum()) / (np.pi * driver.radius_m**2)
    if not _COVERED[0] < covered < _COVERED[1]:
        raise SurfaceError(
            f"the surface fills {100 * covered:.0f} % of the circle of driver {number}, but it should all of it",
            cure="let the driver lie whole on the surface, facing out, with its axis square to its rim",
        )
    velocity: FloatArray = along / elements.area_m2[mine] / covered
    return velocity
