"""What the room does to one design: turned, with a surface treated, moved, and with the head moved."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.work import Progress, unseen
from forehear.room import SURFACES, Shoebox
from forehear.spine.pose import Pose
from forehear.spine.prediction import RoomChange, RoomStory, Turning
from forehear.spine.reverberation import QUICK, Reverberation
from forehear.spine.situation import Situation
from forehear.spine.trial import Trial

TURNS_DEG = np.arange(-60.0, 61.0, 10.0)
TREATED = 0.8  # absorption of a surface under thick porous panels, all octaves
MOVED_M = 0.2
HEAD_M = 0.1
WALL_MARGIN_M = 0.05
WALL_LEFT_M = 0.01  # between a moved head and a wall


def tell_room(situation: Situation, progress: Progress = unseen) -> RoomStory:
    """Try turns, treatments and moves; whoever listens to the progress may stop it by raising."""
    title, scene = situation.design.title, situation.scene
    progress(0.0, f"{title}: turned")
    turning = _turning(situation, progress)
    usual = _spreads(situation, scene.poses, scene.shoebox)
    progress(0.6, f"{title}: surfaces treated")
    treated = [
        _change(
            f"treat the {name}", usual, _spreads(situation, scene.poses, _treated(scene.shoebox, surface))
        )
        for surface, name in enumerate(SURFACES)
    ]
    progress(0.8, f"{title}: moved")
    moved = [
        _change(doing, usual, _spreads(situation, poses, scene.shoebox)) for doing, poses in _moves(situation)
    ]
    progress(0.9, f"{title}: heads moved")
    return RoomStory(
        turning=turning,
        treated=tuple(sorted(treated, key=lambda change: -abs(change.gained_db))),
        moved=tuple(sorted(moved, key=lambda change: -change.gained_db)),
        head_moved_db=_head_moved_db(situation),
    )


def _trials(
    situation: Situation, poses: Sequence[Pose], shoebox: Shoebox, ears_m: FloatArray
) -> Iterator[Trial]:
    """Hear every placement quickly."""
    velocity = situation.speaker.source_velocity(situation.network.voltage)
    for pose in poses:
        yield Trial(Reverberation(situation.speaker, pose, shoebox, QUICK), velocity, ears_m)


def _spreads(
    situation: Situation, poses: Sequence[Pose], shoebox: Shoebox, ears_m: FloatArray | None = None
) -> list[float]:
    slope = situation.design.brief.goals.in_room_slope_db_per_octave
    trials = _trials(situation, poses, shoebox, _ears_m(situation) if ears_m is None else ears_m)
    return [spread for trial in trials for spread in trial.spreads_db(situation.hearing, slope)]


def _ears_m(situation: Situation) -> FloatArray:
    return np.array([ear.position_m for ear in situation.scene.ears])


def _change(doing: str, before: Sequence[float], after: Sequence[float]) -> RoomChange:
    return RoomChange(doing, tuple(after), float(np.mean(before) - np.mean(after)))


def _turning(situation: Situation, progress: Progress) -> Turning:
    rows = []
    for index, turn_deg in enumerate(TURNS_DEG):
        progress(0.6 * index / len(TURNS_DEG), f"{situation.design.title}: turned")
        rows.append(_turned(situation, float(np.radians(turn_deg))))
    spread, direct, clarity = np.array(rows).transpose(1, 2, 0)
    return Turning(TURNS_DEG, spread, direct, clarity)


def _turned(situation: Situation, turn_rad: float) -> FloatArray:
    """Spread, direct spread and clarity at every seat, [number, seat]."""
    scene, hearing = situation.scene, situation.hearing
    slope = situation.design.brief.goals.in_room_slope_db_per_octave
    poses = [replace(pose, turn_rad=pose.turn_rad + turn_rad) for pose in scene.poses]
    numbers = [
        (trial.spreads_db(hearing, slope), trial.direct_spreads_db(hearing), trial.c50_db())
        for trial in _trials(situation, poses, scene.shoebox, _ears_m(situation))
    ]
    return np.concatenate(numbers, axis=1)


def _treated(shoebox: Shoebox, surface: int) -> Shoebox:
    absorption = shoebox.absorption.copy()
    absorption[surface] = np.maximum(absorption[surface], TREATED)
    return replace(shoebox, absorption=absorption)


def _moves(situation: Situation) -> Iterator[tuple[str, list[Pose]]]:
    """Yield small moves of all speakers that stay in the room."""
    shoebox = situation.scene.shoebox
    for words, axis, step in (
        ("toward the rear wall", 0, 1),
        ("toward the front wall", 0, -1),
        ("toward the right wall", 1, 1),
        ("toward the left wall", 1, -1),
        ("up", 2, 1),
        ("down", 2, -1),
    ):
        poses = [_shifted(pose, axis, step * MOVED_M) for pose in situation.scene.poses]
        if all(shoebox.is_inside(pose.middle_of_front_m, WALL_MARGIN_M) for pose in poses):
            yield f"move the speaker {100 * MOVED_M:.0f} cm {words}", poses


def _shifted(pose: Pose, axis: int, step_m: float) -> Pose:
    place = np.array(pose.middle_of_front_m)
    place[axis] += step_m
    x, y, z = place.tolist()
    return replace(pose, middle_of_front_m=(x, y, z))


def _head_moved_db(situation: Situation) -> FloatArray:
    """Largest spread of each seat where the head is and a hand's breadth to each side, before and behind."""
    scene = situation.scene
    around = [np.zeros(3), *(sign * HEAD_M * np.eye(3)[axis] for axis in (0, 1) for sign in (1, -1))]
    farthest_m = np.array(scene.shoebox.size_m) - WALL_LEFT_M
    spreads = [
        _spreads(
            situation,
            scene.poses,
            scene.shoebox,
            np.clip(_ears_m(situation) + offset, WALL_LEFT_M, farthest_m),
        )
        for offset in around
    ]
    largest: FloatArray = np.max(spreads, axis=0)
    return largest
