"""The reference solver asked for on the command line and on the desk, at a small reach."""

import json
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from forehear.app import commands
from forehear.app.cli import SOLVERS, main
from forehear.app.desk.live import Desk
from forehear.app.desk.solving import Solver
from forehear.spine import SolverChoice, one_solver, predict, refining
from rooms.attic import copied
from rooms.desks import Reader, page, served
from rooms.refined import HEARING, SMALL, Counted

TO = "reference to 560 Hz"
RESISTOR = ("ways", "high", "network", 0, "series", "resistor")


def value(path: tuple[str | int, ...], text: str) -> dict[str, object]:
    return {"file": "design", "path": list(path), "text": text}


# --- the command line ---


@pytest.fixture
def attic(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the example, and commands that reach no further than the tests do."""
    monkeypatch.setattr(commands, "predict", partial(predict, reach=SMALL))
    monkeypatch.setattr(commands, "one_solver", partial(one_solver, reach=SMALL))
    return copied(tmp_path / "attic")


def test_the_names_of_the_solvers_are_those_of_the_spine() -> None:
    assert tuple(SolverChoice) == SOLVERS


def test_predict_takes_what_is_solved_unless_told_otherwise(
    attic: Path, solved: Counted, capsys: pytest.CaptureFixture[str]
) -> None:
    numbers = attic / "numbers.json"
    for options, words, solver in (
        ((), "reference to 560 Hz, instant from 800 Hz", "reference"),
        (("--solver", "reference"), "reference to 560 Hz, instant from 800 Hz", "reference"),
        (("--solver", "instant"), "instant solver", "instant"),
    ):
        assert main(["predict", str(attic / "twin.yaml"), "--json", str(numbers), *options]) == 0
        assert words in " ".join(capsys.readouterr().out.split())
        assert json.loads(numbers.read_text())["trace"]["solver"] == solver
    assert solved.bands == 0


def test_a_shape_that_cannot_be_solved_is_refused_with_its_place(
    attic: Path, unsolved: Counted, capsys: pytest.CaptureFixture[str]
) -> None:
    path = attic / "twin.yaml"
    path.write_text(path.read_text().replace("edge radius: 12 mm", "edge radius: 60 mm"))
    assert main(["predict", str(path), "--solver", "reference"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "the reference solver cannot take this shape: woofer left of 52.3 mm radius reaches" in told.err
    assert "where  " in told.err
    assert "twin.yaml:5:1  drivers" in told.err
    assert unsolved.bands == 0


def test_stopped_at_the_terminal_it_says_what_is_kept(
    attic: Path, unsolved: Counted, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    solve = refining._solved

    def interrupted(*arguments: object) -> object:
        if unsolved.bands == 1:
            raise KeyboardInterrupt
        return solve(*arguments)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(refining, "_solved", interrupted)
        assert main(["predict", str(attic / "twin.yaml"), "--solver", "reference"]) == 2
    assert "what the reference solver has done is kept" in capsys.readouterr().err
    assert main(["predict", str(attic / "twin.yaml"), "--solver", "reference"]) == 0
    assert unsolved.bands == len(SMALL.bands_hz)


# --- the desk ---


@pytest.fixture
def small_desk(folder: Path) -> Iterator[tuple[Reader, Desk]]:
    """A page on a desk that reaches no further than the tests do, its first picture read."""
    client, desk = served(folder)
    desk._solver = Solver(HEARING)
    with client, page(client) as reader:
        assert reader.picture()["solver"] in ("instant", TO)
        yield reader, desk


def refined(reader: Reader, words: str = TO) -> dict[str, Any]:
    """Press Refine and read up to the picture that shows it."""
    reader.send("start", job="refine")
    over = reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)
    assert (over["title"], over["state"]) == ("Reference solver", "done")
    return reader.until(lambda head: head["kind"] == "picture" and head["solver"] == words)


def test_refine_replaces_what_the_desk_shows(small_desk: tuple[Reader, Desk], unsolved: Counted) -> None:
    reader, _ = small_desk
    reader.ask("compare", candidate="stack.yaml")
    shown = reader.until(lambda head: head["kind"] == "picture" and head["other"] == "stack.yaml")
    assert shown["solver"] == "instant"
    assert refined(reader, f"{TO}, against instant")["other"] == "stack.yaml"
    shown = reader.ask("compare", candidate=None)
    assert shown["solver"] == TO
    assert "edges of 12 mm radius act up to 800 Hz" in " ".join(shown["estimated"])
    assert unsolved.bands == len(SMALL.bands_hz)
    spread = [seat["spread_db"] for seat in shown["seats"]]
    after = reader.ask("change", changes=[value(RESISTOR, "1.2 ohm")], group="n")
    assert after["solver"] == TO
    assert [seat["spread_db"] for seat in after["seats"]] != spread
    moved = reader.ask(
        "change", changes=[value(("drivers", "tweeter", "centre"), "[2 mm, 54 mm]")], group="m"
    )
    assert moved["solver"] == "instant"
    reader.send("undo")
    assert reader.until(lambda head: head["kind"] == "picture" and head["solver"] == TO)
    assert unsolved.bands == len(SMALL.bands_hz)


def test_refine_stops_within_a_second_and_goes_on_later(
    small_desk: tuple[Reader, Desk], unsolved: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A frequency that takes long is waited for by its own thread, not by the page."""
    reader, _ = small_desk
    solve, inside, long = refining._solved, Event(), Event()

    def slow(*arguments: object) -> object:
        if not inside.is_set():
            inside.set()
            long.wait(5.0)
        return solve(*arguments)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(refining, "_solved", slow)
        reader.send("start", job="refine")
        begun = reader.told("job")
        assert inside.wait(10.0)
        asked = time.monotonic()
        reader.send("stop", job=begun["id"])
        over = reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)
        assert over["state"] == "stopped"
        assert time.monotonic() - asked < 1.0
        long.set()
    assert reader.ask("keep")["solver"] == "instant"
    refined(reader)
    assert unsolved.bands == len(SMALL.bands_hz) + 1  # the band that was stopped was begun twice


def test_what_refine_cannot_solve_is_said_on_the_page(
    small_desk: tuple[Reader, Desk], unsolved: Counted
) -> None:
    reader, _ = small_desk
    reader.ask("change", changes=[value(("cabinet", "edge radius"), "60 mm")], group="e")
    reader.send("start", job="refine")
    over = reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)
    assert over["state"] == "failed"
    told = reader.told("refused")
    assert "the reference solver cannot take this shape: woofer left" in told["what"]
    assert told["where"].startswith("twin.yaml:")
    assert told["cure"]
    assert unsolved.bands == 0
