"""Sounds that somebody waits for: behind no long job, before reasons, and of each page only the newest are made."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from forehear.app.desk import listening_render, live
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.listening_render import make_sounds
from forehear.app.desk.listening_sounds import Heard
from forehear.design import Design
from forehear.ground.work import Progress
from rooms.desks import TestClient, example, served
from rooms.listening_desk import SHORT, TOKEN, bring, noise_file

PATIENCE_S = 20.0
ASKED = {"candidates": ["twin.yaml"], "clip": SHORT, "page": "one"}


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    opened = Jobs(lambda _: None)
    yield opened
    opened.close()


def test_what_is_awaited_stands_behind_no_long_job(jobs: Jobs) -> None:
    """Two searches fill both workers: sounds are made all the same."""
    over, heard, awaited = Event(), Event(), []

    def long(_: Progress) -> None:
        over.wait(PATIENCE_S)

    def short(_: Progress) -> None:
        awaited.append(jobs.awaited)
        heard.set()

    for _ in range(2):
        jobs.begin("search", "a search", long)
    assert not jobs.awaited, "nobody waits for a search"
    jobs.begin("listen", "sounds", short, awaited=True)
    assert heard.wait(PATIENCE_S)
    assert awaited == [True]
    assert len(jobs.running()) >= 2, "the searches go on"
    over.set()


def test_reasons_let_sounds_pass_but_not_for_ever(
    tmp_path: Path, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, desk = served(example(tmp_path))
    desk.jobs.close()
    desk.jobs = jobs
    over, begun = Event(), Event()

    def sounds(_: Progress) -> None:
        begun.set()
        over.wait(PATIENCE_S)

    jobs.begin("listen", "sounds", sounds, awaited=True)
    assert begun.wait(PATIENCE_S)
    with ThreadPoolExecutor(1) as reasons:
        waiting = reasons.submit(desk._let_pass)
        with pytest.raises(TimeoutError):
            waiting.result(0.1)
        over.set()
        waiting.result(PATIENCE_S)
        monkeypatch.setattr(live, "LONGEST_PASS_S", 0.05)
        over.clear()
        jobs.begin("listen", "sounds", sounds, awaited=True)
        reasons.submit(desk._let_pass).result(PATIENCE_S)
        over.set()


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.setattr(live, "RESTED_S", 1e6)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    opened, _ = served(example(tmp_path))
    with opened:
        opened.get("/", params=TOKEN)
        yield opened


def test_a_page_that_chooses_again_gets_the_newest_alone(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first choice is still being made when the same page makes its second: the first is stopped and brings
    nothing, the second is made; what another page asks for stops neither."""
    begun = Event()

    def slowly(designs: Sequence[Design], seat: str, clip: str, progress: Progress) -> list[Heard]:
        begun.set()
        while seat == "armchair":
            progress(0.5, "slowly")
        return make_sounds(designs, seat, clip, progress)

    monkeypatch.setattr(listening_render, "make_sounds", slowly)
    bring(client, "short.wav", noise_file(1))

    def ask(**more: object) -> list[dict[str, Any]]:
        answer = client.post("/listen/sounds", json={**ASKED, **more})
        assert answer.status_code == 200, answer.text
        sounds: list[dict[str, Any]] = answer.json()["sounds"]
        return sounds

    with ThreadPoolExecutor(1) as hand:
        first = hand.submit(ask, seat="armchair")
        assert begun.wait(PATIENCE_S)
        assert [one["seat"] for one in ask(seat="sofa left")] == ["sofa left"]
        assert first.result(PATIENCE_S) == []
    with ThreadPoolExecutor(1) as hand:
        other = hand.submit(ask, seat="sofa right", page="other")
        assert [one["seat"] for one in ask(seat="sofa left")] == ["sofa left"]
        assert [one["seat"] for one in other.result(PATIENCE_S)] == ["sofa right"]
