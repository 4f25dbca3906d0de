"""Listening over the desk's doors: sounds, sessions, and what a blind page may learn."""

import json
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from forehear.app.desk import listening_render, live
from forehear.app.desk.listening_render import make_sounds
from forehear.app.desk.listening_sounds import Heard
from forehear.design import Design
from forehear.ground.work import Progress
from forehear.listen.plan import Known
from forehear.listen.session_file import read_session
from rooms.desks import TestClient, example, served
from rooms.listening_desk import (
    ABX,
    RATING,
    SECRETS,
    SHORT,
    TOKEN,
    answer_all,
    begun,
    bring,
    noise_file,
    once_ready,
    press,
    state,
)


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example(tmp_path_factory.mktemp("listening"))


@pytest.fixture(scope="module")
def client(at: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "RESTED_S", 1e6)  # no reasons are looked for: listening needs none
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        opened, _ = served(at)
        with opened:
            opened.get("/", params=TOKEN)  # the cookie
            assert bring(opened, "short.wav", noise_file(1)).json() == {"clip": SHORT}
            yield opened


# --- the door


@pytest.mark.parametrize(
    "path",
    ["/listen.json", "/listen/sound/x", "/blind/session-00000000", "/blind/session-00000000.json",
     "/leader/session-00000000", "/results/session-00000000", "/results/session-00000000.json", "/results.css"],
)  # fmt: skip
def test_nobody_comes_in_without_the_token(at: Path, path: str) -> None:
    stranger, _ = served(at)
    assert stranger.get(path).status_code == 403
    assert stranger.get(path, params={"token": "x" * 32}).status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/listen/sounds",
        "/listen/begin",
        "/listen/close",
        "/listen/clip",
        "/listen/level",
        "/blind/session-00000000/answer",
    ],
)
def test_nothing_is_asked_without_the_token_or_from_elsewhere(
    client: TestClient, at: Path, path: str
) -> None:
    stranger, _ = served(at)
    assert stranger.post(path, json={}).status_code == 403
    assert client.post(path, json={}, headers={"origin": "null"}).status_code == 403
    wrong = client.post(path, content="{}", headers={"content-type": "text/plain"})
    assert wrong.status_code == 422
    assert wrong.json()["kind"] == "refused"


@pytest.mark.parametrize("key", ["session-00000000", "twin", "session-0000000g", "%2e%2e"])
def test_what_is_no_session_says_so(client: TestClient, key: str) -> None:
    answer = client.get(f"/blind/{key}.json")
    assert answer.status_code in (404, 422)
    assert "Traceback" not in answer.text


# --- sounds


def test_choices_are_those_of_the_folder(client: TestClient) -> None:
    found = client.get("/listen.json").json()
    assert found["seats"] == ["sofa left", "sofa middle", "sofa right", "armchair"]
    assert [one["file"] for one in found["candidates"]] == ["stack.yaml", "trio.yaml", "twin.yaml"]
    assert "speech" in found["clips"]
    assert "volume" in found["caution"]


def test_sounds_are_made_alike_and_handed_out(client: TestClient) -> None:
    asked = {"candidates": ["twin.yaml", "trio.yaml"], "seat": "armchair", "clip": SHORT}
    sounds = client.post("/listen/sounds", json=asked).json()["sounds"]
    assert [one["title"] for one in sounds] == ["Twin", "Trio"]
    assert sounds[0]["samples"] == sounds[1]["samples"]
    data = [client.get(f"/listen/sound/{one['id']}") for one in sounds]
    assert all(one.headers["cache-control"] == "no-store" for one in data)
    heard = [np.frombuffer(one.content, "<f4").reshape(2, -1) for one in data]
    assert heard[0].shape == (2, sounds[0]["samples"])
    assert not np.array_equal(heard[0], heard[1])
    assert all(0.001 < np.abs(one).max() < 1 for one in heard)
    answer = client.get(f"/listen/sound/{sounds[0]['id']}", params={"wav": ""})
    assert answer.headers["content-disposition"] == 'attachment; filename="Twin at armchair.wav"'
    assert answer.content[:4] == b"RIFF"
    assert b"armchair" in answer.content, "settings inside"
    assert sounds[0]["modelled"]
    assert sounds[0]["left_out"]


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"candidates": []}, "no candidate is chosen"),
        ({"candidates": ["../x.yaml"]}, "no candidate '../x.yaml'"),
        ({"candidates": [1]}, "must be a list"),
        ({"seat": "the roof"}, "no seat 'the roof'"),
        ({"clip": "/etc/passwd"}, "passwd"),
        ({"clip": "listening/../../secret.wav"}, "outside the folder"),
    ],
)
def test_sounds_that_cannot_be_made_say_why(client: TestClient, wrong: dict[str, object], words: str) -> None:
    asked = {"candidates": ["twin.yaml"], "seat": "armchair", "clip": SHORT, **wrong}
    answer = client.post("/listen/sounds", json=asked)
    assert answer.status_code == 422
    assert words in answer.json()["what"]


def test_a_clip_is_brought_once_and_kept(client: TestClient, at: Path) -> None:
    noise = noise_file(2)
    assert bring(client, "my/own noise.wav", noise).json() == {"clip": "listening/clips/own noise.wav"}
    assert (at / "listening" / "clips" / "own noise.wav").read_bytes() == noise
    assert "listening/clips/own noise.wav" in client.get("/listen.json").json()["clips"]
    asked = {"candidates": ["twin.yaml"], "seat": "armchair", "clip": "listening/clips/own noise.wav"}
    assert client.post("/listen/sounds", json=asked).json()["sounds"][0]["samples"] > 36_000
    for name, data in (
        ("x.wav", b"no sound"),
        ("x.mp3", noise),
        ("own noise.wav", noise_file(3)),
    ):
        assert bring(client, name, data).status_code == 422, name


# --- sessions


def test_a_session_from_beginning_to_results(client: TestClient, at: Path) -> None:
    key = begun(client, RATING)
    path = at / "listening" / f"{key}.json"
    assert read_session(path).setup.levels_matched
    told = state(client, key)
    assert told["trial"]["labels"] == ["A", "B", "C", "D", "E"]
    assert told["scale"] == [1, 10]
    assert press(client, key, trial=0, label="A", attribute="evenness", value=7) == 200
    assert read_session(path).answers[0].value == 7
    assert client.post(f"/blind/{key}/finish", json={"listener": 0, "trial": 0}).status_code == 422
    assert client.get(f"/results/{key}").status_code == 422, "nothing is told before it is closed"
    assert client.get(f"/results/{key}.json").status_code == 422
    answer_all(client, key, 0)
    assert state(client, key)["trial"] is None
    assert client.post("/listen/close", json={"id": key}).status_code == 200
    page = client.get(f"/results/{key}")
    assert "Stopped early: 1 of the two trials" in page.text
    assert 'href="/results.css"' in page.text
    assert client.get("/results.css").headers["content-type"].startswith("text/css")
    twin = client.get(f"/results/{key}.json").json()
    assert twin["format"] == "forehear-listening-result/1"
    assert twin["headline"] in page.text
    assert press(client, key, trial=0, label="A") == 422
    (row,) = [one for one in client.get("/listen.json").json()["sessions"] if one["id"] == key]
    assert (row["closed"], row["done"], row["of"]) == (True, 1, 2)


def test_a_session_goes_on_after_a_restart_with_the_same_sounds(client: TestClient, at: Path) -> None:
    key = begun(client, ABX)
    for number in range(2):
        assert press(client, key, trial=number, label="B") == 200
    again, _ = served(at)
    with again:
        again.get("/", params=TOKEN)
        told = once_ready(again, key)
        assert told["trial"]["number"] == 2
        one = [
            client.get(f"/blind/{key}/sound/{name}").content for name in state(client, key)["trial"]["sounds"]
        ]
        two = [again.get(f"/blind/{key}/sound/{name}").content for name in told["trial"]["sounds"]]
        for before, after in zip(one, two, strict=True):
            apart = np.frombuffer(before, "<f4") - np.frombuffer(after, "<f4")
            assert np.abs(apart).max() < 2e-6, "but for the dither"


def test_a_session_whose_files_are_not_what_they_were_waits(client: TestClient, at: Path) -> None:
    """The Listen desk says why, by name; the listener's page learns only that it waits. With the files it goes on."""
    key = begun(client, ABX)
    path = at / "stack.yaml"
    text = path.read_text(encoding="utf-8")
    again, _ = served(at)
    with again:
        again.get("/", params=TOKEN)
        try:
            for other in (f"{text}# changed\n", f"{text}ways: 3\n", None):
                path.unlink() if other is None else path.write_text(other, encoding="utf-8")
                answer = again.get(f"/blind/{key}.json", params={"listener": 0})
                assert answer.json()["trouble"]["what"] == "the sounds of this session cannot be made now"
                assert answer.json()["trial"] is None
                assert not any(secret in answer.text.lower() for secret in SECRETS)
                (row,) = [one for one in again.get("/listen.json").json()["sessions"] if one["id"] == key]
                assert "stack.yaml" in row["why"]
        finally:
            path.write_text(text, encoding="utf-8")
        told = once_ready(again, key)
        assert (told["trouble"], told["trial"]["number"]) == (None, 0)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"name": " "}, "no name"),
        ({"kind": "duel"}, "no kind of session"),
        ({"candidates": ["twin.yaml"]}, "1 candidates"),
        ({"candidates": ["twin.yaml", "none.yaml"]}, "no candidate 'none.yaml'"),
        ({"listeners": []}, "nobody listens"),
        ({"trials": 1.5}, "whole number"),
        ({"trials": 900}, "900 trials"),
        ({"seats": ["the roof"]}, "no seat"),
        ({"clips": ["no such clip"]}, "no such clip"),
        (
            {"clips": [f"{number}" for number in range(7)], "seats": list("abcd")},
            "28 pairs of a clip and a seat",
        ),
        ({"clips": []}, "nothing is played"),
        ({"real": True, "levels_db": ["loud", 1]}, "decibels"),
    ],
)
def test_sessions_that_cannot_begin_say_why(client: TestClient, wrong: dict[str, object], words: str) -> None:
    answer = client.post("/listen/begin", json={**ABX, **wrong})
    assert answer.status_code == 422
    assert words in json.dumps(answer.json())


def test_a_session_whose_clip_is_not_what_it_was_waits(client: TestClient, at: Path) -> None:
    """Another sound under the same name, and none: one sentence on the Listen desk; with the file it goes on."""
    name = bring(client, "a record.wav", noise_file(7)).json()["clip"]
    key = begun(client, {**ABX, "clips": [name, "pink noise"]})
    session = read_session(at / "listening" / f"{key}.json")
    assert [one.file for one in session.setup.clips] == [name], "the bundled one is always the same"
    path = at / name
    again, _ = served(at)
    with again:
        again.get("/", params=TOKEN)
        for other, words in (
            (noise_file(8), f"{name} has changed since the session began"),
            (None, f"{name} cannot be read"),
        ):
            path.unlink() if other is None else path.write_bytes(other)
            answer = again.get(f"/blind/{key}.json", params={"listener": 0})
            assert answer.json()["trouble"]["what"] == "the sounds of this session cannot be made now"
            assert "record" not in answer.text
            (row,) = [one for one in again.get("/listen.json").json()["sessions"] if one["id"] == key]
            assert words in row["why"]
        path.write_bytes(noise_file(7))
        assert once_ready(again, key)["trouble"] is None


def test_clips_and_seats_are_told_by_numbers_alone(client: TestClient) -> None:
    """Two clips, one of them named after a candidate, at two seats: all are heard; sounds of one trial are equally
    long, whatever the other clip lasts."""
    named = bring(client, "Twin at home.wav", noise_file(9, seconds=1.5)).json()["clip"]
    key = begun(client, {**ABX, "clips": [SHORT, named], "seats": ["armchair", "sofa left"]})
    told, long = [], {}
    for number in range(4):
        answer = client.get(f"/blind/{key}.json", params={"listener": 0})
        assert not any(secret in answer.text.lower() for secret in (*SECRETS, "armchair", "sofa", "short"))
        trial = answer.json()["trial"]
        told.append(trial["programme"])
        sizes = {len(client.get(f"/blind/{key}/sound/{name}").content) for name in trial["sounds"]}
        assert sizes == {8 * trial["samples"]}
        long[trial["programme"]] = trial["samples"]
        assert press(client, key, trial=number, label="A") == 200
    assert sorted(told) == [f"clip {clip} of 2, seat {seat} of 2" for clip in (1, 2) for seat in (1, 2)]
    assert long["clip 2 of 2, seat 1 of 2"] - long["clip 1 of 2, seat 1 of 2"] == 36_000
    assert state(client, begun(client, ABX))["trial"]["programme"] == "", "there is only one"


def test_only_what_is_heard_is_made(at: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One trial and two clips: the other clip is not rendered."""
    asked: list[str] = []

    def counted(designs: Sequence[Design], seat: str, clip: str, progress: Progress) -> list[Heard]:
        asked.append(clip)
        return make_sounds(designs, seat, clip, progress)

    monkeypatch.setattr(listening_render, "make_sounds", counted)
    again, _ = served(at)
    with again:
        again.get("/", params=TOKEN)
        key = begun(again, {**ABX, "clips": ["percussion", SHORT], "trials": 1})
        assert state(again, key)["trial"]["programme"] == "clip 1 of 2"
    assert asked == ["percussion"]
    assert read_session(at / "listening" / f"{key}.json").setup.levels_known is Known.RENDERED


def test_a_damaged_session_is_listed_with_its_trouble(client: TestClient, at: Path) -> None:
    path = at / "listening" / "session-deadbeef.json"
    path.write_text('{"format": "forehear-listening/9"}', encoding="utf-8")
    (row,) = [one for one in client.get("/listen.json").json()["sessions"] if one["id"] == path.stem]
    assert "forehear-listening/9" in row["trouble"]
    path.unlink()


# --- blinding


def test_nothing_that_a_listener_receives_tells_who_is_who(client: TestClient) -> None:
    """Every body and header of a whole session: no name, no file, no hidden part; sounds of one size, never twice
    the same bytes, under names drawn by chance."""
    received: list[Any] = []
    key = begun(client, {**RATING, "listeners": [f"listener {number}" for number in range(6)]})
    sizes, names, contents = set(), [], []
    for listener in range(6):
        received.append(client.get(f"/blind/{key}.json", params={"listener": listener}))
        for name in received[-1].json()["trial"]["sounds"]:
            sound = client.get(f"/blind/{key}/sound/{name}")
            received.append(sound)
            sizes.add((len(sound.content), tuple(sorted(sound.headers.items()))))
            names.append(name)
            contents.append(sound.content)
        answer_all(client, key, listener)
        received.append(client.get(f"/blind/{key}.json", params={"listener": listener}))
    received.append(client.get(f"/results/{key}"))
    for answer in received:
        told = " ".join([answer.url.path, *answer.headers.keys(), *answer.headers.values()]).lower()
        if answer.headers["content-type"].startswith("application/json"):
            told += answer.text.lower()
        assert not [secret for secret in SECRETS if secret in told]
        assert answer.headers["cache-control"] == "no-store"
        assert not {"etag", "last-modified", "content-disposition"} & answer.headers.keys()
    assert len(sizes) == 1, "one length and one set of headers for every sound"
    assert len({len(name) for name in names}) == 1
    assert len(set(names)) == len(names) == 30
    assert len(set(contents)) == len(contents), "though some are the same sound"


def test_the_unknown_is_not_the_known_byte_for_byte(client: TestClient) -> None:
    key = begun(client, {**ABX, "trials": 12})
    matches = []
    for _ in range(12):
        trial = state(client, key)["trial"]
        data = [client.get(f"/blind/{key}/sound/{name}").content for name in trial["sounds"]]
        first, second, unknown = (np.frombuffer(one, "<f4") for one in data)
        assert data[2] not in data[:2]
        alike = np.count_nonzero(unknown[-2000:] == first[-2000:])  # by chance one sample in some 100,000 is
        assert alike <= 2, "not even where it is silent"
        matches.append(np.abs(unknown - first).max() < np.abs(unknown - second).max())
        press(client, key, trial=trial["number"], label="A")
    assert set(matches) == {True, False}, "X is each of them at times"


def test_how_long_a_sound_takes_tells_nothing(client: TestClient) -> None:
    """All sounds are there before the trial is shown: each kind of sound takes the same time but for what else the
    machine does. That only ever adds to it, so the quickest of many requests are compared."""
    key = begun(client, {**RATING, "listeners": ["one"], "repeat": False})
    names = state(client, key)["trial"]["sounds"]
    spent: dict[str, list[float]] = {name: [] for name in names}
    for _ in range(25):
        for name in names:
            begun_at = time.perf_counter()
            assert client.get(f"/blind/{key}/sound/{name}").status_code == 200
            spent[name].append(time.perf_counter() - begun_at)
    quickest_s = [min(times) for times in spent.values()]
    assert max(quickest_s) < 1.5 * min(quickest_s)


def test_a_sound_of_one_session_is_none_of_another(client: TestClient) -> None:
    first, second = begun(client, ABX), begun(client, ABX)
    name = state(client, second)["trial"]["sounds"][0]
    assert client.get(f"/blind/{first}/sound/{name}").status_code == 404
