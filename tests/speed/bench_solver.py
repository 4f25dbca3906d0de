"""How long the reference solver takes, and how far it is off: a sphere against its exact series, a box.

Run as ``python tests/speed/bench_solver.py``. Prints seconds of the wall clock and of all cores (the machine may
have neighbours: trust the latter), ratios against a yardstick timed in the same run, and errors in dB where
the level is within 25 dB of its maximum: root mean square and largest over both orbits, and root mean
square inside 60 degrees. Compiling is not counted.
"""

import time
from dataclasses import dataclass
from resource import RUSAGE_SELF, getrusage

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.radiation import Cap, Mesh, Piston, Solver, Sweep, box_surface, cap_on_sphere, sphere_surface
from forehear.radiation.surface import Surface

AIR = Air()
C = AIR.sound_speed_m_s
UNIT = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit()).unit
AHEAD = UNIT[:, 0] > np.cos(np.radians(60.1))
HALF_RAD = np.radians(30.0)
BOX_M = (0.22, 0.50, 0.25)
PISTONS = (Piston((0.0, -0.08), 0.065), Piston((0.0, 0.045), 0.035), Piston((0.0, 0.12), 0.0125))
FINEST = 13  # elements a wavelength of the own solution that the box is held against
YARDSTICK = 1500  # rows of the matrix product that times the machine

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Run:
    """One solve: what it found and what it took."""

    pressure: Complexes  # [source, direction]
    unknowns: int
    triangles: int
    wall_s: tuple[float, float]  # making ready, one frequency
    cores_s: tuple[float, float]


def solve(mesh: Mesh, velocity_m_s: Floats, hz: float) -> Run:
    surface = Surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, velocity_m_s)
    solver = Solver(surface, C, AIR.density_kg_m3)
    wall, cores = [time.perf_counter()], [time.process_time()]
    elements = solver.equations.part.elements
    wall.append(time.perf_counter())
    cores.append(time.process_time())
    pressure = solver.pressure(hz, UNIT)
    wall.append(time.perf_counter())
    cores.append(time.process_time())
    wall_s, cores_s = np.diff(wall), np.diff(cores)
    return Run(
        pressure,
        len(elements.place_m),
        len(elements.triangle),
        (float(wall_s[0]), float(wall_s[1])),
        (float(cores_s[0]), float(cores_s[1])),
    )


def errors_db(found: Complexes, wanted: Complexes) -> list[str]:
    said = []
    for one, other in zip(found, wanted, strict=True):
        level = 20 * np.log10(np.abs(other))
        seen = level > level.max() - 25
        apart = 20 * np.log10(np.abs(one)) - level
        rms, front = (float(np.sqrt(np.mean(apart[which] ** 2))) for which in (seen, seen & AHEAD))
        said.append(f"{rms:.3f}/{np.max(np.abs(apart[seen])):.2f}/{front:.3f}")
    return said


def tell(title: str, run: Run, wanted: Complexes, yardstick_s: float) -> None:
    cores = sum(run.cores_s)
    print(
        f"{title:22s} {run.unknowns:5d} {run.triangles:6d}   {run.wall_s[0]:6.2f} {run.wall_s[1]:6.2f}   "
        f"{run.cores_s[0]:6.2f} {run.cores_s[1]:6.2f}   {cores / yardstick_s:6.1f}   "
        f"{'  '.join(errors_db(run.pressure, wanted))}"
    )


def yardstick() -> float:
    """Seconds of all cores for a single-precision complex matrix product."""
    a = np.ones((YARDSTICK, YARDSTICK), dtype=np.complex64)
    spent = []
    for _ in range(3):
        start = time.process_time()
        a @ a
        spent.append(time.process_time() - start)
    return min(spent)


def sphere(ka: float, elements_a_wavelength: float) -> tuple[Run, Complexes]:
    radius_m = 0.1
    hz = ka * C / (2 * np.pi * radius_m)
    mesh = sphere_surface(radius_m, [Cap((1.0, 0.0, 0.0), HALF_RAD)], C / hz / elements_a_wavelength)
    corner = mesh.vertices_m[mesh.triangles]
    area = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) / 2
    axial = area[:, 0] / np.linalg.norm(area, axis=1)
    flow = np.pi * (radius_m * np.sin(HALF_RAD)) ** 2
    exact = cap_on_sphere(np.array([ka]), UNIT[:, 0], HALF_RAD)[:, 0]
    return solve(mesh, axial, hz), (0.5j * hz * AIR.density_kg_m3 * flow * exact)[None]


def box(hz: float, elements_a_wavelength: float, edge_radius_m: float = 0.0) -> Run:
    mesh = box_surface(BOX_M, PISTONS, C / hz / elements_a_wavelength, edge_radius_m=edge_radius_m)
    return solve(mesh, np.ones(len(mesh.triangles)), hz)


def sweep(top_hz: float, count: int) -> None:
    """Tell what frequencies of the box take, 1/24 octave from 100 Hz, and the most memory so far."""
    hz = np.geomspace(100.0, top_hz, count)
    wall, cores = time.perf_counter(), time.process_time()
    bands = list(Sweep(lambda size_m: box_surface(BOX_M, PISTONS, size_m), hz, UNIT).bands())
    wall, cores = time.perf_counter() - wall, time.process_time() - cores
    solved = sum(int(band.solved.sum()) for band in bands)
    print(
        f"box, {count} frequencies to {top_hz:.0f} Hz: {solved} solved in {len(bands)} bands, "
        f"{wall:.1f} s, {cores:.1f} s of all cores, "
        f"{getrusage(RUSAGE_SELF).ru_maxrss / 2**20:.1f} GiB at most"
    )


def main() -> None:
    unit_s = yardstick()
    print(f"yardstick: product of {YARDSTICK} x {YARDSTICK} complex singles, {unit_s:.2f} s of all cores")
    print(
        "                   unknowns  triangles  wall: ready, solve  cores: ready, solve  ratio  dB: rms/most/60 deg"
    )
    sphere(2.0, 8)  # compiles, or loads what is compiled
    for ka, sizes in ((5.0, (6, 8, 12)), (10.0, (5, 6, 8))):
        for size in sizes:
            run, exact = sphere(ka, size)
            tell(f"sphere ka {ka:.0f}, {size}", run, exact, unit_s)
    for hz in (2000.0, 3500.0):
        finest = box(hz, FINEST)
        for size in (5, 6, 8):
            tell(f"box {hz:.0f} Hz, {size}", box(hz, size), finest.pressure, unit_s)
        tell(f"box {hz:.0f} Hz, {FINEST}", finest, finest.pressure, unit_s)
    sweep(5000.0, 136)
    sweep(8000.0, 153)


if __name__ == "__main__":
    main()
