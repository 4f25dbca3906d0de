"""The live protocol, spoken without a browser: pictures, refusals, several pages, long work, restarts."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from forehear.app.desk.live import Desk
from forehear.design import load
from forehear.spine import as_plain_data, predict
from rooms.desks import (
    LOCK,
    Reader,
    TestClient,
    array_of,
    head_of,
    moved,
    numbers,
)

ARMCHAIR = {"file": "brief", "path": ["seats", "armchair", "position"], "text": "[2.4 m, 3.4 m]"}


# Neighbours in E24, as IEC 60063 prints them.
NEXT = {"4.7 uF": "5.1 uF", "5.6 uF": "6.2 uF", "6.8 uF": "7.5 uF", "8.2 uF": "9.1 uF", "3.9 uF": "4.3 uF"}


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
    part = next(part for part in parts if part["value"] in NEXT)
    change = {"file": "design", "path": part["value_path"], "text": NEXT[part["value"]]}
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
    told = reader.until(lambda head: head["kind"] == "asked" and head["files"] == ["twin.yaml"])
    assert told["question"] == "file changed", "told without asking, a little later"
    reader.send("save anyway")
    back = reader.until(lambda head: head["kind"] == "asked")
    assert (back["question"], back["files"]) == ("file changed", []), "the question is taken back"
    assert "theirs" not in path.read_text(encoding="utf-8"), (
        "mine is on disk, though nothing of mine was unsaved"
    )


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
