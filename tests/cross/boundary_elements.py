"""A second way to the sound of a box: collocation boundary elements on its whole surface, small and slow.

The field of the source in an infinite baffle already fits the front, so only what the side walls and the
back scatter is unknown: (1/2 - K) p = -V q with q = minus the normal derivative of that field there,
exp(+jwt). Points inside the box, where the field must vanish, keep the answer single at resonances of the
inside.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, eq=False)
class Mesh:
    """Rectangular cells on the six faces of a box whose front lies in x = 0, centred on the x axis."""

    middle: Floats  # [cell, 3]
    normal: Floats  # [cell, 3]
    sides: Floats  # [cell, 2, 3] the two edge vectors
    inside: Floats  # [point, 3]

    @property
    def area(self) -> Floats:
        return np.linalg.norm(self.sides[:, 0], axis=1) * np.linalg.norm(self.sides[:, 1], axis=1)

    def points(self, count: int) -> tuple[Floats, Floats]:
        """Gauss points of every cell and their shares of its area."""
        node, weight = np.polynomial.legendre.leggauss(count)
        u, v = (grid.ravel() / 2 for grid in np.meshgrid(node, node, indexing="ij"))
        share = np.outer(weight, weight).ravel() / 4
        shift = u[:, None] * self.sides[:, None, 0] + v[:, None] * self.sides[:, None, 1]
        return self.middle[:, None] + shift, share


@lru_cache(maxsize=4)
def box_mesh(width_m: float, height_m: float, depth_m: float, cell_m: float) -> Mesh:
    """Cut the faces of a box into cells of about `cell_m`."""
    size = np.array([depth_m, width_m, height_m])
    centre = np.array([-depth_m / 2, 0.0, 0.0])
    parts: list[tuple[Floats, Floats, Floats]] = []
    for axis in range(3):
        first, second = (axis + 1) % 3, (axis + 2) % 3
        a, b = (_cuts(size[i], cell_m) for i in (first, second))
        middle_a, middle_b = np.meshgrid((a[1:] + a[:-1]) / 2, (b[1:] + b[:-1]) / 2, indexing="ij")
        length_a, length_b = np.meshgrid(np.diff(a), np.diff(b), indexing="ij")
        for sign in (-1.0, 1.0):
            middle, normal = np.zeros((middle_a.size, 3)), np.zeros((middle_a.size, 3))
            middle[:, axis], normal[:, axis] = sign * size[axis] / 2, sign
            middle[:, first], middle[:, second] = middle_a.ravel(), middle_b.ravel()
            sides = np.zeros((middle_a.size, 2, 3))
            sides[:, 0, first], sides[:, 1, second] = length_a.ravel(), length_b.ravel()
            parts.append((middle + centre, normal, sides))
    inside = centre + size * np.random.default_rng(1).uniform(-0.35, 0.35, (12, 3))
    middle, normal, sides = (np.concatenate(part) for part in zip(*parts, strict=True))
    return Mesh(middle, normal, sides, inside)


def _cuts(length_m: float, cell_m: float) -> Floats:
    count = max(4, round(length_m / cell_m))
    through = np.linspace(-1.0, 1.0, count + 1)
    return (
        length_m / 2 * np.sin(np.pi / 2 * (0.3 * through + 0.7 * through))
        if False
        else length_m / 2 * through
    )


def box_factor(mesh: Mesh, source: Floats, unit: Floats, wavenumber: float) -> Complexes:
    """Far-field pressure re a free source of equal volume velocity, phase referred to the origin.

    `source` holds points [point, 3] on the front that share the volume velocity equally.
    """
    slope = _incident_slope(mesh, source, wavenumber)
    left, layer = _system(mesh, wavenumber)
    pressure = np.linalg.lstsq(left, layer @ slope)[0]
    points, share = mesh.points(3)
    phase = np.exp(1j * wavenumber * np.einsum("cgi,di->dcg", points, unit)) @ share * mesh.area
    scattered = phase * (1j * wavenumber * (unit @ mesh.normal.T) * pressure + slope)
    direct = 2 * np.exp(1j * wavenumber * unit @ source.T).mean(axis=1)
    total: Complexes = direct + scattered.sum(axis=1) / (4 * np.pi)
    return total


@lru_cache(maxsize=16)
def _system(mesh: Mesh, wavenumber: float) -> tuple[Complexes, Complexes]:
    """Matrices of the pressure and of the slope, on the surface and then at points inside."""
    single, double = _operators(mesh, mesh.middle, wavenumber)
    single_in, double_in = _operators(mesh, mesh.inside, wavenumber)
    left = np.concatenate([0.5 * np.eye(len(mesh.area)) - double, -double_in])
    return left, np.concatenate([single, single_in])


def _incident_slope(mesh: Mesh, source: Floats, wavenumber: float) -> Complexes:
    """Normal derivative of the field of the source in a baffle, averaged over each cell; 0 in front."""
    points, share = mesh.points(4)
    total = np.zeros(len(mesh.area), dtype=np.complex128)
    for place in source:
        away = points - place
        r = np.linalg.norm(away, axis=2)
        slope = -2 * (1 / r + 1j * wavenumber) * np.exp(-1j * wavenumber * r) / r
        total += (slope * np.einsum("cgi,ci->cg", away, mesh.normal) / r) @ share
    total[mesh.normal[:, 0] > 0.5] = 0.0
    return total / len(source)


def _operators(mesh: Mesh, at: Floats, wavenumber: float) -> tuple[Complexes, Complexes]:
    """Single and double layer from every cell to the points `at`; near cells get more Gauss points."""
    single, double = _layers(mesh, at, wavenumber, 2)
    distance = np.linalg.norm(at[:, None] - mesh.middle, axis=2)
    near = distance < 1.6 * np.linalg.norm(mesh.sides, axis=2).max()
    for row in np.flatnonzero(near.any(axis=1)):
        cells = np.flatnonzero(near[row])
        part = Mesh(mesh.middle[cells], mesh.normal[cells], mesh.sides[cells], mesh.inside)
        closer = _layers(part, at[row : row + 1], wavenumber, 8)
        single[row, cells], double[row, cells] = closer[0][0], closer[1][0]
    if at is mesh.middle:
        a, b = (np.linalg.norm(mesh.sides[:, i], axis=1) for i in (0, 1))
        static = 2 * (a * np.arcsinh(b / a) + b * np.arcsinh(a / b))  # integral of 1/r over a rectangle
        np.fill_diagonal(single, (static - 1j * wavenumber * a * b) / (4 * np.pi))
        np.fill_diagonal(double, 0.0)
    return single, double


def _layers(mesh: Mesh, at: Floats, wavenumber: float, count: int) -> tuple[Complexes, Complexes]:
    points, share = mesh.points(count)
    weight = share * mesh.area[:, None] / (4 * np.pi)
    single = np.zeros((len(at), len(mesh.area)), dtype=np.complex128)
    double = np.zeros_like(single)
    for node in range(points.shape[1]):
        away = points[None, :, node] - at[:, None]
        r = np.maximum(np.linalg.norm(away, axis=2), 1e-12)
        green = np.exp(-1j * wavenumber * r) / r * weight[:, node]
        single += green
        double -= green * (1 / r + 1j * wavenumber) * np.einsum("aci,ci->ac", away, mesh.normal) / r
    return single, double
