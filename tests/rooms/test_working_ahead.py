"""The second process of a comparison: what it finds is read, and it is gone when the comparison ends."""

import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from time import monotonic, sleep

import numpy as np
import pytest

from forehear.app import ahead
from forehear.app.ahead import work_ahead, working_ahead
from forehear.design import Design
from forehear.spine import SolverChoice
from forehear.spine.keeping import is_kept, kept_ranges, kept_story
from forehear.spine.situation import begin
from forehear.spine.sureness import seat_ranges
from rooms.attic import HEARING, candidate, situation

LONGEST_S = 60.0


class Refused(Exception):
    """Something is found anew, not read."""


def refuse(_share: float, _doing: str) -> None:
    raise Refused


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A cache folder of its own, empty, and two cores to work on."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(ahead, "usable_cores", lambda: 2)


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Every process that is started meanwhile; all have ended when the test has."""
    processes: list[subprocess.Popen[bytes]] = []
    start = ahead._started

    def starting(designs: Sequence[Design], solver: SolverChoice) -> subprocess.Popen[bytes] | None:
        process = start(designs, solver)
        assert process is not None
        processes.append(process)
        return process

    monkeypatch.setattr(ahead, "_started", starting)
    yield processes
    assert all(process.returncode is not None for process in processes)


def both() -> list[Design]:
    return [candidate("twin"), candidate("stack")]


def known(design: Design) -> bool:
    return is_kept(begin(design, HEARING))


def test_what_is_found_ahead_is_what_would_be_found() -> None:
    stack = situation("stack")
    work_ahead(SolverChoice.AUTO, [stack.design.path])
    assert known(stack.design)
    assert not known(candidate("twin"))
    for read, found in zip(kept_ranges(stack, refuse), seat_ranges(stack), strict=True):
        np.testing.assert_allclose(read.drawn, found.drawn, atol=1e-6)
    spread_db = [seat.spread_db for seat in stack.seats]
    now = kept_story(stack, refuse).turning
    np.testing.assert_allclose(
        now.spread_db[:, now.turn_deg.size // 2], spread_db, atol=0.2
    )  # the quick form


def test_a_second_process_finds_the_last_candidate_first(started: list[subprocess.Popen[bytes]]) -> None:
    with working_ahead(both(), SolverChoice.AUTO, room=True):
        latest = monotonic() + LONGEST_S
        while not known(candidate("stack")) and monotonic() < latest:
            sleep(0.05)
        assert known(candidate("stack"))
    assert len(started) == 1


def test_it_ends_with_whoever_started_it(started: list[subprocess.Popen[bytes]]) -> None:
    with pytest.raises(KeyboardInterrupt), working_ahead(both(), SolverChoice.AUTO, room=True):
        raise KeyboardInterrupt
    assert len(started) == 1
    assert started[0].returncode != 0  # stopped, not done


def test_nothing_is_started_where_it_would_not_help(
    started: list[subprocess.Popen[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    with working_ahead(both()[:1], SolverChoice.AUTO, room=True):
        pass
    with working_ahead(both(), SolverChoice.AUTO, room=False):
        pass
    with working_ahead(both(), SolverChoice.REFERENCE, room=True):
        pass  # not solved yet: it would find what the instant solver says
    with monkeypatch.context() as patch:
        patch.setattr(ahead, "usable_cores", lambda: 1)
        with working_ahead(both(), SolverChoice.AUTO, room=True):
            pass
    work_ahead(SolverChoice.AUTO, [candidate("stack").path])
    with working_ahead(both(), SolverChoice.AUTO, room=True):
        pass
    assert not started


def test_a_process_that_cannot_start_is_no_matter(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no such program"))
    done = False
    with working_ahead(both(), SolverChoice.AUTO, room=True):
        done = True
    assert done
