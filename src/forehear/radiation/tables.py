"""What the compiled loops read: elements laid out as flat single-precision tables."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array

from forehear.ground.arrays import FloatArray
from forehear.radiation.elements import Elements
from forehear.radiation.kernels import LANES, Chunk, Points, Tests

NODES_OF_A_CHUNK = 48
_FAR_AWAY_M = 1e3  # where the points stand that only fill up the last block


def tables(elements: Elements) -> tuple[Points, Tests]:
    """Points of integration and what they carry to the rows of the matrix, filled up to whole blocks."""
    edges = len(elements.ends)
    room = -(-edges // LANES) * LANES
    place = np.full((3, room), _FAR_AWAY_M, dtype=np.float32)
    place[:, :edges] = elements.edge_place_m.T
    node = _corners_at_edges(elements)
    edge, mine = elements.sides[:, :, None], elements.triangle[:, None, :]  # [triangle, side, corner]
    slot = np.argmax(node[:, edge] == mine, axis=0)
    entry = np.ravel(slot * edges + edge)
    sent = np.repeat(elements.curl_m[:, None], 3, axis=1).reshape(-1, 3)
    curl = np.stack([np.bincount(entry, along, 4 * edges).reshape(4, edges) for along in sent.T], axis=1)
    points = Points(
        place,
        _filled(elements.to_edges(elements.vector_area_m2).T, room),
        _filled(elements.to_edges(elements.area_m2), room),
    )
    return points, Tests(_filled(node, room).astype(np.uint32), _filled(curl.reshape(12, edges), room))


def chunks(elements: Elements) -> list[tuple[slice, Chunk]]:
    """Cut the nodes into neighbourhoods: some columns of the matrix each, and all that touches their nodes."""
    nodes, triangles = len(elements.place_m), len(elements.triangle)
    corner = (elements.triangle.T.ravel(), np.tile(np.arange(triangles), 3))
    star = coo_array((np.ones(3 * triangles), corner), shape=(nodes, triangles)).tocsr()
    found = []
    for start in range(0, nodes, NODES_OF_A_CHUNK):
        end = min(start + NODES_OF_A_CHUNK, nodes)
        first_star, first_spoke = (table.indptr[start : end + 1] for table in (star, elements.to_nodes))
        around = star.indices[first_star[0] : first_star[-1]]
        spokes = elements.to_nodes.indices[first_spoke[0] : first_spoke[-1]]
        triangle, place = np.unique(around, return_inverse=True)
        point, side = np.unique(elements.sides[triangle], return_inverse=True)
        node = np.repeat(np.arange(start, end), np.diff(first_star))
        which = np.argmax(elements.triangle[around] == node[:, None], axis=1)
        chunk = Chunk(
            point.astype(np.uint32),
            side.reshape(-1, 3).astype(np.uint32),
            np.searchsorted(point, spokes).astype(np.uint32),
            (first_spoke - first_spoke[0]).astype(np.uint32),
            place.astype(np.uint32),
            np.ascontiguousarray(elements.curl_m[around, which].T, dtype=np.float32),
            (first_star - first_star[0]).astype(np.uint32),
        )
        found.append((slice(start, end), chunk))
    return found


def _corners_at_edges(elements: Elements) -> NDArray[np.int64]:
    """Nodes at and opposite every edge: its two ends, then one or two corners opposite, [4, edge]."""
    node = np.zeros((4, len(elements.ends)), dtype=np.int64)
    node[:2] = elements.ends.T
    edge, corner = elements.sides.T.ravel(), elements.triangle.T.ravel()
    order = np.argsort(edge, kind="stable")
    edge, corner = edge[order], corner[order]
    again = np.append(False, edge[1:] == edge[:-1])
    node[np.where(again, 3, 2), edge] = corner
    return node


def _filled(table: FloatArray | NDArray[np.int64], room: int) -> NDArray[np.float32]:
    """Fill the last axis up with zeros."""
    full = np.zeros((*table.shape[:-1], room), dtype=np.float32)
    full[..., : table.shape[-1]] = table
    return full
