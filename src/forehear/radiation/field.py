"""Pressure at points near a solved surface: the representation formula, close triangles in closed form."""

import math

import numba
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.work import side_by_side
from forehear.radiation.elements import Elements
from forehear.radiation.touching import Floats, Wholes, dot, rule_kernels, static_potentials

_REACH = 2.5  # of the longest side: triangles whose middles are closer than that get the closed forms
_POINTS_AT_ONCE = 64
_PER_SPHERE = 1 / (4 * math.pi)
_OUTSIDE = (
    0.1  # of the whole solid angle: a point that sees more of the inside of a surface is not outside it
)


def near_field(
    elements: Elements,
    wavenumber_1_m: float,
    solved: tuple[ComplexArray, FloatArray],
    place_m: FloatArray,
    threads: int,
) -> ComplexArray:
    """Pressure that a surface alone sends to points outside it, [point, source].

    `solved` holds the pressure at the nodes [node, source] and its normal slope on the triangles [triangle, source].
    The rule of the middles of the edges; near the surface what it gets wrong of the static part is put right.
    """
    pressure, slope = solved
    at_edges = np.ascontiguousarray(elements.to_nodes.T @ pressure, dtype=np.complex128)
    flow = elements.to_edges(slope * elements.area_m2[:, None])
    area = elements.to_edges(elements.vector_area_m2)
    normal = elements.vector_area_m2 / elements.area_m2[:, None]
    corners = np.ascontiguousarray(pressure[elements.triangle], dtype=np.complex128)
    close = cKDTree(elements.corner_m.mean(axis=1))
    reach = _REACH * float(elements.longest_m.max())
    found = np.zeros((len(place_m), slope.shape[1]), dtype=np.complex128)

    def work(start: int) -> None:
        block = slice(start, start + _POINTS_AT_ONCE)
        _send(elements.edge_place_m, area, (at_edges, flow), wavenumber_1_m, place_m[block], found[block])
        near = np.asarray(close.query_ball_point(place_m[block], reach), dtype=object)
        point = np.repeat(np.arange(near.size), [len(each) for each in near])
        triangle = np.concatenate([np.asarray(each, dtype=np.int64) for each in near])
        _correct(
            np.stack([point, triangle], axis=1),
            (elements.corner_m, normal, elements.area_m2),
            (corners, np.ascontiguousarray(slope)),
            place_m[block],
            found[block],
        )

    side_by_side(work, range(0, len(place_m), _POINTS_AT_ONCE), threads)
    return found


def outside(elements: Elements, place_m: FloatArray, threads: int) -> NDArray[np.bool_]:
    """Tell which points lie outside a closed surface, by the solid angle that it fills as seen from there."""
    filled = np.zeros(len(place_m))

    def work(start: int) -> None:
        block = slice(start, start + _POINTS_AT_ONCE)
        _fill(elements.corner_m, place_m[block], filled[block])

    side_by_side(work, range(0, len(place_m), _POINTS_AT_ONCE), threads)
    out: NDArray[np.bool_] = np.abs(filled) < _OUTSIDE
    return out


@numba.njit(fastmath=True, nogil=True, error_model="numpy", cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def _send(
    place: Floats,
    area: Floats,
    strength: tuple[ComplexArray, Floats],
    wavenumber: float,
    at: Floats,
    into: ComplexArray,
) -> None:
    """Sum p dG/dn - G q over the middles of the edges, [point, source]."""
    pressure, flow = strength
    for i in range(at.shape[0]):
        for f in range(place.shape[0]):
            dx, dy, dz = at[i, 0] - place[f, 0], at[i, 1] - place[f, 1], at[i, 2] - place[f, 2]
            r = math.sqrt(dx * dx + dy * dy + dz * dz)
            kr = wavenumber * r
            green = complex(math.cos(kr), -math.sin(kr)) * (_PER_SPHERE / r)
            fall = (dx * area[f, 0] + dy * area[f, 1] + dz * area[f, 2]) / (r * r)
            slope = green * complex(fall, fall * kr)
            for source in range(into.shape[1]):
                into[i, source] += slope * pressure[f, source] - green * flow[f, source]


@numba.njit(fastmath=False, nogil=True, cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def _correct(
    pair: Wholes,
    shape: tuple[Floats, Floats, Floats],
    strength: tuple[ComplexArray, Floats],
    at: Floats,
    into: ComplexArray,
) -> None:
    """Add what the closed forms of the static layers have over the rule, for pairs of a point and a triangle."""
    corner, normal, area = shape
    pressure, slope = strength
    for row in range(pair.shape[0]):
        i, t = pair[row, 0], pair[row, 1]
        place = at[i].copy().reshape((3, 1))
        layers = static_potentials(corner[t], normal[t], place)[:, 0].copy().reshape((2, 3))
        kernels = rule_kernels(corner[t], normal[t], place)
        for q in range(3):
            for b in range(3):
                if b != q:  # a third of the area, half to each end
                    layers[0, b] -= area[t] / 6 * kernels[q, 0]
                    layers[1, b] -= area[t] / 6 * kernels[3 + q, 0]
        whole = layers[0, 0] + layers[0, 1] + layers[0, 2]
        for source in range(into.shape[1]):
            total = -whole * slope[t, source] + 0j
            for b in range(3):
                total += layers[1, b] * pressure[t, b, source]
            into[i, source] += total


@numba.njit(fastmath=False, nogil=True, cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def _fill(corner: Floats, at: Floats, into: Floats) -> None:
    """Share of the whole solid angle that a surface fills as seen from points, 1 from inside (van-oosterom-1983)."""
    to = np.empty((3, 3))
    far = np.empty(3)
    for i in range(at.shape[0]):
        for t in range(corner.shape[0]):
            for c in range(3):
                for axis in range(3):
                    to[c, axis] = corner[t, c, axis] - at[i, axis]
                far[c] = math.sqrt(to[c, 0] ** 2 + to[c, 1] ** 2 + to[c, 2] ** 2)
            a, b, c3 = to[0], to[1], to[2]
            triple = (
                a[0] * (b[1] * c3[2] - b[2] * c3[1])
                + a[1] * (b[2] * c3[0] - b[0] * c3[2])
                + a[2] * (b[0] * c3[1] - b[1] * c3[0])
            )
            rest = far[0] * far[1] * far[2]
            rest += dot(a, b) * far[2] + dot(b, c3) * far[0] + dot(c3, a) * far[1]
            into[i] += 2 * _PER_SPHERE * math.atan2(triple, rest)
