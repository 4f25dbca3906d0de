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
def _edge(start: Floats, end: Floats, normal: Floats, at: Floats, height: float) -> tuple[float, ...]:
    """One edge's share: logarithm, angle, radial part and the two components of its in-plane normal."""
    lx, ly, lz = end[0] - start[0], end[1] - start[1], end[2] - start[2]
    length = math.sqrt(lx * lx + ly * ly + lz * lz)
    lx, ly, lz = lx / length, ly / length, lz / length
    ux = ly * normal[2] - lz * normal[1]
    uy = lz * normal[0] - lx * normal[2]
    uz = lx * normal[1] - ly * normal[0]
    sx, sy, sz = start[0] - at[0], start[1] - at[1], start[2] - at[2]
    before = sx * lx + sy * ly + sz * lz
    after = before + length
    aside = sx * ux + sy * uy + sz * uz
    square = aside * aside + height * height
    near, far = math.sqrt(before * before + square), math.sqrt(after * after + square)
    if before + after >= 0:
        logarithm = math.log((far + after) / max(near + before, 1e-300))
    else:
        logarithm = math.log((near - before) / max(far - after, 1e-300))
    tall = abs(height)
    angle = math.atan2(aside * after, square + tall * far) - math.atan2(aside * before, square + tall * near)
    radial = 0.5 * (square * logarithm + after * far - before * near)
    return logarithm, angle, radial, aside, ux, uy, uz


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def static_potentials(corner: Floats, normal: Floats, at: Floats, into: Floats) -> None:
    """Single and double layer of the three linear functions of a triangle at a point, [2, 3]."""
    area2 = 0.0
    height = 0.0
    for axis in range(3):
        height += (at[axis] - corner[0, axis]) * normal[axis]
    whole = angle = 0.0
    log_x = log_y = log_z = rad_x = rad_y = rad_z = 0.0
    for side in range(3):
        logarithm, turn, radial, aside, ux, uy, uz = _edge(
            corner[side], corner[(side + 1) % 3], normal, at, height
        )
        whole += aside * logarithm
        angle += turn
        log_x, log_y, log_z = log_x + ux * logarithm, log_y + uy * logarithm, log_z + uz * logarithm
        rad_x, rad_y, rad_z = rad_x + ux * radial, rad_y + uy * radial, rad_z + uz * radial
        area2 += aside * _distance(corner[side], corner[(side + 1) % 3])
    whole -= abs(height) * angle
    in_plane = abs(height) < _IN_PLANE * math.sqrt(area2)
    solid = 0.0 if in_plane else math.copysign(angle, height)
    for b in range(3):
        first, second = corner[(b + 1) % 3], corner[(b + 2) % 3]
        ox, oy, oz = second[0] - first[0], second[1] - first[1], second[2] - first[2]
        gx = (normal[1] * oz - normal[2] * oy) / area2
        gy = (normal[2] * ox - normal[0] * oz) / area2
        gz = (normal[0] * oy - normal[1] * ox) / area2
        value = gx * (at[0] - first[0]) + gy * (at[1] - first[1]) + gz * (at[2] - first[2])
        into[0, b] = _PER_SPHERE * (value * whole + gx * rad_x + gy * rad_y + gz * rad_z)
        into[1, b] = _PER_SPHERE * (value * solid - height * (gx * log_x + gy * log_y + gz * log_z))


@numba.njit(fastmath=False, nogil=True)  # type: ignore[untyped-decorator,unused-ignore]
def _distance(first: Floats, second: Floats) -> float:
    """Distance of two points."""
    dx, dy, dz = second[0] - first[0], second[1] - first[1], second[2] - first[2]
    return math.sqrt(dx * dx + dy * dy + dz * dz)


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
    for row in range(pair.shape[0]):
        t, s = pair[row, 0], pair[row, 1]
        first, second = corner[0][t], corner[1][s]
        rule = rules[pair[row, 2]]
        into[row] = 0.0
        for node in range(rule.shape[0]):
            for axis in range(3):
                at[axis] = (
                    rule[node, 0] * first[0, axis]
                    + rule[node, 1] * first[1, axis]
                    + rule[node, 2] * first[2, axis]
                )
            static_potentials(second, normal[s], at, inside)
            for a in range(3):
                weight = rule[node, 3] * rule[node, a] * area[t]
                for b in range(3):
                    into[row, 0, a, b] += weight * inside[0, b]
                    into[row, 1, a, b] += weight * inside[1, b]
        _take_rule_off(first, second, normal[s], (area[t], area[s]), into[row])
