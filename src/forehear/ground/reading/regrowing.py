"""A value replaced in a tree that is already read: only the value is read, everything after it moves along.

Reading a whole design takes a dozen times as long, and a dragged driver is written many times a second. What is not
plainly one value in one line is left to the reader of whole files.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from forehear.ground.errors import Complaints, DesignError
from forehear.ground.reading.nodes import Key, Node, Spot, is_quantity, read_tree


@dataclass(frozen=True)
class _Shift:
    """How far places move that lie at or after the end of what is replaced."""

    end: int
    line: int
    by: int

    def index(self, index: int) -> int:
        return index + self.by if index >= self.end else index

    def spot(self, spot: Spot) -> Spot:
        if spot.index < self.end:
            return spot
        column = spot.column + (self.by if spot.line == self.line else 0)
        return Spot(spot.index + self.by, spot.line, column)

    def node(self, node: Node) -> Node:
        if node.end < self.end and node.start.index < self.end:
            return node  # all of it lies before; trees are never changed, so it is shared
        return Node(
            self.spot(node.start),
            self.index(node.end),
            node.shape,
            flow=node.flow,
            scalar=node.scalar,
            entries={key: self.node(child) for key, child in node.entries.items()},
            places={key: self.spot(spot) for key, spot in node.places.items()},
        )


def regrown(source: str, root: Node, path: Sequence[Key], text: str) -> tuple[str, Node] | None:
    """Return source and tree with `text` in the place of the value at `path`; None where that is not so plain."""
    found = _find(root, path)
    if found is None:
        return None
    node, in_flow = found
    start, end = node.start.index, node.end
    if start == end or not text or "\n" in text or "\n" in source[start:end] or text != text.strip():
        return None
    if node.shape != "scalar" and not node.flow:
        return None
    grown = _read(text, node.start, in_flow=in_flow)
    if grown is None:
        return None
    shift = _Shift(end, node.start.line, len(text) - (end - start))
    return f"{source[:start]}{text}{source[end:]}", _with(shift, root, path, grown)


def _find(root: Node, path: Sequence[Key]) -> tuple[Node, bool] | None:
    node, in_flow = root, root.flow
    for key in path:
        if key not in node.entries:
            return None
        in_flow = in_flow or node.flow
        node = node.entries[key]
    return (node, in_flow) if path else None


def _read(text: str, at: Spot, *, in_flow: bool) -> Node | None:
    """Read a value by itself, as it would stand where it is to go; None unless all of the text is that value."""
    if is_quantity(text):
        return Node(at, at.index + len(text), "scalar", scalar=text)
    opening, closing = ("{value: ", "}") if in_flow else ("value: ", "")
    try:
        tree = read_tree(f"{opening}{text}{closing}\n", lambda _line, _column: "")
    except (DesignError, Complaints):
        return None
    if list(tree.entries) != ["value"]:
        return None
    value = tree.entries["value"]
    whole = value.start.index == len(opening) and value.end == len(opening) + len(text)
    block = value.shape != "scalar" and not value.flow
    return _moved(value, at, len(opening)) if whole and not block else None


def _moved(node: Node, at: Spot, opening: int) -> Node:
    def spot(place: Spot) -> Spot:
        return Spot(place.index - opening + at.index, at.line, place.column - opening + at.column)

    return Node(
        spot(node.start),
        node.end - opening + at.index,
        node.shape,
        flow=node.flow,
        scalar=node.scalar,
        entries={key: _moved(child, at, opening) for key, child in node.entries.items()},
        places={key: spot(place) for key, place in node.places.items()},
    )


def _with(shift: _Shift, node: Node, path: Sequence[Key], grown: Node) -> Node:
    """Copy a tree with one value exchanged and everything behind it moved."""
    if not path:
        return grown
    key, rest = path[0], path[1:]
    return Node(
        shift.spot(node.start),
        shift.index(node.end),
        node.shape,
        flow=node.flow,
        scalar=node.scalar,
        entries={
            name: _with(shift, child, rest, grown) if name == key else shift.node(child)
            for name, child in node.entries.items()
        },
        places={name: shift.spot(spot) for name, spot in node.places.items()},
    )
