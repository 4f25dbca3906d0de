"""A closed triangle surface as linear elements: points of integration, nodes, what touches what."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray

Indices = NDArray[np.int64]

SIDES = ((1, 2), (2, 0), (0, 1))  # the corners at the ends of the side opposite each corner


@dataclass(frozen=True, eq=False)
class Elements:
    """Triangles of a surface or of the part of it that its mirror planes leave over."""

    place_m: FloatArray  # [node, 3]
    triangle: Indices  # [triangle, 3]

    @cached_property
    def corner_m(self) -> FloatArray:
        """Corners of the triangles, [triangle, corner, 3]."""
        return self.place_m[self.triangle]

    @cached_property
    def vector_area_m2(self) -> FloatArray:
        """Area of each triangle along its outward normal, [triangle, 3]."""
        a, b, c = (self.corner_m[:, i] for i in range(3))
        return np.cross(b - a, c - a) / 2

    @cached_property
    def area_m2(self) -> FloatArray:
        """Area of each triangle."""
        length: FloatArray = np.linalg.norm(self.vector_area_m2, axis=1)
        return length

    @cached_property
    def longest_m(self) -> FloatArray:
        """Longest side of each triangle."""
        sides = [np.linalg.norm(self.corner_m[:, j] - self.corner_m[:, i], axis=1) for i, j in SIDES]
        longest: FloatArray = np.max(sides, axis=0)
        return longest

    @cached_property
    def ends(self) -> Indices:
        """The two nodes of every edge, the smaller number first, [edge, 2]."""
        return self._edges[0]

    @cached_property
    def sides(self) -> Indices:
        """Edge opposite each corner, [triangle, 3]."""
        return self._edges[1]

    @cached_property
    def _edges(self) -> tuple[Indices, Indices]:
        return sides(self.triangle)

    @cached_property
    def curl_m(self) -> FloatArray:
        """Surface curl of each corner's linear function times a third of the area, [triangle, corner, 3]."""
        return np.stack([self.corner_m[:, j] - self.corner_m[:, i] for i, j in SIDES], axis=1) / 6

    @cached_property
    def edge_place_m(self) -> FloatArray:
        """Middle of every edge, [edge, 3]."""
        middle: FloatArray = self.place_m[self.ends].mean(axis=1)
        return middle

    def to_edges(self, value: FloatArray) -> FloatArray:
        """Sum a third of what belongs to the triangles, [triangle, ...], at the edges, [edge, ...]."""
        total: FloatArray = self._thirds @ value
        return total

    @cached_property
    def _thirds(self) -> csr_array:
        """A third for every triangle at an edge, [edge, triangle]."""
        edge = self.sides.ravel()
        triangle = np.repeat(np.arange(len(self.triangle)), 3)
        shape = (len(self.ends), len(self.triangle))
        return coo_array((np.full(edge.size, 1 / 3), (edge, triangle)), shape=shape).tocsr()

    @cached_property
    def to_nodes(self) -> csr_array:
        """Half of each edge's value to both its ends, [node, edge]."""
        edge = np.arange(len(self.ends))
        half = np.full(2 * edge.size, 0.5)
        shape = (len(self.place_m), edge.size)
        return coo_array((half, (self.ends.T.ravel(), np.tile(edge, 2))), shape=shape).tocsr()

    @cached_property
    def mass_m2(self) -> csr_array:
        """Integrals of products of two linear functions, [node, node]."""
        share = (np.ones((3, 3)) + np.eye(3)) / 12
        value = self.area_m2[:, None, None] * share
        rows, columns = self.node_pairs(self.triangle, self.triangle)
        shape = (len(self.place_m),) * 2
        return coo_array((value.ravel(), (rows, columns)), shape=shape).tocsr()

    @staticmethod
    def node_pairs(outer: Indices, inner: Indices) -> tuple[Indices, Indices]:
        """Rows and columns of the corners of pairs of triangles, [pair * 3 * 3] each."""
        rows, columns = np.broadcast_arrays(outer[:, :, None], inner[:, None, :])
        return rows.ravel(), columns.ravel()


def sides(triangle: Indices) -> tuple[Indices, Indices]:
    """Return the ends of every side, the smaller number first, and which side is opposite each corner."""
    pair = np.sort(np.concatenate([triangle[:, list(side)] for side in SIDES]), axis=1)
    nodes = int(pair.max(initial=0)) + 1
    both, number = np.unique(pair[:, 0] * nodes + pair[:, 1], return_inverse=True)
    return np.stack(np.divmod(both, nodes), axis=1), number.reshape(3, -1).T.copy()


def within_reach(place_m: FloatArray, other_m: FloatArray, reach_m: FloatArray) -> tuple[Indices, Indices]:
    """All pairs of a place and of another that is no farther than the place's own reach."""
    tree = cKDTree(other_m)
    size = np.floor(np.log2(reach_m))
    found = []
    for alike in (np.flatnonzero(size == one) for one in np.unique(size)):  # or the largest reach rules
        near = cKDTree(place_m[alike]).sparse_distance_matrix(
            tree, float(reach_m[alike].max()), output_type="ndarray"
        )
        first = alike[near["i"]]
        close = near["v"] <= reach_m[first]
        found.append((first[close], near["j"][close]))
    first, second = (np.concatenate(each) for each in zip(*found, strict=True))
    return first, second


def in_neighbourly_order(place_m: FloatArray) -> Indices:
    """Order of the nodes that keeps neighbours together: along a curve that fills space."""
    span = np.ptp(place_m, axis=0).max()
    step = np.minimum((place_m - place_m.min(axis=0)) / span * 1024, 1023).astype(np.int64)
    key = np.zeros(len(place_m), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            key |= ((step[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(key, kind="stable")
