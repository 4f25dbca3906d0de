"""Items of a document's lists inserted, removed and moved, with every comment kept.

Every edit is held against what it should mean: the new text is read again, and refused unless it says just that.
A comment at the end of an item's lines goes with the item; one on a line of its own stays where it is.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from forehear.ground.errors import Complaints, DesignError
from forehear.ground.reading.documents import Change, Document
from forehear.ground.reading.nodes import Key, Node, Plain, read_tree

AnyDocument = TypeVar("AnyDocument", bound=Document)


def with_inserted(document: AnyDocument, path: Sequence[Key], index: int, text: str) -> AnyDocument:
    """Return a copy with an item put into the list at `path`, before the item that now stands at `index`.

    A list that is not there yet is made.

    Raises
    ------
    DesignError
        When `path` leads to no list, or the text is not one value.
    """
    value = read_tree(f"value: {text}\n", lambda _line, _column: document.label).entries["value"].plain()
    node = _find(document, path)
    if node is None or (node.shape == "scalar" and node.scalar is None):
        if index != 0:
            raise _nothing_there(document, (*path, index))
        return document.with_changes([Change(tuple(path), f"[{text}]")])
    if node.shape != "sequence" or not 0 <= index <= len(node.entries):
        raise _nothing_there(document, (*path, index))
    wanted = [*node.plain()[:index], value, *node.plain()[index:]]
    if node.flow or not node.entries:
        edited = _insert_in_flow(document.source, node, index, text)
    else:
        edited = _insert_line(document.source, node, index, text, value)
    return _checked(document, path, edited, wanted)


def with_removed(document: AnyDocument, path: Sequence[Key]) -> AnyDocument:
    """Return a copy without one item of a list; a list that loses its last item is written as empty.

    Raises
    ------
    DesignError
        When there is no such item.
    """
    *above, index = path
    node = _list_with(document, above, index)
    assert isinstance(index, int)
    wanted = [item for number, item in enumerate(node.plain()) if number != index]
    if len(node.entries) == 1:
        edited = document.with_changes([Change(tuple(above), "[]")]).source
    elif node.flow:
        edited = _remove_from_flow(document.source, node, index)
    else:
        lines = _lines_of(document.source, node, index)
        edited = document.source[: lines.start] + document.source[lines.end :]
    return _checked(document, above, edited, wanted)


def with_moved(document: AnyDocument, path: Sequence[Key], to: int) -> AnyDocument:
    """Return a copy with one item of a list at another place of the same list.

    Raises
    ------
    DesignError
        When there is no such item or place.
    """
    *above, index = path
    node = _list_with(document, above, index)
    assert isinstance(index, int)
    if not 0 <= to < len(node.entries):
        raise _nothing_there(document, (*above, to))
    order = [number for number in range(len(node.entries)) if number != index]
    order.insert(to, index)
    plain, source = node.plain(), document.source
    spans = [(_item_in_flow if node.flow else _lines_of)(source, node, number) for number in order]
    texts = [source[span.start : span.end] for span in spans]
    places = sorted(spans, key=lambda span: span.start)
    if texts and not node.flow:
        texts = [text if text.endswith("\n") else f"{text}\n" for text in texts]
    edited, done = "", 0
    for place, text in zip(places, texts, strict=True):
        edited += source[done : place.start] + text
        done = place.end
    return _checked(document, above, edited + source[done:], [plain[number] for number in order])


@dataclass(frozen=True)
class _Span:
    """A stretch of the text."""

    start: int
    end: int


def _find(document: Document, path: Sequence[Key]) -> Node | None:
    node = document.root
    for key in path:
        if key not in node.entries:
            return None
        node = node.entries[key]
    return node


def _list_with(document: Document, path: Sequence[Key], index: Key) -> Node:
    node = _find(document, path)
    if node is None or node.shape != "sequence" or index not in node.entries:
        raise _nothing_there(document, (*path, index))
    return node


def _nothing_there(document: Document, path: Sequence[Key]) -> DesignError:
    return DesignError(
        "there is no such item in a list", where=document.where(path), cure="name an item that exists"
    )


def _checked(document: AnyDocument, path: Sequence[Key], edited: str, wanted: list[Plain]) -> AnyDocument:
    """Read the edited text; refuse it unless it differs from the old one just as it should."""
    try:
        changed = type(document).from_text(edited, document.path, document.label)
    except (DesignError, Complaints):
        changed = None
    if changed is None or repr(changed.plain()) != repr(_replaced(document.plain(), path, wanted)):
        raise DesignError(
            "this list cannot be changed without changing something else",
            where=document.where(path),
            cure="make this change in the file by hand",
        )
    return changed


def _replaced(tree: Plain, path: Sequence[Key], value: Plain) -> Plain:
    if not path:
        return value
    items = enumerate(tree) if isinstance(tree, list) else tree.items()
    copied = {key: _replaced(item, path[1:], value) if key == path[0] else item for key, item in items}
    return list(copied.values()) if isinstance(tree, list) else copied


# --- lists with an item a line ----------------------------------------------------------------------------------------


def _lines_of(source: str, node: Node, index: int) -> _Span:
    """Lines of one item, from the one its dash stands in to the one that holds its last character."""
    item = node.entries[index]
    start = source.rfind("\n", 0, node.places[index].index) + 1
    last = max(item.last_character(), node.places[index].index)
    end = source.find("\n", last)
    return _Span(start, len(source) if end < 0 else end + 1)


def _insert_line(source: str, node: Node, index: int, text: str, value: Plain) -> str:
    line = _lines_of(source, node, 0)
    indent = source[line.start : source.find("-", line.start)]
    bare = text.strip()
    if isinstance(value, dict) and len(value) == 1 and bare.startswith("{") and bare.endswith("}"):
        bare = bare[1:-1].strip()  # "- series: ..." reads better than "- {series: ...}"
    written = f"{indent}- {bare}\n"
    if index < len(node.entries):
        at = _lines_of(source, node, index).start
        return f"{source[:at]}{written}{source[at:]}"
    at = _lines_of(source, node, index - 1).end
    gap = "" if source[:at].endswith("\n") else "\n"
    return f"{source[:at]}{gap}{written}{source[at:]}"


# --- lists in brackets ------------------------------------------------------------------------------------------------


def _item_in_flow(_source: str, node: Node, index: int) -> _Span:
    return _Span(node.places[index].index, node.entries[index].last_character())


def _insert_in_flow(source: str, node: Node, index: int, text: str) -> str:
    if not node.entries:
        at = source.find("[", node.start.index) + 1
        return f"{source[:at]}{text}{source[at:]}"
    if index < len(node.entries):
        at = node.places[index].index
        return f"{source[:at]}{text}, {source[at:]}"
    at = node.entries[index - 1].last_character()
    return f"{source[:at]}, {text}{source[at:]}"


def _remove_from_flow(source: str, node: Node, index: int) -> str:
    own = _item_in_flow(source, node, index)
    if index + 1 < len(node.entries):
        return source[: own.start] + source[_item_in_flow(source, node, index + 1).start :]
    return source[: _item_in_flow(source, node, index - 1).end] + source[own.end :]
