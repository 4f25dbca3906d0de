"""What would cure a hole in the room: one small change, found by calculation and proved on a copy of the design."""

import numpy as np

from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import Complaints, ForehearError
from forehear.ground.levels import level_db
from forehear.judge import LEAST_CROSSING_OVER_RESONANCE, Hole, crossing_over_resonance
from forehear.judge.words import db_words
from forehear.spine.attempts import Attempt, ladders
from forehear.spine.crossings import crossings_hz
from forehear.spine.prediction import Cure, SeatResult
from forehear.spine.situation import Situation, solve_situation

HALF = 0.5
ASIDE = 2 ** (1 / 4)  # a hole that only moves aside by less than this is the same hole
SPOILT_HOLE_DB = 1.0  # what grows by more elsewhere is told
SPOILT_SPREAD_DB = 0.3
RUINED_DB = 1.5  # straight ahead may not become more uneven than this by a cure
EVENNESS_HZ = (300.0, 10_000.0)


def cure_of(situation: Situation, index: int) -> Cure | None:
    """Find the smallest single change that halves the deepest hole of a seat in the room; None when none does.

    Kinds of change are ladders of growing steps (crossing, one end of a way, turn, spacing). On each the first step
    that halves the hole is found on the seat alone; it is then made in a copy of the design file and everything is
    solved again. What is returned are the numbers of that copy. Of the cures that give no other seat a hole half as
    deep the one of least effort wins; where every one does, the one of least effort that stays below the hole itself.

    Parameters
    ----------
    index
        Which of the situation's seats; it must have a hole in the room.
    """
    seat, grid = situation.seats[index], situation.grid
    hole = seat.hole
    assert hole is not None
    quickly = solve_situation(situation.design, situation.hearing.quick())
    tried = [ladder.smallest(lambda heard: _halves(heard, seat, grid)) for ladder in ladders(quickly, index)]
    found = [attempt for attempt in tried if attempt is not None]
    at_a_price: Cure | None = None
    for attempt in sorted(found, key=lambda attempt: attempt.effort):
        if _proved(quickly, seat, index, attempt) is None:
            continue
        changed = _proved(situation, seat, index, attempt)
        if changed is None:
            continue
        left_db = depth_left_db(changed.seats[index], hole, grid)
        cure = Cure(attempt.doing, attempt.changes, left_db, tuple(_spoils(situation, changed)))
        if not _deepens_elsewhere(situation, changed, HALF * hole.depth_db):
            return cure
        at_a_price = at_a_price or cure
    return at_a_price


def depth_left_db(seat: SeatResult, hole: Hole, grid: FrequencyGrid) -> float:
    """How far a seat still falls below its trend where a hole was; 0 when it no longer does [dB]."""
    frequency_hz = grid.frequency_hz
    there = (frequency_hz >= hole.lower_hz / ASIDE) & (frequency_hz <= hole.upper_hz * ASIDE)
    return max(0.0, float((seat.in_room_trend_db - seat.in_room_smoothed_db)[there].max()))


def _halves(changed: SeatResult, seat: SeatResult, grid: FrequencyGrid) -> bool:
    """Whether the hole is halved and has not merely gone elsewhere."""
    hole = seat.hole
    assert hole is not None
    half = HALF * hole.depth_db
    others = [other.depth_db for other in seat.holes if other is not hole]
    allowed = max([half, *others])
    gone = all(other.depth_db <= allowed + SPOILT_HOLE_DB for other in changed.holes)
    return gone and depth_left_db(changed, hole, grid) <= half


def _proved(situation: Situation, seat: SeatResult, index: int, attempt: Attempt) -> Situation | None:
    """Make the change in a copy of the design and solve it all again; None where that is no cure after all."""
    assert seat.hole is not None
    try:
        changed = solve_situation(situation.design.with_changes(attempt.changes), situation.hearing)
    except (ForehearError, Complaints):
        return None
    if not _halves(changed.seats[index], seat, situation.grid) or _ruins(situation, changed, seat.hole):
        return None
    return changed


def _ruins(before: Situation, after: Situation, hole: Hole) -> bool:
    """Whether a cure is worse than the illness: elsewhere, for the amplifier, straight ahead or for a driver."""
    goal_ohm = before.design.brief.goals.lowest_impedance_ohm or 0.0
    too_low = _lowest_ohm(after) < min(goal_ohm, _lowest_ohm(before))
    uneven = _unevenness_db(after) > _unevenness_db(before) + RUINED_DB
    deeper = _deepens_elsewhere(before, after, hole.depth_db)
    return deeper or too_low or uneven or _strains_a_driver(before, after)


def _deepens_elsewhere(before: Situation, after: Situation, allowed_db: float) -> bool:
    """Whether any seat gets a hole clearly deeper than it had and than is allowed."""
    return any(
        new.hole is not None
        and new.hole.depth_db > max(allowed_db, old.hole.depth_db if old.hole else 0.0) + SPOILT_HOLE_DB
        for old, new in zip(before.seats, after.seats, strict=True)
    )


def _strains_a_driver(before: Situation, after: Situation) -> bool:
    """Whether a driver would be crossed nearer to its resonance than the trade allows, and than it was."""
    return any(
        now < LEAST_CROSSING_OVER_RESONANCE and now < was
        for was, now in zip(_over_resonance(before), _over_resonance(after), strict=True)
    )


def _over_resonance(situation: Situation) -> list[float]:
    """How many times its own resonance the driver above each crossing is crossed at; infinite without a crossing."""
    driven = situation.sounds[0].on_axis_pa_v * situation.network.voltage.volts_v
    drivers, ways = situation.speaker.drivers, situation.design.ways
    on_axis = np.stack([driven[[drivers.index(name) for name in way.drivers]].sum(axis=0) for way in ways])
    level = level_db(situation.smoothing.smooth(np.abs(on_axis) ** 2))
    return [
        crossing_over_resonance(hz, situation.design.driver[way.drivers[0]].part.small_signal.fs_hz)
        if hz is not None
        else float("inf")
        for hz, way in zip(crossings_hz(level, situation.grid), ways[1:], strict=True)
    ]


def _spoils(before: Situation, after: Situation) -> list[str]:
    """Say what gets worse elsewhere, in words."""
    said = []
    for old, new in zip(before.seats, after.seats, strict=True):
        old_db = old.hole.depth_db if old.hole else 0.0
        new_db = new.hole.depth_db if new.hole else 0.0
        if new_db > old_db + SPOILT_HOLE_DB:
            grown = (
                f"gets a hole {db_words(new_db)} deep"
                if old.hole is None
                else f"hole grows to {db_words(new_db)}"
            )
            said.append(f"{old.name} {grown}")
        elif new.spread_db > old.spread_db + SPOILT_SPREAD_DB:
            said.append(f"{old.name} spreads {new.spread_db - old.spread_db:.1f} dB more")
    worse_db = _unevenness_db(after) - _unevenness_db(before)
    if worse_db > SPOILT_SPREAD_DB:
        said.append(f"straight ahead gets {worse_db:.1f} dB less even")
    return said


def _lowest_ohm(situation: Situation) -> float:
    return float(np.abs(situation.network.impedance_ohm).min())


def _unevenness_db(situation: Situation) -> float:
    """Return the standard deviation of the ear-smoothed level on axis [dB]."""
    frequency_hz = situation.grid.frequency_hz
    within = (frequency_hz >= EVENNESS_HZ[0]) & (frequency_hz <= EVENNESS_HZ[1])
    return float(np.std(situation.seats[0].direct_trend_db[within]))
