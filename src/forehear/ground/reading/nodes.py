"""YAML 1.2 text into values that know where they stand.

The tree is built from parser events rather than by a loader, for three reasons: every key and value keeps the
exact span of characters it was written in (so an edit replaces that span and leaves every other byte alone),
keys given twice are complaints, and a bomb of aliases is refused before anything is expanded.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
    SequenceEndEvent,
)

from forehear.ground.errors import Complaints, DesignError

MOST_EVENTS = 40_000  # a large design has about a thousand; this many take under a second
DEEPEST = 24

Scalar: TypeAlias = str | int | float | bool | None
Plain: TypeAlias = Any  # dict, list or Scalar, nested
Key: TypeAlias = str | int
Where: TypeAlias = Callable[[int, int], str]

_INTEGER = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]{1,4})?")
_QUANTITY = re.compile(r"-?[0-9]+(?:\.[0-9]+)? [A-Za-z][A-Za-z0-9]*")
_SPECIAL: dict[str, Scalar] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".inf", ".Inf", ".INF", "+.inf"), float("inf")),
    **dict.fromkeys(("-.inf", "-.Inf", "-.INF"), float("-inf")),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), float("nan")),
}


@dataclass(frozen=True)
class Spot:
    """A place in the text: character index, line and column (both from 0)."""

    index: int
    line: int
    column: int


@dataclass(eq=False)
class Node:
    """One value as written: its span, and what it holds."""

    start: Spot
    end: int
    shape: str  # "scalar", "mapping" or "sequence"
    flow: bool = False
    scalar: Scalar = None
    entries: dict[Key, "Node"] = field(default_factory=dict)
    places: dict[Key, Spot] = field(default_factory=dict)  # where each key, or each list item, is written

    def plain(self) -> Plain:
        """Return the bare value: dicts, lists, text, numbers."""
        if self.shape == "mapping":
            return {key: child.plain() for key, child in self.entries.items()}
        if self.shape == "sequence":
            return [child.plain() for child in self.entries.values()]
        return self.scalar

    def last_character(self) -> int:
        """Index just after what is written of this value, without blank lines and comments that follow."""
        if self.flow or not self.entries:
            return self.end
        return next(reversed(self.entries.values())).last_character()


def resolve_plain(text: str) -> Scalar:
    """Resolve an unquoted scalar by the core schema of YAML 1.2: "yes" and "on" are text, dates too.

    Examples
    --------
    >>> resolve_plain("0.42"), resolve_plain("8"), resolve_plain("no"), resolve_plain("180 mm")
    (0.42, 8, 'no', '180 mm')
    """
    if text in _SPECIAL:
        return _SPECIAL[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text


def is_quantity(text: str) -> bool:
    """Whether a text is a number, a space and a unit: plain text to YAML wherever it stands, without reading it.

    Examples
    --------
    >>> is_quantity("180 mm"), is_quantity("-4.7 uF"), is_quantity("[1 mm, 2 mm]"), is_quantity("8")
    (True, True, False, False)
    """
    return _QUANTITY.fullmatch(text) is not None


def read_tree(text: str, where: Where) -> Node:
    """Read YAML text into a tree of nodes.

    Parameters
    ----------
    text
        The document.
    where
        Turns line and column (from 0) into "file:line:column" for complaints.

    Raises
    ------
    DesignError
        Not YAML, more than one document, aliases, tags, too deep or too much.
    Complaints
        Keys given twice.
    """
    builder = _Builder(text, where)
    try:
        for event in YAML(typ="safe", pure=True).parse(text):
            builder.take(event)
    except MarkedYAMLError as error:
        raise _not_yaml(error, where) from None
    except (YAMLError, ValueError, AttributeError, AssertionError, IndexError) as error:
        # the scanner meets some junk (control characters, broken directives) with errors of its own
        raise DesignError(
            "this is not YAML text",
            where=where(0, 0),
            cure="open it in a text editor and compare it with a starter file",
        ) from error
    return builder.finished()


def _not_yaml(error: MarkedYAMLError, where: Where) -> DesignError:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    problem = (error.problem or "unexpected text").replace("\n", " ")
    if "\\t" in problem:
        problem, cure = "a tab where spaces belong", "indent with spaces; YAML does not allow tabs there"
    elif "mapping values are not allowed" in problem:
        problem, cure = (
            "a second ':' in one line, or wrong indentation",
            "put quotes round text that holds ': ', and line the keys up",
        )
    else:
        cure = "look for a missing bracket, quote or ':' there or just above"
    return DesignError(f"this is not valid YAML: {problem}", where=where(line, column), cure=cure)


class _Builder:
    """Takes parser events one by one and grows the tree."""

    def __init__(self, text: str, where: Where) -> None:
        self._text = text
        self._where = where
        self._open: list[Node] = []
        self._waiting: list[
            tuple[Key, Node] | None
        ] = []  # for each open mapping: a key that waits for its value
        self._root: Node | None = None
        self._events = 0
        self._errors: list[DesignError] = []

    def take(self, event: Event) -> None:
        """Take one event."""
        self._events += 1
        spot = Spot(event.start_mark.index, event.start_mark.line, event.start_mark.column)
        end = event.end_mark.index
        self._refuse_unwanted(event, spot)
        if isinstance(event, ScalarEvent):
            plain = event.style is None and event.implicit[0]
            self._put(Node(spot, end, "scalar", scalar=resolve_plain(event.value) if plain else event.value))
        elif isinstance(event, CollectionStartEvent):
            shape = "mapping" if isinstance(event, MappingStartEvent) else "sequence"
            node = Node(spot, end, shape, flow=bool(event.flow_style))
            self._put(node)
            self._open.append(node)
            self._waiting.append(None)
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            self._open.pop().end = end
            self._waiting.pop()

    def finished(self) -> Node:
        """Return the tree, or raise what was wrong."""
        if self._errors:
            raise Complaints(self._errors)
        if self._root is None:
            raise DesignError("the file is empty", where=self._where(0, 0), cure="start from a starter file")
        return self._root

    def _refuse_unwanted(self, event: Event, spot: Spot) -> None:
        complaint = next(_unwanted(event), None)
        if self._events > MOST_EVENTS or len(self._open) > DEEPEST:
            complaint = ("the file holds far more than a design can", "check that this is the file you mean")
        elif isinstance(event, DocumentStartEvent) and self._root is not None:
            complaint = (
                "the file holds a second document",
                "keep one document a file; remove the '---' line",
            )
        if complaint:
            raise DesignError(complaint[0], where=self._where(spot.line, spot.column), cure=complaint[1])

    def _put(self, node: Node) -> None:
        if not self._open:
            self._root = node
            return
        parent = self._open[-1]
        if parent.shape == "sequence":
            parent.places[len(parent.entries)] = node.start
            parent.entries[len(parent.entries)] = node
            return
        waiting = self._waiting[-1]
        if waiting is None:
            self._waiting[-1] = (self._key(node, parent), node)
            return
        key, written = waiting
        self._waiting[-1] = None
        if node.scalar is None and node.start.index == node.end:
            self._stand_after_colon(node, written)
        if key not in parent.entries:
            parent.entries[key] = node
            parent.places[key] = written.start

    def _stand_after_colon(self, node: Node, key: Node) -> None:
        """Give a value that was left out its place: the parser puts it where the next thing starts."""
        colon = self._text.find(":", key.end, node.start.index + 1)
        if colon >= 0:
            column = key.start.column + colon + 1 - key.start.index
            node.start, node.end = Spot(colon + 1, key.start.line, column), colon + 1

    def _key(self, node: Node, parent: Node) -> Key:
        where = self._where(node.start.line, node.start.column)
        if node.shape != "scalar":
            raise DesignError("a key must be a plain name", where=where, cure="write name: value")
        key = node.scalar if isinstance(node.scalar, str) else "" if node.scalar is None else str(node.scalar)
        if key in parent.entries:
            first = parent.places[key]
            self._errors.append(
                DesignError(
                    f"{key!r} is given twice; first in line {first.line + 1}",
                    where=where,
                    cure="keep one of the two, or give the second another name",
                )
            )
        return key


def _unwanted(event: Event) -> Iterator[tuple[str, str]]:
    if isinstance(event, NodeEvent) and event.anchor is not None:
        yield "anchors (&) and aliases (*) are not used here", "write the value out; put text in quotes"
    if isinstance(event, ScalarEvent | CollectionStartEvent) and event.tag is not None:
        yield f"the tag {str(event.tag)[:40]!r} is not used here", "write the value without a tag"
