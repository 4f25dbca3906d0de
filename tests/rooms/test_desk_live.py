"""The live protocol, spoken without a browser: pictures, refusals, several pages, long work, restarts."""

import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from forehear.app.desk.live import Desk
from forehear.design import load
from forehear.ground.work import Progress
from forehear.spine import as_plain_data, predict
from rooms.desks import (
    LOCK,
    SOCKET,
    Reader,
    TestClient,
    array_of,
    example,
    head_of,
    moved,
    page,
    served,
)

SEAT_KEYS = ("spread_db", "direct_spread_db", "hole", "direct_hole", "azimuth_deg", "distance_m")
ARMCHAIR = {"file": "brief", "path": ["seats", "armchair", "position"], "text": "[2.4 m, 3.4 m]"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return example(tmp_path)


@pytest.fixture
def desk(folder: Path) -> Iterator[tuple[TestClient, Desk]]:
    client, desk = served(folder)
    with client:
        yield client, desk


@pytest.fixture
def reader(desk: tuple[TestClient, Desk]) -> Iterator[Reader]:
    with page(desk[0]) as reader:
        reader.picture()
        yield reader


def numbers(told: dict[str, Any]) -> list[dict[str, Any]]:
    return [{key: seat[key] for key in SEAT_KEYS} for seat in told["seats"]]


# --- pictures ---


@pytest.mark.parametrize(
    "gesture",
    [
        [moved("[2 mm, 50 mm]")],
        [ARMCHAIR],
        [{"file": "design", "path": ["placements", "centre", "turn"], "text": "8 deg"}],
        [{"file": "design", "path": ["ways", "high", "polarity"], "text": "reversed"}],
        [{"file": "design", "path": ["cabinet", "width"], "text": "500 mm"}, ARMCHAIR],
        [{"file": "design", "path": ["ways", "low", "network", 0, "series", "bypassed"], "text": "true"}],
    ],
    ids=["driver", "seat", "turn", "polarity", "cabinet", "bypass"],
)
def test_a_picture_says_what_predict_says_of_the_saved_file(
    reader: Reader, folder: Path, gesture: list[dict[str, Any]]
) -> None:
    quick = reader.ask("change", changes=gesture, group="g")
    full = reader.picture(full=True)
    reader.ask("save")
    said = as_plain_data(predict(load(folder / "twin.yaml")))
    assert numbers(quick) == numbers(full) == numbers(said)
    assert [finding["what"] for finding in full["findings"]] == [
        finding["what"] for finding in said["findings"]
    ]
    assert full["spread_among_seats_db"] == said["spread_among_seats_db"]
    for name in ("on_axis_db", "listening_window_db", "sound_power_db"):
        np.testing.assert_allclose(array_of(reader.frame, f"curves.{name}"), said["curves"][name], atol=1e-4)
    level = np.array(said["orbits"]["horizontal"]["level_db"])
    np.testing.assert_allclose(array_of(reader.frame, "orbit.horizontal_db"), level - level[35], atol=2e-4)
    np.testing.assert_allclose(
        array_of(reader.frame, "impedance.magnitude_ohm"), said["impedance"]["magnitude_ohm"], rtol=1e-4
    )


def test_a_frame_is_laid_out_as_said(reader: Reader) -> None:
    reader.ask("keep")
    head, data = head_of(reader.frame), reader.frame
    start = 4 + int.from_bytes(data[:4], "little")
    start += -start % 4
    places = sorted(head["arrays"].values(), key=lambda place: place["offset"])
    sizes = [int(np.prod(place["shape"])) for place in places]
    assert [place["offset"] for place in places] == [0, *np.cumsum(sizes)[:-1].tolist()]
    assert len(data) == start + 4 * sum(sizes)
    seats = len(head["seats"])
    assert head["arrays"]["kept.seat.in_room_db"]["shape"] == [seats, 240]
    assert head["arrays"]["orbit.vertical_db"]["shape"] == [72, 240]
    assert all(seat["kept"]["spread_db"] == seat["spread_db"] for seat in head["seats"])


def test_reasons_follow_when_the_hand_rests(reader: Reader) -> None:
    full = reader.picture(full=True)
    assert full["findings"]
    assert full["rules"]
    parts = [step["element"] for way in full["ways"] for step in way["steps"] if "part" in step["element"]]
    assert all(len(part["step_effect"]) == len(full["seats"]) for part in parts)
    assert len({part["label"] for part in parts}) == len(parts)
    quick = reader.ask("change", changes=[moved("[1 mm, 54 mm]")], group="g")
    assert not quick["full"]
    assert quick["findings"] == full["findings"], "the old ones stay until the new ones are found"


def test_a_step_does_what_is_said_of_it(reader: Reader) -> None:
    full = reader.picture(full=True)
    parts = [step["element"] for step in full["ways"][1]["steps"]]
    part = next(part for part in parts if part["value"] == "5.6 uF")
    change = {"file": "design", "path": part["value_path"], "text": "6.2 uF"}  # next in E24 of IEC 60063
    stepped = reader.ask("change", changes=[change], group="")
    for before, after, effect in zip(full["seats"], stepped["seats"], part["step_effect"], strict=True):
        assert after["spread_db"] - before["spread_db"] == pytest.approx(effect["db"], abs=2e-4)


# --- edits ---


def test_undo_redo_select_compare_and_keep(reader: Reader) -> None:
    changed = reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="g")
    assert (changed["can_undo"], changed["unsaved"]) == (True, True)
    undone = reader.ask("undo")
    assert (undone["can_undo"], undone["can_redo"], undone["unsaved"]) == (False, True, False)
    assert reader.ask("redo")["drivers"][2]["across_mm"] == 2.0
    assert reader.refused("redo")["what"] == "there is nothing to redo"
    kept = reader.ask("keep")
    assert (kept["kept"], kept["changes"]) == (True, [])
    compared = reader.ask("compare", candidate="stack.yaml")
    assert compared["other"] == "stack.yaml"
    assert "other.seat.in_room_db" in compared["arrays"]
    assert [entry["title"] for entry in compared["candidates"]] == ["Stack", "Trio", "Twin"]
    selected = reader.ask("select", candidate="trio.yaml")
    assert selected["candidate"] == "trio.yaml"
    assert {change["what"] for change in selected["changes"]} > {"design"}
    assert reader.ask("unkeep")["kept"] is False


def test_networks_are_rearranged(reader: Reader) -> None:
    low = ["ways", "low", "network"]
    before = len(reader.ask("keep")["ways"][0]["steps"])
    grown = reader.ask("insert", path=low, index=0, text="{series: {resistor: 0.5 ohm}}")
    assert len(grown["ways"][0]["steps"]) == before + 1
    assert grown["ways"][0]["steps"][0]["element"]["value"] == "0.5 ohm"
    turned = reader.ask("move", path=[*low, 0], to=1)
    assert turned["ways"][0]["steps"][1]["element"]["value"] == "0.5 ohm"
    assert len(reader.ask("remove", path=[*low, 1])["ways"][0]["steps"]) == before


def test_a_network_that_shorts_the_amplifier_is_put_back(reader: Reader) -> None:
    before = reader.ask("keep")
    seq = reader.send(
        "insert", path=["ways", "low", "network"], index=0, text="{shunt: {resistor: 0.01 ohm}}"
    )
    refused = reader.told("refused")
    assert refused["seq"] == seq
    assert "shorts" in refused["what"]
    after = reader.until(lambda head: head["kind"] == "picture")
    assert (after["ways"], after["can_undo"]) == (before["ways"], False)


def test_a_file_changed_on_disk_is_asked_about(reader: Reader, folder: Path) -> None:
    reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="g")
    path = folder / "twin.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "# theirs\n", encoding="utf-8")
    seq = reader.send("save")
    asked = reader.until(lambda head: head["kind"] == "asked" and head.get("seq") == seq)
    assert (asked["question"], asked["files"]) == ("file changed", ["twin.yaml"])
    assert reader.ask("save anyway")["unsaved"] is False
    assert "theirs" not in path.read_text(encoding="utf-8")
    path.write_text(path.read_text(encoding="utf-8") + "# theirs again\n", encoding="utf-8")
    assert reader.told("asked")["files"] == ["twin.yaml"], "told without asking, a little later"


def test_a_curve_is_shown_then_taken(reader: Reader, desk: tuple[TestClient, Desk], folder: Path) -> None:
    text = "\n".join(f"{300 * 1.1**n:.2f}, {82 + n % 4}" for n in range(45))
    where = {"driver": "tweeter", "kind": "response"}
    reader.refused("curve", take=True, **where)
    desk[0].put(
        "/curve", params={"token": LOCK.token, **where}, content=text, headers={"content-type": "text/plain"}
    )
    reader.send("curve", take=False, **where)
    assert reader.told("curve")["points"] == 45
    taken = reader.ask("curve", take=True, mounted="large baffle", distance="1 m", **where)
    assert taken["unsaved"]
    reader.ask("save")
    said = as_plain_data(predict(load(folder / "twin.yaml")))
    assert numbers(taken) == numbers(said)


# --- several pages, and bad ones ---


def test_two_pages_stay_in_step(desk: tuple[TestClient, Desk]) -> None:
    with page(desk[0]) as one, page(desk[0]) as other:
        for across in (1, 2, 3):
            writer, watcher = (one, other) if across % 2 else (other, one)
            mine = writer.ask("change", changes=[moved(f"[{across} mm, 54 mm]")], group="g")
            theirs = watcher.until(
                lambda head, mine=mine: head["kind"] == "picture" and head["revision"] >= mine["revision"]
            )
            assert theirs["drivers"] == mine["drivers"]


BAD = [
    "", "{", "null", "3", '"undo"', "[]", "{}", '{"do": 1}', '{"do": "fly"}', '{"seq": 1, "do": "change"}',
    '{"seq": "a", "do": "change", "changes": []}', '{"seq": -5, "do": "change", "changes": [1]}',
    '{"do": "change", "changes": [{"file": "secret", "path": ["a"], "text": "1"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": [], "text": "1"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": [true], "text": "1"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": ["design"], "text": 1}]}',
    '{"do": "change", "changes": [{"file": "design", "path": ["design"], "text": "a\\u0000b"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": ["design"], "text": "*x"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": ["brief"], "text": "../../x.yaml"}]}',
    '{"do": "change", "changes": [{"file": "design", "path": ["ways", "low", "network", 99], "text": "1"}]}',
    '{"do": "insert", "path": ["ways"], "index": 1e9, "text": "x"}', '{"do": "remove", "path": []}',
    '{"do": "remove", "path": ["drivers"]}', '{"do": "move", "path": ["ways", 0], "to": -1}',
    '{"do": "select"}', '{"do": "select", "candidate": "../x.yaml"}', '{"do": "compare", "candidate": 7}',
    '{"do": "curve", "driver": "tweeter", "kind": "response", "take": true}', '{"do": "start", "job": "anything"}',
    '{"do": "restore"}', "[" * 50_000, '{"do": "' + "x" * 64_000 + '"}',
]  # fmt: skip


def test_bad_messages_are_refused_one_by_one(reader: Reader) -> None:
    before = reader.ask("keep")
    for text in BAD:
        reader.socket.send_text(text)
        assert reader.told("refused")["what"], text
    reader.socket.send_bytes(b"\x00\x01")
    assert reader.told("refused")["what"]
    after = reader.ask("unkeep")
    assert (after["drivers"], after["ways"]) == (before["drivers"], before["ways"])


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    text=st.one_of(
        st.text(max_size=60),
        st.dictionaries(
            st.sampled_from(
                ["seq", "do", "changes", "path", "index", "to", "text", "candidate", "job", "take"]
            ),
            st.recursive(
                st.none()
                | st.booleans()
                | st.integers()
                | st.text(max_size=8)
                | st.just("change")
                | st.just("move"),
                lambda inner: st.lists(inner, max_size=3),
                max_leaves=6,
            ),
        ).map(json.dumps),
    )
)
def test_no_message_breaks_the_desk(reader: Reader, text: str) -> None:
    reader.socket.send_text(text)
    reader.seq = max(reader.seq, 0)
    assert reader.ask("unkeep")["candidates"]


def test_numbers_out_of_order_do_no_harm(reader: Reader) -> None:
    for seq, across in ((90, 1), (3, 2), (3, 3), (0, 4)):
        change = {"seq": seq, "do": "change", "changes": [moved(f"[{across} mm, 54 mm]")], "group": "g"}
        reader.socket.send_text(json.dumps(change))
    told = reader.until(lambda head: head["kind"] == "picture" and head["drivers"][2]["across_mm"] == 4.0)
    assert told["seq"] == 90


def test_many_pages_at_once_lose_nothing(desk: tuple[TestClient, Desk]) -> None:
    client, seats = desk[0], ("sofa left", "sofa middle", "sofa right", "armchair")
    wrong: list[object] = []

    def drag(seat: str) -> None:
        try:
            with page(client) as own:
                for step in range(6):
                    change = {
                        "file": "brief",
                        "path": ["seats", seat, "ear height"],
                        "text": f"{1 + step / 100:.2f} m",
                    }
                    own.send("change", changes=[change], group=seat)
                own.picture()
        except BaseException as error:
            wrong.append(error)

    threads = [threading.Thread(target=drag, args=(seat,)) for seat in seats]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not wrong
    with page(client) as last:
        assert {seat["ear_m"] for seat in last.ask("keep")["seats"]} == {1.05}


def test_a_page_that_does_not_listen_holds_nobody_up(desk: tuple[TestClient, Desk]) -> None:
    with page(desk[0]), page(desk[0]) as quick:
        for across in range(20):
            quick.ask("change", changes=[moved(f"[{across / 10} mm, 54 mm]")], group="g")


def test_pictures_may_be_skipped_messages_never(reader: Reader) -> None:
    for across in range(1, 31):
        reader.send("change", changes=[moved(f"[{across / 10} mm, 54 mm]")], group=f"g{across}")
    shown = reader.picture()
    assert shown["drivers"][2]["across_mm"] == 3.0
    for _ in range(30):
        reader.send("undo")
    back = reader.picture()
    assert (back["drivers"][2]["across_mm"], back["can_undo"]) == (0.0, False)


# --- long work ---


def test_long_work_shows_how_far_it_is_and_stops(reader: Reader, desk: tuple[TestClient, Desk]) -> None:
    def slow(progress: Progress) -> None:
        for step in range(3000):
            progress(step / 3000, "waiting")
            time.sleep(0.01)

    desk[1].jobs.kinds["slow"] = ("A slow job", slow)
    reader.send("start", job="slow")
    first = reader.told("job")
    later = reader.until(lambda head: head["kind"] == "job" and head["seconds_left"] is not None)
    assert later["title"] == "A slow job"
    assert 0 < later["share"] < 1
    assert 5 < later["seconds_left"] < 100
    assert reader.ask("change", changes=[moved("[1 mm, 54 mm]")], group="g")["drivers"][2]["across_mm"] == 1.0
    with page(desk[0]) as other:
        assert other.told("job")["id"] == first["id"], "a page that comes later sees it too"
    begun = time.monotonic()
    reader.send("stop", job=first["id"])
    over = reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)
    assert over["state"] == "stopped"
    assert time.monotonic() - begun < 1.0


def test_work_that_ends_or_fails_says_so(reader: Reader, desk: tuple[TestClient, Desk]) -> None:
    def fails(_progress: Progress) -> None:
        raise ZeroDivisionError

    desk[1].jobs.kinds |= {"quick": ("Quick", lambda progress: progress(0.5, "")), "bad": ("Bad", fails)}
    for kind, state in (("quick", "done"), ("bad", "failed")):
        reader.send("start", job=kind)
        assert reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)["state"] == state


# --- restarts ---


def test_a_page_finds_its_work_again_after_a_restart(folder: Path) -> None:
    client, _ = served(folder)
    with client, page(client) as reader:
        reader.ask("keep")
        reader.ask("compare", candidate="stack.yaml")
        before = reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="g")
    again, _ = served(folder, "stack.yaml")
    with again, page(again, f"{SOCKET}&work={before['work']}") as reader:
        after = reader.until(lambda head: head["kind"] == "picture" and head["candidate"] == "twin.yaml")
    for key in ("drivers", "unsaved", "kept", "changes", "other", "work"):
        assert after[key] == before[key], key
    assert numbers(after) == numbers(before)


def test_somebody_else_is_offered_what_was_kept_aside(folder: Path) -> None:
    client, _ = served(folder)
    with client, page(client) as reader:
        reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="g")
    again, _ = served(folder)
    with again, page(again) as reader:
        assert reader.told("asked") == {"kind": "asked", "question": "kept aside", "files": ["twin.yaml"]}
        assert reader.picture()["unsaved"] is False
        assert reader.ask("restore")["drivers"][2]["across_mm"] == 2.0
    once_more, _ = served(folder)
    with once_more, page(once_more) as reader:
        reader.told("asked")
        assert reader.ask("forget")["unsaved"] is False
    at_last, _ = served(folder)
    with at_last, page(at_last) as reader:
        assert reader.until(lambda head: head["kind"] != "job")["kind"] == "picture"
