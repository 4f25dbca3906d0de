"""Edges of a box: where the faces must hold points for them, and how they are bent into a round or a flat."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray

_SAME_M = 1e-9


@dataclass(frozen=True)
class Edges:
    """How the edges of a box are bent: the outermost part of every face, into a round or a flat."""

    reach_m: float
    chamfered: bool


def cuts(length_m: float, edges: Edges, element_m: float) -> FloatArray:
    """Cut one edge of the box: bends by themselves, an even number of steps between them."""
    flat = length_m / 2 - edges.reach_m
    steps = max(1, int(np.ceil(flat / element_m)))
    half = np.linspace(0.0, flat, steps + 1)
    if edges.reach_m > 0:
        bends = max(1, int(np.ceil(np.pi / 4 * edges.reach_m / element_m)))
        share = np.arange(1, bends + 1) / bends
        bend = share if edges.chamfered else np.tan(np.pi / 4 * share)  # even steps once bent
        half = np.append(half, flat + edges.reach_m * bend)
    return np.append(-half[:0:-1], half)


def border_points(
    lines: list[FloatArray], flat_m: FloatArray, edges: Edges, mirror: int | None
) -> FloatArray:
    """Points that a face must hold: its outline but for a mirror line, and a grid where it will bend.

    Chamfers meet in lines from the corners; points in the middles of the squares there make triangles follow them.
    """
    across, up = (grid.ravel() for grid in np.meshgrid(*lines, indexing="ij"))
    outside = np.zeros(across.shape, dtype=bool)
    for axis, place in enumerate((across, up)):
        outside |= place == lines[axis][-1]
        if axis != mirror:
            outside |= place == lines[axis][0]
    if edges.reach_m > 0:
        outside |= (np.abs(across) > flat_m[0] - _SAME_M) | (np.abs(up) > flat_m[1] - _SAME_M)
    border: FloatArray = np.stack([across, up], axis=1)[outside]
    if edges.chamfered:
        steps = lines[0][lines[0] > flat_m[0] - _SAME_M] - flat_m[0]
        middles = (steps[1:] + steps[:-1]) / 2
        corners = flat_m + middles[:, None]
        signs = [(a, b) for a in (1, -1) for b in (1, -1)]
        inside = [
            corners * sign for sign in signs if mirror is None or sign[mirror] > 0
        ]  # of a half face only its corners
        border = np.concatenate([border, *inside])
    return border


def bent(place: FloatArray, size: FloatArray, edges: Edges) -> FloatArray:
    """Bend the edges of a sharp box about its middle: every point goes to the box within and from there outward."""
    if edges.reach_m <= 0:
        return place
    within = size / 2 - edges.reach_m
    nearest = np.clip(place, -within, within)
    out = place - nearest
    if edges.chamfered:  # no two of the three lengths may sum to more than the chamfer
        far = np.sort(np.abs(out), axis=1)[:, 1:].sum(axis=1, keepdims=True)
    else:
        far = np.linalg.norm(out, axis=1, keepdims=True)
    moved: FloatArray = nearest + edges.reach_m * out / far
    return moved
