"""Solving a shape by the reference solver, band by band, and keeping every band of every source that is done."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import SurfaceError
from forehear.ground.files import cache_folder
from forehear.ground.store import KeptFiles, KeptResults, content_key
from forehear.ground.work import Progress, part_of, unseen
from forehear.radiation.harmonics import Expansion, degree_for, expand, joined, quadrature
from forehear.spine.refined import Reach, Refined

if TYPE_CHECKING:
    from forehear.radiation import Mesh

EDITION = 3  # of all that decides what is found; one more makes every kept solution be solved again
MOST_BYTES = 300_000_000  # on disk; a solution takes some megabytes
COARSEST_M = 0.05  # triangles, whatever the frequency
_loaded: KeptResults[Refined] = KeptResults(most=6)  # some megabytes each


@dataclass(frozen=True)
class Moving:
    """One moving surface in the front."""

    centre_m: tuple[float, float]  # from the middle of the front, (across, up)
    radius_m: float
    dome_height_m: float = 0.0  # 0: flat


@dataclass(frozen=True)
class Shape:
    """The outside of a cabinet and what moves in it: all that decides how it radiates."""

    size_m: tuple[float, float, float]  # width, height, depth
    edge_radius_m: float
    moving: tuple[Moving, ...]  # [source]
    air: Air

    def key(self, source: int, reach: Reach) -> str:
        """Key of one source's solution as far as it reaches. While it is still, what is flat is part of the front."""
        solid = tuple(moving for moving in self._others(source) if moving.dome_height_m)
        box = (self.size_m, self.edge_radius_m, self.air)
        return content_key(EDITION, box, self.moving[source], solid, reach)

    def keys(self, reach: Reach) -> tuple[str, ...]:
        """Keys of all sources."""
        return tuple(self.key(source, reach) for source in range(len(self.moving)))

    def _others(self, source: int) -> tuple[Moving, ...]:
        return self.moving[:source] + self.moving[source + 1 :]


def finished(shape: Shape, reach: Reach) -> Refined | None:
    """Return the solution of a shape if every band of every source is known."""
    keys = shape.keys(reach)
    known = _loaded.known(content_key(keys))
    if known is not None:
        return known
    files, bands, last = _files(), [], len(reach.bands_hz) - 1  # the highest is solved last
    if not all(files.has(_name(key, last)) for key in keys):
        return None  # told while a hand moves
    for number in reversed(range(last + 1)):
        band = [_kept(files, key, number, reach.bands_hz[number]) for key in keys]
        whole = [source for source in band if source is not None]
        if len(whole) < len(keys):
            return None
        bands.append(joined(whole))
    return _loaded.get(content_key(keys), lambda: _refined(shape, reach, bands[::-1]))


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
    _ = _mesh(
        shape, range(len(shape.moving)), COARSEST_M
    ).surface  # refuses what cannot be, whatever of it is known
    cost = np.array([hz.size * _element_m(shape, reach, hz) ** -4.0 for hz in reach.bands_hz])
    ends = np.concatenate([[0.0], np.cumsum(cost) / cost.sum()])
    bands = [
        _band(shape, reach, number, part_of(progress, float(ends[number]), float(ends[number + 1])))
        for number in range(len(reach.bands_hz))
    ]
    progress(1.0, "solved")
    return _loaded.get(content_key(shape.keys(reach)), lambda: _refined(shape, reach, bands))


def _band(shape: Shape, reach: Reach, number: int, progress: Progress) -> Expansion:
    """Return one band of all sources; those that are not known are solved side by side, and kept."""
    files, keys, hz = _files(), shape.keys(reach), reach.bands_hz[number]
    known = {source: _kept(files, key, number, hz) for source, key in enumerate(keys)}
    missing = [source for source, band in known.items() if band is None]
    if missing:
        about = {"solver": "reference", "to_hz": round(float(hz[-1]), 1)}
        solved = _solved(shape, missing, (reach, hz), progress)
        for place, source in enumerate(missing):
            own = solved.of_source(place)
            files.put(_name(keys[source], number), _arrays(own), about)
            known[source] = own
    return joined([band for band in known.values() if band is not None])


def named(error: SurfaceError, sources: tuple[str, ...], where: str) -> SurfaceError:
    """Say which driver or port is meant where a surface cannot be meshed."""

    def name(found: re.Match[str]) -> str:
        return " and ".join(sources[int(number)] for number in re.findall(r"\d+", found[0]))

    what = re.sub(r"pistons? \d+( and \d+)?", name, error.what)
    return SurfaceError(f"the reference solver cannot take this shape: {what}", where=where, cure=error.cure)


def _refined(shape: Shape, reach: Reach, bands: list[Expansion]) -> Refined:
    return Refined(
        content_key(shape.keys(reach)), reach, shape.size_m[2] / 2, shape.air.sound_speed_m_s, tuple(bands)
    )


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


def _solved(
    shape: Shape, sources: Sequence[int], asked: tuple[Reach, FloatArray], progress: Progress
) -> Expansion:
    """Solve one band of some sources about the middle of the box."""
    from forehear.radiation import Fineness, Mesh, Sweep  # loaded when asked for

    reach, frequency_hz = asked
    half_m = np.array([shape.size_m[2] / 2, 0.0, 0.0])

    def mesh(element_m: float) -> Mesh:
        made = _mesh(shape, sources, element_m)
        still = made.source_of_triangle >= len(sources)
        source = np.where(still, -1, made.source_of_triangle)
        velocity = np.where(still, 0.0, made.velocity_of_triangle)
        return Mesh(made.vertices_m + half_m, made.triangles, source, velocity)

    wavenumber = 2 * np.pi * float(frequency_hz[-1]) / shape.air.sound_speed_m_s
    degree = degree_for(wavenumber * float(np.linalg.norm(shape.size_m)) / 2)
    unit, _ = quadrature(degree)
    fineness = Fineness(reach.elements_a_wavelength, COARSEST_M, np.inf, reach.tolerance)
    (band,) = Sweep(mesh, frequency_hz, unit, shape.air, fineness).bands(progress)
    return expand(band.pressure, frequency_hz, degree)


def _mesh(shape: Shape, sources: Sequence[int], element_m: float) -> "Mesh":
    """Mesh a shape with the rims of some sources, in their order, then of all others that are not flat."""
    from forehear.radiation import Dome, Piston, box_surface

    solid = [
        place
        for place, moving in enumerate(shape.moving)
        if moving.dome_height_m and place not in set(sources)
    ]
    pistons = [
        Piston(
            moving.centre_m,
            moving.radius_m,
            shape=Dome(moving.dome_height_m) if moving.dome_height_m else None,
        )
        for moving in (shape.moving[place] for place in (*sources, *solid))
    ]
    return box_surface(shape.size_m, pistons, element_m, edge_radius_m=shape.edge_radius_m)
