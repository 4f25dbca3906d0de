"""Whether a surface of triangles crosses itself."""

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.radiation.elements import SIDES, Elements, Indices, within_reach

_CLEAR = 1e-9  # of the size of a triangle: closer than that is touching, which is not crossing


def first_crossing(elements: Elements) -> tuple[int, int] | None:
    """Return two triangles of which one's side goes through the other, if there are any.

    Triangles with a common corner are left out, and so are triangles in one plane.
    """
    first, second = _close_apart(elements)
    for side in SIDES:
        ends = [elements.corner_m[first, corner] for corner in side]
        through = _goes_through(ends[0], ends[1], elements.corner_m[second])
        if through.any():
            place = int(np.flatnonzero(through)[0])
            return int(first[place]), int(second[place])
    return None


def _close_apart(elements: Elements) -> tuple[Indices, Indices]:
    """Pairs of triangles near enough to cross and without a common corner, each both ways round."""
    centre = elements.corner_m.mean(axis=1)
    radius = np.linalg.norm(elements.corner_m - centre[:, None], axis=2).max(axis=1)
    first, second = within_reach(centre, centre, 2 * radius)  # the larger of the two finds the smaller
    near = np.linalg.norm(centre[first] - centre[second], axis=1) < radius[first] + radius[second]
    common = (elements.triangle[first][:, :, None] == elements.triangle[second][:, None, :]).any(axis=(1, 2))
    first, second = first[near & ~common], second[near & ~common]
    return np.concatenate([first, second]), np.concatenate([second, first])


def _goes_through(start: FloatArray, end: FloatArray, corner: FloatArray) -> NDArray[np.bool_]:
    """Tell for which pairs a stretch goes through a triangle, [pair, 3], [pair, 3], [pair, corner, 3]."""
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    twice_area = np.linalg.norm(normal, axis=1)
    least = _CLEAR * twice_area**1.5
    above, below = (np.einsum("pi,pi->p", place - corner[:, 0], normal) for place in (start, end))
    parts = (np.abs(above) > least) & (np.abs(below) > least) & (above * below < 0)
    share = above / np.where(parts, above - below, 1.0)
    at = start + share[:, None] * (end - start)
    inside: NDArray[np.bool_] = parts
    for i in range(3):
        edge = corner[:, (i + 1) % 3] - corner[:, i]
        turn = np.einsum("pi,pi->p", np.cross(edge, at - corner[:, i]), normal)
        inside = inside & (
            turn > -_CLEAR * twice_area**2
        )  # where symmetry lets edges meet, that is crossing too
    return inside
