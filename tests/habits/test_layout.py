"""The page about the house, its tests and its change log keep up with the house."""

import re

import pytest

from habits.house import SOURCE, TESTS, TOP, python_files, rooms


def _rooms_told(page: str) -> list[str]:
    """List the rooms of the table under the heading Rooms, from the first column."""
    table = page.split("## Rooms", 1)[1].split("\n## ", 1)[0]
    return re.findall(r"^\| `(\w+)` \|", table, flags=re.MULTILINE)


def test_the_page_tells_every_room() -> None:
    told = _rooms_told((TOP / "ARCHITECTURE.md").read_text(encoding="utf-8"))
    assert sorted(told) == rooms()
    assert len(set(told)) == len(told)


def test_a_missing_room_is_found() -> None:
    assert _rooms_told("## Rooms\n| `attic` | x |\n| `cellar` | y |\n\n## Data\n| `shed` | z |\n") == [
        "attic",
        "cellar",
    ]


def test_every_folder_with_code_is_a_room() -> None:
    folders = {path.relative_to(SOURCE).parts[0] for path in python_files(SOURCE) if path.parent != SOURCE}
    assert folders == set(rooms())


@pytest.mark.parametrize("room", rooms())
def test_every_room_is_tested(room: str) -> None:
    used = re.compile(rf"\bforehear\.{room}\b|from forehear import [\w, ]*\b{room}\b")
    tests = [path for path in python_files(TESTS) if path.parent.name not in ("habits", "speed")]
    assert any(used.search(path.read_text(encoding="utf-8")) for path in tests), (
        f"no test uses forehear.{room}"
    )


def test_the_change_log_has_a_place_for_what_comes_next() -> None:
    headings = re.findall(
        r"^## \[(.+?)\]", (TOP / "CHANGELOG.md").read_text(encoding="utf-8"), flags=re.MULTILINE
    )
    assert headings[0] == "Unreleased"
