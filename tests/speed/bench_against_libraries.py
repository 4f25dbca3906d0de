"""The reference solver beside two boundary-element libraries: error and time in one run, and ratios at equal error.

Run as ``PYTHONPATH=src:tests:tools .venv-oracles/bin/python tests/speed/bench_against_libraries.py`` after
`make oracles`; without the libraries it only says so. Times are seconds of all cores and of the wall clock; meshing,
making ready and far field count, compiling does not. Errors are root mean squares in dB where the level is within
25 dB of its maximum, over all sources together: inside 60 degrees, and over both orbits. The
sphere is held against its exact series, the box against our own solution at `FINEST` elements a wavelength, which
flatters the last of our rows.
"""

import argparse
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from importlib.util import find_spec
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from bench_solver import AHEAD, AIR, BOX_M, HALF_RAD, PISTONS, UNIT, C, Complexes

from forehear.radiation import Cap, Mesh, Solver, box_surface, sphere_surface

FINEST = 15
OURS = (4.6, 5.0, 5.5, 5.75, 6.0, 7.0, 8.0, 10.0, 12.0)
KA, RADIUS_M = 10.0, 0.1
BEMPP_SPHERE = (6.0, 4.3)  # elements a wavelength; our own solver refuses the second mesh

Timed = tuple[Complexes, int, float, float]
"""Pressure, triangles, seconds of all cores and of the wall clock."""


@dataclass(frozen=True, eq=False)
class Line:
    """One solve."""

    who: str
    triangles: int
    ahead_db: float
    around_db: float
    cores_s: float
    wall_s: float


def rms_db(found: Complexes, wanted: Complexes, *, ahead: bool) -> float:
    level = 20 * np.log10(np.abs(wanted))
    seen = level > level.max(axis=1, keepdims=True) - 25
    if ahead:
        seen &= AHEAD
    return float(np.sqrt(np.mean((20 * np.log10(np.abs(found)) - level)[seen] ** 2)))


def timed(solve: Callable[[], tuple[Complexes, int]]) -> Timed:
    start = time.process_time(), time.perf_counter()
    found, triangles = solve()
    return found, triangles, time.process_time() - start[0], time.perf_counter() - start[1]


def warm(solve: Callable[[], tuple[Complexes, int]]) -> Timed:
    """Time the quickest of three runs: a library compiles some of its loops at its second mesh only."""
    return min((timed(solve) for _ in range(3)), key=lambda run: run[2])


def alone(ask: Callable[..., Timed], *given: float) -> Timed:
    """Ask a library in a process of its own: in one with another's threads it took six times as long."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(ask, *given).result()


def line(who: str, run: Timed, wanted: Complexes) -> Line:
    found, triangles, cores_s, wall_s = run
    ahead, around = (rms_db(found, wanted, ahead=which) for which in (True, False))
    return Line(who, triangles, ahead, around, cores_s, wall_s)


def ours(mesher: Callable[[float], Mesh], hz: float, elements_a_wavelength: float) -> tuple[Complexes, int]:
    mesh = mesher(C / hz / elements_a_wavelength)
    return Solver(mesh.surface, C, AIR.density_kg_m3).pressure(hz, UNIT), len(mesh.triangles)


def tell(title: str, lines: Sequence[Line], libraries: Sequence[Line]) -> str:
    """Print all lines, and how many times as long a library takes as our quickest line of no larger error."""
    print(f"\n{title}\n{'':34s} triangles   60 deg   around   cores s   wall s")
    for line in (*lines, *libraries):
        print(
            f"{line.who:34s} {line.triangles:9d}   {line.ahead_db:6.3f}   {line.around_db:6.3f}   "
            f"{line.cores_s:7.2f}  {line.wall_s:7.2f}"
        )
    for other in libraries:
        for name in ("ahead_db", "around_db"):
            able = [line for line in lines if getattr(line, name) <= getattr(other, name)]
            if able:
                best = min(able, key=lambda line: line.cores_s)
                print(
                    f"{other.who} at equal error {'inside 60 degrees' if name == 'ahead_db' else 'around'}: "
                    f"{other.cores_s / best.cores_s:.0f} x ({best.who}), wall clock {other.wall_s / best.wall_s:.0f} x"
                )
            else:
                print(f"{other.who}: no line of ours is as exact")
    return as_toml(title, (*lines, *libraries))


def as_toml(title: str, lines: Sequence[Line]) -> str:
    """Write a table for tools/picture_the_solver.py."""
    said = ["", "[[case]]", f'title = "{title}"']
    for line in lines:
        said += ["", "[[case.line]]", f'who = "{line.who}"', f"triangles = {line.triangles}"]
        said += [
            f"{name} = {getattr(line, name):.4g}" for name in ("ahead_db", "around_db", "cores_s", "wall_s")
        ]
    return "\n".join(said) + "\n"


def box(element_m: float) -> Mesh:
    return box_surface(BOX_M, PISTONS, element_m)


def sphere(element_m: float) -> Mesh:
    return sphere_surface(RADIUS_M, [Cap((1.0, 0.0, 0.0), HALF_RAD)], element_m)


def bempp_box(hz: float) -> Timed:
    import surface_oracles as libraries

    libraries.ask_bempp(box(0.1), 300.0, UNIT)

    def solve() -> tuple[Complexes, int]:
        answer = libraries.ask_bempp(box(C / hz / 6), hz, UNIT)
        return answer.pressure, answer.triangles

    return warm(solve)


def ngsolve_box(hz: float) -> Timed:
    import surface_oracles as libraries

    discs = [(*piston.centre_m, piston.radius_m) for piston in PISTONS]

    def solve() -> tuple[Complexes, int]:
        mesh = libraries.curved_box(BOX_M, discs, C / hz / 3)
        answer = libraries.ask_ngsolve(mesh, [f"d{i}" for i in range(len(discs))], hz, UNIT)
        return answer.pressure, answer.triangles

    return timed(solve)


def bempp_sphere(hz: float, elements: float) -> Timed:
    import surface_oracles as libraries

    libraries.ask_bempp(sphere(0.05), 300.0, UNIT)

    def solve() -> tuple[Complexes, int]:
        answer = libraries.ask_bempp(sphere(C / hz / elements), hz, UNIT)
        return answer.pressure, answer.triangles

    return warm(solve)


def ngsolve_sphere(hz: float) -> Timed:
    import surface_oracles as libraries

    def solve() -> tuple[Complexes, int]:
        mesh = libraries.curved_sphere(RADIUS_M, HALF_RAD, C / hz / 3)
        answer = libraries.ask_ngsolve(mesh, ["d0"], hz, UNIT)
        return answer.pressure, answer.triangles

    return timed(solve)


def box_table(hz: float) -> str:
    wanted, _ = ours(box, hz, FINEST)
    lines = [
        line(f"ours, {size:g} a wavelength", warm(lambda size=size: ours(box, hz, size)), wanted)
        for size in OURS
    ]
    others = [
        line("bempp-cl, 6 a wavelength", alone(bempp_box, hz), wanted),
        line("ngsolve, second order, 3", alone(ngsolve_box, hz), wanted),
    ]
    return tell(f"box, {hz:.0f} Hz, three sources", lines, others)


def sphere_table() -> str:
    """Radial caps, whose slope is one number a triangle, as ngsolve is asked; no mirror plane is used."""
    hz = KA * C / (2 * np.pi * RADIUS_M)
    exact = radial_cap(hz)

    def whole(element: float) -> tuple[Complexes, int]:
        mesh = sphere(C / hz / element)
        return Solver(mesh.surface, C, AIR.density_kg_m3, ()).pressure(hz, UNIT), len(mesh.triangles)

    lines = [
        line(f"ours, {size:g} a wavelength", warm(lambda size=size: whole(size)), exact) for size in OURS
    ]
    others = [
        *(
            line(f"bempp-cl, {size:g} a wavelength", alone(bempp_sphere, hz, size), exact)
            for size in BEMPP_SPHERE
        ),
        line("ngsolve, second order, 3", alone(ngsolve_sphere, hz), exact),
    ]
    return tell(f"sphere, ka {KA:.0f}, one cap, no mirror plane", lines, others)


def radial_cap(hz: float) -> Complexes:
    """A cap that moves radially: the terms of a point, averaged over the cap."""
    from forehear.radiation.sphere import legendre, series_on_sphere

    terms = series_on_sphere(np.array([KA]))[:, 0]
    rim = legendre(np.array([np.cos(HALF_RAD)]), len(terms) + 1)[0]
    order = np.arange(1, len(terms))
    mean = np.append(1.0, (rim[order - 1] - rim[order + 1]) / ((2 * order + 1) * (1 - rim[1])))
    flow = 2 * np.pi * RADIUS_M**2 * (1 - np.cos(HALF_RAD))
    return (0.5j * hz * AIR.density_kg_m3 * flow * (legendre(UNIT[:, 0], len(terms)) @ (terms * mean)))[None]


def main() -> None:
    asking = argparse.ArgumentParser(description="Ours beside two libraries.")
    asking.add_argument(
        "--store", type=Path, help="file for the lines, as tools/picture_the_solver.py reads them"
    )
    asking.add_argument("hz", nargs="*", type=float, default=[2000.0, 3500.0])
    asked = asking.parse_args()
    if find_spec("bempp_cl") is None or find_spec("ngsolve") is None:
        print("the libraries are not here: run it in .venv-oracles, which `make oracles` sets up")
        return
    ours(box, 300.0, 12)  # compiles, or loads what is compiled
    told = sphere_table() + "".join(box_table(hz) for hz in asked.hz)
    if asked.store:
        asked.store.write_text(
            f"# Made by tests/speed/bench_against_libraries.py --store.\n{told}", encoding="utf-8"
        )


if __name__ == "__main__":
    main()
