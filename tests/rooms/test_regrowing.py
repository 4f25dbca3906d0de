"""A value replaced quickly gives the very tree that reading the whole new text gives."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import Complaints, DesignError
from forehear.ground.reading.nodes import Key, Node, read_tree
from forehear.ground.reading.regrowing import regrown

TEXT = """\
a: 1 mm  # one
b:
  - x: [0 mm, 1 mm]   # two
    "q q": 'it''s'
  - {c: 3.3 uF, d: {e: 2}, f: "g"}  # three
h: [1, [2, 3], {k: v}]
last: end"""
EXAMPLE = Path(__file__).parents[2] / "examples" / "attic-cinema"
TEXTS = (
    "4 mm",
    "-12.5 mm",
    "[5 mm, 6 mm]",
    "{k: 1, m: [2]}",
    "true",
    '"a, b"',
    "'x: y'",
    "~",
    "a,b",
    "a: b",
    "x # y",
)


def nowhere(_line: int, _column: int) -> str:
    return ""


def paths(node: Node, above: tuple[Key, ...] = ()) -> Iterator[tuple[Key, ...]]:
    for key, child in node.entries.items():
        yield (*above, key)
        yield from paths(child, (*above, key))


def same(one: Node, other: Node) -> bool:
    mine = (one.start, one.end, one.shape, one.flow, repr(one.scalar), one.places, list(one.entries))
    theirs = (
        other.start,
        other.end,
        other.shape,
        other.flow,
        repr(other.scalar),
        other.places,
        list(other.entries),
    )
    return mine == theirs and all(same(child, other.entries[key]) for key, child in one.entries.items())


def check(source: str, path: tuple[Key, ...], text: str) -> bool:
    """Hold a quick change against a whole reading; tell whether it was quick at all."""
    root = read_tree(source, nowhere)
    quick = regrown(source, root, path, text)
    if quick is None:
        return False
    edited, grown = quick
    assert same(grown, read_tree(edited, nowhere)), (path, text, edited)
    assert same(root, read_tree(source, nowhere)), "the old tree stays as it was"
    return True


@pytest.mark.parametrize("text", TEXTS)
def test_every_value_of_a_text(text: str) -> None:
    done = [check(TEXT, path, text) for path in paths(read_tree(TEXT, nowhere))]
    assert any(done) == (text not in ("a: b", "x # y"))


@given(
    path=st.sampled_from(list(paths(read_tree(TEXT, nowhere)))),
    text=st.text("a1 ,:#[]{}'\"-?&*!|>%@`~\\", max_size=8),
)
def test_any_text_is_right_or_left_alone(path: tuple[Key, ...], text: str) -> None:
    try:
        check(TEXT, path, text)
    except (DesignError, Complaints) as error:
        raise AssertionError(f"{text!r} at {path} gives a text that cannot be read") from error


@pytest.mark.parametrize("name", ["trio.yaml", "brief.yaml"])
def test_the_example_is_changed_quickly(name: str) -> None:
    source = (EXAMPLE / name).read_text(encoding="utf-8")
    found = list(paths(read_tree(source, nowhere)))
    quick = [check(source, path, "12.5 mm") for path in found[::7]]
    assert sum(quick) > 0.6 * len(quick)


def test_what_spans_lines_is_left_to_the_reader() -> None:
    source = "a: |\n  text\nb:\n  c: 1\nd:\n"
    root = read_tree(source, nowhere)
    for path, text in (
        (("a",), "1"),
        (("b",), "2"),
        (("d",), "3"),
        (("b", "c"), "4\n5"),
        (("b", "c"), ""),
        (("e",), "1"),
    ):
        assert regrown(source, root, path, text) is None
