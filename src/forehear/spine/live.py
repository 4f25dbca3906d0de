"""A design solved quickly enough to be dragged; the reasons follow when the hand rests."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from forehear.design import Design
from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.ground.findings import Finding
from forehear.ground.levels import level_db, pressure_level_db
from forehear.ground.work import Progress, unseen
from forehear.judge import spread_among_seats
from forehear.spine.around import Around, Surroundings, heard_around, surroundings
from forehear.spine.crossings import crossings_hz, way_pressure
from forehear.spine.cures import cure_of
from forehear.spine.findings import findings_of
from forehear.spine.hearing import Hearing
from forehear.spine.prediction import RuleOfThumb, SeatResult
from forehear.spine.rules import rules_of
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.stories import explained

AHEAD = int(np.flatnonzero(ORBIT_ANGLES_DEG == 0.0)[0])


@dataclass(frozen=True, eq=False)
class Live:
    """What seats hear of a design and what it sends around, without the reasons."""

    situation: Situation
    sound: Surroundings
    around: Around
    way_db: FloatArray  # [way, frequency] level of each way alone on axis
    crossings_hz: tuple[float | None, ...]
    spread_among_seats_db: float


@dataclass(frozen=True, eq=False)
class Reasons:
    """Why seats hear what they hear, and what would cure it."""

    seats: tuple[SeatResult, ...]  # with stories and cures
    findings: tuple[Finding, ...]
    rules: tuple[RuleOfThumb, ...]


def solve_live(design: Design, hearing: Hearing) -> Live:
    """Solve a design at its seats and on both orbits.

    Only what changed since the last few dozen times is solved again.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    situation = solve_situation(design, hearing)
    voltage = situation.network.voltage
    sound = surroundings(situation.speaker)
    ways = way_pressure(sound.horizontal, voltage, situation.speaker.branches)[:, AHEAD]
    smoothed_db = level_db(situation.smoothing.smooth(np.abs(ways) ** 2))
    return Live(
        situation=situation,
        sound=sound,
        around=heard_around(sound, voltage, situation.smoothing),
        way_db=pressure_level_db(ways),
        crossings_hz=crossings_hz(smoothed_db, situation.grid),
        spread_among_seats_db=_among_seats(situation),
    )


def explain(live: Live, progress: Progress = unseen) -> Reasons:
    """Find causes, cures, findings and rules of thumb; whoever listens to the progress may stop it by raising."""
    situation = live.situation
    progress(0.0, f"{situation.design.title}: causes")
    seats = tuple(_cured(situation, explained(situation), progress))
    progress(1.0, situation.design.title)
    return Reasons(
        seats=seats,
        findings=findings_of(situation, seats, live.around),
        rules=rules_of(situation, live.sound, seats, live.crossings_hz),
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
