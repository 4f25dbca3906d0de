"""The reference solver: what a closed surface with moving parts radiates, by boundary elements."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypedDict, Unpack

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions
from forehear.ground.errors import SurfaceError, TooLittleMemory
from forehear.ground.work import Progress, free_memory_bytes, unseen, usable_cores
from forehear.radiation.surface import Surface
from forehear.radiation.walls import RigidPlanes, behind, directed_behind, require_beside, span_m

if TYPE_CHECKING:
    from forehear.radiation.mirrors import Part
    from forehear.radiation.operators import Equations

_TOLERANCE = 3e-5  # of the residual; 0.003 dB where the level is 20 dB down
_GIB = 2**30


class Options(TypedDict, total=False):
    """What `solve_surface` may be told beside its five arguments."""

    velocity_of_triangle: FloatArray | None
    sound_speed_m_s: float
    density_kg_m3: float
    mirror_axes: tuple[int, ...] | None
    rigid_planes: RigidPlanes
    progress: Progress
    threads: int
    gpu: bool


@dataclass(frozen=True, eq=False)
class _Solved:
    """Pressure on the part of a surface for one parity."""

    parity: FloatArray  # [3]
    moving: NDArray[np.int64]  # sources that have a share in it
    slope: FloatArray  # [triangle, moving source]
    pressure: ComplexArray  # [node, moving source]


@dataclass(frozen=True, eq=False)
class Solver:
    """A surface made ready for any frequency; the first use in an installation compiles, once."""

    surface: Surface
    sound_speed_m_s: float = 343.2
    density_kg_m3: float = 1.2041
    mirror_axes: tuple[int, ...] | None = None  # None: found
    threads: int = 0  # 0: as many as there are cores
    rigid_planes: RigidPlanes = ()  # walls beside the surface or that it stands on
    gpu: bool = False  # on one graphics card, without a matrix; needs the gpu extra

    def __post_init__(self) -> None:
        require_beside(self.surface, self.rigid_planes)

    @cached_property
    def equations(self) -> "Equations":
        """All that does not change with frequency."""
        from forehear.radiation.mirrors import part_of
        from forehear.radiation.operators import Equations

        part = part_of(self.surface.vertices_m, self.surface.triangles, self.mirror_axes, self.rigid_planes)
        moves = np.any(self.surface.source_of_triangle[part.original] >= 0, axis=0)
        span = span_m(self.surface, self.rigid_planes)
        lowest = np.pi * float(np.sqrt(np.sum(1 / np.maximum(span, 1e-9) ** 2)))
        maker = Equations
        if self.gpu:
            from forehear.radiation.gpu import GpuEquations

            maker = GpuEquations
        ready = maker(part, np.flatnonzero(moves), lowest, self.threads or usable_cores())
        self._require_memory(ready)
        ready.prepare()
        return ready

    def pressure(self, frequency_hz: float, unit: FloatArray) -> ComplexArray:
        """Far-field pressure at 1 m of every source alone, [source, direction] [Pa]; behind a rigid plane 0."""
        part = self.equations.part
        wavenumber = self._wavenumber(frequency_hz)
        total = np.zeros((len(unit), self.surface.sources), dtype=np.complex128)
        seen = np.concatenate([unit * mirror for mirror in part.mirrors])
        for solved in self._solved(wavenumber):
            field = self.equations.far_field(wavenumber, solved.pressure, solved.slope, seen)
            images = field.reshape(len(part.mirrors), len(unit), -1)
            total[:, solved.moving] += np.einsum("i,ids->ds", part.character(solved.parity), images)
        total *= np.exp(1j * wavenumber * (unit @ part.middle_m))[:, None]
        total *= self._slope_of_velocity(frequency_hz)
        total[directed_behind(self.surface, self.rigid_planes, unit)] = 0.0
        return total.T

    def pressure_at(self, place_m: FloatArray, frequency_hz: float) -> ComplexArray:
        """Pressure at points outside the surface, [point, 3] [m], of every source alone, [source, point] [Pa].

        Examples
        --------
        At low frequency it is the mass of the air that counts: in the middle of a piston of 50 mm radius,
        about as much as lies in a depth of one radius (rho omega a is what a piston in a wall has there):

        >>> from forehear.radiation import Piston, box_surface
        >>> mesh = box_surface((1.0, 1.0, 0.1), [Piston((0.0, 0.0), 0.05)], 0.2)
        >>> close = Solver(mesh.surface).pressure_at(np.array([[0.001, 0.0, 0.0]]), 20.0)
        >>> print(f"{abs(close[0, 0]) / (1.2041 * 2 * np.pi * 20.0 * 0.05):.2f}")
        0.96
        """
        from forehear.radiation.field import near_field

        place_m = np.asarray(place_m, dtype=np.float64)
        wrong = np.flatnonzero(~self.outside(place_m))
        if wrong.size:
            x, y, z = 1000 * place_m[wrong[0]]
            raise SurfaceError(
                f"{wrong.size} of {len(place_m)} points lie on or in the surface or behind a rigid plane, "
                f"the first at ({x:.1f}, {y:.1f}, {z:.1f}) mm",
                cure="ask only for points outside",
            )
        part, threads = self.equations.part, self.equations.threads
        wavenumber = self._wavenumber(frequency_hz)
        total = np.zeros((len(place_m), self.surface.sources), dtype=np.complex128)
        seen = np.concatenate([(place_m - part.middle_m) * mirror for mirror in part.mirrors])
        for solved in self._solved(wavenumber):
            found = near_field(part.elements, wavenumber, (solved.pressure, solved.slope), seen, threads)
            images = found.reshape(len(part.mirrors), len(place_m), -1)
            total[:, solved.moving] += np.einsum("i,ids->ds", part.character(solved.parity), images)
        total *= self._slope_of_velocity(frequency_hz)
        return total.T

    def outside(self, place_m: FloatArray) -> NDArray[np.bool_]:
        """Tell at which points, [point, 3] [m], there is sound: outside the surface and before every rigid plane."""
        from forehear.radiation.field import outside

        out = outside(
            self.surface.elements, np.asarray(place_m, dtype=np.float64), self.threads or usable_cores()
        )
        return out & ~behind(self.surface, self.rigid_planes, place_m)

    def load(self, frequency_hz: float) -> ComplexArray:
        """Pressure of one source summed over the motion of another, [source that feels, source that moves].

        Each triangle counts with its area and its own normal velocity at 1 m/s of the source: for a flat piston
        the force on it [N s/m]. Half the real part is the power that 1 m/s radiates.
        """
        part = self.equations.part
        sources = self.surface.sources
        total = np.zeros((sources, sources), dtype=np.complex128)
        for solved in self._solved(self._wavenumber(frequency_hz)):
            mean = solved.pressure[part.elements.triangle].mean(axis=1)
            felt = (solved.slope * part.elements.area_m2[:, None]).T @ mean
            total[np.ix_(solved.moving, solved.moving)] += part.bodies * felt
        total *= self._slope_of_velocity(frequency_hz)
        return total

    def sweep(self, frequency_hz: FloatArray, unit: FloatArray) -> Iterator[tuple[int, ComplexArray]]:
        """Solve frequency after frequency, the lowest first; whoever stops asking keeps what is done.

        Yields the place of the frequency and [source, direction] pressures.
        """
        self.surface.require_fine_enough(frequency_hz, self.sound_speed_m_s)
        for place in np.argsort(frequency_hz):
            yield int(place), self.pressure(float(frequency_hz[place]), unit)

    def _wavenumber(self, frequency_hz: float) -> float:
        """Return the wavenumber [1/m] of a frequency that the mesh holds to; refuse any other."""
        self.surface.require_fine_enough(np.array([frequency_hz]), self.sound_speed_m_s)
        return 2 * np.pi * frequency_hz / self.sound_speed_m_s

    def _slope_of_velocity(self, frequency_hz: float) -> complex:
        """Return the normal slope of the pressure a unit of velocity [kg/(m3 s)]."""
        return -2j * np.pi * frequency_hz * self.density_kg_m3

    def _solved(self, wavenumber: float) -> Iterator[_Solved]:
        """Solve every parity that any source has a share in, for unit normal slope."""
        from forehear.radiation.krylov import solve_columns

        equations, shares = self.equations, self._shares(self.equations.part)
        hz = wavenumber * self.sound_speed_m_s / (2 * np.pi)
        try:
            with equations.watched(f"solving {hz:.0f} Hz"):
                operators = equations.operators(wavenumber, np.array([parity for parity, _ in shares]))
                for (parity, share), operator in zip(shares, operators, strict=True):
                    moving = np.flatnonzero(np.any(share != 0, axis=0))
                    right = equations.right_side(wavenumber, parity, share[:, moving])
                    pressure, _ = solve_columns(operator, right, _TOLERANCE)
                    yield _Solved(parity, moving, share[:, moving], pressure)
        except MemoryError as error:
            raise self._too_little(equations) from error

    def _shares(self, part: "Part") -> list[tuple[FloatArray, FloatArray]]:
        """Parities that any source has a share in, and the velocities of that share, [triangle, source]."""
        shares = [(parity, part.share(self.surface.velocity_m_s, parity)) for parity in part.parities]
        return [(parity, share) for parity, share in shares if np.any(share != 0)]

    def _require_memory(self, equations: "Equations") -> None:
        free = free_memory_bytes()
        if free is not None and self._needed_bytes(equations) > free:
            raise self._too_little(equations, free)

    def _needed_bytes(self, equations: "Equations") -> float:
        return equations.memory_bytes(len(self._shares(equations.part)))

    def _too_little(self, equations: "Equations", free: int | None = None) -> TooLittleMemory:
        there = "there is" if free is None else f"the {free / _GIB:.1f} GiB that are free"
        nodes, needed = len(equations.part.elements.place_m), self._needed_bytes(equations) / _GIB
        return TooLittleMemory(
            f"{nodes} unknowns need {needed:.1f} GiB of memory, more than {there}",
            cure="use a coarser mesh up to a lower frequency, or close other programs",
        )


def solve_surface(
    vertices_m: FloatArray,
    triangles: NDArray[np.int64],
    source_of_triangle: NDArray[np.int64],
    frequency_hz: FloatArray,
    directions: FloatArray,
    **options: Unpack[Options],
) -> ComplexArray:
    r"""Far-field pressure of every moving part of a closed surface, brought back to 1 m from the origin.

    .. math:: \left(\tfrac12 - K - \beta H\right) p = -\left(V + \beta\left(\tfrac12 + K'\right)\right)
        \frac{\partial p}{\partial n}, \quad \frac{\partial p}{\partial n} = -j\omega\rho v

    Linear elements, Galerkin, Burton-Miller coupling of up to 0.4 of -j/k; mirror planes are found and used.

    Parameters
    ----------
    vertices_m
        [vertex, 3], x forward, y to the listener's right, z up. [m]
    triangles
        [triangle, corner] numbers of vertices, counter-clockwise seen from outside; the surface is closed. [-]
    source_of_triangle
        [triangle] number of the source that moves it, from 0; -1 where it is rigid. [-]
    frequency_hz
        [frequency], above zero, up to where the longest side is 0.3 of a wavelength. [Hz]
    directions
        Unit vectors, [direction, 3]. [-]
    options
        `velocity_of_triangle` [triangle] outward normal velocity of moving triangles (1 m/s unless given),
        `sound_speed_m_s` (343.2), `density_kg_m3` (1.2041), `mirror_axes` (axes square to mirror planes through
        the middle; found unless given, () for none), `rigid_planes` ((axis, place [m]) each: walls beside the
        surface or that it stands on; no sound goes behind them), `progress`, `threads` (all cores unless given),
        `gpu` (on one graphics card, which has room for more triangles; false unless given). [-]

    Returns
    -------
    array
        [source, direction, frequency] pressure with each source moving alone, exp(+jwt). [Pa]

    Raises
    ------
    SurfaceError, OutsideValidity, TooLittleMemory, NoGraphicsCard
        The surface is unusable, too coarse for a frequency, or too large for the memory; there is no card.

    Source
    ------
    burton-miller-1971: coupled equations; nedelec-1982: hypersingular part by surface curls; wilton-1984: closed
    forms over near triangles.

    Examples
    --------
    A cube of 0.2 m whose front moves at 10 Hz radiates as its volume velocity does:

    >>> from forehear.radiation import box_surface
    >>> cube = box_surface((0.2, 0.2, 0.2), [], 0.1)
    >>> front = np.where(cube.vertices_m[cube.triangles][:, :, 0].min(axis=1) > -1e-9, 0, -1)
    >>> ahead = np.array([[1.0, 0.0, 0.0]])
    >>> p = solve_surface(cube.vertices_m, cube.triangles, front, np.array([10.0]), ahead)
    >>> print(f"{abs(p[0, 0, 0]) / (1.2041 * 10 * 0.04 / 2):.2f}")
    1.00
    """
    progress = options.get("progress", unseen)
    source = np.asarray(source_of_triangle)
    velocity = options.get("velocity_of_triangle")
    moving = np.ones(source.shape) if velocity is None else np.asarray(velocity, dtype=np.float64)
    surface = Surface(vertices_m, triangles, source, np.where(source >= 0, moving, 0.0))
    solver = Solver(
        surface,
        options.get("sound_speed_m_s", 343.2),
        options.get("density_kg_m3", 1.2041),
        options.get("mirror_axes"),
        options.get("threads", 0),
        options.get("rigid_planes", ()),
        options.get("gpu", False),
    )
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    unit = Directions(np.asarray(directions, dtype=np.float64)).unit
    found = np.empty((surface.sources, len(unit), frequency_hz.size), dtype=np.complex128)
    progress(0.0, "making the solver ready (compiled once)")
    for done, (place, pressure) in enumerate(solver.sweep(frequency_hz, unit), 1):
        found[:, :, place] = pressure
        progress(done / frequency_hz.size, f"solved {frequency_hz[place]:.0f} Hz")
    return found
