"""What the rule of the middles of the edges gets wrong where triangles touch or nearly do."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array

from forehear.ground.arrays import FloatArray
from forehear.ground.work import side_by_side
from forehear.radiation.elements import Elements, Indices, within_reach
from forehear.radiation.mirrors import Part
from forehear.radiation.touching import correct_pairs, sum_at_nodes

_REACH = 1.5  # of the longer longest side: centres closer than that get the closed forms
_TRIANGLES_AT_ONCE = 200

# Rules on a triangle, [point, (three shares of the corners, weight)]: degree 2 and degree 5.
_THREE = np.array([[4.0, 1.0, 1.0, 2.0], [1.0, 4.0, 1.0, 2.0], [1.0, 1.0, 4.0, 2.0]]) / 6
_A, _B, _C, _D = 0.470142064105115, 0.059715871789770, 0.101286507323456, 0.797426985353087
_SEVEN = np.array(
    [
        [1 / 3, 1 / 3, 1 / 3, 0.225],
        *([*corner, 0.132394152788506] for corner in ((_A, _A, _B), (_A, _B, _A), (_B, _A, _A))),
        *([*corner, 0.125939180544827] for corner in ((_C, _C, _D), (_C, _D, _C), (_D, _C, _C))),
    ]
)


@dataclass(frozen=True, eq=False)
class Correction:
    """Static corrections of one image, the same at every frequency."""

    double: csr_array  # [node, node] of the double layer [m2]
    curls: csr_array  # [node, node] of the single layer between surface curls [m]
    normals: csr_array  # [node, node] of the single layer times the cosine of the normals [m3]
    source: csr_array  # [node, triangle] single layer of a triangle of unit slope [m3]
    source_slope: csr_array  # [node, triangle] its slope along the normal [m2]


def corrections(part: Part, moving: Indices, threads: int) -> list[Correction]:
    """Corrections of every image; `moving` are the triangles that any source moves."""
    return [_of_image(part, mirror, moving, threads) for mirror in part.mirrors]


def _of_image(part: Part, mirror: FloatArray, moving: Indices, threads: int) -> Correction:
    elements = part.elements
    outer, inner = _close_pairs(elements, mirror)
    shared = np.all(part.on_plane | (mirror > 0)[:, None], axis=0)  # nodes that are their own image
    own = np.where(shared, np.arange(len(shared)), -1)[elements.triangle]
    touching = np.any(own[outer][:, :, None] == elements.triangle[inner][:, None, :], axis=(1, 2))
    turn = float(mirror.prod())  # a mirror turns the winding about
    normal = elements.vector_area_m2 / elements.area_m2[:, None]
    image = np.ascontiguousarray(elements.corner_m * mirror), turn * normal * mirror
    pairs = np.stack([outer, inner, touching.astype(np.int64)], axis=1)
    static = np.empty((len(pairs), 2, 3, 3))

    first = np.searchsorted(outer, np.arange(len(normal) + 1))
    order = csr_array((np.arange(len(pairs)), inner, first), shape=(len(normal),) * 2).tocsc()
    close = order.indptr.astype(np.int64), order.data, pairs

    def work(start: int) -> None:
        some = start, min(start + _TRIANGLES_AT_ONCE, len(normal))
        shape = image[1], elements.area_m2
        correct_pairs(some, close, (elements.corner_m, image[0]), shape, (_THREE, _SEVEN), static)

    side_by_side(work, range(0, len(normal), _TRIANGLES_AT_ONCE), threads)
    static[:, 1] *= turn
    curl = 3 * elements.curl_m / elements.area_m2[:, None, None]
    shape = (normal, normal * mirror), (curl, turn * mirror * curl)
    return Correction(
        *_between_nodes(elements, (outer, inner), static, shape),
        *_of_sources(elements, (outer, inner), static, moving),
    )


def _close_pairs(elements: Elements, mirror: FloatArray) -> tuple[Indices, Indices]:
    """Pairs of a triangle and a mirrored one that are close, each with its counterpart."""
    centre = elements.corner_m.mean(axis=1)
    inner, outer = within_reach(centre * mirror, centre, _REACH * elements.longest_m)
    shape = (len(centre),) * 2
    both = coo_array(
        (np.ones(2 * len(inner)), (np.append(outer, inner), np.append(inner, outer))), shape=shape
    )
    table = both.tocsr()
    return np.repeat(np.arange(len(centre)), np.diff(table.indptr)), table.indices.astype(np.int64)


def _between_nodes(
    elements: Elements,
    pair: tuple[Indices, Indices],
    static: FloatArray,
    shape: tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]],
) -> list[csr_array]:
    """Sum the three kinds of corrections at the nodes; all three have entries in the same places."""
    outer, inner = pair
    nodes, triangles = len(elements.place_m), len(elements.triangle)
    corner = elements.triangle.ravel()
    star = np.argsort(corner, kind="stable")
    first, index = np.empty(nodes + 1, dtype=np.int64), np.empty(9 * len(outer), dtype=np.int64)
    value = np.empty((3, index.size))
    sum_at_nodes(
        (np.searchsorted(corner[star], np.arange(nodes + 1)), star // 3, star % 3),
        (np.searchsorted(outer, np.arange(triangles + 1)), inner, elements.triangle),
        shape,
        static,
        (first, index, value),
    )
    index = index[: first[-1]].copy()
    return [csr_array((kind[: index.size].copy(), index, first), shape=(nodes, nodes)) for kind in value]


def _of_sources(
    elements: Elements, pair: tuple[Indices, Indices], static: FloatArray, moving: Indices
) -> list[csr_array]:
    """Corrections of what moving triangles send; the slope at the other end is the double layer read backwards."""
    outer, inner = pair
    moves = np.zeros(len(elements.triangle), dtype=bool)
    moves[moving] = True
    shape = (len(elements.place_m), len(elements.triangle))
    tables = []
    for layer, to, of in ((0, outer, inner), (1, inner, outer)):
        keep = np.flatnonzero(moves[of])
        value = static[keep, layer].sum(axis=2 - layer)
        rows, columns = elements.triangle[to[keep]].ravel(), np.repeat(of[keep], 3)
        tables.append(coo_array((value.ravel(), (rows, columns)), shape=shape).tocsr())
    return tables
