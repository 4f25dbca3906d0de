"""Compiled integrals of pairs of triangles that touch or nearly do, at zero frequency.

What is singular in the kernels does not depend on frequency: 1/(4 pi r) and its normal slope. So the pairs
are worked out once a mesh in double precision, the inner integral in closed form, and corrected by what
the rule of the middles of the edges gives for the same static kernels. Every frequency then adds the same numbers.
"""

import math

import numba
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]

_PER_SPHERE = 1 / (4 * math.pi)
_IN_PLANE = 1e-9  # height over size, from where a point lies in the triangle's own plane


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _lay_out(corner: Floats, normal: Floats, sides: Floats) -> None:
    """Lay a triangle's sides out: direction, normal in the plane, length, and that over twice the area, [3, 8]."""
    for side in range(3):
        start, end = corner[side], corner[(side + 1) % 3]
        lx, ly, lz = end[0] - start[0], end[1] - start[1], end[2] - start[2]
        length = math.sqrt(lx * lx + ly * ly + lz * lz)
        lx, ly, lz = lx / length, ly / length, lz / length
        sides[side, 0], sides[side, 1], sides[side, 2] = lx, ly, lz
        sides[side, 3] = ly * normal[2] - lz * normal[1]
        sides[side, 4] = lz * normal[0] - lx * normal[2]
        sides[side, 5] = lx * normal[1] - ly * normal[0]
        sides[side, 6] = length
    tall = 0.0  # of the last corner over the first side
    for axis in range(3):
        tall += (corner[0, axis] - corner[2, axis]) * sides[0, 3 + axis]
    for side in range(3):
        sides[side, 7] = sides[side, 6] / (tall * sides[0, 6])


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def solid_angle(to: Floats, far: Floats, triple: float) -> float:
    """Solid angle of a triangle, from its corners seen from a point [3, axis] and their triple product."""
    rest = far[0] * far[1] * far[2]
    for i in range(3):
        j = (i + 1) % 3
        rest += (to[i, 0] * to[j, 0] + to[i, 1] * to[j, 1] + to[i, 2] * to[j, 2]) * far[(i + 2) % 3]
    return 2 * math.atan2(triple, rest)


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _potentials(
    corner: Floats, normal: Floats, sides: Floats, at: Floats, spare: tuple[Floats, Floats], into: Floats
) -> None:
    """Work out what `static_potentials` does for a triangle whose sides are laid out."""
    to, far = spare
    height = 0.0
    for c in range(3):
        for axis in range(3):
            to[c, axis] = corner[c, axis] - at[axis]
        far[c] = math.sqrt(to[c, 0] * to[c, 0] + to[c, 1] * to[c, 1] + to[c, 2] * to[c, 2])
    for axis in range(3):
        height -= to[0, axis] * normal[axis]
    area2 = sides[0, 6] / sides[0, 7]
    solid = solid_angle(to, far, abs(height) * area2)
    whole = -abs(height) * solid
    log_x = log_y = log_z = rad_x = rad_y = rad_z = 0.0
    for side in range(3):
        ux, uy, uz, length = sides[side, 3], sides[side, 4], sides[side, 5], sides[side, 6]
        before = to[side, 0] * sides[side, 0] + to[side, 1] * sides[side, 1] + to[side, 2] * sides[side, 2]
        aside = to[side, 0] * ux + to[side, 1] * uy + to[side, 2] * uz
        near, beyond = far[side], far[(side + 1) % 3]
        logarithm = math.log((near + beyond + length) / max(near + beyond - length, 1e-300))
        radial = 0.5 * (
            (aside * aside + height * height) * logarithm + (before + length) * beyond - before * near
        )
        whole += aside * logarithm
        log_x, log_y, log_z = log_x + ux * logarithm, log_y + uy * logarithm, log_z + uz * logarithm
        rad_x, rad_y, rad_z = rad_x + ux * radial, rad_y + uy * radial, rad_z + uz * radial
    solid = 0.0 if abs(height) < _IN_PLANE * math.sqrt(area2) else math.copysign(solid, height)
    for b in range(3):
        side = (b + 1) % 3  # opposite; the corner's linear function falls from it toward this side
        fall = -sides[side, 7]
        gx, gy, gz = fall * sides[side, 3], fall * sides[side, 4], fall * sides[side, 5]
        value = -(gx * to[side, 0] + gy * to[side, 1] + gz * to[side, 2])
        into[0, b] = _PER_SPHERE * (value * whole + gx * rad_x + gy * rad_y + gz * rad_z)
        into[1, b] = _PER_SPHERE * (value * solid - height * (gx * log_x + gy * log_y + gz * log_z))


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def static_potentials(corner: Floats, normal: Floats, at: Floats, into: Floats) -> None:
    """Single and double layer of the three linear functions of a triangle at a point, [2, 3] (wilton-1984)."""
    sides = np.empty((3, 8))
    _lay_out(corner, normal, sides)
    _potentials(corner, normal, sides, at, (np.empty((3, 3)), np.empty(3)), into)


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _take_rule_off(
    first: Floats, second: Floats, normal: Floats, areas: tuple[float, float], into: Floats
) -> None:
    """Take off what the middles of the edges give: edge q lies opposite corner q, its ends get half each."""
    share = areas[0] * areas[1] / 36  # a third of both areas, and half to each end
    for p in range(3):
        for q in range(3):
            square = fall = 0.0
            for axis in range(3):
                d = 0.5 * (
                    second[(q + 1) % 3, axis]
                    + second[(q + 2) % 3, axis]
                    - first[(p + 1) % 3, axis]
                    - first[(p + 2) % 3, axis]
                )
                square += d * d
                fall += d * normal[axis]
            if square < 1e-12:
                continue
            single = share * _PER_SPHERE / math.sqrt(square)
            double = -single * fall / square
            for a in range(3):
                for b in range(3):
                    if a != p and b != q:
                        into[0, a, b] -= single
                        into[1, a, b] -= double


@numba.njit(fastmath=False, nogil=True, cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def correct_pairs(
    pair: Wholes,
    corner: tuple[Floats, Floats],
    normal: Floats,
    area: Floats,
    rules: tuple[Floats, ...],
    into: Floats,
) -> None:
    """Work out static single and double layers of pairs less those of the rule, [pair, 2, 3, 3].

    `pair` is [pair, 3]: outer triangle, inner triangle, which of the rules [node, (3 places, weight)] to use
    outside. `corner` are the corners of the outer and of the inner (mirrored) triangles, `normal` the inner ones'.
    """
    inside = np.empty((2, 3))
    at = np.empty(3)
    sides = np.empty((3, 8))
    spare = np.empty((3, 3)), np.empty(3)
    for row in range(pair.shape[0]):
        t, s = pair[row, 0], pair[row, 1]
        first, second = corner[0][t], corner[1][s]
        _lay_out(second, normal[s], sides)
        rule = rules[pair[row, 2]]
        into[row] = 0.0
        for node in range(rule.shape[0]):
            for axis in range(3):
                at[axis] = (
                    rule[node, 0] * first[0, axis]
                    + rule[node, 1] * first[1, axis]
                    + rule[node, 2] * first[2, axis]
                )
            _potentials(second, normal[s], sides, at, spare, inside)
            for a in range(3):
                weight = rule[node, 3] * rule[node, a] * area[t]
                for b in range(3):
                    into[row, 0, a, b] += weight * inside[0, b]
                    into[row, 1, a, b] += weight * inside[1, b]
        _take_rule_off(first, second, normal[s], (area[t], area[s]), into[row])


@numba.njit(inline="always")  # type: ignore[untyped-decorator,unused-ignore]
def _dot(one: Floats, other: Floats) -> float:
    """Product of two vectors along three axes; the general one calls a library each time."""
    along: float = one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
    return along


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _find_close(
    around: Wholes, close: tuple[Wholes, Wholes, Wholes], met: Wholes, node: int, into: Wholes
) -> int:
    """List the nodes of all triangles that are close to those round a node, each once and in order."""
    first_pair, inner, triangle = close
    count = 0
    for t in around:
        for s in inner[first_pair[t] : first_pair[t + 1]]:
            for other in triangle[s]:
                if met[other] != node:
                    met[other] = node
                    into[count] = other
                    count += 1
    into[:count].sort()
    return count


@numba.njit(fastmath=False, nogil=True, cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def sum_at_nodes(
    star: tuple[Wholes, Wholes, Wholes],
    close: tuple[Wholes, Wholes, Wholes],
    shape: tuple[tuple[Floats, Floats], tuple[Floats, Floats]],
    static: Floats,
    into: tuple[Wholes, Wholes, Floats],
) -> None:
    """Sum corrections of pairs at the nodes: double layer, single layer between curls, and single layer times cosines.

    `star` is the first entry of each node, then triangle and corner of every entry; `close` the first pair of each
    outer triangle, the inner triangle of every pair, and the nodes of the triangles; `shape` the normals, then the
    curls, of outer and inner triangles. Fills in the first entry of each node, the other node of every entry, and
    the values, [3, entry].
    """
    first_star, around, corner = star
    first_pair, inner, triangle = close
    (normal, seen_normal), (curl, seen_curl) = shape
    first, index, value = into
    nodes = first_star.size - 1
    met, place = np.full(nodes, -1), np.empty(nodes, dtype=np.int64)
    first[0] = 0
    for node in range(nodes):
        entries, start = range(first_star[node], first_star[node + 1]), first[node]
        own = around[first_star[node] : first_star[node + 1]]
        first[node + 1] = start + _find_close(own, close, met, node, index[start:])
        for i in range(start, first[node + 1]):
            place[index[i]] = i
            value[:, i] = 0.0
        for entry in entries:
            t, a = around[entry], corner[entry]
            for p in range(first_pair[t], first_pair[t + 1]):
                s = inner[p]
                single, double = static[p, 0], static[p, 1]
                whole = 0.0
                for c in range(3):
                    whole += single[c, 0] + single[c, 1] + single[c, 2]
                cosine = _dot(normal[t], seen_normal[s])
                for b in range(3):
                    i = place[triangle[s, b]]
                    value[0, i] += double[a, b]
                    value[1, i] += whole * _dot(curl[t, a], seen_curl[s, b])
                    value[2, i] += cosine * single[a, b]
