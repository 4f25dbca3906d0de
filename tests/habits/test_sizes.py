"""Files and classes stay small enough to hold in the head; ruff counts statements, arguments and branches."""

import ast
from pathlib import Path

import pytest

from habits.house import SOURCE, TESTS, methods, parsed, public_items, python_files, short

MOST_LINES = 400
MOST_METHODS = 12


def _too_many_lines(text: str) -> bool:
    return len(text.splitlines()) > MOST_LINES


def _crowded_classes(tree: ast.Module, name: str) -> list[str]:
    classes = [item for item in public_items(tree, name) if isinstance(item.node, ast.ClassDef)]
    return [item.name for item in classes if len(methods(item.node)) > MOST_METHODS]


@pytest.mark.parametrize("path", python_files(SOURCE, TESTS), ids=short)
def test_files_and_classes_are_small(path: Path) -> None:
    assert not _too_many_lines(path.read_text(encoding="utf-8")), (
        f"more than {MOST_LINES} lines: one idea a file"
    )
    assert not _crowded_classes(parsed(path), short(path)), f"more than {MOST_METHODS} public methods"


def test_a_long_file_is_found() -> None:
    assert not _too_many_lines("x = 1\n" * MOST_LINES)
    assert _too_many_lines("x = 1\n" * (MOST_LINES + 1))


def test_a_crowded_class_is_found() -> None:
    body = "class Crowd:\n" + "".join(f"    def m{n}(self): ...\n" for n in range(MOST_METHODS + 1))
    assert _crowded_classes(ast.parse(body), "crowd.py") == ["crowd.py:1 Crowd"]
    assert not _crowded_classes(ast.parse(body.replace(f"m{MOST_METHODS}", "_hidden")), "crowd.py")
