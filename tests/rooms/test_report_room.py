"""What the report says of the room, of speech and of several speakers is what was predicted."""

import html
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.app import commands
from forehear.app.cli import main
from forehear.design import Design
from forehear.ground.work import Progress
from forehear.judge import C50_STEP, SPREAD_STEP, EnergyDecay, rating_word
from forehear.judge.noticeable import SAME
from forehear.publish import report_page
from forehear.publish.arriving import arriving_figures
from forehear.publish.changes import changes_figure, changes_words
from forehear.publish.heard import heard_table
from forehear.publish.room_effect import NOT_TRIED
from forehear.publish.seats import seat_table
from forehear.publish.speech import speech_section
from forehear.publish.together import together_section
from forehear.publish.turning import best_turn, turning_figure, turning_words
from forehear.publish.without_room import without_room_figures, without_room_words
from forehear.publish.words import MINUS, NO_BREAK_SPACE
from forehear.spine import SolverChoice
from forehear.spine.arriving import speech_parts, still_to_come_db
from forehear.spine.hearable import C50, SPREAD, STI, UNSURE, Stated, apart_words, at_main_seats
from forehear.spine.prediction import Prediction, Range, RoomChange, RoomStory, SpeechResult
from rooms.synthetic import EXAMPLE, made_up, playing_together, three_candidates, with_ranges

Rows = list[list[str]]


@pytest.fixture(scope="module")
def twin() -> Prediction:
    return made_up("Twin", 0.14, 2500.0)


@pytest.fixture(scope="module")
def story(twin: Prediction) -> RoomStory:
    assert twin.room
    return twin.room


def plain(markup: str) -> str:
    """Text of a piece of a page, as it is read."""
    text = html.unescape(re.sub(r"<[^>]*>", "", markup))
    return text.replace(NO_BREAK_SPACE, " ").replace(MINUS, "-")


def rows_of(markup: str) -> Rows:
    """Cells of the first table in a piece of a page, its head first."""
    table = markup[markup.index("<table") : markup.index("</table>")]
    return [
        [plain(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)]
        for row in re.findall(r"<tr>(.*?)</tr>", table)
    ]


def numbers(cells: list[str]) -> list[float]:
    found = [re.match(r"-?\d+(\.\d+)?", cell) for cell in cells]
    return [float(one.group()) for one in found if one]


# --- turned -----------------------------------------------------------------------------------------------------------


def test_every_turn_is_told_with_its_numbers(twin: Prediction, story: RoomStory) -> None:
    heads, *rows = rows_of(turning_figure(twin, "Twin", story.turning))
    assert len(heads) == 1 + 3 * len(twin.seats)
    assert numbers([row[0] for row in rows]) == story.turning.turn_deg.tolist()
    told = np.array([numbers(row[1:]) for row in rows]).T
    expected = np.concatenate([story.turning.spread_db, story.turning.direct_spread_db, story.turning.c50_db])
    assert told == pytest.approx(np.round(expected, 1), abs=0.051)


def test_lines_of_turning_pass_where_the_axis_says(twin: Prediction, story: RoomStory) -> None:
    picture = turning_figure(twin, "Twin", story.turning)
    curves = re.findall(r'<polyline points="([^"]*)" class="line l\d"', picture)
    longest = [curve.split() for curve in curves if len(curve.split()) == story.turning.turn_deg.size]
    assert len(longest) == 2 * len(twin.seats)  # spread, and C50 below it
    ticks = {
        float(plain(words)): float(y)
        for y, words in re.findall(r'y="([\d.]+)" text-anchor="end" class="tick">([^<]*)<', picture)
        if float(y) < 205  # those of the upper strip
        for words in [words.replace(" dB", "")]
    }
    (low, low_y), (high, high_y) = min(ticks.items()), max(ticks.items())
    for curve, spread in zip(longest, story.turning.spread_db, strict=False):
        y = np.array([float(point.split(",")[1]) for point in curve]) + 4
        assert low + (low_y - y) / (low_y - high_y) * (high - low) == pytest.approx(spread, abs=0.02)


def test_now_and_best_are_marked(twin: Prediction, story: RoomStory) -> None:
    picture = turning_figure(twin, "Twin", story.turning)
    assert re.findall(r'class="small halo">(now|best)<', picture) == ["now", "best"]
    assert story.turning.turn_deg[best_turn(twin, story.turning)] == 20.0  # how the synthetic room was made


def test_words_of_turning_name_gains_and_losses(twin: Prediction, story: RoomStory) -> None:
    spread, c50 = story.turning.spread_db.copy(), story.turning.c50_db.copy()
    now, best = 6, 8  # 0 and 20 degrees
    spread[:, best] = spread[:, now] - [3.0, 0.5, -1.5, 3.0]
    c50[:, best] = c50[:, now] - [0.0, 2.0, 0.0, -2.0]
    words = plain(turning_words(twin, replace(story.turning, spread_db=spread, c50_db=c50)))
    assert "turned by 20° counter-clockwise" in words
    mean = spread.mean(axis=0)
    assert f"falls from {mean[now]:.1f} dB to {mean[best]:.1f} dB, which you could hear" in words
    told = re.findall(r"dB \(([a-z ]+)\)", words)
    assert told == ["gained", SAME, SAME, "lost", "lost", SAME, "gained", "gained"]


def test_a_speaker_that_stands_best_is_told_so(twin: Prediction, story: RoomStory) -> None:
    flat = np.tile(story.turning.spread_db[:, [6]], (1, 13)) + 0.01 * np.abs(story.turning.turn_deg)
    assert "No turn" in turning_words(twin, replace(story.turning, spread_db=flat))


# --- without a room ---------------------------------------------------------------------------------------------------


def test_both_spreads_and_both_holes_stand_side_by_side(twin: Prediction) -> None:
    spreads, holes = without_room_figures(twin, "Twin")
    rows = rows_of(spreads)[1:]
    for row, seat in zip(rows, twin.seats, strict=True):
        assert numbers(row[1:3]) == [round(seat.direct_spread_db, 1), round(seat.spread_db, 1)]
        assert (row[3] == "none") == (seat.direct_hole is None)
    beside = [
        words for words in re.findall(r'class="small">([^<]*)<', holes) if "Hz" in words or words == "none"
    ]
    expected = [hole for seat in twin.seats for hole in (seat.direct_hole, seat.hole)]
    assert [words == "none" for words in beside] == [hole is None for hole in expected]


def test_every_reflection_that_fills_is_told(twin: Prediction) -> None:
    _, holes = without_room_figures(twin, "Twin")
    heads, *rows = rows_of(holes)
    assert heads[2:] == ["floor, dB", "left wall, dB"]
    stories = [story for seat in twin.seats for story in seat.stories]
    assert len(rows) == len(stories) > 0
    for row, story in zip(rows, stories, strict=True):
        assert numbers(row[1:]) == [round(story.depth_in_room_db, 1), 3.2, 1.4]
    words = plain(without_room_words(twin))
    assert "most by the floor (3 dB) and the left wall (1 dB)" in words


# --- changes ----------------------------------------------------------------------------------------------------------


def test_every_change_is_told_for_every_seat(twin: Prediction, story: RoomStory) -> None:
    _, _, moved, *rows = rows_of(changes_figure(twin, "Twin", story))
    assert numbers(moved[1:]) == np.round(story.head_moved_db, 1).tolist()
    changes = (*story.treated, *story.moved)
    assert [row[0] for row in rows] == [change.doing for change in changes]
    for row, change in zip(rows, changes, strict=True):
        assert numbers(row[1:]) == [round(value, 1) for value in (*change.spread_db, change.gained_db)]


def test_bars_of_changes_go_left_where_seats_become_evener(twin: Prediction, story: RoomStory) -> None:
    looks = re.findall(r'class="(deepens|fills)"', changes_figure(twin, "Twin", story))
    assert looks == [
        "fills" if change.gained_db > 0 else "deepens" for change in (*story.treated, *story.moved)
    ]


def test_what_nobody_hears_of_a_change_is_called_so(twin: Prediction, story: RoomStory) -> None:
    words = plain(changes_words(twin, story))
    assert "matters most is the left wall" in words
    assert f"falls by 0.6 dB, {SAME}" in words
    assert (
        "20 cm toward the rear wall: the mean spread falls by 1.3 dB. Only these seats would hear it" in words
    )
    now = story.turning.spread_db[:, 6]
    most = int((story.head_moved_db - now).argmax())
    assert (
        f"changes {twin.seats[most].name} most: at worst its spread is {story.head_moved_db[most]:.1f}"
        in words
    )
    worse = replace(story, moved=(RoomChange("move the speaker 20 cm up", tuple(now + 1.0), -1.0),))
    assert "No small move" in changes_words(twin, worse)


# --- how sound arrives ------------------------------------------------------------------------------------------------


@given(st.floats(0.0, 10.0), st.floats(0.01, 10.0), st.floats(0.2, 2.0), st.floats(20.0, 80.0))
def test_parts_of_speech_add_up_to_its_level(direct: float, tail: float, time_s: float, level: float) -> None:
    decay = EnergyDecay(np.zeros(2), np.full((7, 1), direct), np.full(7, tail), np.full(7, time_s))
    parts = speech_parts(SpeechResult(0.0, np.zeros(7), 0.0, 0.5, level, 30.0, decay))
    powers = [10 ** (part / 10) for part in (parts.direct_db_a, parts.early_db_a, parts.late_db_a)]
    assert 10 * np.log10(sum(powers)) == pytest.approx(level, abs=1e-6)
    # Closed form: of an exponential the share 10^(-6 t / T) is left after t.
    share = powers[2] / (powers[1] + powers[2])
    assert share == pytest.approx(10 ** (-6 * 0.05 / time_s), rel=1e-6)


@given(st.floats(0.2, 2.0))
def test_an_exponential_falls_by_60_db_in_its_decay_time(time_s: float) -> None:
    decay = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, time_s))
    along = np.linspace(0.0, time_s, 5)
    assert still_to_come_db(decay, along)[3] == pytest.approx(-60 * along / time_s, abs=1e-6)


def test_bars_of_arriving_sound_are_told_and_drawn(twin: Prediction) -> None:
    bars, decay = arriving_figures(twin, "Twin")
    rows = rows_of(bars)[1:]
    drawn = re.findall(r'width="([\d.]+)" height="13" class="part p(\d)"', bars)
    assert [int(rank) for _, rank in drawn] == [0, 1, 2, 3] * len(twin.seats)
    widths = np.array([float(width) for width, _ in drawn]).reshape(-1, 4)
    for row, seat, width in zip(rows, twin.seats, widths, strict=True):
        assert seat.speech
        parts = speech_parts(seat.speech)
        levels = [parts.direct_db_a, parts.early_db_a, parts.late_db_a, seat.speech.noise_db_a]
        assert numbers(row[1:5]) == pytest.approx(levels, abs=0.051)
        assert np.diff(width) / np.diff(levels) == pytest.approx(
            (width[0] - width[3]) / (levels[0] - levels[3]), rel=0.05
        )
    octaves = rows_of(decay)[1:]
    assert len(octaves) == 7 * len(twin.seats)
    assert numbers([row[2] for row in octaves[:4]]) == pytest.approx(
        [float(seat.speech.c50_octave_db[0]) for seat in twin.seats if seat.speech], abs=0.051
    )


# --- what can be heard ------------------------------------------------------------------------------------------------


def test_differences_below_a_step_or_within_ranges_are_not_claimed() -> None:
    assert apart_words(Stated(9.0), Stated(8.0), C50_STEP) == SAME
    assert apart_words(Stated(3.0), Stated(1.0), SPREAD_STEP) == "2 dB higher"
    wide, far = Range(1.5, 4.0), Range(0.2, 1.4)
    assert apart_words(Stated(3.0, wide), Stated(1.0, Range(0.5, 1.6)), SPREAD_STEP) == UNSURE
    assert apart_words(Stated(3.0, wide), Stated(1.0, far), SPREAD_STEP) == "2 dB higher"


def test_mean_over_seats_has_the_range_of_its_draws(twin: Prediction) -> None:
    told = at_main_seats(with_ranges(twin, 0.1), C50)
    assert told
    assert told.range
    mean = float(np.mean([seat.speech.c50_db for seat in twin.seats if seat.speech]))
    assert told.value == pytest.approx(mean)
    # 39 even draws within a tenth: the weibull places of 5 % and 95 % are the 2nd and the 38th of them.
    assert [told.range.low, told.range.high] == pytest.approx(
        [mean * (1 - 0.1 * 18 / 19), mean * (1 + 0.1 * 18 / 19)]
    )
    squares = np.mean([seat.spread_db**2 for seat in twin.seats])
    spread = at_main_seats(twin, SPREAD)
    assert spread == Stated(pytest.approx(float(np.sqrt(squares))))


def test_table_of_what_can_be_heard_holds_means_and_differences() -> None:
    predictions = three_candidates().predictions
    names = ("Twin", "Stack", "Trio")
    rows = {row[0]: row[1:] for row in rows_of(heard_table(predictions, names))[1:]}
    for what in (SPREAD, C50, STI):
        told = [at_main_seats(prediction, what) for prediction in predictions]
        values = [one.value for one in told if one]
        assert numbers(rows[what.name][:3]) == [round(value, what.digits) for value in values]
        assert what.step
        heard = what.step.tells_apart(max(values), min(values))
        assert (rows[what.name][3] == SAME) != heard
    assert rating_word(float(rows[STI.name][0].split()[0])) in rows[STI.name][0]


def test_seat_table_holds_speech_and_ranges(twin: Prediction) -> None:
    heads, *rows = rows_of(seat_table(with_ranges(twin)))
    assert heads[7:] == ["C50", "U50", "STI", "speech", "noise", "spread unsure most for"]
    for row, seat in zip(rows, with_ranges(twin).seats, strict=True):
        assert seat.speech
        assert seat.ranges
        assert (
            row[7]
            == f"{seat.speech.c50_db:.1f} dB ({seat.ranges.c50_db.low:.1f} to {seat.ranges.c50_db.high:.1f})"
        )
        assert row[10:] == [f"{seat.speech.speech_db_a:.0f} dB(A)", "30 dB(A)", "acoustic depth"]


def test_dots_of_clarity_lie_where_their_axis_says() -> None:
    comparison = three_candidates()
    predictions = tuple(with_ranges(prediction) for prediction in comparison.predictions)
    section = speech_section(predictions, ("Twin", "Stack", "Trio"))
    picture = section[section.index("clarity C50 at every seat") :]
    picture = picture[: picture.index("</svg>")]
    foot = re.findall(r'x="([\d.]+)" y="[\d.]+" text-anchor="middle" class="tick">([^<]*)<', picture)
    (low_x, low), (high_x, high) = (
        (float(x), float(plain(words).replace(" dB", ""))) for x, words in (foot[0], foot[-1])
    )
    ends = re.findall(r'<line x1="([\d.]+)" x2="([\d.]+)"[^>]*class="range', picture)
    found = [low + (float(x) - low_x) / (high_x - low_x) * (high - low) for pair in ends for x in pair]
    seats = [prediction.seats[index] for index in range(4) for prediction in predictions]
    expected = [
        end for seat in seats if seat.ranges for end in (seat.ranges.c50_db.low, seat.ranges.c50_db.high)
    ]
    assert found == pytest.approx(expected, abs=0.05)
    assert "least difference you could hear" in picture


# --- several speakers -------------------------------------------------------------------------------------------------


def test_several_speakers_are_told_each_and_together(twin: Prediction) -> None:
    seats = [seat.name for seat in twin.seats]
    both = replace(twin, together=playing_together(seats))
    page = together_section([both], ["Twin"])
    rows = rows_of(page)
    assert rows[0] == ["speaker", *seats]
    assert [row[0] for row in rows[1:]] == ["left (Pillar)", "right (Pillar)", "centre (Twin)", "together"]
    assert both.together
    assert numbers(rows[4][1:]) == pytest.approx(both.together.sum_spread_db, abs=0.051)
    words = plain(page)
    assert (
        "At the sofa left the centre is 1.0 dB quieter than left and right and differs in timbre by 1.2 dB"
        in words
    )
    assert "; they reach 0.6 octaves less deep." in words
    assert '<section id="together"' in report_page(replace(three_candidates(), predictions=(both,) * 3))


# --- what is not there ------------------------------------------------------------------------------------------------


def test_a_report_of_less_says_what_was_not_tried() -> None:
    comparison = three_candidates()
    bare = tuple(
        replace(one, room=None, seats=tuple(replace(seat, speech=None) for seat in one.seats))
        for one in comparison.predictions
    )
    page = report_page(replace(comparison, predictions=bare))
    assert page.count(NOT_TRIED) == 3
    assert "Speech was not asked for." in page


def test_a_report_asks_for_the_room_and_nothing_else_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def predicted(design: Design, *, progress: Progress, room: bool, solver: SolverChoice) -> Prediction:
        progress(1.0, f"{design.title}, {solver} solver")
        asked.append(room)
        return made_up(design.title, 0.14, 2500.0, design)

    monkeypatch.setattr(commands, "predict", predicted)
    designs = [str(EXAMPLE), str(EXAMPLE.with_name("stack.yaml"))]
    for arguments in (["predict", designs[0]], ["compare", *designs]):
        main(arguments)
        main([*arguments, "--report", str(tmp_path / "report.html")])
    assert asked == [False, True, False, False, True, True]
    assert "Turned from how it stands" in (tmp_path / "report.html").read_text(encoding="utf-8")
