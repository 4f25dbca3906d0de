"""A design solved quickly enough to be dragged; the reasons follow when the hand rests."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from forehear.design import Design
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG, Directions
from forehear.ground.findings import Finding
from forehear.ground.flowing import DriverPressure
from forehear.ground.levels import level_db, pressure_level_db
from forehear.ground.store import content_key
from forehear.ground.work import Progress, unseen
from forehear.judge import spread_among_seats
from forehear.spine.around import Around, Circle, Surroundings, heard_around, surroundings
from forehear.spine.crossings import crossings_hz, way_pressure
from forehear.spine.cures import cure_of
from forehear.spine.findings import findings_of
from forehear.spine.hearing import Hearing, speech_at
from forehear.spine.prediction import DirectResult, RuleOfThumb, SeatRanges, SeatResult
from forehear.spine.rules import rules_of
from forehear.spine.situation import Setting, Situation, begin, heard, heard_directly
from forehear.spine.speaker import roughly
from forehear.spine.stories import explained
from forehear.spine.sureness import seat_ranges
from forehear.spine.translate import programme_of

AHEAD = int(np.flatnonzero(ORBIT_ANGLES_DEG == 0.0)[0])


@dataclass(frozen=True, eq=False)
class Live:
    """What seats hear of a design and what it sends around, without the reasons.

    Each part is solved when it is first asked for, so that a hand waits only for what it looks at.
    """

    setting: Setting
    out_of_sight: Circle | None = None  # the orbit of which only the standard curves are wanted

    @cached_property
    def shape_and_place(self) -> str:
        """Key of all that decides what arrives at the seats, but the network."""
        return content_key(self.setting.speaker.acoustics, self.setting.scene)

    def quickly(self, out_of_sight: Circle | None = None) -> "Live":
        """Return the same, heard with fewer reflections counted one by one and rougher edges: for a moving hand."""
        quick = replace(
            self.setting, hearing=self.setting.hearing.quick(), speaker=roughly(self.setting.speaker)
        )
        return Live(quick, out_of_sight)

    @cached_property
    def situation(self) -> Situation:
        """What every seat hears."""
        return heard(self.setting)

    @cached_property
    def direct(self) -> tuple[DirectResult, ...]:
        """What reaches every seat straight."""
        return heard_directly(self.setting)

    @cached_property
    def sound(self) -> Surroundings:
        """Each driver's pressure on both orbits."""
        return surroundings(self.setting.speaker, self.out_of_sight)

    @cached_property
    def around(self) -> Around:
        """Both orbits, driven, and the standard curves."""
        return heard_around(self.sound, self.setting.network.voltage, self.setting.smoothing)

    @cached_property
    def way_pa_v(self) -> ComplexArray:
        """Pressure of each way alone on axis, [way, frequency]."""
        setting, orbit = self.setting, self.sound.horizontal
        straight = [int(orbit.directions.unit[:, 0].argmax())]
        ahead = DriverPressure(
            orbit.grid,
            Directions(orbit.directions.unit[straight]),
            orbit.drivers,
            orbit.pressure_pa_v[:, straight],
        )
        return way_pressure(ahead, setting.network.voltage, setting.speaker.branches)[:, 0]

    @property
    def on_axis_db(self) -> FloatArray:
        """Level on axis, [frequency]."""
        return pressure_level_db(self.way_pa_v.sum(axis=0))

    @property
    def way_db(self) -> FloatArray:
        """Level of each way alone on axis, [way, frequency]."""
        return pressure_level_db(self.way_pa_v)

    @cached_property
    def crossings_hz(self) -> tuple[float | None, ...]:
        """Where each way hands over to the next."""
        smoothed_db = level_db(self.setting.smoothing.smooth(np.abs(self.way_pa_v) ** 2))
        return crossings_hz(smoothed_db, self.setting.grid)

    @cached_property
    def spread_among_seats_db(self) -> float:
        """How differently the seats hear."""
        return _among_seats(self.situation)


@dataclass(frozen=True, eq=False)
class Reasons:
    """Why seats hear what they hear, and what would cure it."""

    seats: tuple[SeatResult, ...]  # with stories and cures
    findings: tuple[Finding, ...]
    rules: tuple[RuleOfThumb, ...]


def solve_live(design: Design, hearing: Hearing) -> Live:
    """Drive the network of a design; its seats and orbits are solved when they are asked for.

    Only what changed since the last few dozen times is solved again.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    return Live(begin(design, hearing))


def explain(live: Live, progress: Progress = unseen) -> Reasons:
    """Find causes, cures, findings and rules of thumb; whoever listens to the progress may stop it by raising."""
    situation = live.situation
    progress(0.0, f"{situation.design.title}: causes")
    seats = tuple(_cured(situation, with_speech(situation, explained(situation)), progress))
    findings = findings_of(situation, seats, live.around)
    rules = rules_of(situation, live.sound, seats, live.crossings_hz)
    progress(1.0, situation.design.title)
    return Reasons(seats=seats, findings=findings, rules=rules)


def with_ranges(live: Live, reasons: Reasons, progress: Progress = unseen) -> Reasons:
    """Add how sure the numbers of every seat are; whoever listens to the progress may stop it by raising."""
    return and_ranges(reasons, seat_ranges(live.situation, progress=progress))


def and_ranges(reasons: Reasons, ranges: Sequence[SeatRanges]) -> Reasons:
    """Add ranges of every seat that are known already."""
    seats = tuple(replace(seat, ranges=own) for seat, own in zip(reasons.seats, ranges, strict=True))
    return replace(reasons, seats=seats)


def with_speech(situation: Situation, seats: Iterable[SeatResult]) -> tuple[SeatResult, ...]:
    """Add how clear speech is at every seat."""
    programme, voltage = programme_of(situation.design.brief), situation.network.voltage
    return tuple(
        replace(seat, speech=speech_at(sound, voltage, programme))
        for seat, sound in zip(seats, situation.sounds, strict=True)
    )


def _cured(situation: Situation, seats: tuple[SeatResult, ...], progress: Progress) -> Iterator[SeatResult]:
    """Look for a cure of the deepest hole of every seat that has one."""
    for index, seat in enumerate(seats):
        progress((index + 1) / (len(seats) + 1), f"{situation.design.title}: cures for {seat.name}")
        yield replace(seat, cure=cure_of(situation, index)) if seat.hole else seat


def _among_seats(situation: Situation) -> float:
    """Spread among the seats of one placement; of several placements the most uneven one counts."""
    return max(
        spread_among_seats(
            np.stack(
                [seat.in_room_smoothed_db for seat in situation.seats if seat.placement == pose.placement]
            ),
            situation.grid,
        )
        for pose in situation.scene.poses
    )
