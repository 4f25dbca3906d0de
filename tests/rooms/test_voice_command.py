"""`forehear voice` as a user meets it: files beside the design, nothing written over, clear words when it cannot be."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from forehear.app.cli import main
from forehear.design import load
from rooms.attic import copied
from rooms.test_command_line import held, refused

FINE = 0
SHORT = ("--all-parts", "--no-more")  # the parts of the design, no more and no fewer


@pytest.fixture
def attic(tmp_path: Path) -> Path:
    return copied(tmp_path / "attic")


def voiced(folder: Path, *more: str, name: str = "twin") -> dict[str, object]:
    numbers = folder.parent / "numbers.json"
    assert main(["voice", str(folder / f"{name}.yaml"), "--json", str(numbers), *more]) == FINE
    found: dict[str, object] = json.loads(numbers.read_text())
    return found


def rewritten(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_it_writes_designs_beside_the_design_and_says_what_it_found(
    attic: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = held(attic)
    found = voiced(attic)
    assert {"goal_before", "goal_after", "parts", "written", "evaluations", "seconds", "stopped_by"} <= set(
        found
    )
    assert found["goal_after"] < found["goal_before"]  # type: ignore[operator]
    assert found["stopped_by"] == "finished"
    after = held(attic)
    assert {path: text for path, text in after.items() if path in before} == before
    written = [Path(path) for path in found["written"]]  # type: ignore[attr-defined]
    assert {path.resolve() for path in written} == {path.resolve() for path in after if path not in before}
    assert written[0].name == "twin-voiced-1.yaml"
    best = load(written[0])
    assert best.title == "Twin voiced 1"
    assert len(best.network_parts) == found["parts"]
    assert "Two woofers beside a dome" in written[0].read_text()  # comments stay
    told = capsys.readouterr().out
    assert "unevenness" in told
    assert "twin-voiced-1.yaml" in told
    assert "keep them off plastic" in " ".join(told.split())


def test_what_is_there_is_never_written_over(attic: Path) -> None:
    (attic / "twin-voiced-1.yaml").write_text("mine\n")
    found = voiced(attic, *SHORT)
    assert (attic / "twin-voiced-1.yaml").read_text() == "mine\n"
    assert all("twin-voiced-1.yaml" not in path for path in found["written"])  # type: ignore[attr-defined]


def test_the_same_seed_writes_the_same_files(attic: Path, tmp_path: Path) -> None:
    other = copied(tmp_path / "other")
    first, again = (
        voiced(folder, "--seed", "3", *SHORT, *more, name="stack")
        for folder, more in ((attic, []), (other, ["--time", "300s"]))
    )
    names = [[Path(path).name for path in one["written"]] for one in (first, again)]  # type: ignore[attr-defined]
    assert names[0] == names[1]
    for name in names[0]:
        assert (attic / name).read_bytes() == (other / name).read_bytes()
    same = ("goal_before", "goal_after", "parts", "evaluations", "short_list")
    assert [first[key] for key in same] == [again[key] for key in same]


def test_the_goal_in_the_brief_is_that_of_the_command(attic: Path) -> None:
    weights = ("--seats", "0", "--on-axis", "1", "--window", "0", "--coverage", "0")
    by_command = voiced(attic, *weights, "--values", "E12", *SHORT, name="stack")
    rewritten(
        attic / "brief.yaml",
        "  budget: 260\n",
        "  budget: 260\n  voicing: {seats: 0, on axis: 1, listening window: 0, speech coverage: 0, values: E12}\n",
    )
    by_brief = voiced(attic, *SHORT, name="stack")
    assert by_brief["goal_after"] == by_command["goal_after"]
    assert by_brief["weights"] == {
        "seats": 0.0,
        "on_axis": 1.0,
        "listening_window": 0.0,
        "speech_coverage": 0.0,
    }


def test_parts_come_from_the_stock(attic: Path) -> None:
    (attic / "drawer.yaml").write_text(
        "parts:\n"
        + "".join(
            f"  - {{capacitor: {value} uF, price: 1.00}}\n" for value in (2.2, 4.7, 6.8, 10, 15, 22, 33)
        )
        + "".join(
            f"  - {{coil: {value} mH, dcr: 0.3 ohm, price: 4.00}}\n" for value in (0.33, 0.56, 0.82, 1.2)
        )
    )
    found = voiced(attic, "--stock", str(attic / "drawer.yaml"), "--pairs", *SHORT)
    for path in found["written"]:  # type: ignore[attr-defined]
        for part in load(path).network_parts:
            assert part.component.price is not None
            if "coil" in str(type(part.component)).lower():
                assert part.component.price == 4.0


def test_a_yield_says_what_spoils_most(
    attic: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    before = held(attic)
    numbers = tmp_path / "yield.json"
    command = ["voice", "--yield", str(attic / "twin.yaml"), "--builds", "400", "--within", "0.6"]
    assert main([*command, "--json", str(numbers)]) == FINE
    assert held(attic) == before
    told = " ".join(capsys.readouterr().out.split())
    assert re.search(r"\d+\.\d % stay within 0\.6 dB", told)
    assert "first to give out" in told
    found = json.loads(numbers.read_text())["yield"]
    assert 0 < found["good_interval"][0] < found["good"] < found["good_interval"][1] < 1
    moved = [one["moves_db"] for one in found["spoilers"]]
    assert moved == sorted(moved, reverse=True)


def nothing_free(folder: Path) -> None:
    (folder / "parts" / "one.yaml").write_text("coil: 1 mH\ndcr: 0.4 ohm\n")
    (folder / "parts" / "two.yaml").write_text("capacitor: 6.8 uF\n")
    text = (folder / "twin.yaml").read_text()
    networks = iter(["      - series: {part: parts/one.yaml}\n", "      - series: {part: parts/two.yaml}\n"])
    text = re.sub(r"(    network:\n)(?:      - .*\n)+", lambda found: found[1] + next(networks), text)
    (folder / "twin.yaml").write_text(text)


def no_parts(folder: Path) -> None:
    text = (folder / "twin.yaml").read_text()
    (folder / "twin.yaml").write_text(re.sub(r"    network:\n(?:      - .*\n)+", "", text))


def as_it_is(_: Path) -> None:
    pass


@pytest.mark.parametrize(
    ("spoil", "options", "what"),
    [
        (as_it_is, ["--floor", "40"], "alone have"),
        (as_it_is, ["--floor", "6"], "the drivers of the way 'low' alone have 3.7 ohm at 20 Hz"),
        (as_it_is, ["--floor", "4.6", *SHORT], "no network of these parts keeps a level of 88.7 dB"),
        (as_it_is, ["--level", "130", *SHORT], "no network of these parts keeps a level of 130.0 dB"),
        (as_it_is, ["--most-cost", "0.5", *SHORT], "a cost of 0.50"),
        (
            as_it_is,
            ["--seats", "0", "--on-axis", "0", "--window", "0", "--coverage", "0"],
            "all weights are zero",
        ),
        (as_it_is, ["--time", "soon"], "'soon' is no time"),
        (nothing_free, [], "nothing to choose"),
        (no_parts, [], "nothing to choose"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(
    attic: Path,
    capsys: pytest.CaptureFixture[str],
    spoil: Callable[[Path], None],
    options: list[str],
    what: str,
) -> None:
    spoil(attic)
    before = held(attic)
    assert what in refused(capsys, "voice", attic / "twin.yaml", *options)
    assert held(attic) == before


def test_orders_make_a_network_from_nothing(attic: Path) -> None:
    no_parts(attic)
    found = voiced(attic, "--orders", "1,2", *SHORT, "--values", "E12")
    assert found["before"]["parts"] == 0  # type: ignore[index]
    assert found["goal_after"] < found["goal_before"]  # type: ignore[operator]
    best = load(found["written"][0])  # type: ignore[index]
    assert all(way.network for way in best.ways)


def test_too_few_parts_for_the_ways(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "no network of at most 1 parts" in refused(
        capsys, "voice", attic / "twin.yaml", "--most-parts", "1"
    )


def test_an_empty_stock(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (attic / "drawer.yaml").write_text("parts: []\n")
    told = refused(capsys, "voice", attic / "twin.yaml", "--stock", attic / "drawer.yaml")
    assert "an empty list" in told
    assert "drawer.yaml:1:" in told


@pytest.mark.parametrize(
    "options", [["--seed", "0.5"], ["--seats", "much"], ["--within", "nan"], ["--floor", "-3"]]
)
def test_an_option_that_is_no_number(
    attic: Path, capsys: pytest.CaptureFixture[str], options: list[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["voice", str(attic / "twin.yaml"), *options])
    assert ended.value.code == 2
    assert "is not a" in capsys.readouterr().err


def test_the_result_cannot_replace_the_design(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = held(attic)
    told = refused(capsys, "voice", attic / "twin.yaml", "--json", attic / "brief.yaml")
    assert "would be lost" in told
    assert held(attic) == before
