"""What the room does to a design: turned, treated, moved, several speakers at once, and as an impulse response."""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from forehear.design import load
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DesignError
from forehear.judge import SPEECH_OCTAVE_HZ
from forehear.room import SURFACES
from forehear.spine.hearing import speech_at
from forehear.spine.impulse import SAMPLE_RATE_HZ, impulse_response, impulse_responses
from forehear.spine.prediction import RoomStory
from forehear.spine.room_story import TURNS_DEG, tell_room
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.together import play_together
from forehear.spine.translate import programme_of
from rooms.attic import HEARING, copied, situation

C50_STEP_DB = 1.1  # Bradley, Reich and Norcross 1999, from memory: the least difference that is noticed
QUICK_DB = 0.2  # what a spread may differ where fewer reflections are counted one by one
BESIDE = """  left: {position: [0.5 m, 0.9 m, 0.9 m], turn: 15 deg, design: stack.yaml}
  right: {position: [0.5 m, 3.3 m, 0.9 m], turn: -15 deg, design: stack.yaml}
goals:"""


@lru_cache
def story() -> RoomStory:
    return tell_room(situation("twin"))


def brief_changed(folder: Path, before: str, after: str, name: str = "twin") -> Path:
    """Copy the example with one passage of its brief written anew; return the candidate's file."""
    copied(folder)
    brief = folder / "brief.yaml"
    text = brief.read_text(encoding="utf-8")
    assert before in text
    brief.write_text(text.replace(before, after, 1), encoding="utf-8")
    return folder / f"{name}.yaml"


def test_turned_by_nothing_every_seat_hears_what_it_hears() -> None:
    turning, seats = story().turning, situation("twin").seats
    now = int(np.flatnonzero(TURNS_DEG == 0.0)[0])
    assert turning.spread_db[:, now] == pytest.approx([seat.spread_db for seat in seats], abs=QUICK_DB)
    assert turning.direct_spread_db[:, now] == pytest.approx(
        [seat.direct_spread_db for seat in seats], abs=1e-6
    )


def test_seats_on_either_side_trade_places_when_the_turn_does() -> None:
    turning = story().turning  # sofa left and right lie alike about the speaker, the side walls are alike
    for numbers in (turning.spread_db, turning.direct_spread_db, turning.c50_db):
        assert numbers[0] == pytest.approx(numbers[2, ::-1], abs=0.01)


def test_turning_the_pair_toward_the_armchair_is_what_its_hole_wants() -> None:
    turning = story().turning  # the armchair sits 39 degrees to the side of two spaced cones
    toward = int(np.flatnonzero(TURNS_DEG == 40.0)[0])
    now = int(np.flatnonzero(TURNS_DEG == 0.0)[0])
    assert turning.direct_spread_db[3, toward] < 0.5 < 5.0 < turning.direct_spread_db[3, now]
    assert turning.c50_db[3, toward] > turning.c50_db[3, now] + C50_STEP_DB


def test_every_surface_is_treated_and_gains_are_what_the_seats_gain() -> None:
    found, now = story(), np.mean([seat.spread_db for seat in situation("twin").seats])
    assert {change.doing for change in found.treated} == {f"treat the {name}" for name in SURFACES}
    for change in (*found.treated, *found.moved):
        assert change.gained_db == pytest.approx(now - np.mean(change.spread_db), abs=QUICK_DB)
    assert list(found.moved) == sorted(found.moved, key=lambda change: -change.gained_db)
    assert np.all(found.head_moved_db >= [seat.spread_db - QUICK_DB for seat in situation("twin").seats])


def test_one_speaker_alone_plays_with_nobody() -> None:
    assert play_together(situation("twin")) is None


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> Situation:
    """The twin between two stacks."""
    path = brief_changed(tmp_path_factory.mktemp("three") / "attic", "\ngoals:", f"\n{BESIDE}")
    return solve_situation(load(path), HEARING)


def test_programmes_that_have_nothing_in_common_add_their_power(three: Situation) -> None:
    found = play_together(three)
    assert found is not None
    assert [playing.placement for playing in found.each] == ["centre", "left", "right"]
    assert found.each[0].spread_db == pytest.approx([seat.spread_db for seat in three.seats])
    power = sum(10 ** (playing.smoothed_db / 10) for playing in found.each)
    assert 10 * np.log10(power) == pytest.approx(found.sum_db, abs=1e-6)


def test_the_centre_is_held_against_the_mains(three: Situation) -> None:
    found = play_together(three)
    assert found is not None
    centre, left, right = found.each
    assert {(fit.placement, fit.others) for fit in found.fits} == {("centre", ("left", "right"))}
    for index, fit in enumerate(found.fits):
        mains = (left.level_db[index] + right.level_db[index]) / 2
        assert fit.louder_db == pytest.approx(centre.level_db[index] - mains)
    assert found.each[1].level_db[1] == pytest.approx(
        found.each[2].level_db[1], abs=0.05
    )  # the sofa's middle


def octave(response: FloatArray, hz: float) -> FloatArray:
    """Squared impulse response through an octave filter of the fourth order, by scipy."""
    edges = [hz / np.sqrt(2), hz * np.sqrt(2)]
    sections = butter(4, edges, btype="band", fs=SAMPLE_RATE_HZ, output="sos")
    filtered: FloatArray = sosfilt(sections, response) ** 2
    return filtered


@pytest.mark.parametrize("seat", [1, 3])
def test_clarity_measured_in_the_impulse_response_is_the_clarity_told(seat: int) -> None:
    """As a stranger would measure it: filtered, split at 50 ms; within the least step that is noticed."""
    found = situation("trio")
    sound, voltage = found.sounds[seat], found.network.voltage
    told = speech_at(sound, voltage, programme_of(found.design.brief))
    response = np.mean(
        [octave_c50(impulse_response(sound, voltage, seed), sound.bearing.distance_m) for seed in (1, 2, 3)],
        axis=0,
    )
    wanted = told.c50_octave_db[2:6]
    assert np.mean(response) == pytest.approx(np.mean(wanted), abs=C50_STEP_DB)
    assert response == pytest.approx(wanted, abs=2 * C50_STEP_DB)


def octave_c50(response: FloatArray, distance_m: float) -> list[float]:
    """Clarity of the octaves 500 Hz to 4 kHz."""
    first = round(distance_m / 343.2 * SAMPLE_RATE_HZ)
    ends = first + round(0.05 * SAMPLE_RATE_HZ)
    parts = [octave(response, hz) for hz in SPEECH_OCTAVE_HZ[2:6]]
    return [10 * np.log10(part[:ends].sum() / part[ends:].sum()) for part in parts]


def test_the_impulse_response_holds_the_energy_of_the_curve_and_begins_with_the_direct_sound() -> None:
    found = situation("trio")
    sound, seat = found.sounds[0], found.seats[0]
    responses = [impulse_response(sound, found.network.voltage, seed) for seed in (1, 2, 3, 4)]
    response = responses[0]
    first = round(sound.bearing.distance_m / 343.2 * SAMPLE_RATE_HZ)
    assert not response[: first - 60].any()
    assert np.abs(response[first - 60 : first + 120]).max() == pytest.approx(np.abs(response).max())
    power = np.mean(np.abs(np.fft.rfft(responses)) ** 2, axis=0)  # half of it is noise: one alone is 1 dB off
    hz = np.arange(power.size)
    for middle in (250.0, 1000.0, 4000.0):
        inside = (hz >= middle / 1.41) & (hz < middle * 1.41)
        curve = (found.grid.frequency_hz >= middle / 1.41) & (found.grid.frequency_hz < middle * 1.41)
        level = 10 * np.log10(power[inside].mean() * (2.83 / 20e-6) ** 2)
        assert level == pytest.approx(10 * np.log10(np.mean(10 ** (seat.in_room_db[curve] / 10))), abs=0.8)


def test_impulse_responses_come_for_every_seat_and_repeat() -> None:
    found = impulse_responses(situation("stack").design)
    assert set(found) == {("centre", seat.name) for seat in situation("stack").seats}
    again = impulse_responses(situation("stack").design)
    assert all(np.array_equal(found[key], again[key]) for key in found)


def test_a_decay_time_that_the_surfaces_cannot_give_is_refused_with_its_place(tmp_path: Path) -> None:
    path = brief_changed(tmp_path / "attic", "height: 2.4 m}", "height: 2.4 m, decay time: 5 s}")
    with pytest.raises(DesignError) as refused:
        solve_situation(load(path), HEARING)
    assert "5 s" in refused.value.what
    assert "brief.yaml" in refused.value.where
    assert refused.value.cure


def test_a_decay_time_is_what_the_room_then_has(tmp_path: Path) -> None:
    path = brief_changed(tmp_path / "attic", "height: 2.4 m}", "height: 2.4 m, decay time: 0.4 s}")
    found = solve_situation(load(path), HEARING)
    told = speech_at(found.sounds[0], found.network.voltage, programme_of(found.design.brief))
    assert told.decay.decay_time_s[2:6] == pytest.approx(
        [0.4] * 4, rel=0.12
    )  # uneven surfaces ring a little longer
