"""Facts of the trade (common practice, no source): what a room makes of two cones beside a dome.

The sizes and voltages are those of `test_pair_of_cones.py`, the room is 5 x 4 x 2.5 m, the seat 3 m away; the cabinet
is turned aside, so that the seat hears it at an angle.
"""

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from acoustic_voltages import ideal_ways
from cross.test_pair_of_cones import NARROW
from forehear.judge import noise_levels_db
from forehear.room import Shoebox
from forehear.spine.hearing import Ear, Hearing, SeatSound, judge_seat, sound_at_seats, speech_at
from forehear.spine.pose import Pose
from forehear.spine.prediction import SeatResult, SpeechResult
from forehear.spine.reverberation import FULL, QUICK, Carrying, Reverberation
from forehear.spine.speech import Programme
from forehear.spine.translate import FURNISHED_SCATTERING
from rooms.ideal_speakers import HZ, IdealWay, disc, ideal_speaker

CORNER_HZ = 1700.0
NEAR = (CORNER_HZ / 2 < HZ) & (CORNER_HZ * 2 > HZ)
JUDGED = (HZ >= 200.0) & (HZ <= 10e3)
STRAIGHT = ((0.6, 2.0, 1.1), (3.6, 2.0, 1.1))  # speaker and ear
PLACES = (STRAIGHT, ((0.6, 1.3, 0.9), (3.45, 2.2, 1.1)), ((0.8, 2.4, 1.0), (3.75, 1.85, 1.2)))
BARE, FURNISHED = np.zeros(8), FURNISHED_SCATTERING
HEARING = Hearing.standard()
LOW, HIGH = ideal_ways("LR4", HZ / CORNER_HZ)
CONES = {"left": disc(-0.111, 0.0, 0.074), "right": disc(0.111, 0.0, 0.074)}
SPEAKER, VOLTAGE = ideal_speaker(
    {"low": IdealWay(CONES, LOW), "high": IdealWay({"dome": disc(0.0, 0.0, 0.025)}, HIGH)}, NARROW
)
Place = tuple[tuple[float, float, float], tuple[float, float, float]]
Floats = NDArray[np.float64]


def sound(
    absorption: float, off_axis_deg: float, place: Place, scattering: Floats, carrying: Carrying = FULL
) -> SeatSound:
    """What arrives where the cabinet is turned so that the ear lies off its axis."""
    room = Shoebox((5.0, 4.0, 2.5), np.full((6, 8), absorption), scattering)
    (x, y, _), (ear_x, ear_y, _) = place
    pose = Pose("here", place[0], np.arctan2(ear_y - y, ear_x - x) - np.radians(off_axis_deg), 0.0)
    (found,) = sound_at_seats(Reverberation(SPEAKER, pose, room, carrying), (Ear("ear", place[1]),))
    assert np.degrees(found.bearing.azimuth_rad) == pytest.approx(off_axis_deg, abs=1e-6)
    return found


@cache
def heard(absorption: float, off_axis_deg: float, place: Place, *, furnished: bool) -> SeatResult:
    scattering = FURNISHED if furnished else BARE
    return judge_seat(sound(absorption, off_axis_deg, place, scattering), VOLTAGE, HEARING)


def dips_db(seat: SeatResult) -> tuple[float, float]:
    """How far the crossing's surroundings fall below what each is judged against: direct, and in the room."""
    direct = seat.direct_trend_db - seat.direct_smoothed_db
    in_room = seat.in_room_trend_db - seat.in_room_smoothed_db
    return float(direct[NEAR].max()), float(in_room[NEAR].max())


@pytest.mark.parametrize(("off_axis_deg", "direct_db", "most_db"), [(40.0, 15.0, 5.0), (60.0, 20.0, 6.0)])
@pytest.mark.parametrize(
    ("place", "furnished"), [(STRAIGHT, False), *((place, True) for place in PLACES)], ids=str
)
def test_an_ordinary_room_fills_the_dip(
    off_axis_deg: float, direct_db: float, most_db: float, place: Place, *, furnished: bool
) -> None:
    """Absorption 0.25: 16 and 28 dB of the direct sound, 2.5 to 5.3 dB in the room were found."""
    seat = heard(0.25, off_axis_deg, place, furnished=furnished)
    direct, in_room = dips_db(seat)
    assert direct > direct_db
    assert 1.0 < in_room < most_db
    assert seat.spread_db < 2.5
    assert seat.direct_spread_db > 4.5


def test_a_bare_room_that_swallows_nearly_all_is_the_free_field() -> None:
    """Absorption 0.99, on the middle line, 40 degrees: within 1.5 dB of the free field everywhere, the dip too."""
    seat = heard(0.99, 40.0, STRAIGHT, furnished=False)
    added = (seat.in_room_smoothed_db - seat.direct_smoothed_db)[JUDGED]
    assert np.abs(added).max() < 1.5


@pytest.mark.parametrize(("off_axis_deg", "within_db"), [(0.0, 1.5), (40.0, 1.5), (60.0, 1.7)])
@pytest.mark.parametrize("furnished", [False, True], ids=["bare", "furnished"])
def test_a_room_that_swallows_nearly_all_changes_what_is_loud_little(
    off_axis_deg: float, within_db: float, *, furnished: bool
) -> None:
    """Absorption 0.99, wherever the direct sound is less than 6 dB below that on axis: within 1.2, 1.5 and 1.6 dB.

    In a deeper dip six reflections a tenth as strong, some of them sent from nearer the axis, are not nothing: at 40
    degrees 1.5 to 3.2 dB are added at the worst, by place and scattering; at 60 degrees, in a dip of 28 dB, 7 to 10 dB.
    """
    seat = heard(0.99, off_axis_deg, STRAIGHT, furnished=furnished)
    added = seat.in_room_smoothed_db - seat.direct_smoothed_db
    strong = JUDGED & (seat.direct_trend_db - seat.direct_smoothed_db < 6.0)
    assert np.abs(added[strong]).max() < within_db
    assert strong.sum() > 0.5 * JUDGED.sum()
    direct, in_room = dips_db(seat)
    assert in_room > 0.4 * direct - 0.5


def test_only_the_direct_sound_falls_six_decibels_a_doubling() -> None:
    """From 1.2 to 2.4 m, on axis: 6.0 dB, of all sound in the room with reflections 0.5 to 3.5 dB."""
    near, far = (
        judge_seat(
            sound(0.25, 0.0, ((0.6, 2.0, 1.1), (0.6 + distance, 2.0, 1.1)), FURNISHED), VOLTAGE, HEARING
        )
        for distance in (1.2, 2.4)
    )
    direct = (near.direct_smoothed_db - far.direct_smoothed_db)[JUDGED]
    assert direct == pytest.approx(np.full(direct.size, 6.02), abs=0.15)
    assert 0.5 < (near.in_room_smoothed_db - far.in_room_smoothed_db)[JUDGED].mean() < 3.5


ABSORPTIONS = (0.6, 0.4, 0.25, 0.15, 0.08)


def speech(absorption: float) -> SpeechResult:
    programme = Programme(60.0, tuple(noise_levels_db(30.0).tolist()), None)
    return speech_at(sound(absorption, 0.0, STRAIGHT, FURNISHED, QUICK), VOLTAGE, programme)


def test_the_less_is_swallowed_the_less_clear_is_speech() -> None:
    found = [speech(absorption) for absorption in ABSORPTIONS]
    clarity = np.array([one.c50_db for one in found])
    assert np.all(np.diff(clarity) < -2.0)
    # a plain exponential of Eyring's time (textbook), direct sound and air left out: 29.0, 16.1, 8.5, 3.6 and -0.8 dB
    exponent = -np.log1p(-np.array(ABSORPTIONS)) * 85.0 * 343.2 / (4 * 50.0) * 0.05
    assert clarity == pytest.approx(10 * np.log10(np.expm1(exponent)), abs=2.5)
    assert np.all(np.diff([one.sti for one in found]) < 0)
    times = np.array([one.decay.decay_time_s for one in found])
    assert np.all(np.diff(times, axis=0) > 0)
