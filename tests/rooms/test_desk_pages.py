"""Several pages on one desk, bad messages, long work and restarts, spoken without a browser."""

import json
import threading
import time
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from forehear.app.desk.live import Desk
from forehear.ground.work import Progress
from rooms.desks import (
    SOCKET,
    Reader,
    TestClient,
    moved,
    numbers,
    page,
    served,
)

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
            change = moved(f"[{across / 10} mm, 54 mm]")
            shown = quick.ask("change", changes=[change], group="g")
            assert shown["drivers"][2]["across_mm"] == across / 10


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
