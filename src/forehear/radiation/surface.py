"""A closed surface with moving parts: what the reference solver is given, checked at birth."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from forehear.ground.arrays import FloatArray, locked
from forehear.ground.errors import OutsideValidity, SurfaceError
from forehear.radiation.crossings import first_crossing
from forehear.radiation.elements import Elements, Indices

RIGID = -1
_LONGEST = (
    0.3  # of a wavelength, for the longest side: 5 elements a wavelength by the usual, equilateral measure
)
FLAT = 1e-6  # area over the square of the longest side: a triangle flatter than that is none


@dataclass(frozen=True, eq=False)
class Surface:
    """A closed surface of triangles, wound counter-clockwise seen from outside, and which of them move."""

    vertices_m: FloatArray  # [vertex, 3] about the origin of the design
    triangles: Indices  # [triangle, 3]
    source_of_triangle: Indices  # [triangle] -1 is rigid
    velocity_of_triangle_m_s: FloatArray  # [triangle] along the outward normal

    def __post_init__(self) -> None:
        for name, kind in (("vertices_m", np.float64), ("velocity_of_triangle_m_s", np.float64)):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=kind))
        for name in ("triangles", "source_of_triangle"):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=np.int64))
        locked(self, "vertices_m", (-1, 3), "vertex x (x, y, z)")
        locked(self, "triangles", (-1, 3), "triangle x corners")
        locked(self, "source_of_triangle", (len(self.triangles),), "triangles")
        locked(self, "velocity_of_triangle_m_s", (len(self.triangles),), "triangles")
        self._check_numbers()
        self._check_sources()
        self._check_closed()
        self._check_outward()
        self._check_crossings()

    @cached_property
    def elements(self) -> Elements:
        """The triangles as elements."""
        return Elements(self.vertices_m, self.triangles)

    @property
    def sources(self) -> int:
        """How many sources move."""
        return int(self.source_of_triangle.max(initial=RIGID)) + 1

    @property
    def velocity_m_s(self) -> FloatArray:
        """Normal velocity of every source alone, [triangle, source]."""
        alone: FloatArray = self.source_of_triangle[:, None] == np.arange(self.sources)
        return alone * self.velocity_of_triangle_m_s[:, None]

    def holds_to_hz(self, sound_speed_m_s: float) -> float:
        """Highest frequency that the triangles carry: their longest side is 0.3 of a wavelength [Hz]."""
        return _LONGEST * sound_speed_m_s / float(self.elements.longest_m.max())

    def require_fine_enough(self, frequency_hz: FloatArray, sound_speed_m_s: float) -> None:
        """Refuse frequencies that the triangles are too large for, and such as are none."""
        if not np.all(np.isfinite(frequency_hz) & (frequency_hz > 0)):
            wrong = frequency_hz[~(np.isfinite(frequency_hz) & (frequency_hz > 0))][0]
            raise OutsideValidity(f"a frequency is {wrong:g} Hz, but must be above zero", cure="leave it out")
        highest, limit = float(frequency_hz.max(initial=0.0)), self.holds_to_hz(sound_speed_m_s)
        if highest > limit:
            longest = float(self.elements.longest_m.max())
            raise OutsideValidity(
                f"triangles with sides up to {1000 * longest:.1f} mm hold to {limit:.0f} Hz, "
                f"not to {highest:.0f} Hz",
                cure=f"give triangles with sides up to {1000 * longest * limit / highest:.1f} mm",
            )

    def _check_numbers(self) -> None:
        if len(self.triangles) < 4:
            raise SurfaceError(
                f"a closed surface needs at least four triangles, not {len(self.triangles)}",
                cure="give the whole surface",
            )
        if not (np.all(np.isfinite(self.vertices_m)) and np.all(np.isfinite(self.velocity_of_triangle_m_s))):
            raise SurfaceError(
                "a vertex or a velocity is not a finite number", cure="write the surface out again"
            )
        if self.triangles.min() < 0 or self.triangles.max() >= len(self.vertices_m):
            raise SurfaceError(
                f"triangles name vertices {self.triangles.min()} to {self.triangles.max()}, "
                f"but there are {len(self.vertices_m)}, counted from 0",
                cure="count the vertices of the triangles from 0",
            )
        flat = self.elements.area_m2 <= FLAT * self.elements.longest_m**2
        if flat.any():
            raise SurfaceError(
                f"{_place(self, flat)} has no area", cure="join vertices that coincide and leave it out"
            )

    def _check_sources(self) -> None:
        named = np.unique(self.source_of_triangle)
        if named[0] < RIGID or named[-1] == RIGID:
            raise SurfaceError(
                f"the sources of the triangles run from {named[0]} to {named[-1]}, but rigid ones are -1 and "
                "at least one must be 0",
                cure="number the moving parts from 0",
            )
        missing = np.setdiff1d(np.arange(self.sources), named)
        if missing.size:
            raise SurfaceError(
                f"source {missing[0]} of {self.sources} has no triangle: it lies off the surface",
                cure="place the driver on the surface, or mesh its rim",
            )

    def _check_closed(self) -> None:
        start = self.triangles.ravel()
        end = np.roll(self.triangles, -1, axis=1).ravel()
        count = len(self.vertices_m)
        way, back = np.sort(start * count + end), np.sort(end * count + start)
        if np.any(way[1:] == way[:-1]):
            raise SurfaceError(
                "neighbouring triangles are wound in different directions, or an edge joins more than two",
                cure="wind every triangle counter-clockwise seen from outside",
            )
        alone = np.setdiff1d(way, back)
        if alone.size:
            middle = 1000 * self.vertices_m[[alone[0] // count, alone[0] % count]].mean(axis=0)
            raise SurfaceError(
                f"the surface is open: {alone.size} edges belong to one triangle only, "
                f"the first near ({middle[0]:.1f}, {middle[1]:.1f}, {middle[2]:.1f}) mm",
                cure="close the surface",
            )

    def _check_outward(self) -> None:
        """Each separate body must hold a volume above zero."""
        count = len(self.vertices_m)
        start, end = self.triangles.ravel(), np.roll(self.triangles, 1, axis=1).ravel()
        joined = coo_array((np.ones(start.size), (start, end)), shape=(count, count))
        body = connected_components(joined, directed=False)[1][self.triangles[:, 0]]
        share = np.einsum("ti,ti->t", self.elements.corner_m[:, 0], self.elements.vector_area_m2) / 3
        volume = np.bincount(body, weights=share)[np.unique(body)]
        if np.any(volume <= 0):
            raise SurfaceError(
                f"the surface is inside out: it holds {1000 * volume.min():.3g} litres",
                cure="reverse the order of each triangle's corners",
            )

    def _check_crossings(self) -> None:
        pair = first_crossing(self.elements)
        if pair is not None:
            first = np.zeros(len(self.triangles), dtype=bool)
            first[pair[0]] = True
            raise SurfaceError(
                f"the surface crosses itself: {_place(self, first)} and triangle {pair[1]} meet",
                cure="join the bodies into one before meshing",
            )


def _place(surface: Surface, which: NDArray[np.bool_]) -> str:
    """Name the first triangle of a choice and where it is."""
    triangle = int(np.flatnonzero(which)[0])
    x, y, z = 1000 * surface.vertices_m[surface.triangles[triangle]].mean(axis=0)
    return f"triangle {triangle} near ({x:.1f}, {y:.1f}, {z:.1f}) mm"
