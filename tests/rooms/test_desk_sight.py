"""What is out of sight waits until the hand rests, and then every number is what the slow way says."""

import asyncio
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from forehear.app.desk.frames import Packed
from forehear.app.desk.live import Desk
from forehear.app.desk.pages import Page
from forehear.app.desk.picture import Shown
from forehear.app.desk.sight import WHOLE, Part, Sight
from forehear.app.desk.solving import Solver
from forehear.app.desk.workbench import View
from forehear.design import load
from forehear.ground.errors import DesignError
from forehear.spine import as_plain_data, predict
from rooms.desks import LOCK, Reader, TestClient, array_of, head_of, moved, numbers, page, workbench, write

FRONT = ["direct", "curves", "horizontal"]
ROUGHLY = (
    0.1  # dB and degrees: what a rougher edge may change while a hand moves, most of it in the dips of a map
)
SEEN_DB = 20.0
QUICK_DB = 0.2  # what a spread may differ while fewer reflections are counted
NEARLY_DB = 0.02  # what a direct hole may differ while a hand moves: its trend is nearly that on axis
CAPACITOR = {
    "file": "design",
    "path": ["ways", "high", "network", 1, "series", "capacitor"],
    "text": "7.5 uF",
}
ARMCHAIR = {"file": "brief", "path": ["seats", "armchair", "position"], "text": "[2.4 m, 3.4 m]"}
ARRAYS = {
    "seats": ("seat.in_room_db", "seat.direct_db"),
    "direct": (),
    "horizontal": ("orbit.horizontal_db", "orbit.horizontal_beam_deg"),
    "vertical": ("orbit.vertical_db", "orbit.vertical_beam_deg"),
    "curves": ("curves.on_axis_db", "curves.sound_power_db"),
    "network": ("way.acoustic_db", "sum.acoustic_db", "impedance.magnitude_ohm"),
}


def spreads(head: dict[str, Any]) -> list[float]:
    return [seat["spread_db"] for seat in head["seats"]]


def changed(reader: Reader, *changes: dict[str, Any]) -> dict[str, Any]:
    """Change values as a hand does; return the head of the picture that answers."""
    return reader.ask("change", changes=list(changes), group="drag it")


def whole(reader: Reader) -> dict[str, Any]:
    """Read up to the next whole picture."""
    return reader.until(
        lambda head: head["kind"] == "picture" and head["whole"] and head["seq"] >= reader.seq
    )


@pytest.mark.parametrize("parts", [FRONT, ["network"], ["seats"], ["vertical", "curves"]], ids=" ".join)
@pytest.mark.parametrize(
    "change", [moved("[3 mm, 52 mm]"), CAPACITOR, ARMCHAIR], ids=["driver", "part", "seat"]
)
def test_what_is_in_view_is_sent_at_once_and_is_right(
    reader: Reader, parts: list[str], change: dict[str, Any]
) -> None:
    reader.send("look", at=parts)
    quick = changed(reader, change)
    frame = reader.frame
    assert not quick["whole"]
    wanted = {name for part in parts for name in ARRAYS[part]}
    assert wanted <= set(quick["arrays"])
    assert not set(quick["arrays"]) & {name for part in set(ARRAYS) - set(parts) for name in ARRAYS[part]}
    rested = whole(reader)
    assert rested["revision"] == quick["revision"]
    in_room = (
        {"seat.in_room_db"} if change is not CAPACITOR else set()
    )  # fewer reflections while a hand moves
    for name in wanted - in_room:
        fast, slow = array_of(frame, name), array_of(reader.frame, name)
        seen = slow > slow.max() - SEEN_DB if name.endswith("_db") else np.isfinite(slow)
        nearly = ROUGHLY if change is not CAPACITOR else 2e-4
        np.testing.assert_allclose(fast[seen], slow[seen], atol=nearly, err_msg=name)
    if "seats" in parts:
        nearly = [abs(fast - slow) for fast, slow in zip(spreads(quick), spreads(rested), strict=True)]
        assert max(nearly) < (QUICK_DB if in_room else 1e-9)
        nearly = quick.get("spread_among_seats_db", 0.0) - rested["spread_among_seats_db"]
        assert abs(nearly) < (QUICK_DB if in_room else 1e-9)
    for key in set(quick) - {"seats", "arrays", "whole", "coverage", "ways", "spread_among_seats_db"}:
        assert quick[key] == rested[key], key
    for side in quick.get("coverage", {}):
        for name, value in quick["coverage"][side].items():
            assert value == pytest.approx(rested["coverage"][side][name], abs=ROUGHLY), name


def test_direct_holes_are_nearly_right_under_a_hand(reader: Reader) -> None:
    reader.send("look", at=FRONT)
    deep = 0
    for step in range(12):
        quick = changed(reader, moved(f"[{step * 0.7:.1f} mm, {50 + step * 0.3:.1f} mm]"))
        for fast, slow in zip(quick["seats"], whole(reader)["seats"], strict=True):
            assert fast["azimuth_deg"] == slow["azimuth_deg"]
            assert fast["direct_spread_db"] == pytest.approx(slow["direct_spread_db"], abs=NEARLY_DB)
            assert (fast["direct_hole"] is None) == (slow["direct_hole"] is None)
            if slow["direct_hole"]:
                deep += 1
                assert fast["direct_hole"]["db"] == pytest.approx(slow["direct_hole"]["db"], abs=NEARLY_DB)
                assert fast["direct_hole"]["hz"] == slow["direct_hole"]["hz"]
    assert deep > 5, "there was something to compare"


def test_after_a_drag_every_number_is_what_predict_says(reader: Reader, folder: Path) -> None:
    reader.send("look", at=FRONT)
    for step in range(25):
        changed(reader, moved(f"[{step / 5} mm, {50 + step / 10} mm]"))
    full = reader.picture(full=True)
    assert full["whole"]
    reader.ask("save")
    said = as_plain_data(predict(load(folder / "twin.yaml")))
    assert numbers(full) == numbers(said)
    assert full["spread_among_seats_db"] == said["spread_among_seats_db"]
    assert full["crossings_hz"] == said["crossings_hz"]
    for orbit in ("horizontal", "vertical"):
        level = np.array(said["orbits"][orbit]["level_db"])
        np.testing.assert_allclose(array_of(reader.frame, f"orbit.{orbit}_db"), level - level[35], atol=2e-4)
    for name in said["curves"]:
        if f"curves.{name}" in full["arrays"]:
            np.testing.assert_allclose(
                array_of(reader.frame, f"curves.{name}"), said["curves"][name], atol=1e-4
            )


def test_two_pages_that_look_at_different_things_both_see_them(desk: tuple[TestClient, Desk]) -> None:
    with page(desk[0]) as one, page(desk[0]) as other:
        one.picture(full=True)
        other.picture(full=True)
        one.send("look", at=["network"])
        other.send("look", at=["vertical"])
        both = changed(one, moved("[1 mm, 52 mm]"))
        if both["whole"]:  # the other page had not said yet where it looks
            both = changed(one, moved("[2 mm, 52 mm]"))
        assert {"impedance.magnitude_ohm", "orbit.vertical_db"} <= set(both["arrays"])
        assert "orbit.horizontal_db" not in both["arrays"]


def test_whoever_says_nothing_sees_everything(reader: Reader) -> None:
    assert changed(reader, moved("[1 mm, 52 mm]"))["whole"]


def test_looking_elsewhere_shows_it_at_once(reader: Reader, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("forehear.app.desk.live.RESTED_S", 600.0)
    reader.send("look", at=["network"])
    quick = changed(reader, moved("[1 mm, 52 mm]"))
    assert not quick["whole"]
    reader.send("look", at=["seats"])
    seen = reader.until(lambda head: head["kind"] == "picture" and head["whole"])
    assert seen["revision"] == quick["revision"]


def test_anything_but_a_changed_value_is_answered_whole(reader: Reader) -> None:
    reader.send("look", at=["network"])
    assert not changed(reader, moved("[1 mm, 52 mm]"))["whole"]
    for do in ("undo", "redo", "keep", "unkeep", "save"):
        assert reader.ask(do)["whole"], do


def test_the_twin_is_always_whole(
    reader: Reader, desk: tuple[TestClient, Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("forehear.app.desk.live.RESTED_S", 600.0)
    reader.send("look", at=["network"])
    quick = changed(reader, moved("[4 mm, 52 mm]"))
    assert not quick["whole"]
    twin = desk[0].get("/front.json", params={"token": LOCK.token}).json()
    assert twin["revision"] == quick["revision"]
    assert twin["drivers"] == quick["drivers"]
    assert len(twin["arrays"]["orbit.vertical_db"]) == 72


def test_a_state_whose_rest_cannot_be_solved_is_put_back(
    reader: Reader, monkeypatch: pytest.MonkeyPatch
) -> None:
    quickly = Solver.quickly

    def not_wholly(self: Solver, view: View, sight: Sight = WHOLE) -> tuple[Shown, Packed]:
        if sight == WHOLE and view.design.driver["tweeter"].centre_m[0] > 0.003:
            raise DesignError("too far", cure="go back")
        return quickly(self, view, sight)

    reader.send("look", at=["network"])
    before = changed(reader, moved("[1 mm, 52 mm]"))
    whole(reader)
    monkeypatch.setattr(Solver, "quickly", not_wholly)
    assert not changed(reader, moved("[4 mm, 52 mm]"))["whole"]
    assert reader.told("refused")["what"] == "too far"
    assert whole(reader)["drivers"] == before["drivers"]


@pytest.mark.parametrize("at", [None, "seats", ["everything"], [3], [["seats"]], [{}]])
def test_a_look_at_nothing_known_is_refused(reader: Reader, at: object) -> None:
    assert "'at' must be a list" in reader.refused("look", at=at)["what"]


def test_a_kept_design_keeps_its_curves_under_a_hand(reader: Reader) -> None:
    reader.ask("keep")
    reader.send("look", at=["seats"])
    quick = changed(reader, ARMCHAIR)
    assert "kept.seat.in_room_db" in quick["arrays"]
    rows = {seat["name"]: seat["kept"]["spread_db"] for seat in quick["seats"]}
    assert rows == {seat["name"]: seat["kept"]["spread_db"] for seat in whole(reader)["seats"]}


def test_a_waiting_whole_picture_is_not_passed_over_for_a_part() -> None:
    def of(name: str, *, is_whole: bool) -> Packed:
        return Packed({"whole": is_whole}, f'"name":"{name}"}}', b"")

    async def shown(*pictures: Packed) -> list[str]:
        sent: list[str] = []

        async def send(data: bytes) -> None:
            sent.append(head_of(data)["name"])

        to = Page(send)
        for picture in pictures:
            to.show(picture)
        serving = asyncio.create_task(to.serve())
        await asyncio.sleep(0.01)
        serving.cancel()
        return sent

    first, part, newer = of("first", is_whole=True), of("part", is_whole=False), of("newer", is_whole=False)
    assert asyncio.run(shown(first, part, newer)) == ["first", "newer"]
    assert asyncio.run(shown(part, of("last", is_whole=True))) == ["last"]


def test_every_part_of_a_picture_can_be_asked_for(folder: Path) -> None:
    bench, solver = workbench(folder), Solver()
    whole_one = set(solver.quickly(bench.view())[1].head["arrays"])
    bench.change([write(("drivers", "tweeter", "centre"), "[2 mm, 53 mm]")], "")
    found: set[str] = set()
    for part in Part:
        found |= set(solver.quickly(bench.view(), frozenset({part}))[1].head["arrays"])
    assert found == whole_one - {"frequency_hz", "angle_deg"}
