"""Solving a shape by the reference solver, band by band, and keeping every band that is done."""

import re
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.ground.files import cache_folder
from forehear.ground.store import KeptFiles, KeptResults, content_key
from forehear.ground.work import Progress, part_of, unseen
from forehear.radiation.harmonics import Expansion, degree_for, expand, quadrature
from forehear.spine.refined import Reach, Refined

EDITION = 1  # of all that decides what is found; one more makes every kept solution be solved again
MOST_BYTES = 300_000_000  # on disk; a solution takes some megabytes
COARSEST_M = 0.05  # triangles, whatever the frequency
_loaded: KeptResults[Refined] = KeptResults(most=6)  # some megabytes each


@dataclass(frozen=True)
class Moving:
    """One moving surface in the front: its centre from the middle of the front, (across, up), and its radius."""

    centre_m: tuple[float, float]
    radius_m: float


@dataclass(frozen=True)
class Shape:
    """The outside of a cabinet and what moves in it: all that decides how it radiates."""

    size_m: tuple[float, float, float]  # width, height, depth
    edge_radius_m: float
    moving: tuple[Moving, ...]  # [source]
    air: Air

    def key(self, reach: Reach) -> str:
        """Key of the solution as far as it reaches."""
        return content_key(EDITION, self, reach)


def finished(shape: Shape, reach: Reach) -> Refined | None:
    """Return the solution of a shape if every band of it is known."""
    key = shape.key(reach)
    known = _loaded.known(key)
    if known is not None:
        return known
    files, bands = _files(), []
    for number in reversed(range(len(reach.bands_hz))):  # the highest is solved last
        band = _kept(files, key, number, reach.bands_hz[number])
        if band is None:
            return None
        bands.append(band)
    return _loaded.get(key, lambda: _refined(shape, reach, bands[::-1]))


def refine(shape: Shape, reach: Reach, progress: Progress = unseen) -> Refined:
    """Solve what is not known yet of a shape; whoever stops it by raising keeps the bands that are done.

    Raises
    ------
    SurfaceError, TooLittleMemory
        The shape cannot be meshed, or a band of it needs more memory than there is.
    """
    known = finished(shape, reach)
    if known is not None:
        return known
    progress(0.0, "making the reference solver ready (the first time it is compiled, some 10 s)")
    key, files = shape.key(reach), _files()
    cost = np.array([hz.size * _element_m(shape, reach, hz) ** -4.0 for hz in reach.bands_hz])
    ends = np.concatenate([[0.0], np.cumsum(cost) / cost.sum()])
    bands = []
    for number, hz in enumerate(reach.bands_hz):
        stretch = part_of(progress, float(ends[number]), float(ends[number + 1]))
        band = _kept(files, key, number, hz)
        if band is None:
            band = _solved(shape, reach, hz, stretch)
            files.put(
                _name(key, number), _arrays(band), {"solver": "reference", "to_hz": round(float(hz[-1]), 1)}
            )
        bands.append(band)
    progress(1.0, "solved")
    return _loaded.get(key, lambda: _refined(shape, reach, bands))


def named(error: SurfaceError, sources: tuple[str, ...], where: str) -> SurfaceError:
    """Say which driver or port is meant where a surface cannot be meshed."""

    def name(found: re.Match[str]) -> str:
        return " and ".join(sources[int(number)] for number in re.findall(r"\d+", found[0]))

    what = re.sub(r"pistons? \d+( and \d+)?", name, error.what)
    return SurfaceError(f"the reference solver cannot take this shape: {what}", where=where, cure=error.cure)


def _refined(shape: Shape, reach: Reach, bands: list[Expansion]) -> Refined:
    return Refined(shape.key(reach), reach, shape.size_m[2] / 2, shape.air.sound_speed_m_s, tuple(bands))


def _files() -> KeptFiles:
    return KeptFiles(cache_folder() / "reference", MOST_BYTES)


def _name(key: str, number: int) -> str:
    return f"{key}-{number:02d}"


def _kept(files: KeptFiles, key: str, number: int, frequency_hz: FloatArray) -> Expansion | None:
    found = files.get(_name(key, number))
    if found is None:
        return None
    try:
        band = Expansion(found["frequency_hz"], found["coefficient_pa"].astype(np.complex128))
    except (KeyError, ValueError):
        return None
    return band if np.array_equal(band.frequency_hz, frequency_hz) else None


def _arrays(band: Expansion) -> dict[str, NDArray[Any]]:
    return {"frequency_hz": band.frequency_hz, "coefficient_pa": band.coefficient_pa.astype(np.complex64)}


def _element_m(shape: Shape, reach: Reach, frequency_hz: FloatArray) -> float:
    wavelength_m = shape.air.sound_speed_m_s / float(frequency_hz[-1])
    return min(wavelength_m / reach.elements_a_wavelength, COARSEST_M)


def _solved(shape: Shape, reach: Reach, frequency_hz: FloatArray, progress: Progress) -> Expansion:
    """Solve one band about the middle of the box."""
    from forehear.radiation import Fineness, Mesh, Piston, Sweep, box_surface  # loaded when asked for

    pistons = [Piston(moving.centre_m, moving.radius_m) for moving in shape.moving]
    half_m = np.array([shape.size_m[2] / 2, 0.0, 0.0])

    def mesh(element_m: float) -> Mesh:
        made = box_surface(shape.size_m, pistons, element_m, edge_radius_m=shape.edge_radius_m)
        return replace(made, vertices_m=made.vertices_m + half_m)

    wavenumber = 2 * np.pi * float(frequency_hz[-1]) / shape.air.sound_speed_m_s
    degree = degree_for(wavenumber * float(np.linalg.norm(shape.size_m)) / 2)
    unit, _ = quadrature(degree)
    fineness = Fineness(reach.elements_a_wavelength, COARSEST_M, np.inf, reach.tolerance)
    (band,) = Sweep(mesh, frequency_hz, unit, shape.air, fineness).bands(progress)
    return expand(band.pressure, frequency_hz, degree)
