"""How sure the numbers of each seat are: heard a few dozen times with everything a little otherwise than stated."""

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.work import Progress, side_by_side, unseen
from forehear.judge import find_holes, in_room_trend, spread_db
from forehear.room import Shoebox
from forehear.spine.doubts import Doubts, Otherwise, absorption_of, moved_inside, otherwise
from forehear.spine.hearing import speech_at
from forehear.spine.light import (
    LIGHT,
    Uncounted,
    Ways,
    smoothed_direct_db,
    smoothed_in_room_db,
    speech_of,
    uncounted,
)
from forehear.spine.pose import Pose
from forehear.spine.prediction import RANGED, Mattering, Range, SeatRanges, SeatResult, SpeechResult
from forehear.spine.reverberation import Reverberation
from forehear.spine.situation import Situation
from forehear.spine.translate import programme_of

ENDS = (0.05, 0.95)
FEWEST_DRAWS = 19  # of fewer not even the least and the greatest are expected to hold 90 % between them
DRAWS_ALONE = 8  # of each doubt without the others
AT_ONCE = 4  # draws a core between two looks at whether to stop

Made = TypeVar("Made")


def seat_ranges(
    situation: Situation,
    *,
    draws: int = 40,
    seed: int = 1,
    doubts: Doubts | None = None,
    progress: Progress = unseen,
) -> tuple[SeatRanges, ...]:
    """Tell between which values the numbers of every seat lie with a chance of 90 %.

    Everything that is not known exactly is drawn together, again and again, and heard by the light path. What that
    path says of a draw, less what it says of the design as it stands, is added to the numbers of the design; holes
    are looked for in curves that are put together so. A range need not hold the number itself: where a design is
    at its best as drawn, whatever is otherwise makes it worse.

    Parameters
    ----------
    situation
        A design solved and judged.
    draws
        How many; at least `FEWEST_DRAWS`.
    seed
        The same one gives the same ranges.
    doubts
        What may be otherwise; left out, what the brief and the design state.
    progress
        Whoever listens may stop the work by raising.

    Returns
    -------
    tuple of SeatRanges
        In the order of the seats of the situation.
    """
    if draws < FEWEST_DRAWS:
        raise ValueError(f"a range of 90 % needs at least {FEWEST_DRAWS} draws, not {draws}")
    doubts = doubts or Doubts.of(situation.design, situation.speaker.drivers)
    stated, light = _stated(situation), _Light(situation)
    nominal = light.heard(light.as_stated)
    apart = {words: own for words, own in doubts.alone().items() if own != doubts.none()}
    work = _Work(
        progress, f"{situation.design.title}: how sure this is", draws + DRAWS_ALONE * len(apart)
    )
    together = work.through(light.heard, light.drawn(doubts, draws, seed))
    alone = {
        words: work.through(light.spreads_db, light.drawn(own, DRAWS_ALONE, seed))
        for words, own in apart.items()
    }
    return tuple(
        _summed_up(
            seat,
            np.array([_numbers(stated[index], nominal[index], heard[index]) for heard in together]).T,
            {
                words: float(np.sqrt(np.mean((np.array(spreads)[:, index] - nominal[index].spread_db) ** 2)))
                for words, spreads in alone.items()
            },
        )
        for index, seat in enumerate(situation.seats)
    )


@dataclass
class _Work:
    """Work through many draws on all cores, a few at a time, telling in between how far it is."""

    progress: Progress
    doing: str
    whole: int
    done: int = 0

    def through(self, make: Callable[[Otherwise], Made], draws: Sequence[Otherwise]) -> list[Made]:
        """Make something of every draw."""
        made: list[Made] = []
        step = AT_ONCE * (os.cpu_count() or 1)
        for start in range(0, len(draws), step):
            self.progress(self.done / self.whole, self.doing)
            made += side_by_side(make, draws[start : start + step])
            self.done = self.done + len(draws[start : start + step])
        return made


def _summed_up(seat: SeatResult, drawn: FloatArray, moves_db: dict[str, float]) -> SeatRanges:
    """Find the ends of each number [number, draw] between which the next draw lies nine times in ten."""
    ends = np.quantile(drawn, ENDS, axis=1, method="weibull").T
    return SeatRanges(
        seat.placement,
        seat.name,
        *(Range(float(low), float(high)) for low, high in ends),
        drawn=drawn,
        mattering=tuple(
            Mattering(what, moved) for what, moved in sorted(moves_db.items(), key=lambda item: -item[1])
        ),
    )


# --- numbers ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Heard:
    """What is judged of one seat, on whichever path it was found."""

    grid: FrequencyGrid
    slope_db_per_octave: float | None
    in_room_db: FloatArray  # [frequency] ear-smoothed
    direct_db: FloatArray
    ahead_db: FloatArray
    speech: SpeechResult

    @property
    def spread_db(self) -> float:
        return _spread_db(self.in_room_db, self.slope_db_per_octave, self.grid)

    @property
    def direct_spread_db(self) -> float:
        return spread_db(self.direct_db, self.ahead_db, self.grid)


def _spread_db(in_room_db: FloatArray, slope_db_per_octave: float | None, grid: FrequencyGrid) -> float:
    return spread_db(in_room_db, in_room_trend(in_room_db, grid, slope_db_per_octave), grid)


def _stated(situation: Situation) -> list[_Heard]:
    """What the prediction itself says of every seat."""
    brief, voltage = situation.design.brief, situation.network.voltage
    programme, slope = programme_of(brief), brief.goals.in_room_slope_db_per_octave
    return [
        _Heard(
            situation.grid,
            slope,
            seat.in_room_smoothed_db,
            seat.direct_smoothed_db,
            seat.direct_trend_db,
            speech_at(sound, voltage, programme),
        )
        for seat, sound in zip(situation.seats, situation.sounds, strict=True)
    ]


def _numbers(stated: _Heard, nominal: _Heard, drawn: _Heard) -> list[float]:
    """Numbers of a seat in one draw, as `RANGED`: those stated, and what is otherwise by the light path."""
    in_room_db = stated.in_room_db + drawn.in_room_db - nominal.in_room_db
    direct_db = stated.direct_db + drawn.direct_db - nominal.direct_db
    ahead_db = stated.ahead_db + drawn.ahead_db - nominal.ahead_db
    trend_db = in_room_trend(in_room_db, stated.grid, stated.slope_db_per_octave)
    speech = [
        getattr(stated.speech, name) + getattr(drawn.speech, name) - getattr(nominal.speech, name)
        for name in ("c50_db", "u50_db", "sti")
    ]
    return [
        max(stated.spread_db + drawn.spread_db - nominal.spread_db, 0.0),
        max(stated.direct_spread_db + drawn.direct_spread_db - nominal.direct_spread_db, 0.0),
        _deepest_db(in_room_db, trend_db, stated.grid),
        _deepest_db(direct_db, ahead_db, stated.grid),
        *speech[:2],
        float(np.clip(speech[2], 0.0, 1.0)),
    ]


def _deepest_db(level_db: FloatArray, trend_db: FloatArray, grid: FrequencyGrid) -> float:
    return next((hole.depth_db for hole in find_holes(level_db, trend_db, grid)), 0.0)


# --- the light path ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Placed:
    """All ways from one placement to all seats, not driven yet."""

    uncounted: Uncounted
    ways: tuple[Ways, ...]


@dataclass(frozen=True, eq=False)
class _Light:
    """A design that is heard by the light path, as it stands or otherwise."""

    situation: Situation

    @cached_property
    def as_stated(self) -> Otherwise:
        """Nothing is otherwise."""
        return self.drawn(Doubts.of(self.situation.design, self.situation.speaker.drivers).none(), 1, 0)[0]

    @cached_property
    def placed_as_stated(self) -> tuple[_Placed, ...]:
        """All ways in the room as it is stated."""
        return self._placed(self.as_stated)

    def drawn(self, doubts: Doubts, draws: int, seed: int) -> list[Otherwise]:
        """Draw many times what may be otherwise."""
        situation = self.situation
        counts = (len(situation.scene.poses), len(situation.scene.ears))
        heard = (situation.grid, situation.speaker.air)
        return [otherwise(doubts, counts, heard, (seed, index)) for index in range(draws)]

    def heard(self, other: Otherwise) -> list[_Heard]:
        """Hear every seat."""
        situation, velocity = self.situation, self._velocity(other)
        hearing, speaker, brief = situation.hearing, situation.speaker, situation.design.brief
        programme, slope = programme_of(brief), brief.goals.in_room_slope_db_per_octave
        found = []
        for placed in self._placed_in(other):
            rest = placed.uncounted.driven(velocity, speaker)
            found += [
                _Heard(
                    situation.grid,
                    slope,
                    smoothed_in_room_db(ways, velocity, rest, hearing, speaker),
                    *smoothed_direct_db(ways, velocity, hearing),
                    speech_of(ways, velocity, rest, speaker, programme),
                )
                for ways in placed.ways
            ]
        return found

    def spreads_db(self, other: Otherwise) -> list[float]:
        """Spread of every seat, and nothing else."""
        situation, velocity = self.situation, self._velocity(other)
        slope = situation.design.brief.goals.in_room_slope_db_per_octave
        return [
            _spread_db(
                smoothed_in_room_db(ways, velocity, rest, situation.hearing, situation.speaker),
                slope,
                situation.grid,
            )
            for placed in self._placed_in(other)
            for rest in [placed.uncounted.driven(velocity, situation.speaker)]
            for ways in placed.ways
        ]

    def _velocity(self, other: Otherwise) -> ComplexArray:
        """Velocity of every source per volt at the terminals, [source, frequency]."""
        voltage = self.situation.network.voltage
        return self.situation.speaker.source_velocity(replace(voltage, volts_v=voltage.volts_v * other.drive))

    def _placed_in(self, other: Otherwise) -> tuple[_Placed, ...]:
        return self.placed_as_stated if other.same_place else self._placed(other)

    @cached_property
    def _uncounted_as_stated(self) -> tuple[Uncounted, ...]:
        return tuple(map(uncounted, self._reverberations(self.as_stated)))

    def _placed(self, other: Otherwise) -> tuple[_Placed, ...]:
        ears_m, found = self._ears_m(other), list(self._reverberations(other))
        rest = tuple(map(uncounted, found)) if other.absorption_differs else self._uncounted_as_stated
        return tuple(
            _Placed(own_rest, tuple(Ways(reverberation, ear_m) for ear_m in ears_m))
            for own_rest, reverberation in zip(rest, found, strict=True)
        )

    def _reverberations(self, other: Otherwise) -> Iterator[Reverberation]:
        """Every placement in the room that is otherwise."""
        scene, speaker = self.situation.scene, self.situation.speaker
        stated = scene.shoebox
        shoebox = Shoebox(
            stated.size_m, absorption_of(stated.absorption, other.absorption), stated.scattering
        )
        for pose, move_m in zip(scene.poses, other.speaker_m, strict=True):
            own_m = [pose.in_room_m(speaker, speaker.position_m(i)) for i in range(len(speaker.sources))]
            middle_m = np.array(pose.middle_of_front_m)
            moved_m = middle_m + moved_inside(np.array([middle_m, *own_m]), move_m, stated.size_m)
            yield Reverberation(speaker, _at(pose, moved_m), shoebox, LIGHT)

    def _ears_m(self, other: Otherwise) -> list[FloatArray]:
        """Every seat, where it is otherwise."""
        scene = self.situation.scene
        places_m = [np.array(ear.position_m) for ear in scene.ears]
        return [
            place_m + moved_inside(place_m[np.newaxis], move_m, scene.shoebox.size_m)
            for place_m, move_m in zip(places_m, other.seat_m, strict=True)
        ]


def _at(pose: Pose, middle_m: FloatArray) -> Pose:
    x_m, y_m, z_m = middle_m.tolist()
    return replace(pose, middle_of_front_m=(x_m, y_m, z_m))
