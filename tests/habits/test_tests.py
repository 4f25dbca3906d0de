"""No test that cannot fail, none put aside."""

import ast
from pathlib import Path

import pytest

from habits.house import TESTS, parsed, python_files, short
from habits.tests_of_tests import complaints


@pytest.mark.parametrize("path", python_files(TESTS), ids=short)
def test_every_test_can_fail(path: Path) -> None:
    said = list(complaints(parsed(path)))
    assert not said, "\n".join(said)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("def test_x():\n    print(1)", "line 1: test_x asserts nothing"),
        ("@pytest.mark.skip\ndef test_x():\n    assert x", "line 1: pytest.mark.skip puts a test aside"),
        ("def test_x():\n    with pytest.raises(ValueError):\n        f()", ""),
        ("def helper():\n    print(1)", ""),
        ("def same(a):\n    assert a\n\ndef test_x():\n    same(1)", ""),
        ("def same(a):\n    print(a)\n\ndef test_x():\n    same(1)", "line 4: test_x asserts nothing"),
    ],
)
def test_a_test_that_cannot_fail_is_found(text: str, said: str) -> None:
    assert list(complaints(ast.parse(text)))[:1] == ([said] if said else [])
