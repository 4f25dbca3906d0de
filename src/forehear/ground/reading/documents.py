"""Documents whose every value has a place, and that can be changed without losing a comment."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.files import write_atomically
from forehear.ground.reading.nodes import Key, Node, Plain, is_quantity, read_tree
from forehear.ground.reading.regrowing import regrown

LARGEST_BYTES = 1_000_000
_WRITTEN = re.compile(r"#[^\n]*|(\S)")  # a comment, or the first character that is none


@dataclass(frozen=True)
class Change:
    """One value to be written: the path of keys (list items from 0) and its text, such as "4.7 uF"."""

    path: tuple[Key, ...]
    text: str


@dataclass(frozen=True, eq=False)
class Document:
    """One YAML file in memory.

    Attributes
    ----------
    path
        The file.
    label
        Its name in messages, usually relative to the design's folder.
    source
        The text, byte for byte.
    root
        The tree of values with their places.
    """

    path: Path
    label: str
    source: str
    root: Node

    @classmethod
    def read(cls, path: Path, label: str | None = None) -> Self:
        """Read a file; whatever is wrong with it is one DesignError (or Complaints for keys given twice)."""
        label = label or path.name
        return cls.from_text(_read_text(path, label), path, label)

    @classmethod
    def from_text(cls, text: str, path: Path, label: str | None = None) -> Self:
        """Make a document from text that would stand in `path`."""
        label = label or path.name
        root = read_tree(text, lambda line, column: f"{label}:{line + 1}:{column + 1}")
        if root.shape != "mapping":
            raise DesignError(
                "the file holds no 'key: value' lines", where=f"{label}:1:1", cure="start from a starter file"
            )
        return cls(path, label, text, root)

    def plain(self) -> Plain:
        """Return the bare values: dicts, lists, text, numbers."""
        return self.root.plain()

    def where(self, keys: Sequence[Key]) -> str:
        """Return "file:line:column  key > key" of a value, or of the nearest thing above it that exists."""
        node, spot = self.root, self.root.start
        for key in keys:
            if key not in node.entries:
                break
            spot, node = node.places[key], node.entries[key]
        return f"{self.label}:{spot.line + 1}:{spot.column + 1}{key_path(keys)}"

    def line(self, keys: Sequence[Key]) -> int:
        """Return the line number (from 1) of a value."""
        return int(self.where(keys).removeprefix(self.label).split(":")[1])

    def text(self) -> str:
        """Return the text as it would be saved."""
        return self.source

    def with_changes(self, changes: Sequence[Change]) -> Self:
        """Return a copy with values replaced or added; comments and layout stay, no file is touched."""
        document = self
        for change in changes:
            document = document._with_change(change)
        return document

    def save(self, path: Path | None = None) -> None:
        """Write the text atomically, to its own file when no other is named."""
        write_atomically(path or self.path, self.source)

    def _with_change(self, change: Change) -> Self:
        value = _plain_value(change.text, self.label)
        wanted = _set_in(self.plain(), change.path, value)
        if isinstance(value, str) and set(value) & set(
            ",[]{}"
        ):  # these would end a plain value inside braces
            change = Change(change.path, _in_quotes(value))
        quick = regrown(self.source, self.root, change.path, change.text)
        if quick is not None and repr(quick[1].plain()) == repr(wanted):
            return type(self)(self.path, self.label, *quick)
        edited = _splice(self.source, self.root, change)
        try:
            changed = type(self).from_text(edited, self.path, self.label)
        except (DesignError, Complaints):
            changed = None
        if changed is None or repr(changed.plain()) != repr(wanted):
            raise DesignError(
                f"{change.text!r} cannot be written there without changing something else",
                where=self.where(change.path),
                cure="make this change in the file by hand",
            )
        return changed


def key_path(keys: Sequence[Key]) -> str:
    """Write a path of keys as shown to people; list items count from 1.

    Examples
    --------
    >>> key_path(("ways", "low", "network", 0))
    '  ways > low > network > 1'
    """
    shown = " > ".join(str(key + 1) if isinstance(key, int) else str(key) for key in keys)
    return f"  {shown}" if shown else ""


def raise_together(errors: Sequence[ForehearError]) -> None:
    """Raise one complaint by itself, several as Complaints; return when there are none."""
    if len(errors) == 1:
        raise errors[0]
    if errors:
        raise Complaints(errors)


def complaints_of(error: ForehearError | Complaints) -> tuple[ForehearError, ...]:
    """Return what was raised as a tuple of complaints."""
    return error.errors if isinstance(error, Complaints) else (error,)


def _read_text(path: Path, label: str) -> str:
    data = read_bytes(path, label)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        raise DesignError(
            f"byte {data[error.start]:#04x} is not UTF-8 text",
            where=f"{label}:{line}:{column}",
            cure="save the file as UTF-8 text",
        ) from None
    for position, character in enumerate(text):
        if (character < " " and character not in "\n\r\t") or character in "\x7f\ufffe\uffff":
            line = text.count("\n", 0, position) + 1
            column = position - (text.rfind("\n", 0, position) + 1) + 1
            raise DesignError(
                f"a control character ({ord(character):#04x}) stands here; this is not a text file",
                where=f"{label}:{line}:{column}",
                cure="name a text file, or delete the character",
            )
    return text


def read_bytes(path: Path, label: str, largest: int = LARGEST_BYTES) -> bytes:
    """Read a file of limited size; every failure is a DesignError that names it."""
    try:
        if path.is_dir():
            raise DesignError(f"{label} is a folder", where=label, cure="name a file in it")
        if not path.is_file():
            raise DesignError(
                f"there is no file {label}", where=str(path), cure="check the name and the folder"
            )
        size = path.stat().st_size
        if size > largest:
            raise DesignError(
                f"{label} holds {size / 1e6:.1f} MB; at most {largest / 1e6:.0f} MB is read",
                where=label,
                cure="check that this is the file you mean",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise DesignError(
            f"cannot read {label}: {reason}", where=label, cure="check its name and permissions"
        ) from error


def _plain_value(text: str, label: str) -> Plain:
    """Return what `text` means as a value on its own."""
    if is_quantity(text):
        return text
    return read_tree(f"value: {text}\n", lambda _line, _column: label).entries["value"].plain()


def _set_in(tree: Plain, path: Sequence[Key], value: Plain) -> Plain:
    """Copy `tree` with `value` at `path`, adding groups of keys that are not there yet."""
    if not path:
        return value
    key, rest = path[0], path[1:]
    if isinstance(tree, list) and isinstance(key, int) and 0 <= key < len(tree):
        return [_set_in(item, rest, value) if number == key else item for number, item in enumerate(tree)]
    if (isinstance(tree, dict) or tree is None) and isinstance(key, str):
        tree = tree or {}
        return {**tree, key: _set_in(tree.get(key), rest, value)}
    raise DesignError(f"there is no {key_path(path).strip()} to change", cure="name a value that exists")


def _splice(source: str, root: Node, change: Change) -> str:
    node, depth = root, 0
    while depth < len(change.path) and change.path[depth] in node.entries:
        node, depth = node.entries[change.path[depth]], depth + 1
    missing = [str(key) for key in change.path[depth:]]
    if not missing or node.shape == "scalar":
        return _replace(source, node, _nested(missing, change.text))
    entry = f"{_quoted(missing[0])}: {_nested(missing[1:], change.text)}"
    if node.flow:
        return _insert_flow(source, node, entry)
    at, indent = node.last_character(), " " * next(iter(node.places.values())).column
    if source[at - 1 : at] == "\n":  # after a block of text that ends with its line
        return f"{source[:at]}{indent}{entry}\n{source[at:]}"
    line_end = source.find("\n", at)
    at = len(source) if line_end < 0 else line_end
    return f"{source[:at]}\n{indent}{entry}{source[at:]}"


def _replace(source: str, node: Node, text: str) -> str:
    start, end = node.start.index, node.last_character()
    if node.shape != "scalar" and not node.flow:  # the parser may let a block start right after the colon
        start = next((found.start() for found in _WRITTEN.finditer(source, start) if found[1]), start)
    space = " " if start == end else ""
    return f"{source[:start]}{space}{text}{source[end:]}"


def _insert_flow(source: str, node: Node, entry: str) -> str:
    if not node.entries:
        at = node.start.index + 1
        return f"{source[:at]}{entry}{source[at:]}"
    at = next(reversed(node.entries.values())).last_character()
    return f"{source[:at]}, {entry}{source[at:]}"


def _nested(keys: Sequence[str], text: str) -> str:
    for key in reversed(keys):
        text = f"{{{_quoted(key)}: {text}}}"
    return text


def _quoted(key: str) -> str:
    plain = key.replace(" ", "").replace("-", "").isalnum() and key == key.strip() and not key.startswith("-")
    return key if plain else _in_quotes(key)


def _in_quotes(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
