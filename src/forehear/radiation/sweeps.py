"""Many frequencies of one shape: a mesh a band, few solves in each, rational functions between them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.work import Progress, part_of, unseen
from forehear.radiation.meshing import Mesh
from forehear.radiation.rational import interpolate
from forehear.radiation.reference import Solver
from forehear.radiation.walls import RigidPlanes

Mesher = Callable[[float], Mesh]
"""Makes the mesh of a shape from the size of its triangles [m]."""


@dataclass(frozen=True)
class Fineness:
    """How fine meshes are and how near the fits must come."""

    elements_a_wavelength: float = 6.0  # at the top of each band
    coarsest_m: float = 0.05  # shapes and rims need that at any frequency
    band_ratio: float = 2.0**0.5  # highest over lowest frequency of a mesh
    tolerance: float = 3e-3  # of the root mean square over directions


@dataclass(frozen=True, eq=False)
class Band:
    """What one mesh gave."""

    place: NDArray[np.int_]  # [frequency] which of the frequencies asked for
    pressure: ComplexArray  # [source, direction, frequency] for 1 m/s, brought back to 1 m [Pa]
    solved: NDArray[np.bool_]  # [frequency] solved; the others are fitted
    unknowns: int


@dataclass(frozen=True, eq=False)
class Sweep:
    """A shape to be solved at many frequencies; its moving parts move at 1 m/s as the mesh says."""

    mesher: Mesher
    frequency_hz: FloatArray  # [frequency] rising
    unit: FloatArray  # [direction, 3]
    air: Air = field(default_factory=Air)
    fineness: Fineness = field(default_factory=Fineness)
    rigid_planes: RigidPlanes = ()
    gpu: bool = False  # on one graphics card

    def bands(self, progress: Progress = unseen) -> Iterator[Band]:
        """Solve band after band, the lowest first; whoever stops asking keeps what is done."""
        cuts = self._cuts()
        cost = np.array([self.frequency_hz[end - 1] ** 2 for _, end in cuts])
        share = np.concatenate([[0.0], np.cumsum(cost) / cost.sum()])
        for (start, end), first, last in zip(cuts, share[:-1], share[1:], strict=True):
            yield self._band(np.arange(start, end), part_of(progress, float(first), float(last)))

    def _cuts(self) -> list[tuple[int, int]]:
        """Cut the frequencies into bands from the top, so that the dearest mesh serves a full band.

        The coarsest mesh serves all that it can: a finer cut would make it again.
        """
        cuts: list[tuple[int, int]] = []
        end = self.frequency_hz.size
        while end > 0:
            highest = self.frequency_hz[end - 1]
            coarsest = self._element_m(highest) >= self.fineness.coarsest_m
            lowest = 0.0 if coarsest else highest / self.fineness.band_ratio
            start = int(np.searchsorted(self.frequency_hz, lowest))
            cuts.append((start, end))
            end = start
        return cuts[::-1]

    def _element_m(self, highest_hz: float) -> float:
        """Size of the triangles of a mesh up to a frequency."""
        wavelength_m = self.air.sound_speed_m_s / highest_hz
        return min(wavelength_m / self.fineness.elements_a_wavelength, self.fineness.coarsest_m)

    def _band(self, place: NDArray[np.int_], progress: Progress) -> Band:
        frequency_hz = self.frequency_hz[place]
        mesh = self.mesher(self._element_m(frequency_hz[-1]))
        surface = mesh.surface
        surface.require_fine_enough(frequency_hz, self.air.sound_speed_m_s)
        solver = Solver(
            surface,
            self.air.sound_speed_m_s,
            self.air.density_kg_m3,
            rigid_planes=self.rigid_planes,
            gpu=self.gpu,
        )
        done = 0

        def solve(hz: float) -> ComplexArray:
            nonlocal done
            progress(min(done / frequency_hz.size, 1.0), f"solving {hz:.0f} Hz")
            done += 1
            return solver.pressure(hz, self.unit)

        found = interpolate(solve, frequency_hz, self.fineness.tolerance)
        progress(1.0, f"solved up to {frequency_hz[-1]:.0f} Hz")
        unknowns = len(solver.equations.part.elements.place_m)
        return Band(place, found.value, found.solved, unknowns)
