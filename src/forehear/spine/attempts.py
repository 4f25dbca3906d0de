"""Single changes worth trying against a hole, each kind as a ladder of growing steps, tried on one seat."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np

from forehear.design import Change, Way
from forehear.ground.arrays import FloatArray
from forehear.judge.words import angle_words
from forehear.network import NetworkSolution, solve_network
from forehear.spine.hearing import SeatSound, judge_seat, sound_at_seats
from forehear.spine.pose import Pose
from forehear.spine.prediction import SeatResult
from forehear.spine.retuning import End, retuned
from forehear.spine.reverberation import Reverberation
from forehear.spine.situation import Situation
from forehear.spine.speaker import Speaker
from forehear.spine.translate import branch_of

TURNS_DEG = (2, 4, 6, 8, 10, 12, 15, 18, 21, 24, 27, 30)
MOVES_MM = (4, 8, 12, 16, 20, 24, 32, 40, 48)
OCTAVES = (1 / 6, 1 / 3, 1 / 2, 2 / 3, 5 / 6, 1.0)
SMALL_TURN_DEG, SMALL_MOVE_MM, SMALL_OCTAVES = 15.0, 20.0, 0.5  # efforts of these count alike
STRIDE = 3  # only every third step is tried until one serves; then those before it


@dataclass(frozen=True, eq=False)
class Attempt:
    """One change: in words, as changes to the design file, and what the seat hears of it."""

    doing: str
    changes: tuple[Change, ...]
    effort: float
    heard: SeatResult


@dataclass(frozen=True, eq=False)
class Ladder:
    """One kind of change in growing steps; `make` gives None for a step that cannot be made."""

    steps: tuple[float, ...]
    make: Callable[[float], Attempt | None]

    def smallest(self, serves: Callable[[SeatResult], bool]) -> Attempt | None:
        """Find the smallest step that serves; a kind that needs a narrow optimum can be missed."""
        for last in range(STRIDE - 1, len(self.steps), STRIDE):
            attempt = self.make(self.steps[last])
            if attempt is not None and serves(attempt.heard):
                tried = (self.make(step) for step in self.steps[last - STRIDE + 1 : last])
                smaller = next((one for one in tried if one is not None and serves(one.heard)), None)
                return smaller or attempt
        return None


def ladders(situation: Situation, index: int) -> Iterator[Ladder]:
    """Yield each kind of change worth trying at one seat."""
    for toward in (1, 0):
        yield Ladder(TURNS_DEG, partial(_turned, situation, index, toward))
    yield from _retuning_ladders(situation, index)
    yield from _moving_ladders(situation, index)


def _retuning_ladders(situation: Situation, index: int) -> Iterator[Ladder]:
    for lower, upper in pairwise(situation.design.ways):
        for ends in (((lower, End.UPPER), (upper, End.LOWER)), ((lower, End.UPPER),), ((upper, End.LOWER),)):
            for direction in (1, -1):
                yield Ladder(OCTAVES, partial(_retuned, situation, index, ends, direction))


def _moving_ladders(situation: Situation, index: int) -> Iterator[Ladder]:
    ways = situation.design.ways
    for way in ways:
        if len(way.drivers) > 1:
            yield Ladder(MOVES_MM, partial(_moved, situation, index, way.drivers))
            yield Ladder(tuple(-step for step in MOVES_MM), partial(_moved, situation, index, way.drivers))
    for lower, upper in pairwise(ways):
        if len(lower.drivers) == len(upper.drivers) == 1:
            names = (upper.drivers[0], lower.drivers[0])
            yield Ladder(MOVES_MM, partial(_moved, situation, index, names))


def _turned(situation: Situation, index: int, toward: int, step_deg: float) -> Attempt:
    """Turn the cabinet toward the seat or away from it."""
    sound = situation.sounds[index]
    side = 1 if (sound.bearing.azimuth_rad >= 0) == bool(toward) else -1
    turn_deg = round(float(np.degrees(sound.pose.turn_rad)) + side * step_deg, 1)
    pose = replace(sound.pose, turn_rad=float(np.radians(turn_deg)))
    (heard,) = sound_at_seats(_in_room(situation, situation.speaker, pose), (sound.ear,))
    return Attempt(
        f"turn the cabinet {angle_words(step_deg)} {'toward' if toward else 'away from'} it",
        (Change(("placements", sound.pose.placement, "turn"), f"{turn_deg:g} deg"),),
        step_deg / SMALL_TURN_DEG,
        _judged(situation, heard, situation.network),
    )


def _retuned(
    situation: Situation, index: int, ends: Sequence[tuple[Way, End]], direction: int, octaves: float
) -> Attempt | None:
    """Move a crossing, or one end of one way, up or down."""
    design = situation.design
    found = [retuned(design, way, end, 2.0 ** (-direction * octaves)) for way, end in ends]
    changes = tuple(change for part in found for change in part.changes)
    if not changes:
        return None
    way_of = {part.way.name: part.way for part in found}
    branches = [branch_of(way_of.get(way.name, way)) for way in design.ways]
    network = solve_network(branches, situation.speaker.impedance)
    return Attempt(
        f"{_retuning_words(ends, direction)} {octaves:.1f} octave ({_values_words(changes)})",
        changes,
        octaves / SMALL_OCTAVES,
        _judged(situation, situation.sounds[index], network),
    )


def _retuning_words(ends: Sequence[tuple[Way, End]], direction: int) -> str:
    lower, higher = ("lower", "raise")
    verb = higher if direction > 0 else lower
    if len(ends) == 2:
        return f"{verb} the crossing of {ends[0][0].name} and {ends[1][0].name} by"
    way, end = ends[0]
    wider = (end is End.UPPER) == (direction > 0)
    return f"make the way {way.name} {'wider' if wider else 'narrower'}: {verb} its {end} end by"


def _values_words(changes: Sequence[Change]) -> str:
    return ", ".join(f"{change.path[-1]} {change.text}" for change in changes)


def _moved(situation: Situation, index: int, names: Sequence[str], step_mm: float) -> Attempt:
    """Move drivers of one way closer to their middle (negative: apart), or the first of two ways to the second."""
    design, sound = situation.design, situation.sounds[index]
    centres_mm = {name: 1000 * np.array(design.driver[name].centre_m) for name in names}
    together = any(set(names) <= set(way.drivers) for way in design.ways)
    middle_mm = np.mean(list(centres_mm.values()), axis=0) if together else centres_mm[names[1]]
    moving = names if together else names[:1]
    moved_mm = {name: _toward(centres_mm[name], middle_mm, step_mm) for name in moving}
    moves_m = {name: (moved_mm[name] - centres_mm[name]) / 1000 for name in moving}
    speaker = situation.speaker.with_moved(moves_m)
    (heard,) = sound_at_seats(_in_room(situation, speaker, sound.pose), (sound.ear,))
    return Attempt(
        _move_words(names, step_mm, together=together),
        tuple(_moved_to(name, centre_mm) for name, centre_mm in moved_mm.items()),
        abs(step_mm) / SMALL_MOVE_MM,
        _judged(situation, heard, situation.network),
    )


def _toward(centre_mm: FloatArray, middle_mm: FloatArray, step_mm: float) -> FloatArray:
    away = middle_mm - centre_mm
    moved: FloatArray = np.round(centre_mm + away / np.linalg.norm(away) * step_mm, 1)
    return moved


def _moved_to(name: str, centre_mm: FloatArray) -> Change:
    return Change(("drivers", name, "centre"), f"[{centre_mm[0]:g} mm, {centre_mm[1]:g} mm]")


def _move_words(names: Sequence[str], step_mm: float, *, together: bool) -> str:
    if together:
        way = "closer together" if step_mm > 0 else "farther apart"
        return f"bring {names[0]} and {names[-1]} {2 * abs(step_mm):g} mm {way}"
    return f"bring {names[0]} {step_mm:g} mm closer to {names[1]}"


def _in_room(situation: Situation, speaker: Speaker, pose: Pose) -> Reverberation:
    return Reverberation(speaker, pose, situation.scene.shoebox, situation.hearing.carrying)


def _judged(situation: Situation, sound: SeatSound, network: NetworkSolution) -> SeatResult:
    slope = situation.design.brief.goals.in_room_slope_db_per_octave
    return judge_seat(sound, network.voltage, situation.hearing, slope)
