"""Findings read as a person would say them."""

import pytest

from forehear.judge import words


@pytest.mark.parametrize(
    ("frequency_hz", "said"),
    [
        (63.1, "63 Hz"),
        (850.0, "850 Hz"),
        (854.9, "850 Hz"),
        (999.0, "1 kHz"),
        (1413.0, "1.4 kHz"),
        (12_100.0, "12 kHz"),
    ],
)
def test_frequencies(frequency_hz: float, said: str) -> None:
    assert words.frequency_words(frequency_hz) == said


def test_angles_and_sides() -> None:
    assert words.angle_words(14.4) == "14 degrees"
    assert words.angle_words(-0.8) == "1 degree"
    assert words.side_words(34.0) == "34 degrees to the right"
    assert words.side_words(-20.2) == "20 degrees to the left"
    assert words.side_words(-0.3) == "straight ahead"


def test_counting_and_listing() -> None:
    assert words.counted(1, "seat") == "one seat"
    assert words.counted(4, "seat") == "four seats"
    assert words.counted(14, "seat") == "14 seats"
    assert words.listed([]) == ""
    assert words.listed(["a"]) == "a"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.range_words(880.0, 2240.0) == "880 Hz to 2.2 kHz"


def test_holes() -> None:
    assert words.hole_sentence("armchair", 6.2, 1413.0) == "The armchair keeps a hole 6 dB deep at 1.4 kHz."
    assert words.hole_sentence("the bench", 6.2, 500.0) == "The bench keeps a hole 6 dB deep at 500 Hz."
    assert (
        words.direct_hole_sentence("Sofa left", 17.0, 1413.0)
        == "The direct sound toward the Sofa left has a hole 17 dB deep at 1.4 kHz."
    )


@pytest.mark.parametrize(
    ("filled_db", "of_db", "said"),
    [
        (11.0, 17.0, "the room fills 11 of the 17 dB of the direct sound"),
        (0.3, 8.0, "the room fills nothing of the 8 dB of the direct sound"),
        (8.2, 8.0, "the room fills all 8 dB of the direct sound"),
        (-2.0, 8.0, "the room adds 2 dB to the 8 dB of the direct sound"),
    ],
)
def test_what_the_room_fills(filled_db: float, of_db: float, said: str) -> None:
    assert words.room_fills_sentence(filled_db, of_db) == said


def test_which_reflections_fill() -> None:
    found = words.fills_sentence({"ceiling": 2.6, "floor": 5.1, "rear wall": 0.2, "left wall": -3.0})
    assert found == "most by the floor (5 dB) and the ceiling (3 dB)"
    assert words.fills_sentence({"floor": -1.0}) == "by no single reflection"


def test_shares_come_largest_first_and_say_what_gives_back() -> None:
    shares = {
        "size": -1.2,
        "spacing of the two woofers": 12.1,
        "cabinet edges": 0.4,
        "phase at the crossing": 3.9,
    }
    said = words.shares_sentence(shares)
    assert said == "spacing of the two woofers 12 dB, phase at the crossing 4 dB, size gives back 1 dB"
    assert words.shares_sentence({"size": 0.2}) == "no cause is worth as much as 1 dB"


def test_coverage() -> None:
    start = "From 200 Hz to 5 kHz the level stays within 6 dB of straight ahead up to "
    assert (
        words.coverage_sentence(35.0, 35.2, 2200.0) == start + "35 degrees to either side; 2.2 kHz ends it."
    )
    assert words.coverage_sentence(35.0, 28.0, None) == start + "35 degrees to the left and 28 to the right."
