"""Real speakers over the desk's doors: a leader who connects them, and how loud each is at the seat."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from forehear.app.desk import live
from forehear.listen.plan import Known
from forehear.listen.session_file import read_session
from rooms.desks import TestClient, example, served
from rooms.listening_desk import REAL, TOKEN, begun, level_of, noise_file, press, state


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example(tmp_path_factory.mktemp("real"))


@pytest.fixture(scope="module")
def client(at: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "RESTED_S", 1e6)
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        opened, _ = served(at)
        with opened:
            opened.get("/", params=TOKEN)
            yield opened


def test_a_leader_connects_what_listeners_ask_for(client: TestClient, at: Path) -> None:
    key = begun(client, REAL)
    (row,) = [one for one in client.get("/listen.json").json()["sessions"] if one["id"] == key]
    leader = {"key": row["leader"]}
    assert client.get(f"/leader/{key}.json", params={"key": "guessed"}).status_code == 422
    assert client.post(f"/leader/{key}/plays", json={"key": "guessed"}).status_code == 422
    assert client.get(f"/leader/{key}.json", params=leader).json()["turn"] is None
    assert press(client, key, "wish", trial=0, label="C") == 422
    named = {}
    for label in ("A", "B"):
        assert press(client, key, "wish", trial=0, label=label) == 200
        turn = client.get(f"/leader/{key}.json", params=leader).json()["turn"]
        assert (turn["listener"], turn["wished"], turn["plays"]) == ("one", label, None)
        named[label] = turn["connect"]
        assert state(client, key)["trial"]["plays"] is None
        assert client.post(f"/leader/{key}/plays", json=leader).status_code == 200
        told = client.get(f"/blind/{key}.json", params={"listener": 0})
        assert told.json()["trial"]["plays"] == label
        assert not any(name in told.text for name in REAL["candidates"])
    assert sorted(named.values()) == ["The black ones", "The brown ones"]
    assert press(client, key, trial=0, label="A") == 200
    chosen = read_session(at / "listening" / f"{key}.json")
    assert chosen.answers[0].label == "A"
    client.post("/listen/close", json={"id": key})
    assert "Levels not matched: nobody measured" in client.get(f"/results/{key}").text


def test_typed_levels_of_real_speakers_count(client: TestClient) -> None:
    for levels, said in (([70.0, 70.1], False), ([70.0, 72.0], True)):
        key = begun(client, {**REAL, "levels_db": levels})
        client.post("/listen/close", json={"id": key})
        page = client.get(f"/results/{key}").text
        assert ("Levels not matched: 2.0 dB" in page) is said
        assert ("Levels matched: 0.1 dB" in page) is not said
        assert "as who led the session wrote down" in page


def test_levels_of_real_speakers_are_measured_from_recordings(client: TestClient, at: Path) -> None:
    """The same noise, one recording 1.6 dB softer and longer: the session keeps the difference, how it was found,
    and the result says that levels were not matched."""
    loud, soft = (
        level_of(
            client, f"{name}.wav", noise_file(seed, seconds=seconds, high=3000 * 10 ** (gain_db / 20))
        ).json()
        for name, seed, seconds, gain_db in (("brown", 11, 6.0, 0.0), ("black", 12, 9.0, -1.6))
    )
    assert (loud["channels"], soft["channels"]) == (1, 1)
    levels = [loud["loudness_lufs"], soft["loudness_lufs"]]
    assert levels[0] - levels[1] == pytest.approx(1.6, abs=0.1)
    assert not list(at.rglob("brown*")), "a recording is not kept"
    key = begun(
        client, {**REAL, "levels_db": levels, "levels_known": "recorded", "seats": ["armchair", "sofa left"]}
    )
    session = read_session(at / "listening" / f"{key}.json")
    assert session.setup.levels_db == tuple(levels)
    assert session.setup.levels_known is Known.RECORDED
    client.post("/listen/close", json={"id": key})
    assert '"levels_known": "recorded"' in (at / "listening" / f"{key}.json").read_text(encoding="utf-8")
    page = client.get(f"/results/{key}").text
    assert "Levels not matched: 1.6 dB lie between" in page
    assert "by recordings of the same noise" in page
    assert "measured once, and two seats" in page


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("loud.wav", noise_file(1, seconds=6.0, high=40_000.0), "is clipped"),
        ("none.wav", noise_file(1, seconds=6.0, high=0.0), "is silent"),
        ("faint.wav", noise_file(1, seconds=6.0, high=20.0), "so quiet that the recorder itself"),
        ("short.wav", noise_file(1, seconds=2.0), "holds 1.6 s of noise"),
        ("many.wav", noise_file(1, seconds=6.0, channels=4), "4 channels"),
        ("text.wav", b"no sound at all", "no sound that can be read"),
    ],
)  # fmt: skip
def test_a_recording_that_tells_nothing_is_refused(
    client: TestClient, name: str, data: bytes, words: str
) -> None:
    answer = level_of(client, name, data)
    assert answer.status_code == 422
    assert words in answer.json()["what"]
    assert answer.json()["cure"]
