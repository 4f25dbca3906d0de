"""Whatever stands in the files: a design, or complaints that each say what, where and how to mend it; nothing else."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from forehear.design import check_design, load, write_starter
from forehear.design.starter import STARTER_FILES, starter_text
from forehear.ground.errors import Complaints, ForehearError
from forehear.ground.reading.documents import complaints_of

QUIET = settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
CURVE = "".join(f"{20 * 1.15**n:.2f}\t{86 + n % 3:.1f}\t{-5 * n % 180:.0f}\n" for n in range(55))
IMPEDANCE = "".join(f"{20 * 1.15**n:.2f} {6 + 0.2 * n:.2f} {n % 7 - 3 + 0.6 * n:.1f}\n" for n in range(55))
WITH_CURVES = (
    "response: {file: response.txt, mounted: large baffle, distance: 1 m, voltage: 2.83 V}\n"
    "impedance: {file: impedance.txt}\n"
)
NEAR_THE_SPEAKERS = """
reflectors:
  screen: {middle: [50 mm, 2.0 m, 1.4 m], faces: rear wall, width: 2.0 m, height: 1.1 m, absorption: 0.05}
  table: {middle: [2.2 m, 2 m, 0.45 m], faces: up, width: 1 m, height: 1 m, absorption: {made of: door}, held by: floor}
programme: {speech level: 62 dB, background noise: 30 dB, other speakers: -10 dB}
uncertainty: {acoustic depth: 3 mm, driver spread: 0.5 dB, absorption: 20 %, position: 50 mm}
"""
STANDING = (
    ("turn: 15 deg", "turn: 15 deg, standing: {shelf: {depth: 320 mm, set back: 10 mm, held by: floor}}"),
    ("turn: -15 deg", "turn: -15 deg, standing: {niche: {width: 400 mm, height: 350 mm, depth: 300 mm}}"),
    ("left wall: 0.10", "left wall: {made of: window glass}"),
    ("temperature: 20 C", "temperature: 20 C, humidity: 40 %, pressure: 990 hPa, decay time: 0.4 s"),
)
INSIDE = (
    "brief.yaml",
    "first-speaker.yaml",
    "parts/cone-130.yaml",
    "parts/dome-25.yaml",
    "parts/response.txt",
    "parts/impedance.txt",
)
Mutation = Callable[[str, random.Random], str]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bad") / "input"


def fresh(folder: Path) -> dict[str, str]:
    """Put a whole folder in place and return its texts."""
    texts = {name: starter_text(name) for name in STARTER_FILES}
    texts["parts/cone-130.yaml"] += WITH_CURVES
    for bare, told in STANDING:
        assert bare in texts["brief.yaml"]
        texts["brief.yaml"] = texts["brief.yaml"].replace(bare, told)
    texts["brief.yaml"] += NEAR_THE_SPEAKERS
    texts["parts/response.txt"] = CURVE
    texts["parts/impedance.txt"] = IMPEDANCE
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return texts


def outcome(folder: Path) -> tuple[ForehearError, ...]:
    """Load and check; anything but a complaint of ours goes through and fails the test."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    try:
        design = load(folder / "first-speaker.yaml")
    except (ForehearError, Complaints) as error:
        told = complaints_of(error)
        assert told
        assert all(one.what and one.where and one.cure for one in told), [vars(one) for one in told]
        assert not any("Input should" in str(one) or "pydantic" in str(one) for one in told)
    else:
        told = ()
        assert all(finding.what and finding.where and finding.cure for finding in check_design(design))
        assert design.design_hash
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    return told


def _line_of(lines: list[str], chance: random.Random) -> int:
    return chance.randrange(len(lines))


def delete_line(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    del lines[_line_of(lines, chance)]
    return "".join(lines)


def double_line(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    at = _line_of(lines, chance)
    return "".join([*lines[:at], lines[at], *lines[at:]])


def indent_line(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    at = _line_of(lines, chance)
    lines[at] = chance.choice(["  ", "\t", " "]) + lines[at]
    return "".join(lines)


def swap_lines(text: str, chance: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    one, other = _line_of(lines, chance), _line_of(lines, chance)
    lines[one], lines[other] = lines[other], lines[one]
    return "".join(lines)


def cut_short(text: str, chance: random.Random) -> str:
    return text[: chance.randrange(len(text))]


def garble_character(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text))
    return text[:at] + chance.choice("{}[]:,#&*!|>'\"%@`-?\\0x \n\tµΩ\u2028\x85") + text[at + 1 :]


def delete_character(text: str, chance: random.Random) -> str:
    at = chance.randrange(len(text))
    return text[:at] + text[at + 1 :]


def other_unit(text: str, chance: random.Random) -> str:
    unit = chance.choice([" mm", " m", " ohm", " uF", " mH", " Hz", " l", " deg", " cm2", " dB", " V", " W"])
    return _replaced(
        text, unit, chance.choice([" uF", " km", " MM", "", " l", " inch", " ohm", " m", " T m"]), chance
    )


def other_number(text: str, chance: random.Random) -> str:
    digit = chance.choice("0123456789")
    number = chance.choice(
        ["-1", "nan", ".nan", ".inf", "1e99", "1e-99", "0", "9" * 30, "1,5", "0x1F", "~", "''"]
    )
    return _replaced(text, digit, number, chance)


def other_word(text: str, chance: random.Random) -> str:
    words = [word for word in text.replace(":", " ").replace(",", " ").split() if word.isalpha()]
    new = chance.choice(["", "null", "[]", "{}", "x" * 300, "../..", "parts", "/etc/passwd", "tweeter", "\0"])
    return _replaced(text, chance.choice(words), new, chance) if words else text


def _replaced(text: str, old: str, new: str, chance: random.Random) -> str:
    pieces = text.split(old)
    if len(pieces) < 2:
        return text
    at = chance.randrange(1, len(pieces))
    return old.join(pieces[:at]) + new + old.join(pieces[at:])


MUTATIONS: tuple[Mutation, ...] = (
    delete_line,
    double_line,
    indent_line,
    swap_lines,
    cut_short,
    garble_character,
    delete_character,
    other_unit,
    other_number,
    other_word,
)


def test_the_untouched_folder_loads(folder: Path) -> None:
    fresh(folder)
    assert outcome(folder) == ()
    part = load(folder / "first-speaker.yaml").drivers[0].part
    assert part.response is not None
    assert part.impedance is not None
    assert "left wall: absorption of window glass" in load(folder / "first-speaker.yaml").estimated[0]


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda mutation: mutation.__name__)
@given(name=st.sampled_from(INSIDE), seed=st.integers(0, 2**32), times=st.integers(1, 3))
@QUIET
def test_a_slip_in_any_file(folder: Path, mutation: Mutation, name: str, seed: int, times: int) -> None:
    text, chance = fresh(folder)[name], random.Random(seed)
    for _ in range(times):
        text = mutation(text, chance) if text else text
    (folder / name).write_text(text, encoding="utf-8", newline="")
    told = outcome(folder)
    assert all(len(str(one)) < 1500 for one in told)


@given(name=st.sampled_from(INSIDE), data=st.binary(max_size=400), at=st.floats(0, 1))
@QUIET
def test_random_bytes_in_any_file(folder: Path, name: str, data: bytes, at: float) -> None:
    whole = fresh(folder)[name].encode()
    cut = int(at * len(whole))
    (folder / name).write_bytes(whole[:cut] + data + whole[cut:])
    assert isinstance(outcome(folder), tuple)
    (folder / name).write_bytes(data)
    assert outcome(folder), "random bytes were taken for a design"


@pytest.mark.parametrize("name", INSIDE)
@pytest.mark.parametrize("kind", ["missing", "folder", "empty", "junk", "large", "other file"])
def test_a_file_that_is_something_else(tmp_path: Path, name: str, kind: str) -> None:
    texts = fresh(tmp_path)
    path = tmp_path / name
    path.unlink()
    if kind == "folder":
        path.mkdir()
    elif kind != "missing":
        content = {
            "empty": b"",
            "junk": random.Random(7).randbytes(50_000),
            "large": b"a: b\n" * 2_100_000,
            "other file": texts["brief.yaml" if name != "brief.yaml" else "first-speaker.yaml"].encode(),
        }
        path.write_bytes(content[kind])
    told = outcome(tmp_path)
    assert told
    stem = Path(name).name
    assert any(stem in one.where or stem in one.what for one in told)


def test_a_design_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "none.yaml", tmp_path, tmp_path / "a\0b", tmp_path / ("x" * 400)):
        with pytest.raises(ForehearError) as caught:
            load(path)
        assert caught.value.where
        assert caught.value.cure


def test_nothing_is_written_when_a_starter_is_refused(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "dome-25.yaml").write_text("mine")
    with pytest.raises(ForehearError, match="already holds"):
        write_starter(tmp_path)
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["dome-25.yaml"]
