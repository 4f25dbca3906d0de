"""What may be otherwise than stated, by how much, and one way after another in which it may be so."""

from dataclasses import dataclass, fields, replace
from typing import Self

import numpy as np

from forehear.design import Design
from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid

SOLVER_DB = 0.5  # rms: the instant solver against boundary elements, as docs/numbers.md says
MOST_ABSORPTION = 0.99
NEAREST_WALL_M = 0.01  # what is moved stays at least as far inside the room, or as near as it was


@dataclass(frozen=True)
class Doubts:
    """Half widths of what may be otherwise, all values in between being as likely; but for the solver, see there."""

    acoustic_depth_m: tuple[float, ...]  # [driver]
    driver_spread_db: float
    absorption_share: float  # of each surface, alike in all octaves
    speaker_position_m: float  # along each axis
    seat_position_m: float
    solver_db: float = SOLVER_DB  # rms, normal, one value an octave and driver, between them smooth

    @classmethod
    def of(cls, design: Design, drivers: tuple[str, ...]) -> Self:
        """Take what a brief states, and for drivers what the design states of them."""
        stated = design.brief.uncertainty
        own_m = (design.driver[name].set_back_uncertainty_m for name in drivers)
        return cls(
            tuple(own or stated.acoustic_depth_m for own in own_m),
            stated.driver_spread_db,
            stated.absorption_share,
            stated.position_m,
            stated.position_m,
        )

    def none(self) -> "Doubts":
        """Return that everything is as stated."""
        return Doubts((0.0,) * len(self.acoustic_depth_m), 0.0, 0.0, 0.0, 0.0, 0.0)

    def alone(self) -> dict[str, "Doubts"]:
        """Return each doubt without the others, by the words for it."""
        own = {field.name: getattr(self, field.name) for field in fields(self)}
        return {
            words: replace(self.none(), **{name: own[name]})  # one name is one half width
            for name, words in WORDS.items()
        }


WORDS = {
    "acoustic_depth_m": "how deep the drivers' acoustic centres lie",
    "driver_spread_db": "how loud each driver is",
    "absorption_share": "what the surfaces swallow",
    "speaker_position_m": "where the speaker stands",
    "seat_position_m": "where the seat is",
    "solver_db": "what the solver may miss",
}


@dataclass(frozen=True, eq=False)
class Otherwise:
    """One way in which everything may be otherwise."""

    drive: ComplexArray  # [driver, frequency] by what each driver's voltage is multiplied
    absorption: FloatArray  # [surface] by what the absorption is multiplied
    speaker_m: FloatArray  # [placement, 3] how far it stands away
    seat_m: FloatArray  # [seat, 3]

    @property
    def absorption_differs(self) -> bool:
        """Tell whether any surface swallows more or less than stated."""
        return bool(np.any(self.absorption != 1))

    @property
    def same_place(self) -> bool:
        """Tell whether the room, the speakers and the seats are as stated."""
        return not (self.absorption_differs or self.speaker_m.any() or self.seat_m.any())


def otherwise(
    doubts: Doubts, counts: tuple[int, int], heard: tuple[FrequencyGrid, Air], seed: tuple[int, int]
) -> Otherwise:
    """Draw one way in which everything may be otherwise.

    What a brief states is drawn apart from what a design states: candidates for one brief and of one seed stand in
    the same places of the same room. Greater doubts move everything in the same direction, only further.

    Parameters
    ----------
    doubts
        By how much.
    counts
        Of placements and of seats.
    heard
        The bands, and the air that sound flies in.
    seed
        Of all draws, and the number of this one.
    """
    (grid, air), drivers = heard, len(doubts.acoustic_depth_m)
    of_room, of_speakers, of_seats, of_drivers = (np.random.default_rng([*seed, part]) for part in range(4))
    deep_m, gain_db = (of_drivers.uniform(-1.0, 1.0, drivers) for _ in range(2))
    missed_db = of_drivers.normal(size=(drivers, len(_octaves(grid)) + 1))
    gain_db = doubts.driver_spread_db * gain_db[:, np.newaxis] + doubts.solver_db * _smooth(missed_db, grid)
    wave_number = 2 * np.pi * grid.frequency_hz / air.sound_speed_m_s
    deep_m = np.array(doubts.acoustic_depth_m) * deep_m
    return Otherwise(
        drive=10 ** (gain_db / 20) * np.exp(-1j * np.outer(deep_m, wave_number)),
        absorption=1 + doubts.absorption_share * of_room.uniform(-1.0, 1.0, 6),
        speaker_m=doubts.speaker_position_m * of_speakers.uniform(-1.0, 1.0, (counts[0], 3)),
        seat_m=doubts.seat_position_m * of_seats.uniform(-1.0, 1.0, (counts[1], 3)),
    )


def absorption_of(stated: FloatArray, factor: FloatArray) -> FloatArray:
    """Multiply the absorption of each surface [surface, octave]; what is open stays open."""
    most = np.maximum(MOST_ABSORPTION, stated)
    changed: FloatArray = np.clip(stated * factor[:, np.newaxis], 0.0, most)
    changed[stated >= 1] = 1.0
    return changed


def moved_inside(places_m: FloatArray, move_m: FloatArray, size_m: tuple[float, float, float]) -> FloatArray:
    """Shorten a move of several places [place, 3] along each axis until all of them stay inside the room."""
    lowest = np.minimum(NEAREST_WALL_M - places_m.min(axis=0), 0.0)
    highest = np.maximum(np.array(size_m) - NEAREST_WALL_M - places_m.max(axis=0), 0.0)
    shortened: FloatArray = np.clip(move_m, lowest, highest)
    return shortened


def _octaves(grid: FrequencyGrid) -> FloatArray:
    """Whole octaves about 1 kHz from below the lowest band to below the highest one."""
    ends = np.floor(np.log2(grid.frequency_hz[[0, -1]] / 1000.0))
    return np.arange(ends[0], ends[1] + 1)


def _smooth(knots: FloatArray, grid: FrequencyGrid) -> FloatArray:
    """Go from knot to knot [..., octave] by quarters of a circle: so the variance is the same everywhere."""
    place = np.log2(grid.frequency_hz / 1000.0) - _octaves(grid)[0]
    lower = place.astype(int)
    angle = np.pi / 2 * (place - lower)
    smooth: FloatArray = knots[..., lower] * np.cos(angle) + knots[..., lower + 1] * np.sin(angle)
    return smooth
