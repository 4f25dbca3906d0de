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
_ONE_POINT_M2 = 1e-12  # squared distance up to where two points are one


@numba.njit(inline="always")  # type: ignore[untyped-decorator,unused-ignore]
def dot(one: Floats, other: Floats) -> float:
    """Product of two vectors along three axes; the general one calls a library each time."""
    along: float = one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
    return along


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
def _see_corners(
    corner: Floats, normal: Floats, at: Floats, far: Floats, seen: tuple[Floats, Floats]
) -> None:
    """Distances to the corners [3, point], height over the plane, and what a solid angle's tangent is over."""
    x, y, z = at[0], at[1], at[2]
    first, second, third = corner[0], corner[1], corner[2]
    far_1, far_2, far_3 = far[0], far[1], far[2]
    height, rest = seen
    for i in range(x.size):
        ax, ay, az = first[0] - x[i], first[1] - y[i], first[2] - z[i]
        bx, by, bz = second[0] - x[i], second[1] - y[i], second[2] - z[i]
        cx, cy, cz = third[0] - x[i], third[1] - y[i], third[2] - z[i]
        a = math.sqrt(ax * ax + ay * ay + az * az)
        b = math.sqrt(bx * bx + by * by + bz * bz)
        c = math.sqrt(cx * cx + cy * cy + cz * cz)
        far_1[i], far_2[i], far_3[i] = a, b, c
        height[i] = -(ax * normal[0] + ay * normal[1] + az * normal[2])
        rest[i] = a * b * c + (ax * bx + ay * by + az * bz) * c
        rest[i] += (bx * cx + by * cy + bz * cz) * a + (cx * ax + cy * ay + cz * az) * b


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _see_side(
    start: Floats, side: Floats, at: Floats, near: tuple[Floats, Floats, Floats], into: tuple[Floats, ...]
) -> None:
    """Logarithm of a side as seen from points, how far they lie beside it, and the integral of distance along it."""
    x, y, z = at[0], at[1], at[2]
    lx, ly, lz, ux, uy, uz, length = side[0], side[1], side[2], side[3], side[4], side[5], side[6]
    sx, sy, sz = start[0], start[1], start[2]
    far_start, far_end, height = near
    logarithm, aside, radial = into
    for i in range(x.size):
        both = far_start[i] + far_end[i]
        logarithm[i] = (both + length) / max(both - length, 1e-300)
    for i in range(x.size):  # in a loop of its own, or none would be worked on side by side
        logarithm[i] = math.log(logarithm[i])
    for i in range(x.size):
        dx, dy, dz = sx - x[i], sy - y[i], sz - z[i]
        before = dx * lx + dy * ly + dz * lz
        beside = dx * ux + dy * uy + dz * uz
        aside[i] = beside
        radial[i] = (beside * beside + height[i] * height[i]) * logarithm[i]
        radial[i] = 0.5 * (radial[i] + (before + length) * far_end[i] - before * far_start[i])


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _join(
    sides: Floats, seen: tuple[Floats, Floats], parts: tuple[Floats, Floats, Floats], into: Floats
) -> None:
    """Join what the sides give: each corner's linear function falls from it toward the side opposite."""
    height, solid = seen
    logarithm, aside, radial = parts
    log_1, log_2, log_3 = logarithm[0], logarithm[1], logarithm[2]
    radial_1, radial_2, radial_3 = radial[0], radial[1], radial[2]
    whole, along = np.empty(height.size), np.empty(3)
    in_plane = _IN_PLANE * math.sqrt(sides[0, 6] / sides[0, 7])
    for i in range(height.size):
        whole[i] = aside[0, i] * log_1[i] + aside[1, i] * log_2[i] + aside[2, i] * log_3[i]
        whole[i] -= abs(height[i]) * solid[i]
    for i in range(height.size):
        solid[i] = 0.0 if abs(height[i]) < in_plane else math.copysign(solid[i], height[i])
    for b in range(3):
        side = (b + 1) % 3
        fall = _PER_SPHERE * sides[side, 7]
        for i in range(3):
            along[i] = dot(sides[side, 3:6], sides[i, 3:6])
        along_1, along_2, along_3 = along[0], along[1], along[2]
        beside, single, double = aside[side], into[b], into[3 + b]
        for i in range(height.size):
            single[i] = along_1 * radial_1[i] + along_2 * radial_2[i] + along_3 * radial_3[i]
            single[i] = fall * (beside[i] * whole[i] - single[i])
            double[i] = along_1 * log_1[i] + along_2 * log_2[i] + along_3 * log_3[i]
            double[i] = fall * (beside[i] * solid[i] + height[i] * double[i])


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def static_potentials(corner: Floats, normal: Floats, at: Floats) -> Floats:
    """Single, then double layer of the three linear functions of a triangle at points [3, point] (wilton-1984).

    Returns [6, point]. Points are worked on side by side; solid angles after van-oosterom-1983.
    """
    points = at.shape[1]
    sides = np.empty((3, 8))
    _lay_out(corner, normal, sides)
    far, height, solid = np.empty((3, points)), np.empty(points), np.empty(points)
    _see_corners(corner, normal, at, far, (height, solid))
    twice_area = sides[0, 6] / sides[0, 7]
    for i in range(points):
        solid[i] = 2 * math.atan2(abs(height[i]) * twice_area, solid[i])
    parts = np.empty((3, points)), np.empty((3, points)), np.empty((3, points))
    for side in range(3):
        near = far[side], far[(side + 1) % 3], height
        _see_side(corner[side], sides[side], at, near, (parts[0][side], parts[1][side], parts[2][side]))
    into = np.empty((6, points))
    _join(sides, (height, solid), parts, into)
    return into


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def rule_kernels(corner: Floats, normal: Floats, at: Floats) -> Floats:
    """Work out the static Green's function, then its slope, between the middles of a triangle's edges and points.

    Points are [3, point]; returns [6, point]; edge q lies opposite corner q. A point in the middle itself gets nothing.
    """
    x, y, z = at[0], at[1], at[2]
    nx, ny, nz = normal[0], normal[1], normal[2]
    into = np.empty((6, x.size))
    for q in range(3):
        start, end = corner[(q + 1) % 3], corner[(q + 2) % 3]
        mx, my, mz = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1]), 0.5 * (start[2] + end[2])
        green, slope = into[q], into[3 + q]
        for i in range(x.size):
            dx, dy, dz = mx - x[i], my - y[i], mz - z[i]
            square = dx * dx + dy * dy + dz * dz
            inverse = 1 / math.sqrt(max(square, _ONE_POINT_M2)) if square > _ONE_POINT_M2 else 0.0
            green[i] = _PER_SPHERE * inverse
            slope[i] = -_PER_SPHERE * inverse * inverse * inverse * (dx * nx + dy * ny + dz * nz)
    return into


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _points_outside(
    rows: Wholes, pair: Wholes, corner: Floats, rules: tuple[Floats, ...]
) -> tuple[Floats, Floats]:
    """Points of the rules on the outer triangles of some pairs, and the middles of their edges, [3, point] each."""
    count = 0
    for row in rows:
        count += rules[pair[row, 2]].shape[0]
    at, middle = np.empty((3, count)), np.empty((3, 3 * rows.size))
    place = 0
    for i in range(rows.size):
        own, rule = corner[pair[rows[i], 0]], rules[pair[rows[i], 2]]
        for node in range(rule.shape[0]):
            for axis in range(3):
                at[axis, place] = (
                    rule[node, 0] * own[0, axis] + rule[node, 1] * own[1, axis] + rule[node, 2] * own[2, axis]
                )
            place += 1
        for p in range(3):
            for axis in range(3):
                middle[axis, 3 * i + p] = 0.5 * (own[(p + 1) % 3, axis] + own[(p + 2) % 3, axis])
    return at, middle


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _less_rule(kernels: Floats, first: int, share: float, into: Floats) -> None:
    """Take off what the middles of the edges give: the ends of each get half, [2, 3, 3]."""
    for layer in range(2):
        for a in range(3):
            one, other = first + (a + 1) % 3, first + (a + 2) % 3
            u = share * (kernels[3 * layer, one] + kernels[3 * layer, other])
            v = share * (kernels[3 * layer + 1, one] + kernels[3 * layer + 1, other])
            w = share * (kernels[3 * layer + 2, one] + kernels[3 * layer + 2, other])
            into[layer, a, 0] -= v + w
            into[layer, a, 1] -= w + u
            into[layer, a, 2] -= u + v


@numba.njit(fastmath=False, nogil=True, cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def correct_pairs(
    some: tuple[int, int],
    close: tuple[Wholes, Wholes, Wholes],
    corner: tuple[Floats, Floats],
    shape: tuple[Floats, Floats],
    rules: tuple[Floats, ...],
    into: Floats,
) -> None:
    """Work out static single and double layers of pairs less those of the rule, [pair, 2, 3, 3].

    `some` are the first inner triangle and the one after the last. `close` is the first entry of each inner
    triangle, the pair of every entry, and the pairs [pair, 3]: outer triangle, inner triangle, which of the rules
    [node, (3 places, weight)] to use outside. `corner` are the corners of the outer and of the inner (mirrored)
    triangles, `shape` the inner ones' normals and all areas.
    """
    first, order, pair = close
    normal, area = shape
    for s in range(some[0], some[1]):
        rows = order[first[s] : first[s + 1]]
        at, middle = _points_outside(rows, pair, corner[0], rules)
        layers = static_potentials(corner[1][s], normal[s], at)
        kernels = rule_kernels(corner[1][s], normal[s], middle)
        place = 0
        for i in range(rows.size):
            t, own, rule = pair[rows[i], 0], into[rows[i]], rules[pair[rows[i], 2]]
            own[:] = 0.0
            for node in range(rule.shape[0]):
                for a in range(3):
                    weight = rule[node, 3] * rule[node, a] * area[t]
                    for b in range(3):
                        own[0, a, b] += weight * layers[b, place]
                        own[1, a, b] += weight * layers[3 + b, place]
                place += 1
            _less_rule(kernels, 3 * i, area[t] * area[s] / 36, own)  # a third of both areas, half to each end


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
                cosine = dot(normal[t], seen_normal[s])
                for b in range(3):
                    i = place[triangle[s, b]]
                    value[0, i] += double[a, b]
                    value[1, i] += whole * dot(curl[t, a], seen_curl[s, b])
                    value[2, i] += cosine * single[a, b]
