"""Compiled loops of the reference solver: far interactions of linear elements, sources, far field.

Only `radiation` loads this file, and only when a surface is solved. Every loop releases the lock, so that
`ground.work` can run several of them at once. Single precision throughout; exp(+jwt), G = exp(-jkr)/(4 pi r).
"""

import math
from collections.abc import Iterable
from typing import NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

LANES = 256  # outer points that are worked on side by side

Singles = NDArray[np.float32]
Complexes = NDArray[np.complex64]
Wholes = NDArray[np.uint32]

_PER_SPHERE = np.float32(1 / (4 * math.pi))
_HALF = np.float32(0.5)
_ONE = np.float32(1.0)
_EACH = np.uint64(LANES)  # a place that could lie below zero would be asked each time, and none side by side
_CORNERS, _NEXT = np.uint64(4), np.uint64(1)
_NEAREST = np.float32(1e-12)  # squared distance [m2] up to where two points are one


class Points(NamedTuple):
    """Integration points: the middles of the edges of all triangles."""

    place: Singles  # [3, point] [m]
    vector_area: Singles  # [3, point] a third of both triangles' areas along their normals [m2]
    area: Singles  # [point] a third of both triangles' areas [m2]


class Tests(NamedTuple):
    """What the outer points carry to the rows of the matrix: two ends and the corners opposite."""

    node: Wholes  # [4, point] the two ends, then the two corners opposite
    curl: Singles  # [12, point] surface curl of each one's linear function, times area; node by node [m]


class Chunk(NamedTuple):
    """Some nodes with every point and triangle that touches them: some columns of the matrix."""

    point: Wholes  # [local point] its number among all
    triangle: Wholes  # [triangle, 3] local points in the middles of its edges
    spoke: Wholes  # local points on the edges that meet in a node, node after node
    first_spoke: Wholes  # [node + 1]
    star: Wholes  # triangles round a node, node after node
    curl: Singles  # [3, star] surface curl of the node's linear function there, times a third of the area [m]
    first_star: Wholes  # [node + 1]


class Wave(NamedTuple):
    """Wavenumber, coupling and mirror of one pass."""

    wavenumber: np.float32  # k [1/m]
    coupling: np.float32  # Burton-Miller coupling is -j times this [m]
    mirror: Singles  # [3] +1 or -1 an axis: where the inner points really stand
    sign: np.float32  # what the mirror does to the pressure


def room_needed(chunks: Iterable[Chunk]) -> int:
    """How many numbers `assemble` must have room for, whichever of the chunks it is given."""
    return 4 * LANES * max(chunk.point.size for chunk in chunks)


@numba.njit(inline="always", fastmath=True)  # type: ignore[untyped-decorator,unused-ignore]
def sine_and_cosine(x: np.float32) -> tuple[np.float32, np.float32]:
    """Sine and cosine without a branch, good to 1e-6 (1 + |x|/50) up to |x| = 1000."""
    turns = np.floor(x * np.float32(0.3183098861837907) + _HALF)
    rest = x - turns * np.float32(3.140625)
    rest = (rest - turns * np.float32(9.67502593994140625e-4)) - turns * np.float32(1.509957990978376432e-7)
    flip = _ONE - np.float32(2) * (turns - np.float32(2) * np.floor(turns * _HALF))
    square = rest * rest
    odd = np.float32(-1.981087162e-04) + square * np.float32(2.608454067e-06)
    odd = np.float32(-1.666666028e-01) + square * (np.float32(8.333084395e-03) + square * odd)
    even = np.float32(2.476165569e-05) - square * np.float32(2.607348008e-07)
    even = np.float32(4.166664026e-02) + square * (np.float32(-1.388839835e-03) + square * even)
    sine = flip * (rest + rest * square * odd)
    return sine, flip * (_ONE + square * (np.float32(-4.999999954e-01) + square * even))


@numba.njit(fastmath=True, nogil=True, error_model="numpy")  # type: ignore[untyped-decorator,unused-ignore]
def _inner_point(
    outer: Singles,
    inner: tuple[np.float32, ...],
    k: np.float32,
    coupling: np.float32,
    into: Singles,
    local: int,
) -> None:
    """Green's function, and the double layer with the normals' part of the hypersingular, at `LANES` points.

    `outer` is [7, lane]: place, vector area, area; fills `into`, [4, local point, lane].
    """
    px, py, pz, mx, my, mz = inner
    both = coupling * k * k
    for lane in range(_EACH):
        dx, dy, dz = px - outer[0, lane], py - outer[1, lane], pz - outer[2, lane]
        square = dx * dx + dy * dy + dz * dz
        apart = _ONE if square > _NEAREST else np.float32(0)
        inverse = apart / math.sqrt(square + np.float32(1e-20))
        kr = k * square * inverse
        sine, cosine = sine_and_cosine(kr)
        scale = _PER_SPHERE * inverse
        re = scale * cosine
        im = -scale * sine - (_ONE - apart) * _PER_SPHERE * k
        # double layer: -(1 + jkr) (d.n_y) exp(-jkr)/(4 pi r^3), and its sign in the matrix is minus
        slope = (dx * mx + dy * my + dz * mz) * inverse * inverse * outer[6, lane]
        normals = both * (outer[3, lane] * mx + outer[4, lane] * my + outer[5, lane] * mz)
        into[0, local, lane] = re
        into[1, local, lane] = im
        into[2, local, lane] = slope * (re - kr * im) - normals * im
        into[3, local, lane] = slope * (im + kr * re) + normals * re


@numba.njit(fastmath=True, nogil=True, error_model="numpy")  # type: ignore[untyped-decorator,unused-ignore]
def _column(node: int, chunk: Chunk, wave: Wave, values: Singles, column: Singles) -> None:
    """Sum over a node's edges and triangles: [8, lane] double layer, then the three parts of the curl."""
    column[:] = np.float32(0)
    half = _HALF * wave.sign
    for place in range(chunk.first_spoke[node], chunk.first_spoke[node + 1]):
        spoke = chunk.spoke[place]
        for lane in range(_EACH):
            column[0, lane] += half * values[2, spoke, lane]
            column[1, lane] += half * values[3, spoke, lane]
    # a mirror turns a curl about: it is the cross product of a normal and a slope
    scale = wave.coupling * wave.sign * wave.mirror[0] * wave.mirror[1] * wave.mirror[2]
    for place in range(chunk.first_star[node], chunk.first_star[node + 1]):
        triangle = chunk.star[place]
        a, b, c = chunk.triangle[triangle, 0], chunk.triangle[triangle, 1], chunk.triangle[triangle, 2]
        cx = scale * wave.mirror[0] * chunk.curl[0, place]
        cy = scale * wave.mirror[1] * chunk.curl[1, place]
        cz = scale * wave.mirror[2] * chunk.curl[2, place]
        for lane in range(_EACH):
            re = values[0, a, lane] + values[0, b, lane] + values[0, c, lane]
            im = values[1, a, lane] + values[1, b, lane] + values[1, c, lane]
            column[2, lane] += cx * im
            column[3, lane] -= cx * re
            column[4, lane] += cy * im
            column[5, lane] -= cy * re
            column[6, lane] += cz * im
            column[7, lane] -= cz * re


@numba.njit(fastmath=True, nogil=True, error_model="numpy")  # type: ignore[untyped-decorator,unused-ignore]
def _scatter(tests: Tests, column: Singles, row: Complexes, spare: Singles) -> None:
    """Take the outer points' values to the nodes: each end gets half, every corner its curl."""
    node, curl = tests.node, tests.curl
    for corner in range(_CORNERS):
        x, y, z = 3 * corner, 3 * corner + _NEXT, 3 * corner + _NEXT + _NEXT
        half = _HALF if corner < 2 else np.float32(0)
        for lane in range(_EACH):
            cx, cy, cz = curl[x, lane], curl[y, lane], curl[z, lane]
            re = cx * column[2, lane] + cy * column[4, lane] + cz * column[6, lane]
            im = cx * column[3, lane] + cy * column[5, lane] + cz * column[7, lane]
            spare[0, lane] = half * column[0, lane] + re
            spare[1, lane] = half * column[1, lane] + im
        for lane in range(_EACH):
            row[node[corner, lane]] += complex(spare[0, lane], spare[1, lane])


@numba.njit(fastmath=True, nogil=True, error_model="numpy", cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def assemble(
    outer: Points, tests: Tests, chunk: Chunk, wave: Wave, room: Singles, columns: Complexes
) -> None:
    """Add what the nodes of a chunk send to every node, [node of the chunk, node].

    `room` is for as many numbers as `room_needed` tells. Works on copies of the outer points: threads that count
    their hold of the same arrays wait for each other.
    """
    values = room[: 4 * chunk.point.size * LANES].reshape((4, chunk.point.size, LANES))
    column, spare = np.empty((8, LANES), np.float32), np.empty((2, LANES), np.float32)
    own, carried = np.empty((7, LANES), np.float32), np.empty((12, LANES), np.float32)
    own_tests = Tests(np.empty((4, LANES), np.uint32), carried)
    flip = wave.mirror
    for start in range(0, outer.area.size, LANES):
        for lane in range(LANES):  # in loops: whole arrays at once would take 4 s to compile
            point = start + lane
            for axis in range(3):
                own[axis, lane], own[3 + axis, lane] = (
                    outer.place[axis, point],
                    outer.vector_area[axis, point],
                )
            own[6, lane] = outer.area[point]
            for row in range(4):
                own_tests.node[row, lane] = tests.node[row, point]
            for row in range(12):
                carried[row, lane] = tests.curl[row, point]
        for local in range(np.uint64(chunk.point.size)):
            f = chunk.point[local]
            inner = (
                flip[0] * outer.place[0, f],
                flip[1] * outer.place[1, f],
                flip[2] * outer.place[2, f],
                flip[0] * outer.vector_area[0, f],
                flip[1] * outer.vector_area[1, f],
                flip[2] * outer.vector_area[2, f],
            )
            _inner_point(own, inner, wave.wavenumber, wave.coupling, values, local)
        for node in range(chunk.first_spoke.size - 1):
            _column(node, chunk, wave, values, column)
            _scatter(own_tests, column, columns[node], spare)


@numba.njit(fastmath=True, nogil=True, error_model="numpy", cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def radiate(outer: Points, place: Singles, flow: Singles, wave: Wave, potential: Singles) -> None:
    """Add -(V + beta K') of points of unit normal slope, [re or im, outer point]; `flow` is area times slope."""
    x, y, z = outer.place[0], outer.place[1], outer.place[2]
    nx, ny, nz = outer.vector_area[0], outer.vector_area[1], outer.vector_area[2]
    area, total_re, total_im = outer.area, potential[0], potential[1]
    k = wave.wavenumber
    for f in range(flow.size):
        px, py, pz = (
            place[0, f] * wave.mirror[0],
            place[1, f] * wave.mirror[1],
            place[2, f] * wave.mirror[2],
        )
        strength = flow[f] * wave.sign * _PER_SPHERE
        for i in range(area.size):
            dx, dy, dz = px - x[i], py - y[i], pz - z[i]
            square = dx * dx + dy * dy + dz * dz
            apart = _ONE if square > _NEAREST else np.float32(0)
            inverse = apart / math.sqrt(square + np.float32(1e-20))
            kr = k * square * inverse
            sine, cosine = sine_and_cosine(kr)
            re = strength * inverse * cosine
            im = -strength * (inverse * sine + (_ONE - apart) * k)
            slope = wave.coupling * (dx * nx[i] + dy * ny[i] + dz * nz[i]) * inverse * inverse
            total_re[i] -= area[i] * re + slope * (im + kr * re)
            total_im[i] -= area[i] * im - slope * (re - kr * im)


@numba.njit(fastmath=True, nogil=True, error_model="numpy", cache=True)  # type: ignore[untyped-decorator,unused-ignore]
def phases(place: Singles, direction: Singles, wavenumber: np.float32, into: Complexes) -> None:
    """Phase exp(+jk d.y) of every point toward every direction, [direction, point]."""
    x, y, z = place[0], place[1], place[2]
    for d in range(direction.shape[0]):
        ux, uy, uz = wavenumber * direction[d, 0], wavenumber * direction[d, 1], wavenumber * direction[d, 2]
        row = into[d]
        for f in range(x.size):
            sine, cosine = sine_and_cosine(ux * x[f] + uy * y[f] + uz * z[f])
            row[f] = complex(cosine, sine)
