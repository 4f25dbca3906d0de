"""What arrives at a seat keeps the laws of a room: distance, absorption, turning, mirroring."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from acoustic_voltages import ideal_ways
from forehear.design import Change
from forehear.radiation import Front
from forehear.room import Shoebox
from forehear.spine.hearing import Ear, judge_seat, sound_at_seats
from forehear.spine.pose import Pose, bearing
from forehear.spine.reverberation import QUICK, Reverberation
from forehear.spine.seats import arrivals
from forehear.spine.situation import solve_situation
from forehear.spine.speaker import Speaker
from published.printed import cases
from rooms.attic import HEARING, candidate, situation
from rooms.ideal_speakers import HZ, IdealWay, disc, ideal_speaker

Floats = NDArray[np.float64]
HALL = Shoebox.uniform((200.0, 200.0, 200.0), [0.1] * 6)
IN_HALL = Pose("middle", (100.0, 100.0, 100.0), 0.0, 0.0)
FRONT = Front.rectangle(0.3, 0.3, 0.25)
JUDGED = (HZ >= 200.0) & (HZ <= 10e3)
ONES = np.ones_like(HZ, dtype=complex)
DOUBLING = cases("section7.yaml")["S7.direct.doubling"]


def at(azimuth_deg: float, distance_m: float) -> Ear:
    """An ear in the hall, level with the speaker; positive angles lie toward the listener's right."""
    angle = np.radians(azimuth_deg)
    x, y, z = IN_HALL.middle_of_front_m
    return Ear(f"{azimuth_deg:g}", (x + distance_m * np.cos(angle), y + distance_m * np.sin(angle), z))


def in_hall(speaker: Speaker) -> Reverberation:
    return Reverberation(speaker, IN_HALL, HALL, QUICK)


def test_the_direct_sound_falls_six_decibels_a_doubling() -> None:
    # common practice; the printed values are 20 log r
    speaker, voltage = ideal_speaker({"all": IdealWay({"cone": disc(0.0, 0.0, 0.1)}, ONES)}, FRONT)
    ears = tuple(at(25.0, distance) for distance in DOUBLING.inputs["r"])
    sounds = sound_at_seats(in_hall(speaker), ears)
    levels = np.array([judge_seat(sound, voltage, HEARING).direct_db for sound in sounds])
    fallen = levels - levels[0]
    wanted = np.array(DOUBLING.expected)[:, np.newaxis]
    assert np.abs(fallen - wanted).max() <= DOUBLING.tolerance["abs"]


def test_the_direct_sound_of_several_drivers_does_so_far_away() -> None:
    low, high = ideal_ways("LR4", HZ / 2000.0)
    cones = {"left": disc(-0.1, 0.0, 0.08), "right": disc(0.1, 0.0, 0.08)}
    ways = {"low": IdealWay(cones, low), "high": IdealWay({"dome": disc(0.0, 0.0, 0.025)}, high)}
    speaker, voltage = ideal_speaker(ways, FRONT)
    sounds = sound_at_seats(in_hall(speaker), (at(10.0, 30.0), at(10.0, 60.0)))
    near, far = (judge_seat(sound, voltage, HEARING).direct_smoothed_db for sound in sounds)
    assert np.abs(near - far - 20 * np.log10(2))[JUDGED].max() < 0.02


def added_by_walls_db(absorption: float) -> Floats:
    """What walls that all swallow alike add to the direct sound, ear-smoothed: [seat, judged frequency]."""
    found = situation("twin")
    room = Shoebox.uniform(found.scene.shoebox.size_m, [absorption] * 6)
    sounds = sound_at_seats(Reverberation(found.speaker, found.scene.poses[0], room, QUICK), found.scene.ears)
    heard = [judge_seat(sound, found.network.voltage, HEARING) for sound in sounds]
    return np.array([(seat.in_room_smoothed_db - seat.direct_smoothed_db)[JUDGED] for seat in heard])


def rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))


def test_walls_that_swallow_everything_leave_the_direct_sound() -> None:
    added_db = added_by_walls_db(1.0)
    assert rms(added_db) < 0.02
    assert np.abs(added_db).max() < 0.3  # in a deep notch the middle of a band is not its mean


def test_what_walls_add_shrinks_with_the_pressure_they_return() -> None:
    tenth, hundredth = rms(added_by_walls_db(0.99)), rms(added_by_walls_db(0.9999))
    assert hundredth < 0.1
    assert tenth == pytest.approx(10 * hundredth, rel=0.15)


def test_a_driver_across_to_the_right_is_nearer_to_the_right() -> None:
    ways = {"all": IdealWay({"left": disc(-0.1, 0.0, 0.05), "right": disc(0.1, 0.0, 0.05)}, ONES)}
    speaker, _ = ideal_speaker(ways, FRONT)
    ears = np.array([at(30.0, 3.0).position_m, at(-30.0, 3.0).position_m])
    (to_right, to_left), _ = arrivals(in_hall(speaker), ears)
    left, right = to_right.distance_m[:, 0]
    assert left - right == pytest.approx(0.2 * np.sin(np.radians(30.0)), rel=0.01)
    assert to_left.distance_m[::-1, 0] == pytest.approx([left, right])


@pytest.mark.parametrize("seat", range(4))
@pytest.mark.parametrize("tilt_rad", [0.0, 0.1])
def test_turning_the_cabinet_by_a_seats_azimuth_points_it_there(seat: int, tilt_rad: float) -> None:
    found = situation("twin")
    pose = replace(found.scene.poses[0], tilt_rad=tilt_rad)
    ear = np.array(found.scene.ears[seat].position_m)
    for _ in range(4):  # tilted, azimuth is not quite the angle about the upright axis
        pose = replace(pose, turn_rad=pose.turn_rad + bearing(found.speaker, pose, ear).azimuth_rad)
    assert np.degrees(bearing(found.speaker, pose, ear).azimuth_rad) == pytest.approx(0.0, abs=0.01)
    if tilt_rad == 0.0:
        upright = replace(pose, turn_rad=0.0)
        once = replace(upright, turn_rad=bearing(found.speaker, upright, ear).azimuth_rad)
        # the dome, about which angles are taken, stands at the side of the middle about which a cabinet turns
        assert np.degrees(bearing(found.speaker, once, ear).azimuth_rad) == pytest.approx(0.0, abs=0.2)


def test_a_mirrored_design_in_a_mirrored_room_sounds_mirrored() -> None:
    # the attic's side walls are alike, its placement in the middle, sofa left and right the same way from it
    straight = situation("stack")
    design = candidate("stack")
    across_m, up_m = design.driver["tweeter"].centre_m
    assert across_m > 0.01
    centre = f"[{-1000 * across_m:g} mm, {1000 * up_m:g} mm]"
    mirrored_file = design.with_changes([Change(("drivers", "tweeter", "centre"), centre)])
    mirrored = solve_situation(mirrored_file, HEARING)
    for one, other in ((0, 2), (1, 1), (2, 0)):
        here, there = straight.seats[one], mirrored.seats[other]
        assert here.azimuth_deg == pytest.approx(-there.azimuth_deg, abs=1e-9)
        for curve in ("direct_db", "in_room_db", "in_room_smoothed_db", "direct_smoothed_db"):
            # later reflections are summed in single precision
            assert np.abs(getattr(here, curve) - getattr(there, curve)).max() < 1e-5
    assert np.abs(straight.seats[0].direct_db - straight.seats[2].direct_db)[JUDGED].max() > 0.1


def test_a_seat_moved_changes_what_it_hears_and_no_other_seat() -> None:
    design = candidate("twin").with_brief_changes(
        [Change(("seats", "armchair", "position"), "[2.3 m, 3.0 m]")]
    )
    before, after = situation("twin"), solve_situation(design, HEARING)
    for index, (old, new) in enumerate(zip(before.seats, after.seats, strict=True)):
        same = np.array_equal(old.in_room_db, new.in_room_db)
        assert same == (index != 3)
