"""Lists of a document change item by item; every comment stays, and nothing else moves.

What a changed text means is asked of PyYAML, a reader from outside the house.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.rearranging import with_inserted, with_moved, with_removed

TEXT = """\
# a network
ways:
  low:
    network:   # from the amplifier
      - series: {coil: 3.3 mH}   # the large one
      # between the two
      - shunt: [{capacitor: 68 uF}, {resistor: 1.0 ohm}]  # a chain
      - series: {resistor: 2 ohm}

  high:
    network: [{series: {capacitor: 4.7 uF}}, {shunt: {coil: 0.27 mH}}]  # in one line
# the end"""
LOW, HIGH = ("ways", "low", "network"), ("ways", "high", "network")
COMMENTS = ("# a network", "# from the amplifier", "# between the two", "# in one line", "# the end")


def document() -> Document:
    return Document.from_text(TEXT, Path("x.yaml"))


def read(changed: Document, path: tuple[str, ...]) -> list[Any]:
    """Read a list with a reader from outside."""
    value = yaml.safe_load(changed.text())
    for key in path:
        value = value[key]
    assert all(comment in changed.text() for comment in COMMENTS)
    return list(value)


@pytest.mark.parametrize("path", [LOW, HIGH], ids=["lines", "brackets"])
@given(data=st.data())
def test_lists_change_as_python_lists_do(path: tuple[str, ...], data: st.DataObject) -> None:
    expected = read(document(), path)
    changed = document()
    for _ in range(data.draw(st.integers(1, 5))):
        kind = data.draw(st.sampled_from(["insert", "remove", "move"]))
        if kind == "insert":
            at = data.draw(st.integers(0, len(expected)))
            changed = with_inserted(changed, path, at, "{shunt: {capacitor: 1 uF}}")
            expected.insert(at, {"shunt": {"capacitor": "1 uF"}})
        elif expected and kind == "remove":
            at = data.draw(st.integers(0, len(expected) - 1))
            changed = with_removed(changed, (*path, at))
            expected.pop(at)
        elif expected:
            at, to = (data.draw(st.integers(0, len(expected) - 1)) for _ in range(2))
            changed = with_moved(changed, (*path, at), to)
            expected.insert(to, expected.pop(at))
        assert read(changed, path) == expected


def test_a_comment_goes_with_its_line() -> None:
    text = with_moved(document(), (*LOW, 0), 2).text()
    assert text.index("# the large one") > text.index("# a chain")
    assert text.splitlines()[7] == "      - series: {coil: 3.3 mH}   # the large one"


def test_other_lines_stay_byte_for_byte() -> None:
    before, after = TEXT.splitlines(), with_removed(document(), (*LOW, 1)).text().splitlines()
    assert after == before[:6] + before[7:]


def test_chains_change_inside() -> None:
    chain = (*LOW, 1, "shunt")
    assert read(with_removed(document(), (*chain, 0)), LOW)[1] == {"shunt": [{"resistor": "1.0 ohm"}]}


def test_a_missing_list_is_made() -> None:
    made = with_inserted(document(), ("ways", "low", "extra"), 0, "{shunt: {coil: 1 mH}}")
    assert yaml.safe_load(made.text())["ways"]["low"]["extra"] == [{"shunt": {"coil": "1 mH"}}]


@pytest.mark.parametrize(
    "work",
    [
        lambda: with_removed(document(), (*LOW, 9)),
        lambda: with_removed(document(), ("ways", "low")),
        lambda: with_moved(document(), (*LOW, 0), 3),
        lambda: with_inserted(document(), LOW, 7, "{shunt: {coil: 1 mH}}"),
        lambda: with_inserted(document(), ("ways",), 0, "{shunt: {coil: 1 mH}}"),
        lambda: with_inserted(document(), LOW, 0, "{shunt: {coil: 1 mH}}\n      - series: {coil: 1 mH}"),
        lambda: with_inserted(document(), HIGH, 0, "{a: 1}, {b: 2}"),
    ],
    ids=["no item", "not a list", "no place", "too far", "a group", "two lines", "two items"],
)
def test_what_cannot_be_done_is_refused(work: Callable[[], object]) -> None:
    with pytest.raises(DesignError):
        work()
