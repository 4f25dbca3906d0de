"""Mirror planes of a surface, found, and rigid planes beside it, given: one part is kept, the others are images."""

from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from forehear.ground.arrays import FloatArray
from forehear.radiation.elements import Elements, Indices, in_neighbourly_order

_SAME = 1e-6  # of the size of the surface: points closer than that are one


@dataclass(frozen=True, eq=False)
class Part:
    """The part of a surface that its mirror planes leave over; the planes go through the middle."""

    elements: Elements  # about the middle
    middle_m: FloatArray  # [3]
    axes: tuple[int, ...]  # square to a mirror plane each
    original: Indices  # [image, triangle] of the whole surface; the first image is the part itself
    on_plane: NDArray[np.bool_]  # [3, node]
    rigid: tuple[
        int, ...
    ] = ()  # those of the axes whose plane is a wall: what is behind it is an image, no body

    @cached_property
    def mirrors(self) -> FloatArray:
        """+1 or -1 an axis for every image, [image, 3]; the first changes nothing."""
        return _mirrors(self.axes)

    @cached_property
    def parities(self) -> FloatArray:
        """Even (+1) or odd (-1) about each axis, [parity, 3]; the first is even about all, all are about walls."""
        return _mirrors(tuple(axis for axis in self.axes if axis not in self.rigid))

    @property
    def bodies(self) -> int:
        """How many of the images are parts of the surface itself."""
        return len(self.parities)

    def character(self, parity: FloatArray) -> FloatArray:
        """Return what each image does to a field of that parity, [image]."""
        signs: FloatArray = np.where(self.mirrors < 0, parity, 1.0).prod(axis=1)
        return signs

    def share(self, velocity_m_s: FloatArray, parity: FloatArray) -> FloatArray:
        """Part of the velocities [triangle of the whole, source] of one parity, on the part's triangles."""
        total: FloatArray = np.einsum("i,its->ts", self.character(parity), velocity_m_s[self.original])
        return total / len(self.mirrors)

    def still(self, parity: FloatArray) -> NDArray[np.bool_]:
        """Nodes that lie on a plane about which the field is odd: no pressure there."""
        still: NDArray[np.bool_] = np.any(self.on_plane & (parity < 0)[:, None], axis=0)
        return still


def part_of(
    place_m: FloatArray,
    triangle: Indices,
    axes: tuple[int, ...] | None,
    rigid_planes: tuple[tuple[int, float], ...] = (),
) -> Part:
    """Keep the part on the positive side of the mirror planes; None finds the planes.

    Rigid planes, (axis, place) each, leave the whole surface but for triangles that lie in them; each triangle is its
    own image.
    """
    middle = (place_m.min(axis=0) + place_m.max(axis=0)) / 2
    walls = dict(rigid_planes)
    middle[list(walls)] = list(walls.values())
    about = place_m - middle
    close = _SAME * np.ptp(place_m, axis=0).max()
    on_plane = np.abs(about) < close
    about = np.where(on_plane, 0.0, about)
    asked = [axis for axis in (range(3) if axes is None else axes) if axis not in walls]
    partners = {axis: _partner(about, triangle, axis, close) for axis in asked}
    mirrored = [axis for axis, partner in partners.items() if partner is not None]
    partners |= dict.fromkeys(walls, np.arange(len(triangle)))
    kept = tuple(sorted([*mirrored, *walls]))
    centre = about[triangle].mean(axis=1)
    in_wall = np.any(np.all(on_plane[triangle][:, :, list(walls)], axis=1), axis=1)
    inside = np.flatnonzero(np.all(centre[:, mirrored] > 0, axis=1) & ~in_wall)
    original = [_through(inside, mirror, partners) for mirror in _mirrors(kept)]
    used = np.unique(triangle[inside])
    used = used[in_neighbourly_order(about[used])]
    number = np.zeros(len(about), dtype=np.int64)
    number[used] = np.arange(used.size)
    elements = Elements(about[used], number[triangle[inside]])
    return Part(elements, middle, kept, np.stack(original), on_plane[used].T, tuple(walls))


def _mirrors(axes: tuple[int, ...]) -> FloatArray:
    """Sign of each axis for every combination of mirrors, [image, 3]."""
    mirrors = np.ones((2 ** len(axes), 3))
    mirrors[:, list(axes)] = list(product((1.0, -1.0), repeat=len(axes)))
    return mirrors


def _through(triangle: Indices, mirror: FloatArray, partners: dict[int, Indices | None]) -> Indices:
    """Follow triangles through the mirrors of one image."""
    for axis in np.flatnonzero(mirror < 0):
        partner = partners[int(axis)]
        if partner is not None:
            triangle = partner[triangle]
    return triangle


def _partner(about: FloatArray, triangle: Indices, axis: int, close: float) -> Indices | None:
    """Mirror image of each triangle; None where the surface is not its own image."""
    flip = np.ones(3)
    flip[axis] = -1.0
    apart, nearest = cKDTree(about).query(about * flip)
    node = np.asarray(nearest, dtype=np.int64)
    middle = about[triangle][:, :, axis]
    if np.any(apart > close) or np.any((middle.min(axis=1) < 0) & (middle.max(axis=1) > 0)):
        return None
    own, image = np.sort(triangle, axis=1), np.sort(node[triangle], axis=1)
    order = np.lexsort(own.T)
    place = np.lexsort(image.T)
    if not np.array_equal(own[order], image[place]):
        return None
    partner = np.empty(len(triangle), dtype=np.int64)
    partner[place] = order
    return partner
