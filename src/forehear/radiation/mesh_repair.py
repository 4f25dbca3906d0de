"""Triangles as files hold them made into a closed surface, or refused with the reason."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.radiation.crossings import first_crossing
from forehear.radiation.elements import Elements, Indices
from forehear.radiation.surface import FLAT

_SAME = 1e-6  # of the size of the surface: corners closer than that are one
_FARTHEST_M = 1000.0  # from the origin
_ROUNDS = 20  # of turning sides of flat triangles
_INSIDE = 0.5  # of the whole solid angle


def repaired(place: FloatArray, triangle: Indices) -> tuple[FloatArray, Indices, tuple[str, ...]]:
    """Make a surface of loose triangles: corners joined, flat ones removed, all wound outward.

    Returns places, triangles, and what was done in words. What cannot be mended without guessing (holes, edges of three
    triangles, a surface with one side only) is refused.
    """
    _require_numbers(place, triangle)
    done: list[str] = []
    place, triangle = _joined(place, triangle, done)
    if not len(triangle):
        raise SurfaceError("no triangle of the mesh has an area", cure="write the surface out again")
    triangle = _without_flat(place, triangle, done)
    _require_closed(place, triangle)
    triangle = _wound_alike(place, triangle, done)
    _require_uncrossed(place, triangle)
    triangle = _outermost(place, triangle, done)
    used, number = np.unique(triangle, return_inverse=True)
    return place[used], number.reshape(-1, 3), tuple(done)


def solid_angles(at: FloatArray, corner: FloatArray) -> FloatArray:
    r"""Share of the whole solid angle that triangles [triangle, corner, 3] fill from a point, above zero from inside.

    .. math:: \tan\frac{\Omega}{2} =
        \frac{a \cdot (b \times c)}{|a||b||c| + (a \cdot b)|c| + (b \cdot c)|a| + (c \cdot a)|b|}

    Parameters
    ----------
    at
        The point. [m]
    corner
        Corners of the triangles. [m]

    Returns
    -------
    array
        [triangle] share of the solid angle. [-]

    Source
    ------
    van-oosterom-1983: exact for any plane triangle.

    Examples
    --------
    One eighth of all directions lies between three axes:

    >>> print(solid_angles(np.zeros(3), np.eye(3)[None]))
    [0.125]
    """
    a, b, c = (corner[:, i] - at for i in range(3))
    far = [np.linalg.norm(side, axis=1) for side in (a, b, c)]
    rest = far[0] * far[1] * far[2]
    for first, second, third in ((a, b, far[2]), (b, c, far[0]), (c, a, far[1])):
        rest = rest + np.einsum("ti,ti->t", first, second) * third
    share: FloatArray = np.arctan2(np.einsum("ti,ti->t", a, np.cross(b, c)), rest) / (2 * np.pi)
    return share


def _require_numbers(place: FloatArray, triangle: Indices) -> None:
    if not len(triangle):
        raise SurfaceError("the mesh has no triangles", cure="write the surface out again as triangles")
    if triangle.min() < 0 or triangle.max() >= len(place):
        raise SurfaceError(
            f"triangles name vertices {triangle.min()} to {triangle.max()}, but there are {len(place)}",
            cure="write the surface out again",
        )
    if not np.all(np.abs(place) < _FARTHEST_M):
        raise SurfaceError(
            f"a vertex is not a number below {_FARTHEST_M:.0f} m",
            cure="write the surface out again, or say in which unit its numbers are",
        )


def _joined(place: FloatArray, triangle: Indices, done: list[str]) -> tuple[FloatArray, Indices]:
    """Make one of corners that coincide, and leave out triangles that then are a line or stand twice."""
    close = _SAME * float(np.ptp(place, axis=0).max())
    place, same = np.unique(place, axis=0, return_inverse=True)
    pairs = cKDTree(place).query_pairs(close, output_type="ndarray")
    joined = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(place),) * 2)
    body: Indices = connected_components(joined, directed=False)[1].astype(np.int64)
    first = np.zeros(body.max() + 1, dtype=np.int64)
    first[body[::-1]] = np.arange(len(place))[::-1]
    triangle = body[same.ravel()[triangle]]
    whole = np.all(triangle != np.roll(triangle, 1, axis=1), axis=1)
    if not whole.all():
        done.append(f"left out {np.sum(~whole)} triangles without area")
    triangle = triangle[whole]
    _, once = np.unique(np.sort(triangle, axis=1), axis=0, return_index=True)
    if once.size < len(triangle):
        done.append(f"left out {len(triangle) - once.size} triangles that stood twice")
        triangle = triangle[np.sort(once)]
    return place[first], triangle


def _without_flat(place: FloatArray, triangle: Indices, done: list[str]) -> Indices:
    """Turn the longest side of each flat triangle, so that its middle corner splits the triangle beside it."""
    turned = 0
    for _ in range(_ROUNDS):
        flat = np.flatnonzero(_is_flat(place, triangle))
        if not flat.size:
            break
        triangle = triangle.copy()
        for number in flat:
            turned += _turn_longest(place, triangle, int(number))
    if turned:
        done.append(f"split {turned} triangles beside flat ones")
    left = np.flatnonzero(_is_flat(place, triangle))
    if left.size:
        x, y, z = 1000 * place[triangle[left[0]]].mean(axis=0)
        raise SurfaceError(
            f"{left.size} triangles have no area, the first near ({x:.1f}, {y:.1f}, {z:.1f}) mm",
            cure="mesh the solid again with a finer tolerance",
        )
    return triangle


def _is_flat(place: FloatArray, triangle: Indices) -> NDArray[np.bool_]:
    side = place[np.roll(triangle, -1, axis=1)] - place[triangle]
    area = np.linalg.norm(np.cross(side[:, 0], side[:, 1]), axis=1) / 2
    flat: NDArray[np.bool_] = area <= 2 * FLAT * np.max(np.sum(side**2, axis=2), axis=1)
    return flat


def _turn_longest(place: FloatArray, triangle: Indices, number: int) -> bool:
    """Give two triangles their other common side, in place; tell whether that was possible."""
    own = triangle[number]
    longest = int(np.argmax(np.linalg.norm(place[np.roll(own, -1)] - place[own], axis=1)))
    start, end, middle = own[longest], own[(longest + 1) % 3], own[(longest + 2) % 3]
    both = np.flatnonzero(np.any(triangle == start, axis=1) & np.any(triangle == end, axis=1))
    beside = both[both != number]
    if beside.size != 1:
        return False
    other = triangle[beside[0]]
    far = other[(other != start) & (other != end)][0]
    if far == middle:
        return False
    at = int(np.flatnonzero(other == start)[0])
    first, last = (start, end) if other[(at + 1) % 3] == end else (end, start)  # as the one beside it goes
    triangle[number] = (first, middle, far)
    triangle[beside[0]] = (middle, last, far)
    return True


def _sides(triangle: Indices) -> tuple[Indices, Indices, NDArray[np.bool_]]:
    """Every side of every triangle: its number among all, its triangle, and whether it goes to the higher corner."""
    start, end = triangle.T.ravel(), np.roll(triangle, -1, axis=1).T.ravel()
    pair = np.stack([np.minimum(start, end), np.maximum(start, end)], axis=1)
    number = np.unique(pair, axis=0, return_inverse=True)[1].ravel()
    return number, np.tile(np.arange(len(triangle)), 3), start < end


def _require_closed(place: FloatArray, triangle: Indices) -> None:
    side, owner, _ = _sides(triangle)
    count = np.bincount(side)
    for wrong, told, cure in (
        (
            count == 1,
            "the surface is open: {} edges belong to one triangle only",
            "close the solid before writing it out",
        ),
        (
            count > 2,
            "{} edges join more than two triangles",
            "join the bodies into one solid before writing it out",
        ),
    ):
        if wrong.any():
            first = owner[np.flatnonzero(wrong[side])[0]]
            x, y, z = 1000 * place[triangle[first]].mean(axis=0)
            raise SurfaceError(
                f"{told.format(int(wrong.sum()))}, the first near ({x:.1f}, {y:.1f}, {z:.1f}) mm", cure=cure
            )


def _wound_alike(place: FloatArray, triangle: Indices, done: list[str]) -> Indices:
    """Wind the triangles of each body alike and outward.

    Every triangle stands twice in a graph, as it is and turned; those that fit side by side hang together.
    """
    side, owner, rising = _sides(triangle)
    order = np.argsort(side, kind="stable").reshape(-1, 2)
    first, second = owner[order[:, 0]], owner[order[:, 1]]
    alike = rising[order[:, 0]] != rising[order[:, 1]]
    count = len(triangle)
    ends = (
        np.concatenate([first, first + count]),
        np.concatenate([np.where(alike, second, second + count), np.where(alike, second + count, second)]),
    )
    graph = coo_array((np.ones(2 * len(first)), ends), shape=(2 * count, 2 * count))
    group = connected_components(graph, directed=False)[1]
    if np.any(group[:count] == group[count:]):
        raise SurfaceError("the surface has one side only, like a twisted band", cure="mesh the solid again")
    turned = group[:count] > group[count:]
    triangle = np.where(turned[:, None], triangle[:, ::-1], triangle)
    body = np.minimum(group[:count], group[count:])
    corner = place[triangle]
    share = np.einsum("ti,ti->t", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])) / 6
    inward = np.bincount(body, weights=share)[body] < 0
    if np.any(turned != inward):
        done.append(f"turned {np.sum(turned != inward)} triangles to face outward")
    return np.where(inward[:, None], triangle[:, ::-1], triangle)


def _require_uncrossed(place: FloatArray, triangle: Indices) -> None:
    crossing = first_crossing(Elements(place, triangle))
    if crossing is not None:
        x, y, z = 1000 * place[triangle[crossing[0]]].mean(axis=0)
        raise SurfaceError(
            f"the surface crosses itself near ({x:.1f}, {y:.1f}, {z:.1f}) mm",
            cure="join the bodies into one solid before writing it out",
        )


def _outermost(place: FloatArray, triangle: Indices, done: list[str]) -> Indices:
    """Leave out bodies inside another: what a shell's inside does is not heard."""
    joined = coo_array(
        (np.ones(triangle.size), (triangle.ravel(), np.roll(triangle, 1, axis=1).ravel())),
        shape=(len(place),) * 2,
    )
    body = connected_components(joined, directed=False)[1][triangle[:, 0]]
    names = np.unique(body)
    inside = [
        name
        for name in names
        for other in names
        if name != other
        and solid_angles(place[triangle[body == name][0, 0]], place[triangle[body == other]]).sum() > _INSIDE
    ]
    if inside:
        done.append(f"left out {len(set(inside))} inner surfaces: only the outside radiates")
    return triangle[~np.isin(body, inside)]
