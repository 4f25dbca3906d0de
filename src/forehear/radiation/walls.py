"""Rigid planes beside a surface: what is allowed, and what lies behind them."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.surface import RIGID, Surface

RigidPlanes: TypeAlias = tuple[tuple[int, float], ...]
"""Axis that each plane is square to, and its place on it [m]; at most one an axis."""

_TOUCHES = 1e-6  # of the size of the surface: so near it stands on the plane
_GAP = 0.25  # of the longest side: narrower gaps to a plane would be solved wrongly
_ALONG = 1e-9  # of a direction's length: so little behind a plane is along it
_NAMES = "xyz"


def require_beside(surface: Surface, planes: RigidPlanes) -> None:
    """Refuse planes that go through the surface or that a moving part lies in."""
    axes = [axis for axis, _ in planes]
    if len(set(axes)) < len(axes) or not set(axes) <= {0, 1, 2} or not np.all(np.isfinite(list(planes))):
        told = ", ".join(f"axis {axis} at {place:g} m" for axis, place in planes)
        raise SurfaceError(
            f"rigid planes are given as {told}, but each of the axes 0, 1 and 2 may have one",
            cure="leave the others out; sound between two parallel walls is the room's",
        )
    close = _TOUCHES * float(np.ptp(surface.vertices_m, axis=0).max())
    for axis, place in planes:
        away = surface.vertices_m[:, axis] - place
        through = min(float(away.max()), float(-away.min()))
        if through > close:
            raise SurfaceError(
                f"the surface reaches {1000 * through:.1f} mm through the rigid plane at "
                f"{_NAMES[axis]} = {1000 * place:.1f} mm",
                cure="move the plane or the surface, so that they touch at most",
            )
        _require_clear(surface, float(np.abs(away).min()), close, f"{_NAMES[axis]} = {1000 * place:.1f} mm")
        flush = np.all(np.abs(away[surface.triangles]) <= close, axis=1)
        moving = surface.source_of_triangle[flush & (surface.source_of_triangle != RIGID)]
        if moving.size:
            raise SurfaceError(
                f"source {moving[0]} lies in the rigid plane at {_NAMES[axis]} = {1000 * place:.1f} mm",
                cure="turn it away from the plane, or leave a gap",
            )


def _require_clear(surface: Surface, gap_m: float, close_m: float, where: str) -> None:
    """Refuse a gap that is narrow beside its triangles: the rules of integration do not hold in it."""
    longest = float(surface.elements.longest_m.max())
    if close_m < gap_m < _GAP * longest:
        raise SurfaceError(
            f"the surface stands {1000 * gap_m:.1f} mm from the rigid plane at {where}, less than a quarter of its "
            f"longest side of {1000 * longest:.1f} mm",
            cure=f"let it stand on the plane, or give triangles with sides up to {1000 * gap_m / _GAP:.1f} mm",
        )


def span_m(surface: Surface, planes: RigidPlanes) -> FloatArray:
    """Size of the surface along each axis, together with its image where it stands on a plane."""
    span: FloatArray = np.ptp(surface.vertices_m, axis=0)
    for axis, place in planes:
        touches = np.abs(surface.vertices_m[:, axis] - place).min() <= _TOUCHES * span.max()
        span[axis] *= 2 if touches else 1
    return span


def behind(surface: Surface, planes: RigidPlanes, place_m: FloatArray) -> NDArray[np.bool_]:
    """Tell which points lie behind a plane, [point]."""
    found = np.zeros(len(place_m), dtype=bool)
    for axis, place in planes:
        found |= _side(surface, axis, place) * (place_m[:, axis] - place) < 0
    return found


def directed_behind(surface: Surface, planes: RigidPlanes, unit: FloatArray) -> NDArray[np.bool_]:
    """Tell which directions lead behind a plane, [direction]."""
    found = np.zeros(len(unit), dtype=bool)
    for axis, place in planes:
        found |= _side(surface, axis, place) * unit[:, axis] < -_ALONG
    return found


def _side(surface: Surface, axis: int, place_m: float) -> float:
    return 1.0 if float(surface.vertices_m[:, axis].mean()) > place_m else -1.0
