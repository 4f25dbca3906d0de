"""The command line as a user meets it: three exit statuses, clear words, nothing written when something is wrong."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from forehear.app import commands
from forehear.app.cli import main
from rooms.attic import CANDIDATES, copied, prediction

FINE, STOPS, UNUSABLE = 0, 1, 2
Spoil = Callable[[Path], None]


@pytest.fixture
def attic(tmp_path: Path) -> Path:
    return copied(tmp_path / "attic")


def held(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def refused(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    """Run a command that must be refused; return what it said."""
    capsys.readouterr()
    status = main([str(argument) for argument in arguments])
    told = capsys.readouterr()
    assert status == UNUSABLE
    assert told.out == ""
    assert "Traceback" not in told.err
    assert re.search(r"^  where  \S", told.err, re.MULTILINE), told.err
    assert re.search(r"^  cure   \S", told.err, re.MULTILINE), told.err
    return told.err


def test_new_then_check_then_predict_works_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "first"
    assert main(["new", str(folder)]) == FINE
    told = capsys.readouterr().out
    design = re.search(r"forehear predict (\S+\.yaml)", told)
    assert design is not None
    assert main(["check", design[1]]) == FINE
    assert main(["predict", design[1]]) == FINE
    assert "heard from" in capsys.readouterr().out


def test_new_leaves_a_folder_alone_that_holds_a_brief(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "brief.yaml").write_text("title: mine\n")
    assert "already holds brief.yaml" in refused(capsys, "new", tmp_path)
    assert held(tmp_path) == {tmp_path / "brief.yaml": b"title: mine\n"}
    refused(capsys, "new", tmp_path / "brief.yaml" / "below")


def rewritten(name: str, old: str, new: str) -> Spoil:
    """Replace the first `old` in one file of the folder."""

    def spoil(folder: Path) -> None:
        path = folder / name
        text = path.read_text(encoding="utf-8")
        assert re.search(old, text, re.MULTILINE), f"{name} has no {old}"
        path.write_text(re.sub(old, new, text, count=1, flags=re.MULTILINE), encoding="utf-8")

    return spoil


def filled(name: str, content: bytes) -> Spoil:
    return lambda folder: (folder / name).write_bytes(content) and None


def curve_row(level: str) -> Spoil:
    """Put a level into the middle of a measured curve."""

    def spoil(folder: Path) -> None:
        path = folder / CURVE
        lines = path.read_text(encoding="utf-8").splitlines()
        middle = len(lines) // 2
        cells = re.split(r"(\s+)", lines[middle].strip())
        cells[2] = level
        lines[middle] = "".join(cells)
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")

    return spoil


def covering_little(folder: Path) -> None:
    rows = (folder / CURVE).read_text(encoding="utf-8").splitlines()
    kept = [row for row in rows if not re.match(r"\d", row) or 800 < float(row.split()[0]) < 900]
    (folder / CURVE).write_text("\n".join(kept) + "\n", encoding="utf-8")


BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{chr(98 + n)}: &{chr(98 + n)} [{', '.join([f'*{chr(97 + n)}'] * 9)}]\n" for n in range(9)
)
CURVE = "parts/cone-130-response.txt"
IMPEDANCE = "parts/cone-130-impedance.txt"
SHORT = r"\g<0>\n      - shunt: {resistor: 0.01 ohm}"
BELOW = r"\g<0>\n      - shunt: {resistor: 0.09 ohm}"

# what is spoilt, how, and what the words must name: the place and the fault
SPOILT: dict[str, tuple[Spoil, str]] = {
    "a missing part": (lambda folder: (folder / "parts/cone-130.yaml").unlink(), r"cone-130\.yaml"),
    "a missing brief": (lambda folder: (folder / "brief.yaml").unlink(), r"brief\.yaml"),
    "wrong YAML": (rewritten("twin.yaml", r"^drivers:", "drivers: ["), r"twin\.yaml:\d+:\d+"),
    "a bomb of aliases": (filled("twin.yaml", BOMB.encode()), r"twin\.yaml"),
    "a wrong unit": (rewritten("twin.yaml", "width: [0-9]+ mm", "width: 480 ohm"), r"twin\.yaml:4:\d+.*width"),
    "no unit": (rewritten("twin.yaml", "width: [0-9]+ mm", "width: 480"), r"twin\.yaml:4:\d+.*width"),
    "a decimal comma": (rewritten("twin.yaml", r"capacitor: \S+ uF", 'capacitor: "3,3 uF"'), r"3,3 uF"),
    "a negative size": (rewritten("twin.yaml", "depth: [0-9]+ mm", "depth: -260 mm"), r"-260 mm"),
    "an unknown key": (rewritten("twin.yaml", "depth:", "dept:"), r"depth"),
    "drivers that overlap": (
        rewritten("twin.yaml", r"(tweeter: .*centre: )\[.*?\]", r"\1[-120 mm, 0 mm]"),
        r"twin\.yaml:\d+:\d+.*drivers",
    ),
    "a driver off the front": (
        rewritten("twin.yaml", r"(woofer left: .*centre: )\[.*?\]", r"\1[-230 mm, 0 mm]"),
        r"twin\.yaml:\d+:\d+.*drivers",
    ),
    "a seat outside the room": (
        rewritten("brief.yaml", r"(armchair: .*position: )\[.*?\]", r"\1[9.3 m, 3.55 m]"),
        r"brief\.yaml:\d+:\d+.*armchair",
    ),
    "a seat inside the cabinet": (
        rewritten(
            "brief.yaml", r"(armchair: ).*", r"\1{position: [0.45 m, 2.10 m], ear height: 0.61 m}"
        ),
        r"armchair",
    ),
    "NaN in a curve": (curve_row("nan"), r"cone-130-response\.txt:\d+"),
    "a word in a curve": (curve_row("loud"), r"cone-130-response\.txt:\d+"),
    "zero in an impedance curve": (
        rewritten(IMPEDANCE, r"^(\d\S*\s+)\S+", r"\g<1>0.0"),
        r"cone-130-impedance\.txt:\d+",
    ),
    "a curve of almost nothing": (covering_little, r"cone-130-response\.txt"),
    "a shunt of 10 milliohm first": (rewritten("twin.yaml", r"^    network:$", SHORT), r"shorts|short"),
    "less than a tenth of an ohm": (rewritten("twin.yaml", r"^    network:$", BELOW), r"0\.1 ohm"),
    "10 MB of junk": (filled("twin.yaml", b"\x00\xff junk: [" * 900_000), r"twin\.yaml"),
    "10 MB of text": (filled("brief.yaml", b"a: b\n" * 2_100_000), r"brief\.yaml"),
    "a brief in place of the design": (
        lambda folder: (folder / "twin.yaml").write_bytes((folder / "brief.yaml").read_bytes()) and None,
        r"twin\.yaml",
    ),
    "a design in place of the brief": (
        rewritten("twin.yaml", "brief: brief.yaml", "brief: stack.yaml"),
        r"stack\.yaml",
    ),
}  # fmt: skip


@pytest.mark.parametrize("slip", SPOILT)
def test_bad_input_is_refused_with_place_and_cure(
    attic: Path, capsys: pytest.CaptureFixture[str], slip: str
) -> None:
    spoil, named = SPOILT[slip]
    spoil(attic)
    before = held(attic)
    told = refused(
        capsys, "predict", attic / "twin.yaml", "--json", attic / "a.json", "--report", attic / "a.html"
    )
    assert re.search(named, told), told
    assert len(told) < 3000
    assert held(attic) == before


@pytest.mark.parametrize("command", ["check", "predict", "compare"])
@pytest.mark.parametrize("missing", ["none.yaml", "", "parts", "a\0b", "x" * 300])
def test_a_design_that_is_no_file_is_refused(
    attic: Path, capsys: pytest.CaptureFixture[str], command: str, missing: str
) -> None:
    before = held(attic)
    refused(capsys, command, attic / missing)
    assert held(attic) == before


@pytest.mark.parametrize("option", ["--json", "--report"])
@pytest.mark.parametrize(
    "target", [".", "none/a.out", "twin.yaml/a.out", "x" * 300, "brief.yaml", "twin.yaml"]
)
def test_an_output_that_cannot_be_written_is_refused_before_any_work(
    attic: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, option: str, target: str
) -> None:
    def unexpected(*_: object, **__: object) -> None:
        raise AssertionError("it went to work first")

    monkeypatch.setattr(commands, "predict", unexpected)
    before = held(attic)
    for command in ("predict", "compare"):
        told = refused(capsys, command, attic / "twin.yaml", option, attic / target)
        assert Path(target).name in told
        assert held(attic) == before


def test_two_outputs_in_one_file_are_refused(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = refused(
        capsys, "predict", attic / "stack.yaml", "--json", attic / "out.x", "--report", attic / "out.x"
    )
    assert "out.x" in told
    assert not (attic / "out.x").exists()


def test_designs_of_two_briefs_are_not_compared(
    attic: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = copied(tmp_path / "other")
    told = refused(capsys, "compare", attic / "twin.yaml", other / "stack.yaml")
    assert "brief" in told
    assert str((other / "brief.yaml").resolve()) in told


def test_all_complaints_come_at_once(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rewritten("twin.yaml", "width: [0-9]+ mm", "width: 480 ohm")(attic)
    rewritten("twin.yaml", "depth: [0-9]+ mm", "depth: -1 mm")(attic)
    told = refused(capsys, "check", attic / "twin.yaml")
    assert told.count("  where  ") == told.count("  cure   ") >= 2


def test_what_stops_ends_with_one(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rewritten("brief.yaml", r"lowest impedance: .*", "lowest impedance: 20 ohm")(attic)
    assert main(["predict", str(attic / "stack.yaml"), "--json", str(attic / "a.json")]) == STOPS
    told = capsys.readouterr().out
    assert re.search(r"stops\s+The impedance falls to", told)
    written = json.loads((attic / "a.json").read_text(encoding="utf-8"))
    assert written["findings"][0]["level"] == "stops"


def one_line(row: str) -> re.Match[str]:
    found = re.match(
        r"(?P<seat>\S.*?)\s+(?P<angle>-?\d+)°\s+(?P<metres>[\d.]+) m\s+(?P<spread>[\d.]+) \((?P<direct>[\d.]+)\) dB"
        r"\s+(?P<hole>none|-\d+ dB at [\d.]+ k?Hz) \((?P<direct_hole>none|-\d+ dB at [\d.]+ k?Hz)\)",
        row,
    )
    assert found, row
    return found


def is_written(words: str, hole: dict[str, float] | None) -> bool:
    """Whether a hole in words is the hole in numbers, rounded."""
    if hole is None:
        return words == "none"
    depth, hz, unit = re.match(r"-(\d+) dB at ([\d.]+) (k?Hz)", words).groups()  # type: ignore[union-attr]
    said_hz = float(hz) * (1000 if unit == "kHz" else 1)
    return abs(float(depth) + hole["db"]) <= 0.501 and abs(said_hz / hole["hz"] - 1) < 0.051


def test_the_table_and_the_file_hold_the_same_numbers(
    attic: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "140")
    monkeypatch.setattr(commands, "predict", lambda design, **_: prediction(design.path.stem))
    for name in CANDIDATES:
        assert main(["predict", str(attic / f"{name}.yaml"), "--json", str(attic / "a.json")]) in (
            FINE,
            STOPS,
        )
        told = capsys.readouterr().out
        plain = json.loads((attic / "a.json").read_text(encoding="utf-8"))
        rows = [line for line in told.splitlines() if "°" in line and " m " in line][: len(plain["seats"])]
        assert len(rows) == len(plain["seats"])
        for row, seat in zip(map(one_line, rows), plain["seats"], strict=True):
            assert row["seat"] == seat["name"]
            assert float(row["angle"]) == pytest.approx(seat["azimuth_deg"], abs=0.501)
            assert float(row["metres"]) == pytest.approx(seat["distance_m"], abs=0.0501)
            assert float(row["spread"]) == pytest.approx(seat["spread_db"], abs=0.0501)
            assert float(row["direct"]) == pytest.approx(seat["direct_spread_db"], abs=0.0501)
            assert is_written(row["hole"], seat["hole"])
            assert is_written(row["direct_hole"], seat["direct_hole"])
        for one in plain["findings"]:
            words = one["what"].split()
            assert re.search(r"\s+".join(map(re.escape, words)), told), one["what"]


def test_compare_writes_numbers_and_a_report(
    attic: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(commands, "predict", lambda design, **_: prediction(design.path.stem))
    designs = [str(attic / f"{name}.yaml") for name in CANDIDATES]
    outputs = ["--json", str(attic / "all.json"), "--report", str(attic / "all.html")]
    assert main(["compare", *designs, *outputs]) == FINE
    told = capsys.readouterr().out
    assert "Which compromise suits this room?" in told
    assert str(attic / "all.html") in told
    assert len(json.loads((attic / "all.json").read_text(encoding="utf-8"))["predictions"]) == 3
    assert (attic / "all.html").read_text(encoding="utf-8").lower().startswith("<!doctype html>")


def test_stopped_by_hand_it_says_so(
    attic: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "predict", interrupted)
    before = held(attic)
    assert main(["predict", str(attic / "twin.yaml"), "--json", str(attic / "a.json")]) == UNUSABLE
    told = capsys.readouterr()
    assert told.err.startswith("stopped")
    assert len(told.err.splitlines()) == 1
    assert held(attic) == before


def test_stopped_while_it_still_loads_it_says_so(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(commands, "run", interrupted)
    assert main(["check", "twin.yaml"]) == UNUSABLE
    assert capsys.readouterr().err == "stopped; nothing was written\n"


@pytest.mark.parametrize("arguments", [[], ["predict"], ["sing"], ["predict", "a.yaml", "--solver", "none"]])
def test_a_slip_in_the_command_itself(capsys: pytest.CaptureFixture[str], arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == UNUSABLE
    assert "usage: forehear" in capsys.readouterr().err


def forehear(*arguments: str) -> list[str]:
    return [sys.executable, "-m", "forehear.app.cli", *arguments]


def test_a_reader_that_leaves_early_meets_no_traceback(attic: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)  # nobody listens from the start
    with os.fdopen(writing, "wb") as nobody:
        ended = subprocess.run(
            forehear("check", str(attic / "twin.yaml")), stdout=nobody, stderr=subprocess.PIPE, check=False
        )
    assert b"Traceback" not in ended.stderr
    assert b"BrokenPipe" not in ended.stderr


def test_the_program_itself_ends_with_its_status(attic: Path) -> None:
    ended = subprocess.run(
        forehear("check", str(attic / "none.yaml")), capture_output=True, text=True, check=False
    )
    assert ended.returncode == UNUSABLE
    assert ended.stdout == ""
    assert "none.yaml" in ended.stderr
    assert "Traceback" not in ended.stderr
    told = subprocess.run(forehear("--version"), capture_output=True, text=True, check=True)
    assert re.fullmatch(r"forehear \d+\.\d+\.\d+\S*\n", told.stdout)
