"""A reference solution in use: any direction of it, joined to the instant model above."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.store import KeptResults, content_key
from forehear.radiation.harmonics import Expansion, harmonics
from forehear.room import NODES

_of_directions: KeptResults[FloatArray] = KeptResults(most=8)  # up to some megabytes each
_SAME = 1e-9  # frequencies no further apart are the same


@dataclass(frozen=True)
class Reach:
    """How far up a shape is solved, how exactly, and where the instant model takes over."""

    top_hz: float = 4000.0
    blend_from_hz: float = 2800.0  # to the top
    elements_a_wavelength: float = 6.0
    tolerance: float = 1e-2  # of what is fitted between solved frequencies, rms over directions
    own_band_from_hz: float = 1000.0  # above, a mesh serves half an octave; below, the coarsest serves all
    lowest_band_to_hz: float = 250.0

    @cached_property
    def bands_hz(self) -> tuple[FloatArray, ...]:
        """Frequencies of each mesh, the lowest first: every band of a prediction, and the nodes of what comes later."""
        every = np.union1d(FrequencyGrid.standard().frequency_hz, NODES.frequency_hz)
        every = every[every <= self.top_hz]
        cuts_hz = [self.top_hz]
        while cuts_hz[-1] > self.own_band_from_hz * np.sqrt(2.0):
            cuts_hz.append(cuts_hz[-1] / np.sqrt(2.0))
        cuts_hz = [self.lowest_band_to_hz, *reversed(cuts_hz[1:])]
        return tuple(np.split(every, np.unique(np.searchsorted(every, cuts_hz, side="right"))))

    def share_of_instant(self, frequency_hz: FloatArray) -> FloatArray:
        """How much the instant model counts, 0 below the blend and 1 from the top, [frequency]."""
        width = np.log(self.top_hz / self.blend_from_hz)
        through = np.clip(np.log(frequency_hz / self.blend_from_hz) / width, 0.0, 1.0)
        share: FloatArray = through**2 * (3 - 2 * through)
        return share


USUAL = Reach()


@dataclass(frozen=True, eq=False)
class Refined:
    """Far field of every moving surface of a shape, about the middle of the box, ready for any direction."""

    key: str  # of all that decides it
    reach: Reach
    behind_front_m: float  # the middle of the box
    sound_speed_m_s: float
    bands: tuple[Expansion, ...]

    @cached_property
    def frequency_hz(self) -> FloatArray:
        """All that was solved or fitted, rising."""
        return np.concatenate([band.frequency_hz for band in self.bands])

    def pressure(
        self,
        source: int,
        place_m: tuple[float, float, float],
        directions: Directions,
        frequency_hz: FloatArray,
    ) -> ComplexArray:
        """Far field of one source about its own place, [direction, frequency] [Pa s/m].

        Parameters
        ----------
        source
            Which one.
        place_m
            Its centre from the middle of the front, across and up; and how far its sound starts behind it. [m]
        directions
            Any. [-]
        frequency_hz
            Some of those that there are. [Hz]
        """
        unit = directions.unit
        degree = max(band.degree for band in self.bands)
        key = content_key(directions, degree)
        every = _of_directions.get(key, lambda: harmonics(unit, degree))
        found = np.concatenate([band.pressure(source, every) for band in self.bands], axis=1)
        across_m, up_m, set_back_m = place_m
        from_middle_m = unit @ np.array([self.behind_front_m, across_m, up_m])
        late_m = from_middle_m + set_back_m * np.maximum(unit[:, 0], 0.0)
        wavenumber = 2 * np.pi * frequency_hz / self.sound_speed_m_s
        pressure: ComplexArray = found[:, self._places(frequency_hz)] * np.exp(
            -1j * np.outer(late_m, wavenumber)
        )
        return pressure

    def joined(
        self,
        source: int,
        place_m: tuple[float, float, float],
        directions: Directions,
        frequency_hz: FloatArray,
        instant: ComplexArray,
    ) -> ComplexArray:
        """Take the place of the instant model of one source as far as this reaches, [direction, frequency]."""
        share = self.reach.share_of_instant(frequency_hz)
        held = share < 1
        exact = self.pressure(source, place_m, directions, frequency_hz[held])
        joined = np.array(instant)
        joined[:, held] = between(exact, instant[:, held], share[held])
        return joined

    def _places(self, frequency_hz: FloatArray) -> NDArray[np.intp]:
        there = self.frequency_hz
        place: NDArray[np.intp] = np.abs(there[:, None] - frequency_hz).argmin(axis=0)
        if np.any(np.abs(there[place] - frequency_hz) > _SAME * frequency_hz):
            raise ValueError(
                "a reference solution holds the bands of a prediction and the nodes of the room only"
            )
        return place


def between(first: ComplexArray, second: ComplexArray, share: FloatArray) -> ComplexArray:
    """Go from one pressure to another: the level by its logarithm, so that opposite phases leave no hole.

    The phase is that of the weighted sum of both unit phasors. Where phases are close this is the weighted sum itself.
    """
    one, other = (np.maximum(np.abs(pressure), np.finfo(float).tiny) for pressure in (first, second))
    turn = (1 - share) * first / one + share * second / other
    length = np.abs(turn)
    turn = np.where(length > 0, turn / np.maximum(length, np.finfo(float).tiny), 1.0)
    joined: ComplexArray = one ** (1 - share) * other**share * turn
    return joined
