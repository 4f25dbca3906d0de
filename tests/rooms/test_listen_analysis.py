"""What closed sessions say: listeners who answer by a known rule are read as that rule."""

import json
import random
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from forehear.ground.errors import DataError
from forehear.listen.analysis import analyse
from forehear.listen.choices import chance_of_finding, least_right
from forehear.listen.findings import Verdict
from forehear.listen.plan import Part, Setup, Stimulus
from forehear.listen.session import Session, begin, close
from forehear.publish.listened import results_figure, results_page
from rooms.sessions import NAMES, Rule, abx, by_candidate, pairs, press_abx, press_pair, press_rating, rating


def abx_heard(right: int, trials: int) -> Session:
    session = begin(abx(trials), "x", "2026-01-02", 5)
    for number in range(trials):
        session = press_abx(session, 0, right=number < right)
    return close(session)


def rated(setup: Setup, rule: Rule) -> Session:
    session = begin(setup, "x", "2026-01-02", 5)
    for listener in range(len(setup.listeners)):
        session = press_rating(session, listener, rule)
    return close(session)


def preferred(setup: Setup, worth: tuple[float, ...], seed: int = 1) -> Session:
    """Listeners who prefer by chance, i to j with worth_i / (worth_i + worth_j)."""
    chance, session = random.Random(seed), begin(setup, "x", "2026-01-02", 5)
    for listener in range(len(setup.listeners)):
        while session.next_trial(listener) is not None:
            session = press_pair(
                session,
                listener,
                lambda one, other: chance.random() < worth[one] / (worth[one] + worth[other]),
            )
    return close(session)


def all_words(session: Session) -> str:
    found = analyse(session)
    return " ".join([found.headline, *found.sentences, *found.cautions])


# --- ABX


@pytest.mark.parametrize(
    ("right", "trials", "verdict"),
    [
        (12, 16, Verdict.DIFFERENT),  # 12 of 16 is the printed limit, p 0.0384; 11 of 16 is 0.105
        (11, 16, Verdict.TOO_FEW),
        (4, 4, Verdict.TOO_FEW),  # even all of four: 1/16
        (5, 5, Verdict.DIFFERENT),
        (32, 60, Verdict.NOT_SHOWN),
    ],
)
def test_abx_verdicts(right: int, trials: int, verdict: Verdict) -> None:
    found = analyse(abx_heard(right, trials))
    assert found.verdict is verdict
    assert found.numbers["right"] == right
    assert f"{right} of {trials}" in found.headline


def test_abx_says_what_guessing_does() -> None:
    words = all_words(abx_heard(12, 16))
    assert "4 times in 100 (p 0.038)" in words
    assert "between 48 and 93 %" in words
    assert "even all right would not have been enough" in all_words(abx_heard(4, 4))
    assert least_right(16) == 12
    assert chance_of_finding(16) == pytest.approx(
        0.630, abs=5e-4
    )  # binomial tail at 0.75, counted out by scipy


def test_a_listener_is_found_among_guessers() -> None:
    session = begin(abx(16, ("hears", "guesses", "guesses too")), "x", "2026-01-02", 5)
    for number in range(16):
        session = press_abx(session, 0, right=True)
        session = press_abx(session, 1, right=number % 2 == 0)
        session = press_abx(session, 2, right=number % 2 == 1)
    assert "hears told them apart alone" in all_words(close(session))


def test_an_early_stop_is_said() -> None:
    session = begin(abx(16), "x", "2026-01-02", 5)
    for _ in range(7):
        session = press_abx(session, 0, right=True)
    words = all_words(close(session))
    assert "Stopped early: 7 of the 16 trials" in words
    assert "Stopped early" not in all_words(abx_heard(12, 16))


def test_levels_that_were_not_matched_are_said() -> None:
    for levels, words in ((None, "nobody measured"), ((70.0, 71.3), "1.3 dB lie between")):
        setup = replace(abx(2), levels_db=levels)
        told = all_words(close(begin(setup, "x", "2026-01-02", 5)))
        assert "Levels not matched" in told
        assert words in told
    assert "Levels not matched" not in all_words(abx_heard(12, 16))


def test_an_open_session_tells_nothing() -> None:
    with pytest.raises(DataError, match="not closed"):
        analyse(begin(abx(), "x", "2026-01-02"))


@pytest.mark.parametrize("setup", [abx(), rating(), pairs()], ids=lambda setup: setup.kind)
def test_nothing_answered_is_said(setup: Setup) -> None:
    session = close(begin(setup, "x", "2026-01-02"))
    found = analyse(session)
    assert found.verdict is Verdict.TOO_FEW
    assert "Nothing was answered." in found.sentences
    assert "<svg" not in results_page(session)


# --- ratings


def test_ratings_that_differ() -> None:
    found = analyse(rated(rating(3, 8), by_candidate((60.0, 50.0, 40.0), 5.0)))
    assert found.verdict is Verdict.DIFFERENT
    assert f"surely {NAMES[0]} above {NAMES[1]}, {NAMES[0]} above {NAMES[2]}" in " ".join(found.sentences)
    assert "The hidden repeat agreed: the same sound, heard twice, was rated 0.0" in " ".join(found.sentences)
    assert "recognised by 8 of eight listeners." in " ".join(found.sentences)
    means = found.numbers["attributes"][0]["mean"]
    assert means == pytest.approx([63.5, 53.5, 43.5])


def test_two_candidates_need_six_listeners() -> None:
    """Five who agree: two of 32 choices of signs, p 0.0625; six: 0.03125 (and two attributes double it)."""
    told = {
        count: analyse(
            rated(replace(rating(2, count), attributes=("evenness",)), by_candidate((60.0, 50.0), 5.0))
        )
        for count in (5, 6)
    }
    assert (told[5].verdict, told[6].verdict) == (Verdict.TOO_FEW, Verdict.DIFFERENT)
    assert told[6].numbers["attributes"][0]["p"] == 0.03125
    assert "Not enough answers" in told[5].headline


def test_ratings_all_alike_show_nothing() -> None:
    found = analyse(rated(rating(3, 9), by_candidate((50.0, 50.0, 50.0), 5.0)))
    assert found.verdict is Verdict.NOT_SHOWN
    assert "did not agree" in " ".join(found.sentences), "as far apart as candidates are: not at all"


def test_a_listener_who_answers_by_chance_is_named() -> None:
    steady = by_candidate((60.0, 50.0, 40.0), 5.0)
    chance = random.Random(3)

    def rule(listener: int, sound: Stimulus, attribute: str) -> float:
        if listener != 2:
            return steady(listener, sound, attribute)
        return {Part.REPEAT: 100.0, Part.ANCHOR: 90.0}.get(sound.part, chance.uniform(10, 12))

    words = " ".join(analyse(rated(rating(3, 6), rule)).sentences)
    assert "listener 2 rated it as far apart as different candidates" in words
    assert "listener 2 did not rate it lowest" in words
    assert "recognised by 5 of six listeners" in words


def test_half_a_rating_does_not_count() -> None:
    whole = rated(rating(3, 6), by_candidate((60.0, 50.0, 40.0), 5.0))
    half = replace(whole, finished=frozenset(place for place in whole.finished if place[0] < 4))
    assert analyse(half).numbers["listeners"] == 4


# --- pairs


def test_pairs_find_the_order_they_were_made_from() -> None:
    found = analyse(preferred(pairs(3, 20, 4), (6.0, 2.0, 1.0)))
    assert found.verdict is Verdict.DIFFERENT
    assert found.headline.endswith(f"{', '.join(NAMES[:3])}.")
    # Shares 6/9, 2/9, 1/9; 240 answers leave about 0.05 of error.
    assert found.numbers["strength"] == pytest.approx([6 / 9, 2 / 9, 1 / 9], abs=0.12)


def test_pairs_by_chance_show_nothing() -> None:
    assert analyse(preferred(pairs(3, 20, 4), (1.0, 1.0, 1.0))).verdict is Verdict.NOT_SHOWN
    assert analyse(preferred(pairs(3, 2, 1), (1.0, 1.0, 1.0))).verdict is Verdict.TOO_FEW


def test_one_that_always_wins_is_said() -> None:
    words = " ".join(analyse(preferred(pairs(3, 8, 2), (1e9, 1.0, 1.0))).sentences)
    assert "half a win each way was added" in words


# --- the page


SESSIONS = (
    abx_heard(12, 16),
    rated(rating(4, 6), by_candidate((60.0, 50.0, 40.0, 55.0), 5.0)),
    preferred(pairs(3, 20, 4), (6.0, 2.0, 1.0)),
)


@pytest.mark.parametrize("session", SESSIONS, ids=lambda session: session.setup.kind)
def test_the_page_has_words_picture_and_table(session: Session) -> None:
    page = results_page(session)
    found = analyse(session)
    assert found.picture is not None
    drawn = ElementTree.fromstring(f"<x>{results_figure(found.picture, found.table)}</x>")
    (picture,) = [one for one in drawn.iter("svg") if one.get("aria-label") == found.picture.title]
    told = "".join(picture.itertext())
    for row in found.picture.rows:
        assert row.name[:10] in told
        assert all(mark.words in told for mark in row.marks)
    assert page.count("<tr>") >= len(found.table.rows)
    assert all(name in page for name in session.setup.candidates)
    assert "script" not in page
    json.dumps(found.numbers, allow_nan=False)


def test_names_of_people_are_only_words() -> None:
    session = close(begin(abx(2, ("<b>x</b>", "&amp;")), "<script>", "2026-01-02"))
    page = results_page(session)
    assert "<script>" not in page
    assert "<b>x" not in page
