"""The Voice panel without a browser: searched, watched, stopped, tried, undone and saved as the command would."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from forehear.app.cli import main
from forehear.app.desk import live
from forehear.app.desk.live import Desk
from forehear.app.desk.voice_asked import goal_of, search_in
from forehear.design import load
from forehear.ground.errors import DesignError
from forehear.parts import CapacitorPart, CoilPart, ResistorPart
from forehear.spine import as_plain_data, predict
from forehear.voice import layout_of, with_network
from forehear.voice.result import missing
from rooms.attic import candidate, copied
from rooms.commanded import VoicedTwin
from rooms.desks import LOCK, Reader, TestClient, example, moved, numbers, page, served

FOR_EVER_S = 3600.0  # the desk looks for no reasons meanwhile
QUICK = {"all_parts": True, "no_more": True, "keep_polarity": True}
VOICE = f"/voice.json?token={LOCK.token}"
Panel = tuple[Reader, Desk, TestClient]


@pytest.fixture(scope="module")
def panel(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Panel]:
    """A page on a desk whose twin was voiced with the goal that the panel shows, and what was told meanwhile."""
    place = tmp_path_factory.mktemp("panel")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "RESTED_S", FOR_EVER_S)
        patch.setenv("XDG_STATE_HOME", str(place / "state"))
        client, desk = served(example(place))
        with client, page(client) as reader:
            reader.picture()
            yield reader, desk, client


@pytest.fixture(scope="module")
def found(panel: Panel) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """All news of one search, and everything shown after it."""
    reader, _, client = panel
    reader.send("voice", goal=shown(client)["goal"])
    return news_until_over(reader), shown(client)


def shown(client: TestClient) -> dict[str, Any]:
    answer: dict[str, Any] = client.get(VOICE).json()
    return answer


def news_until_over(reader: Reader) -> list[dict[str, Any]]:
    """Read frames until the panel says that nothing runs any more, and the job that it is over; return them all."""
    news: list[dict[str, Any]] = []

    def over(head: dict[str, Any]) -> bool:
        news.append(head)
        told = [one for one in news if one["kind"] == "voice"]
        done = any(one["kind"] == "job" and one["share"] == 1 for one in news)
        return done and bool(told) and told[-1]["running"] == []

    reader.until(over)
    return news


def plain_goal(**more: object) -> dict[str, object]:
    return {**goal_of(candidate("twin")), **more}


# --- the search ---


def test_the_panel_finds_what_the_command_finds(
    found: tuple[list[dict[str, Any]], dict[str, Any]], voiced_twin: VoicedTwin
) -> None:
    ours = found[1]["found"]["voicing"]
    apart = ("seconds", "written")
    assert {key: ours[key] for key in ours if key not in apart} == {
        key: value for key, value in voiced_twin.numbers.items() if key not in apart
    }
    assert ours["written"] == []


def test_it_is_watched_while_it_runs(found: tuple[list[dict[str, Any]], dict[str, Any]]) -> None:
    news, after = found
    jobs = [head for head in news if head["kind"] == "job" and head["id"].startswith("voice-")]
    shares = [head["share"] for head in jobs]
    assert shares == sorted(shares)
    assert (jobs[0]["title"], jobs[-1]["state"], jobs[-1]["share"]) == ("Voice", "done", 1)
    told = [head for head in news if head["kind"] == "voice"]
    assert len(told) > 3
    assert [head["running"] for head in told[:-1]] == [["voice"]] * (len(told) - 1)
    goals = [db for _, db in told[-1]["fell"]]
    assert goals == sorted(goals, reverse=True)
    assert min(db for _, db in told[-1]["made"]) == round(after["found"]["voicing"]["goal_after"], 4)
    assert [after["fell"], after["made"]] == [told[-1]["fell"], told[-1]["made"]]


@pytest.mark.usefixtures("found")
def test_a_network_is_tried_and_taken_back(panel: Panel, voiced_twin: VoicedTwin) -> None:
    """What the desk shows of it is what `predict` says of the file that the command wrote."""
    reader, desk, client = panel
    reader.ask("unkeep")
    before = desk.workbench.history.now.documents["twin.yaml"]
    tried = reader.ask("try", search=1, offer=0)
    assert tried["can_undo"]
    assert numbers(tried) == numbers(as_plain_data(predict(load(voiced_twin.numbers["written"][0]))))
    assert "Two woofers beside a dome" in desk.workbench.history.now.documents["twin.yaml"].source
    assert "design: Twin\n" in desk.workbench.history.now.documents["twin.yaml"].source
    now = shown(client)["found"]
    assert (now["in_hand"], now["stale"]) == (0, False)
    assert not reader.ask("undo")["can_undo"]
    assert desk.workbench.history.now.documents["twin.yaml"] is before
    assert shown(client)["found"]["in_hand"] is None


@pytest.mark.usefixtures("found")
def test_trying_shows_the_candidate_it_was_found_for(panel: Panel) -> None:
    reader, _, client = panel
    reader.ask("select", candidate="stack.yaml")
    assert shown(client)["found"]["stale"]
    assert reader.ask("try", search=1, offer=1)["candidate"] == "twin.yaml"
    reader.ask("undo")
    reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="t")
    assert shown(client)["found"]["stale"], "found for another place of the tweeter"
    reader.ask("undo")
    assert not shown(client)["found"]["stale"]


@pytest.mark.usefixtures("found")
def test_networks_are_saved_as_the_command_saves_them(panel: Panel, voiced_twin: VoicedTwin) -> None:
    reader, desk, client = panel
    folder = desk.workbench.folder.path
    held = {path.name: path.read_bytes() for path in folder.glob("*.yaml")}
    for place, path in enumerate(map(Path, voiced_twin.numbers["written"])):
        reader.send("save offer", search=1, offer=place)
        reader.told("voice")
        assert (folder / path.name).read_bytes() == path.read_bytes()
    assert shown(client)["found"]["saved"] == {
        str(place): Path(path).name for place, path in enumerate(voiced_twin.numbers["written"])
    }
    assert "written already, as twin-voiced-1.yaml" in reader.refused("save offer", search=1, offer=0)["what"]
    assert {name: (folder / name).read_bytes() for name in held} == held


@pytest.mark.usefixtures("found")
@pytest.mark.parametrize(
    "which",
    [{"search": 1, "offer": 99}, {"search": 7, "offer": 0}, {"search": 1}, {"search": "1", "offer": 0}],
)
def test_a_network_that_is_not_there_is_refused(panel: Panel, which: dict[str, Any]) -> None:
    for do in ("try", "save offer"):
        assert panel[0].refused(do, **which)["cure"]


# --- builds and stress ---


def test_builds_and_stress_are_those_of_the_command(panel: Panel, tmp_path: Path) -> None:
    reader, desk, client = panel
    told = tmp_path / "yield.json"
    design = desk.workbench.folder.path / "twin.yaml"
    options = ["--builds", "300", "--within", "0.6", "--normal", "--one-batch", "--voltage", "24"]
    assert main(["voice", "--yield", str(design), "--json", str(told), *options]) == 0
    expected = json.loads(told.read_text(encoding="utf-8"))
    reader.send("builds", builds=300, within_db=0.6, normal=True, one_batch=True)
    news = news_until_over(reader)
    assert any("of" in head["doing"] for head in news if head["kind"] == "job")
    reader.send("stress", voltage_v=24)
    news_until_over(reader)
    now = shown(client)
    assert now["builds"]["yield"] == expected["yield"]
    assert now["builds"]["tolerances"] == expected["tolerances"]
    assert now["stress"]["stress"] == expected["stress"]
    assert "stay within 0.6 dB" in now["builds"]["words"]
    assert now["stress"]["words"].startswith("first to give out: ")
    assert "keep them off plastic" in now["caution"]
    hot = [one for one in expected["stress"]["parts"] if one["name"].startswith("resistor")]
    assert bool(expected["stress"]["heat"]) == any(
        one["power_w"] >= 1.0 for one in hot
    )  # 25 K of 250 K at 10 W
    assert not now["builds"]["stale"]
    reader.ask("change", changes=[moved("[2 mm, 54 mm]")], group="b")
    assert shown(client)["builds"]["stale"]
    assert shown(client)["stress"]["stale"]
    reader.ask("undo")


# --- a desk that works meanwhile ---


@pytest.fixture
def own(
    desk: tuple[TestClient, Desk], monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Reader, TestClient]]:
    """A page on a desk of its own."""
    monkeypatch.setattr(live, "RESTED_S", FOR_EVER_S)
    with page(desk[0]) as reader:
        reader.picture()
        yield reader, desk[0]


def test_a_stop_keeps_the_best_so_far(own: tuple[Reader, TestClient]) -> None:
    reader, client = own
    reader.send("voice", goal=plain_goal(orders=[1, 2, 3]))
    begun = reader.told("job")
    reader.until(lambda head: head["kind"] == "voice" and len(head["fell"]) > 0)
    reader.send("stop", job=begun["id"])
    over = reader.until(lambda head: head["kind"] == "job" and head["share"] == 1)
    assert over["state"] == "stopped"
    reader.until(lambda head: head["kind"] == "voice" and not head["running"])
    now = shown(client)["found"]
    assert now["voicing"]["stopped_by"] == "hand"
    assert now["words"].endswith("stopped by hand")
    assert now["voicing"]["short_list"]
    assert now["voicing"]["goal_after"] < now["voicing"]["goal_before"]


def test_the_desk_answers_while_it_searches(own: tuple[Reader, TestClient]) -> None:
    reader, client = own
    reader.send("voice", goal=plain_goal())
    job = reader.told("job")["id"]
    reader.until(lambda head: head["kind"] == "voice" and head["running"] == ["voice"])
    assert "at work already" in reader.refused("voice", goal=plain_goal())["what"]
    running = []

    def answered(head: dict[str, Any]) -> bool:
        if head["kind"] == "voice":
            running.append(head["running"])
        return head["kind"] == "picture" and head["seq"] >= reader.seq

    for across in range(1, 9):
        reader.send("change", changes=[moved(f"[{across} mm, 54 mm]")], group="drag a")
        assert reader.until(answered)["drivers"][2]["across_mm"] == across
    assert [] not in running, "eight pictures came before the search was over"
    reader.send("stop", job=job)
    reader.until(lambda head: head["kind"] == "voice" and not head["running"])
    assert shown(client)["found"]["stale"]


def test_a_file_that_appeared_meanwhile_is_never_written_over(
    own: tuple[Reader, TestClient], folder: Path
) -> None:
    reader, client = own
    reader.send("voice", goal=plain_goal(**QUICK))
    news_until_over(reader)
    (folder / "twin-voiced-1.yaml").write_text("mine\n")
    reader.send("save offer", search=1, offer=0)
    reader.told("voice")
    assert (folder / "twin-voiced-1.yaml").read_text() == "mine\n"
    name = shown(client)["found"]["saved"]["0"]
    assert name != "twin-voiced-1.yaml"
    assert load(folder / name).title == "Twin voiced 1"


# --- what cannot be ---


def test_a_goal_that_cannot_be_met_is_said_as_the_command_says_it(
    panel: Panel, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    reader, _, client = panel
    reader.send("voice", goal=plain_goal(lowest_impedance_ohm=6))
    news = news_until_over(reader)
    told = next(head for head in [*news, reader.told("refused")] if head["kind"] == "refused")
    assert main(["voice", str(copied(tmp_path / "attic") / "twin.yaml"), "--floor", "6"]) == 2
    said = capsys.readouterr().err
    assert "alone have 3.7 ohm at 20 Hz" in told["what"]
    assert all(told[part] in said for part in ("what", "where", "cure"))
    assert shown(client)["refused"]["voice"]["what"] == told["what"]


@pytest.mark.parametrize(
    ("goal", "what"),
    [
        (None, "without a 'goal'"),
        ({"seats": "much"}, "'much' is not a number"),
        ({"on_axis": -1}, "not a number from 0"),
        ({"on_axis": True}, "not a number"),
        ({"seats": float("inf")}, "not a number"),
        ({"lowest_impedance_ohm": 0}, "lowest impedance"),
        ({"most_parts": 2.5}, "not a whole number"),
        ({"values": "E96"}, "'E96' is no series"),
        ({"orders": [1, 5]}, "'orders'"),
        ({"orders": "1"}, "'orders'"),
        ({"pairs": "yes"}, "'pairs'"),
        ({"main_seats": ["attic stairs"]}, "no seat 'attic stairs'"),
        ({"main_seats": []}, "no seat counts"),
        ({"main_seats": [3]}, "list of names"),
        ({"seats": 0, "on_axis": 0, "listening_window": 0, "speech_coverage": 0}, "all weights are zero"),
    ],
)
def test_a_goal_that_is_none_is_refused_at_once(goal: dict[str, Any] | None, what: str) -> None:
    with pytest.raises(DesignError, match=what):
        search_in({"goal": goal}).for_design(candidate("twin"))


@pytest.mark.parametrize(
    ("do", "more"),
    [
        ("builds", {"builds": 10**6}),
        ("builds", {"within_db": 0}),
        ("builds", {"normal": 1}),
        ("stress", {"voltage_v": -3}),
    ],
)
def test_builds_that_are_none_are_refused(panel: Panel, do: str, more: dict[str, Any]) -> None:
    assert panel[0].refused(do, **more)["what"]


def test_only_who_knows_the_token_is_shown_anything(panel: Panel) -> None:
    assert TestClient(panel[2].app, base_url=str(panel[2].base_url)).get("/voice.json").status_code == 403


# --- the pieces ---


def test_the_goal_shown_is_the_one_the_command_has() -> None:
    design, wish = search_in({"goal": plain_goal()}).for_design(candidate("twin"))
    assert design is candidate("twin")
    bare = search_in({"goal": {}}).for_design(candidate("twin"))[1]
    assert wish.goal == bare.goal


def test_seats_that_are_named_are_those_that_count() -> None:
    design, wish = search_in({"goal": plain_goal(main_seats=["armchair"])}).for_design(candidate("twin"))
    assert wish.seats == design.brief.goals.main_seats == ("armchair",)
    assert design.brief.document is candidate("twin").brief.document


def test_a_network_does_not_fit_other_ways() -> None:
    with pytest.raises(DesignError, match="that network is for the ways"):
        with_network(candidate("trio"), layout_of(candidate("twin")))


def test_putting_in_the_network_that_is_there_changes_nothing() -> None:
    for name in ("twin", "stack", "trio"):
        design = candidate(name)
        assert with_network(design, layout_of(design)).document.source == design.document.source


def test_parts_that_are_had_are_not_missing() -> None:
    layout = layout_of(candidate("stack"))
    own = [part.component for part in layout.parts]
    assert not any(missing(layout, own, ()))
    assert missing(layout, own[1:], ()) == [True, *[False] * (len(own) - 1)]
    assert not any(missing(layout, (), own))
    unlike = [CoilPart(1.0), CapacitorPart(1.0), ResistorPart(1.0)]
    assert all(missing(layout, unlike, unlike))
