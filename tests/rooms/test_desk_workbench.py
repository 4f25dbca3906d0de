"""The open folder: history, candidates, A, the disk, and work kept aside. Texts are read back with PyYAML."""

import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from forehear.app.desk import history
from forehear.app.desk.aside import Aside
from forehear.app.desk.curves_in import Dropped, preview, taken
from forehear.app.desk.disk import ChangedOnDisk
from forehear.app.desk.folder import example_folder, open_folder
from forehear.design import load
from forehear.ground.errors import Complaints, DataError, DesignError
from forehear.ground.reading.rearranging import with_removed
from rooms.desks import workbench, write

TWEETER = ("drivers", "tweeter", "centre")


def on_disk(folder: Path, name: str = "twin.yaml") -> dict[str, Any]:
    return yaml.safe_load((folder / name).read_text(encoding="utf-8"))


def test_a_folder_shows_every_design_of_its_brief(folder: Path) -> None:
    found, first = open_folder(folder)
    assert found.candidates == ("stack.yaml", "trio.yaml", "twin.yaml")
    assert (found.brief, found.first, first.title) == ("brief.yaml", "stack.yaml", "Stack")
    assert open_folder(folder / "twin.yaml")[0].first == "twin.yaml"


def test_a_design_that_cannot_be_read_is_passed_over(folder: Path) -> None:
    (folder / "alas.yaml").write_text("design: Alas\nbrief: brief.yaml\n", encoding="utf-8")
    assert open_folder(folder)[1].title == "Stack"
    with pytest.raises(Complaints):
        open_folder(folder / "alas.yaml")


@pytest.mark.parametrize("name", ["nowhere", "parts"])
def test_a_folder_without_designs_is_told(folder: Path, name: str) -> None:
    with pytest.raises(DesignError, match=r"no (folder|design)"):
        open_folder(folder / name)


def test_the_example_is_a_copy_of_ones_own(folder: Path) -> None:
    copy = example_folder()
    assert copy.is_relative_to(folder.parent / "state")
    assert load(copy / "trio.yaml").title == "Trio"
    assert example_folder() == copy


def test_undo_and_redo_go_through_every_step(folder: Path) -> None:
    bench = workbench(folder)
    texts = [bench.history.now.documents["twin.yaml"].text()]
    for up in (53, 52, 51):
        bench.change([write(TWEETER, f"[0 mm, {up} mm]")], "")
        texts.append(bench.history.now.documents["twin.yaml"].text())
    for text in reversed(texts[:-1]):
        bench.history.undo()
        assert bench.history.now.documents["twin.yaml"].text() == text
    with pytest.raises(DesignError, match="nothing to undo"):
        bench.history.undo()
    for text in texts[1:]:
        bench.history.redo()
        assert bench.design().document.text() == text


def test_quick_keys_are_one_step(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(history, "monotonic", lambda: now[0])
    bench = workbench(folder)
    for late, group in ((0.0, "a"), (0.4, "a"), (0.4, "a"), (0.6, "a"), (0.1, "b")):
        now[0] += late
        bench.change([write(TWEETER, f"[0 mm, {50 + now[0] - 100:.1f} mm]")], group)
    bench.history.undo()
    assert bench.design().driver["tweeter"].centre_m[1] == pytest.approx(0.0514)
    bench.history.undo()
    assert bench.design().driver["tweeter"].centre_m[1] == pytest.approx(0.0508)
    bench.history.undo()
    assert not bench.history.can_undo


def test_a_drag_is_one_step_however_long_the_hand_rests(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [100.0]
    monkeypatch.setattr(history, "monotonic", lambda: now[0])
    bench = workbench(folder)
    before = bench.design().driver["tweeter"].centre_m
    for group in ("drag tweeter 1", "drag tweeter 1", "drag tweeter 2"):
        now[0] += 20.0
        bench.change([write(TWEETER, f"[0 mm, {50 + (now[0] - 100) / 10:.0f} mm]")], group)
    bench.history.undo()
    assert bench.design().driver["tweeter"].centre_m[1] == pytest.approx(0.054)
    bench.history.undo()
    assert bench.design().driver["tweeter"].centre_m == before
    assert not bench.history.can_undo


def test_what_the_rules_refuse_changes_nothing(folder: Path) -> None:
    bench = workbench(folder)
    before = bench.history.now
    for path, text in ((TWEETER, "[900 mm, 0 mm]"), (TWEETER, "[1 apple, 0 mm]"), (("drivers", "x"), "1")):
        with pytest.raises((DesignError, Complaints)):
            bench.change([write(path, text)], "")
        assert bench.history.now is before


def test_saving_writes_what_changed_and_keeps_comments(folder: Path) -> None:
    before = {path.name: path.read_text(encoding="utf-8") for path in folder.glob("*.yaml")}
    bench = workbench(folder)
    bench.change([write(("seats", "armchair", "position"), "[2.4 m, 3.5 m]", "brief")], "")
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    assert sorted(bench.unsaved()) == ["brief.yaml", "twin.yaml"]
    bench.save()
    assert bench.unsaved() == []
    assert on_disk(folder)["drivers"]["tweeter"]["centre"] == ["3 mm", "54 mm"]
    assert on_disk(folder, "brief.yaml")["seats"]["armchair"]["position"] == ["2.4 m", "3.5 m"]
    for name in ("stack.yaml", "trio.yaml"):
        assert (folder / name).read_text(encoding="utf-8") == before[name]
    changed = (folder / "twin.yaml").read_text(encoding="utf-8").splitlines()
    same = [a == b for a, b in zip(before["twin.yaml"].splitlines(), changed, strict=True)]
    assert same.count(False) == 1


def test_a_file_changed_meanwhile_is_asked_about(folder: Path) -> None:
    bench = workbench(folder)
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    path = folder / "twin.yaml"
    theirs = path.read_text(encoding="utf-8") + "# theirs\n"
    path.write_text(theirs, encoding="utf-8")
    with pytest.raises(ChangedOnDisk) as asked:
        bench.save()
    assert asked.value.files == ("twin.yaml",)
    assert path.read_text(encoding="utf-8") == theirs
    bench.reload()
    assert bench.design().document.text() == theirs
    assert bench.unsaved() == []
    bench.history.undo()
    assert bench.design().driver["tweeter"].centre_m[0] == pytest.approx(0.003)
    bench.save(anyway=True)
    assert on_disk(folder)["drivers"]["tweeter"]["centre"] == ["3 mm", "54 mm"]


def test_a_file_that_went_is_asked_about(folder: Path) -> None:
    bench = workbench(folder)
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    (folder / "twin.yaml").unlink()
    with pytest.raises(ChangedOnDisk):
        bench.save()


def test_candidates_keep_their_own_edits_and_share_the_brief(folder: Path) -> None:
    bench = workbench(folder)
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    bench.select("stack.yaml")
    bench.change([write(("room", "length"), "6 m", "brief")], "")
    bench.select("twin.yaml")
    bench.compare("stack.yaml")
    view = bench.view()
    assert view.other is not None
    assert view.design.brief.room_m[0] == view.other.brief.room_m[0] == 6.0
    assert view.design.driver["tweeter"].centre_m[0] == pytest.approx(0.003)
    bench.select("stack.yaml")
    assert bench.view().other is None
    with pytest.raises(DesignError, match="no candidate"):
        bench.select("../twin.yaml")


def test_a_stays_as_it_was(folder: Path) -> None:
    bench = workbench(folder)
    bench.keep(bench.design())
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    view = bench.view()
    assert view.kept is not None
    assert view.kept.driver["tweeter"].centre_m[0] == 0.0
    assert view.state["changes"] == [
        {"what": "drivers > tweeter > centre", "kept": "0 mm, 54 mm", "now": "3 mm, 54 mm"}
    ]
    bench.keep(None)
    assert bench.view().kept is None


# --- kept aside ---


def test_unsaved_work_outlives_the_desk(folder: Path) -> None:
    bench = workbench(folder)
    bench.keep(bench.design())
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    bench.compare("stack.yaml")
    Aside(bench.folder).write(bench)

    again = workbench(folder, "stack.yaml")
    aside = Aside(again.folder)
    assert aside.offered() == {"kind": "asked", "question": "kept aside", "files": ["twin.yaml"]}
    assert aside.matches(bench.work)
    aside.restore(again)
    assert again.history.now.texts() == bench.history.now.texts()
    assert (again.history.now.candidate, again.other, again.work) == ("twin.yaml", "stack.yaml", bench.work)
    assert again.kept is not None
    assert again.kept.document.text() == (folder / "twin.yaml").read_text(encoding="utf-8")
    assert aside.offered() is None


def test_what_is_offered_is_not_lost_by_new_work(folder: Path) -> None:
    first = workbench(folder)
    first.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    Aside(first.folder).write(first)
    second, aside = workbench(folder), Aside(first.folder)
    second.change([write(TWEETER, "[4 mm, 54 mm]")], "")
    aside.write(second)
    third, aside = workbench(folder), Aside(first.folder)
    for across in (0.004, 0.003):
        aside.restore(third)
        assert third.design().driver["tweeter"].centre_m[0] == pytest.approx(across)


def test_saved_work_is_not_offered(folder: Path) -> None:
    bench = workbench(folder)
    aside = Aside(bench.folder)
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    aside.write(bench)
    assert bench.folder.aside.stat().st_mode & 0o077 == 0
    bench.save()
    aside.write(bench)
    assert not bench.folder.aside.exists()
    assert Aside(bench.folder).offered() is None


def test_restored_work_does_not_overwrite_what_changed_since(folder: Path) -> None:
    bench = workbench(folder)
    bench.change([write(TWEETER, "[3 mm, 54 mm]")], "")
    Aside(bench.folder).write(bench)
    path = folder / "twin.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "# theirs\n", encoding="utf-8")
    again = workbench(folder)
    Aside(again.folder).restore(again)
    with pytest.raises(ChangedOnDisk):
        again.save()


@pytest.mark.parametrize(
    "content",
    ["", "{", "[]", '{"format": "forehear-aside/1", "work": 3}', json.dumps({"format": "forehear-aside/1", "work": [
        {"candidate": "twin.yaml", "texts": {"../../x": 3}, "base": {}, "curves": {}}]})],
    ids=["empty", "cut", "list", "number", "wrong"],
)  # fmt: skip
def test_a_damaged_file_offers_nothing(folder: Path, content: str) -> None:
    bench = workbench(folder)
    bench.folder.aside.parent.mkdir(parents=True)
    bench.folder.aside.write_text(content, encoding="utf-8")
    assert Aside(bench.folder).offered() is None


def test_kept_aside_files_stay_inside_the_folder(folder: Path) -> None:
    bench = workbench(folder)
    entry = {"candidate": "twin.yaml", "texts": {"../../x.yaml": "a: b"}, "base": {}, "curves": {}}
    bench.folder.aside.parent.mkdir(parents=True)
    bench.folder.aside.write_text(
        json.dumps({"format": "forehear-aside/1", "work": [entry]}), encoding="utf-8"
    )
    with pytest.raises(DesignError, match="outside"):
        Aside(bench.folder).restore(bench)


# --- bypassed parts, lists and curves ---


def test_a_bypassed_part_is_a_wire_in_series_and_nothing_across(folder: Path) -> None:
    bench = workbench(folder, "trio.yaml")
    whole = bench.design()
    high = whole.ways[2].network
    bench.change([write((*high[0].keys, "series", "bypassed"), "true")], "")
    bench.change([write((*high[1].keys, "shunt", "bypassed"), "true")], "")
    bypassed = bench.design()
    bench.history.undo()
    bench.history.undo()
    for item in (1, 0):
        bench.edit(lambda document, item=item: with_removed(document, ("ways", "high", "network", item)))
    removed = bench.design()
    from forehear.spine.translate import branch_of

    assert branch_of(bypassed.ways[2]) == branch_of(removed.ways[2]) != branch_of(whole.ways[2])


def response(points: int = 60) -> str:
    return "\n".join(f"{100 * 1.1**n:.3f}\t{80 + n % 3}" for n in range(points))


DROPPED = Dropped("woofer left", "response", response())


def test_a_dropped_response_is_shown_then_taken_and_written_by_a_save(folder: Path) -> None:
    bench = workbench(folder)
    found = preview(bench.design(), DROPPED)
    assert (found["points"], found["lowest_hz"], found["with_phase"]) == (60, 100.0, False)
    bench.take_part(*taken(bench.design(), DROPPED, {"distance": "0.5 m"}, bench.folder))
    part = bench.design().driver["woofer right"].part
    assert part.response is not None
    assert part.response.distance_m == 0.5
    label = part.document.label
    measured = {path: path.read_bytes() for path in (folder / "parts").iterdir()}
    bench.save()
    assert all(path.read_bytes() == data for path, data in measured.items() if path.name != Path(label).name)
    written = on_disk(folder, label)["response"]
    assert (folder / "parts" / written["file"]).read_text(encoding="utf-8") == response() + "\n"
    assert load(folder / "twin.yaml").design_hash == bench.design().design_hash
    bench.history.undo()
    assert bench.design().driver["woofer left"].part.response is not part.response


def test_a_taken_curve_outlives_the_desk(folder: Path) -> None:
    bench = workbench(folder)
    bench.take_part(*taken(bench.design(), DROPPED, {}, bench.folder))
    Aside(bench.folder).write(bench)
    again = workbench(folder)
    Aside(again.folder).restore(again)
    assert again.design().design_hash == bench.design().design_hash


@pytest.mark.parametrize(
    ("driver", "kind", "text"),
    [
        ("nobody", "response", response()),
        ("tweeter", "colour", response()),
        ("tweeter", "response", "no numbers"),
        ("tweeter", "response", response(9)[::-1]),
        ("tweeter", "impedance", response().replace("80", "-8")),
    ],
    ids=["driver", "kind", "words", "backwards", "negative"],
)
def test_what_is_no_curve_is_refused(folder: Path, driver: str, kind: str, text: str) -> None:
    with pytest.raises((DesignError, DataError)):
        preview(workbench(folder).design(), Dropped(driver, kind, text))


def test_a_link_that_leads_outside_is_refused(folder: Path) -> None:
    secret = folder.parent / "secret.yaml"
    secret.write_text("driver: secret\n", encoding="utf-8")
    (folder / "parts" / "link.yaml").symlink_to(secret)
    bench = workbench(folder)
    for name in ("parts/link.yaml", "../secret.yaml", str(secret)):
        with pytest.raises((DesignError, Complaints)) as refused:
            bench.change([write(("drivers", "tweeter", "part"), name)], "")
        assert "outside" in str(refused.value)
