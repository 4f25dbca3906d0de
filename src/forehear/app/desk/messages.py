"""What a page may ask, checked word by word before anything is done."""

import json
from collections.abc import Callable, Mapping
from typing import Any

from forehear.app.desk.sight import Part, Sight
from forehear.design import Change
from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.rearranging import with_inserted, with_moved, with_removed

LARGEST_CHARACTERS = 64_000
LONGEST_TEXT = 4000
MOST_CHANGES = 64
LONGEST_PATH = 16
FILES = ("design", "brief")
TEXT_OR_NOTHING = (str, type(None))
Path = tuple[str | int, ...]


def read_message(text: str) -> dict[str, Any]:
    """Read one message: an object with a number `seq` and a word `do`.

    Raises
    ------
    DesignError
        When it is anything else.
    """
    if len(text) > LARGEST_CHARACTERS:
        raise _unusable(f"a message of {len(text)} characters; at most {LARGEST_CHARACTERS} are taken")
    try:
        message = json.loads(text)
    except (ValueError, RecursionError):
        raise _unusable("a message that is not JSON") from None
    if not isinstance(message, dict) or not isinstance(message.get("do"), str):
        raise _unusable("a message without 'do'")
    return message


def seq_of(message: Mapping[str, Any]) -> int:
    """Return the number of a message, 0 where it has none that can be used."""
    seq = message.get("seq", 0)
    whole = isinstance(seq, int) and not isinstance(seq, bool) and 0 <= seq < 2**53
    return seq if whole else 0


def changes_in(message: Mapping[str, Any]) -> list[tuple[str, Change]]:
    """Return the values that a message writes, each with its file."""
    changes = message.get("changes")
    if not isinstance(changes, list) or not 0 < len(changes) <= MOST_CHANGES:
        raise _unusable(f"'changes' must be a list of 1 to {MOST_CHANGES}")
    found = []
    for change in changes:
        if not isinstance(change, dict) or change.get("file") not in FILES:
            raise _unusable("a change without file 'design' or 'brief'")
        path = path_in(change)
        if not path:
            raise _unusable("a change without a path")
        found.append((change["file"], Change(path, text_in(change, "text"))))
    return found


def rearrangement_in(message: Mapping[str, Any]) -> Callable[[Document], Document]:
    """Return what an insert, remove or move does to the design file."""
    path = path_in(message)
    if not path:
        raise _unusable("a path that names nothing")
    if message["do"] == "insert":
        index, text = number_in(message, "index"), text_in(message, "text")
        return lambda document: with_inserted(document, path, index, text)
    if message["do"] == "remove":
        return lambda document: with_removed(document, path)
    to = number_in(message, "to")
    return lambda document: with_moved(document, path, to)


def sight_in(message: Mapping[str, Any]) -> Sight:
    """Return what a page has in view."""
    parts = message.get("at")
    known = tuple(Part)
    if not isinstance(parts, list) or not all(isinstance(part, str) and part in known for part in parts):
        raise _unusable(f"'at' must be a list of {', '.join(Part)}")
    return frozenset(Part(part) for part in parts)


def path_in(message: Mapping[str, Any]) -> Path:
    """Return the path of keys that a message names."""
    path = message.get("path")
    if not isinstance(path, list) or len(path) > LONGEST_PATH:
        raise _unusable("a 'path' must be a list of keys")
    if not all(isinstance(key, str | int) and not isinstance(key, bool) for key in path):
        raise _unusable("a path holds names and numbers of list items only")
    return tuple(path)


def text_in(message: Mapping[str, Any], name: str, *, default: str | None = None) -> str:
    """Return a short text of a message."""
    text = message.get(name, default)
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        raise _unusable(f"{name!r} must be text of at most {LONGEST_TEXT} characters")
    if any(character < " " and character not in "\n\t" for character in text):
        raise _unusable(f"{name!r} holds a control character")
    return text


def number_in(message: Mapping[str, Any], name: str) -> int:
    """Return a whole number of a message, zero or above."""
    number = message.get(name)
    if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number < 10_000:
        raise _unusable(f"{name!r} must be a whole number, 0 or above")
    return number


def _unusable(what: str) -> DesignError:
    return DesignError(f"the page sent {what}" if what.startswith("a ") else what, cure="load the page again")
