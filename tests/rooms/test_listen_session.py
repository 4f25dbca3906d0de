"""A session keeps its laws: turns, idle repeats, what is hidden, and files that are not what they should be."""

import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import DataError
from forehear.listen.plan import Kind, Part, Setup, every_sound, make_plan
from forehear.listen.session import Answer, Session, begin, close, with_answer, with_finished
from forehear.listen.session_file import FORMAT, Keeper, as_text, from_text, read_session
from rooms.sessions import (
    NAMES,
    PLAYED,
    abx,
    by_candidate,
    pairs,
    press_abx,
    press_pair,
    press_rating,
    rating,
)

SETUPS = (abx(listeners=("one", "two")), rating(), pairs())
GOOD = by_candidate((60.0, 50.0, 40.0), 10.0)


def answered(setup: Setup, seed: int = 3) -> Session:
    """Return a session with a few answers."""
    session = begin(setup, "an evening", "2026-01-02", seed)
    for _ in range(2):
        if setup.kind is Kind.ABX:
            session = press_abx(session, 1, right=True)
        elif setup.kind is Kind.PAIRS:
            session = press_pair(session, 1, lambda one, other: one < other)
    return press_rating(session, 1, GOOD) if setup.kind is Kind.RATING else session


# --- the plan


def test_a_rating_plan_holds_everything_once_and_one_of_them_twice() -> None:
    setup = rating(count=4, listeners=12)
    for trials in make_plan(setup, 5):
        (trial,) = trials
        parts = Counter(stimulus.part for stimulus in trial.stimuli)
        assert parts == {Part.ITSELF: 4, Part.REPEAT: 1, Part.ANCHOR: 1}
        assert {one.candidate for one in trial.stimuli if one.part is Part.ITSELF} == {0, 1, 2, 3}
    places = Counter(
        (place, sound.candidate)
        for trials in make_plan(setup, 5)
        for place, sound in enumerate(trials[0].stimuli)
        if sound.part is Part.ITSELF
    )
    assert set(places.values()) == {2}, "twelve listeners, six places: each candidate twice in each"


def test_a_session_needs_each_sound_once() -> None:
    wanted = every_sound(make_plan(rating(count=3), 1))
    assert len(wanted) == 3 + 1, "the repeat is the sound itself; one anchor for everybody"


def test_the_unknown_is_one_of_the_two() -> None:
    for trials in make_plan(abx(trials=40, listeners=("a", "b", "c")), 9):
        assert len({trial.stimuli[:2] for trial in trials}) == 1, "A stays A for one listener"
        assert all(trial.stimuli[2] in trial.stimuli[:2] for trial in trials)
        assert {trial.stimuli.index(trial.stimuli[2]) for trial in trials} == {0, 1}


def test_seeds_are_drawn_anew() -> None:
    first, second = (begin(abx(), "x", "2026-01-02") for _ in range(2))
    assert first.seed != second.seed
    assert first.seed.bit_length() > 64


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"candidates": NAMES[:3]}, "ABX with 3 candidates"),
        ({"candidates": NAMES[:1], "kind": Kind.PAIRS}, "1 candidates"),
        ({"listeners": ()}, "nobody listens"),
        ({"listeners": ("a", "a")}, "named twice"),
        ({"listeners": ("a" * 81,)}, "very long"),
        ({"trials": 0}, "0 trials"),
        ({"programmes": ()}, "nothing is played"),
        ({"kind": Kind.RATING}, "without attributes"),
        ({"repeat": True}, "outside a rating session"),
        ({"scale": (0, 5)}, "a scale of 0 to 5"),
        ({"levels_db": (1.0,)}, "1 levels of 2"),
        ({"kind": Kind.RATING, "attributes": ("a",), "real": True, "anchor": True}, "nobody can connect"),
    ],
)
def test_what_cannot_begin_says_why(wrong: dict[str, object], words: str) -> None:
    with pytest.raises(DataError, match=words):
        replace(abx(), **wrong)  # type: ignore[arg-type]


def test_levels_are_matched_or_not() -> None:
    told = [replace(abx(), levels_db=levels).levels_matched for levels in (None, (70, 70.2), (70, 70.3))]
    assert told == [False, True, False]


# --- turns


def test_answers_come_in_turn_and_once() -> None:
    session = begin(abx(trials=3), "x", "2026-01-02", 1)
    with pytest.raises(DataError, match="it is the turn of 1"):
        with_answer(session, Answer(0, 1, "A"))
    first = with_answer(session, Answer(0, 0, "A"))
    assert first.next_trial(0) == 1
    assert with_answer(first, Answer(0, 0, "A")) is first, "asked twice, counted once"
    with pytest.raises(DataError, match="takes no answer now"):
        with_answer(first, Answer(0, 0, "B"))
    for wrong in (
        Answer(0, 1, "X"),
        Answer(0, 1, "A", "evenness", 3.0),
        Answer(0, 7, "A"),
        Answer(4, 0, "A"),
    ):
        with pytest.raises(DataError):
            with_answer(first, wrong)
    with pytest.raises(DataError, match="closed"):
        with_answer(close(first), Answer(0, 1, "A"))
    assert close(first).stopped_early


def test_a_rating_may_be_changed_until_one_goes_on() -> None:
    session = begin(rating(listeners=1, repeat=False, anchor=False), "x", "2026-01-02", 1)
    session = with_answer(session, Answer(0, 0, "A", "evenness", 30))
    session = with_answer(session, Answer(0, 0, "A", "evenness", 35))
    assert session.given(0, 0)["A", "evenness"].value == 35
    with pytest.raises(DataError, match="no answer yet"):
        with_finished(session, 0, 0)
    for value in (None, -1.0, 101.0, float("nan")):
        with pytest.raises(DataError):
            with_answer(session, Answer(0, 0, "A", "evenness", value))
    done = press_rating(session, 0, GOOD)
    assert done.next_trial(0) is None
    assert with_finished(done, 0, 0) is done
    with pytest.raises(DataError, match="takes no answer now"):
        with_answer(done, Answer(0, 0, "A", "evenness", 30))


# --- the file


@pytest.mark.parametrize("setup", SETUPS, ids=lambda setup: setup.kind)
@pytest.mark.parametrize("closed", [False, True])
def test_a_file_brings_the_session_back(setup: Setup, *, closed: bool) -> None:
    session = close(answered(setup)) if closed else answered(setup)
    assert from_text(as_text(session), "x.json") == session


@pytest.mark.parametrize("setup", SETUPS, ids=lambda setup: setup.kind)
def test_nobody_reads_who_is_who_until_it_is_closed(setup: Setup) -> None:
    text = as_text(answered(setup))
    for secret in (*NAMES, "anchor", "repeat", "plan", "seed", "70.05", *(one.file for one in setup.origins)):
        assert secret.lower() not in text.lower(), secret
    told = as_text(close(answered(setup)))
    assert all(name in told for name in setup.candidates)
    assert '"seed"' in told


def test_two_plans_make_files_that_tell_nothing_apart() -> None:
    """The readable part is the same whichever candidate stands behind a letter."""
    readable = []
    for seed in range(6):
        plain = json.loads(as_text(begin(rating(), "x", "2026-01-02", seed)))
        plain.pop("sealed")
        readable.append(plain)
    assert all(plain == readable[0] for plain in readable)


def test_a_file_of_another_version_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "session.json"
    text = as_text(answered(abx(listeners=("one", "two")))).replace(FORMAT, "forehear-listening/7")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DataError, match="forehear-listening/7") as told:
        Keeper.resume(path)
    assert "version that wrote it" in told.value.cure
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no JSON from here"),
        ("[1, 2]", "no listening session"),
        ('{"format": "forehear-aside/1"}', "no listening session"),
        (f'{{"format": "{FORMAT}"}}', "missing"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_what_is_no_session_says_so(text: str, words: str) -> None:
    with pytest.raises(DataError, match=words) as told:
        from_text(text, "x.json")
    assert told.value.where.startswith("x.json")
    assert told.value.cure


def test_files_that_cannot_be_read_say_so(tmp_path: Path) -> None:
    (tmp_path / "bytes.json").write_bytes(b"\xff\xfe\x00")
    for path, words in ((tmp_path / "none.json", "cannot read"), (tmp_path / "bytes.json", "not text")):
        with pytest.raises(DataError, match=words):
            read_session(path)


@given(at=st.floats(0, 1), put=st.sampled_from(["", "A", "9", '"', "}", "null", "-"]), closed=st.booleans())
def test_damage_is_said_or_harmless(at: float, put: str, *, closed: bool) -> None:
    """One character lost or changed anywhere: clear words, or a session that is whole; never a traceback."""
    session = answered(rating(listeners=2))
    text = as_text(close(session) if closed else session)
    place = int(at * (len(text) - 1))
    found = _read(text[:place] + put + text[place + 1 :])
    if isinstance(found, DataError):
        assert found.where.startswith("x.json")
        assert found.cure
    else:
        assert len(found.answers) == len(session.answers)


def _read(text: str) -> Session | DataError:
    try:
        return from_text(text, "x.json")
    except DataError as error:
        return error


@pytest.mark.parametrize("place", [0.1, 0.5, 0.9])
def test_a_sealed_part_that_lost_a_character_is_noticed(place: float) -> None:
    plain = json.loads(as_text(answered(rating(listeners=2))))
    at = int(place * len(plain["sealed"]))
    plain["sealed"] = plain["sealed"][:at] + "A" + plain["sealed"][at + 2 :]
    with pytest.raises(DataError, match="damaged"):
        from_text(json.dumps(plain), "x.json")


# --- keeping it


def test_a_press_is_in_the_file_when_it_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "session.json"
    keeper = Keeper.begin(path, begin(abx(trials=4), "x", "2026-01-02"))
    with pytest.raises(DataError, match="there already"):
        Keeper.begin(path, begin(abx(), "x", "2026-01-02"))
    for number in range(3):
        keeper.take(lambda session: press_abx(session, 0, right=True))
        assert read_session(path) == keeper.session
        assert len(keeper.session.answers) == number + 1
    with pytest.raises(DataError):
        keeper.take(lambda session: with_answer(session, Answer(0, 9, "A")))
    assert read_session(path) == Keeper.resume(path).session == keeper.session


def test_what_another_program_wrote_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "session.json"
    keeper = Keeper.begin(path, begin(abx(trials=4), "x", "2026-01-02"))
    other = Keeper.resume(path)
    other.take(lambda session: press_abx(session, 0, right=False))
    with pytest.raises(DataError, match="changed or taken away"):
        keeper.take(lambda session: press_abx(session, 0, right=True))
    assert read_session(path) == other.session
    assert keeper.session.answers == ()


PRESSING = """
import os, sys
from pathlib import Path
from forehear.listen.session_file import Keeper
from rooms.sessions import press_abx
for line in sys.stdin:
    if os.fork():
        os.wait()
        print("over", flush=True)
        continue
    print(os.getpid(), flush=True)
    keeper = Keeper.resume(Path(line.strip()))
    while keeper.session.next_trial(0) is not None:
        keeper.take(lambda session: press_abx(session, 0, right=True))
        print(len(keeper.session.answers), flush=True)
"""
KILLED_AFTER_S = (0.0, 0.001, 0.002, 0.003, 0.005, 0.007, 0.011, 0.017, 0.023, 0.031)


@pytest.fixture(scope="module")
def presser() -> Iterator[subprocess.Popen[str]]:
    """A process that forks one that presses, for every path that it is told."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    with subprocess.Popen(
        [sys.executable, "-W", "ignore", "-c", PRESSING],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment,
    ) as process:  # fmt: skip
        yield process
        assert process.stdin is not None
        process.stdin.close()


@pytest.mark.parametrize("after_s", KILLED_AFTER_S)
def test_a_killed_process_loses_no_answer(
    tmp_path: Path, presser: subprocess.Popen[str], after_s: float
) -> None:
    """Killed at once (signal 9) wherever it is: every press that it had taken is in the file, and it goes on."""
    path = tmp_path / "session.json"
    Keeper.begin(path, begin(abx(trials=200), "x", "2026-01-02"))
    assert presser.stdin is not None
    assert presser.stdout is not None
    presser.stdin.write(f"{path}\n")
    presser.stdin.flush()
    pressing = int(presser.stdout.readline())
    taken = int(presser.stdout.readline())
    time.sleep(after_s)
    os.kill(pressing, signal.SIGKILL)
    told = iter(presser.stdout.readline, "over\n")
    taken = max([taken, *(int(line) for line in told)])
    kept = read_session(path)
    assert taken < 200, "it was killed before it was done"
    assert taken <= len(kept.answers) <= taken + 1, "one may be in the file that was not yet told"
    again = Keeper.resume(path)
    again.take(lambda session: press_abx(session, 0, right=True))
    assert len(read_session(path).answers) == len(kept.answers) + 1


def test_played_programmes_are_the_only_ones_named() -> None:
    assert json.loads(as_text(answered(abx(listeners=("a", "b")))))["programmes"] == [vars(PLAYED[0])]
