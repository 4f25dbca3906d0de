"""How sure the numbers of each seat are: heard a few dozen times with everything a little otherwise than stated."""

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.store import KeptResults, content_key
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
from forehear.spine.situation import Setting, Situation
from forehear.spine.translate import programme_of

FEWEST_DRAWS = 19  # of fewer not even the least and the greatest are expected to hold 90 % between them
DRAWS_ALONE = 8  # of each doubt without the others
AT_ONCE = 4  # draws a core between two looks at whether to stop

Made = TypeVar("Made")
_ranges: KeptResults[tuple[SeatRanges, ...]] = KeptResults(most=24)  # a few kilobytes a seat


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
    progress(0.0, _doing(situation))
    key = content_key(heard_key(situation), doubts, draws, seed)
    return _ranges.get(key, lambda: _seat_ranges(LightPath(situation), doubts, (draws, seed), progress))


def _seat_ranges(
    light: "LightPath", doubts: Doubts, times_and_seed: tuple[int, int], progress: Progress
) -> tuple[SeatRanges, ...]:
    """Draw everything together, and each doubt alone."""
    (times, seed), situation = times_and_seed, light.situation
    nominal_db = light.nominal_spreads_db
    apart = {words: own for words, own in doubts.alone().items() if own != doubts.none()}
    work = _Work(progress, _doing(situation), times + DRAWS_ALONE * len(apart))
    numbers = np.array(work.through(light.numbers, light.drawn(doubts, times, seed)))  # [draw, seat, number]
    moves_db = {
        words: _root_mean_square(
            np.array(work.through(light.spreads_db, light.drawn(own, DRAWS_ALONE, seed))) - nominal_db
        )
        for words, own in apart.items()
    }
    return tuple(
        summed_up(
            seat, numbers[:, index].T, {words: float(moved_db[index]) for words, moved_db in moves_db.items()}
        )
        for index, seat in enumerate(situation.seats)
    )


def _doing(situation: Situation) -> str:
    return f"{situation.design.title}: how sure this is"


def heard_key(setting: Setting) -> str:
    """Key of all that decides the numbers of every seat."""
    brief, scene, speaker = setting.design.brief, setting.scene, setting.speaker
    carrying = setting.hearing.carrying
    return content_key(
        [Reverberation(speaker, pose, scene.shoebox, carrying).key for pose in scene.poses],
        speaker.acoustics,
        setting.network.voltage.volts_v,
        [(pose.placement, scene.ears) for pose in scene.poses],
        programme_of(brief),
        brief.goals.in_room_slope_db_per_octave,
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


def _root_mean_square(values: FloatArray) -> FloatArray:
    """Over the first axis."""
    mean: FloatArray = np.sqrt(np.mean(np.square(values), axis=0))
    return mean


def summed_up(seat: SeatResult, drawn: FloatArray, moves_db: dict[str, float]) -> SeatRanges:
    """Find the range of each number [number, draw]."""
    found = {number: Range.of(own) for number, own in zip(RANGED, drawn, strict=True)}
    return SeatRanges(
        placement=seat.placement,
        name=seat.name,
        spread_db=found["spread_db"],
        direct_spread_db=found["direct_spread_db"],
        hole_db=found["hole_db"],
        direct_hole_db=found["direct_hole_db"],
        c50_db=found["c50_db"],
        u50_db=found["u50_db"],
        sti=found["sti"],
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

    @cached_property
    def spread_db(self) -> float:
        return _spread_db(self.in_room_db, self.slope_db_per_octave, self.grid)

    @cached_property
    def direct_spread_db(self) -> float:
        return spread_db(self.direct_db, self.ahead_db, self.grid)


def _spread_db(in_room_db: FloatArray, slope_db_per_octave: float | None, grid: FrequencyGrid) -> float:
    return spread_db(in_room_db, in_room_trend(in_room_db, grid, slope_db_per_octave), grid)


def _stated(situation: Situation) -> list[_Heard]:
    """Collect what the prediction itself says of every seat."""
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
class LightPath:
    """A design that is heard by the light path, as it stands or otherwise."""

    situation: Situation

    @cached_property
    def as_stated(self) -> Otherwise:
        """Nothing is otherwise."""
        return self.drawn(Doubts.of(self.situation.design, self.situation.speaker.drivers).none(), 1, 0)[0]

    def drawn(self, doubts: Doubts, draws: int, seed: int) -> list[Otherwise]:
        """Draw many times what may be otherwise."""
        situation = self.situation
        counts = (len(situation.scene.poses), len(situation.scene.ears))
        heard = (situation.grid, situation.speaker.air)
        return [otherwise(doubts, counts, heard, (seed, index)) for index in range(draws)]

    def numbers(self, other: Otherwise) -> FloatArray:
        """Return the numbers of every seat, [seat, number] as `RANGED`: those stated, moved by what is otherwise."""
        each = zip(self._stated, self._nominal, self._heard(other), strict=True)
        return np.array([_numbers(stated, nominal, heard) for stated, nominal, heard in each])

    @cached_property
    def nominal_spreads_db(self) -> list[float]:
        """Spread of every seat as this path hears the design as it stands; makes ready all that draws share."""
        self.numbers(self.as_stated)
        return [heard.spread_db for heard in self._nominal]

    @cached_property
    def _stated(self) -> list[_Heard]:
        return _stated(self.situation)

    @cached_property
    def _nominal(self) -> list[_Heard]:
        return self._heard(self.as_stated)

    def _heard(self, other: Otherwise) -> list[_Heard]:
        """Hear every seat."""
        situation, velocity = self.situation, self._velocity(other)
        programme, slope = programme_of(situation.design.brief), self._slope_db_per_octave
        return [
            _Heard(situation.grid, slope, *levels_and_speech)
            for ways, uncounted in self._placed_in(other)
            for rest in [uncounted.driven(velocity, situation.speaker)]
            for levels_and_speech in zip(
                smoothed_in_room_db(ways, velocity, rest, situation.hearing),
                *smoothed_direct_db(ways, velocity, situation.hearing),
                speech_of(ways, velocity, rest, programme),
                strict=True,
            )
        ]

    def spreads_db(self, other: Otherwise) -> list[float]:
        """Spread of every seat, and nothing else."""
        situation, velocity = self.situation, self._velocity(other)
        return [
            _spread_db(level_db, self._slope_db_per_octave, situation.grid)
            for ways, uncounted in self._placed_in(other)
            for level_db in smoothed_in_room_db(
                ways, velocity, uncounted.driven(velocity, situation.speaker), situation.hearing
            )
        ]

    @property
    def _slope_db_per_octave(self) -> float | None:
        return self.situation.design.brief.goals.in_room_slope_db_per_octave

    def _velocity(self, other: Otherwise) -> ComplexArray:
        """Velocity of every source per volt at the terminals, [source, frequency]."""
        voltage = self.situation.network.voltage
        return self.situation.speaker.source_velocity(replace(voltage, volts_v=voltage.volts_v * other.drive))

    def _placed_in(self, other: Otherwise) -> tuple[tuple[Ways, Uncounted], ...]:
        """All ways from each placement to all seats, and what is not counted of them; what stands is kept."""
        return self._placed_as_stated if other.same_place else self._placed(other)

    @cached_property
    def _placed_as_stated(self) -> tuple[tuple[Ways, Uncounted], ...]:
        return self._placed(self.as_stated)

    @cached_property
    def _uncounted_as_stated(self) -> tuple[Uncounted, ...]:
        return tuple(map(uncounted, self._reverberations(self.as_stated)))

    def _placed(self, other: Otherwise) -> tuple[tuple[Ways, Uncounted], ...]:
        found = tuple(self._reverberations(other))
        rest = tuple(map(uncounted, found)) if other.absorption_differs else self._uncounted_as_stated
        ears_m = self._ears_m(other)
        return tuple((Ways(one, ears_m), own) for one, own in zip(found, rest, strict=True))

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

    def _ears_m(self, other: Otherwise) -> FloatArray:
        """Every seat, where it is otherwise, [seat, 3]."""
        scene = self.situation.scene
        stated_m = np.array([ear.position_m for ear in scene.ears])
        moves_m = zip(stated_m, other.seat_m, strict=True)
        return stated_m + [
            moved_inside(place_m[np.newaxis], move_m, scene.shoebox.size_m) for place_m, move_m in moves_m
        ]


def _at(pose: Pose, middle_m: FloatArray) -> Pose:
    x_m, y_m, z_m = middle_m.tolist()
    return replace(pose, middle_of_front_m=(x_m, y_m, z_m))
