"""What a page asks of a new session, checked word by word."""

from dataclasses import dataclass, field
from typing import Any

from forehear.ground.errors import DataError
from forehear.listen.plan import Kind, Known, Programme, Setup


@dataclass(frozen=True)
class Wanted:
    """What a page asks of a new session, checked."""

    name: str
    setup: Setup
    files: tuple[str, ...] = field(default=())  # of the candidates; none of real speakers


def wanted_in(message: dict[str, Any], titles: dict[str, str]) -> Wanted:
    """Read what a page asks of a new session; `titles` are those of the candidates' files.

    Raises
    ------
    DataError
        When it is not usable.
    """
    real = message.get("real") is True
    files = tuple(_texts(message, "candidates"))
    unknown = [file for file in files if file not in titles]
    if unknown and not real:
        raise DataError(f"there is no candidate {unknown[0][:40]!r}", cure="load the page again")
    levels = _levels(message.get("levels_db")) if real else None
    setup = Setup(
        kind=_kind(message),
        candidates=files if real else tuple(_told_apart(file, titles) for file in files),
        listeners=tuple(_texts(message, "listeners")),
        programmes=tuple(Programme(clip, seat) for clip, seat in _programmes(message)),
        trials=_number(message, "trials", 1),
        attributes=tuple(_texts(message, "attributes")),
        scale=(1, 10) if message.get("scale") == 10 else (0, 100),
        repeat=message.get("repeat") is True,
        anchor=message.get("anchor") is True,
        real=real,
        levels_db=levels,
        levels_known=Known.NOT if levels is None else _known(message),
    )
    return Wanted(_name(message), setup, () if real else files)


def _told_apart(file: str, titles: dict[str, str]) -> str:
    title = titles[file]
    return title if list(titles.values()).count(title) == 1 else f"{title} ({file})"


def _kind(message: dict[str, Any]) -> Kind:
    kind = message.get("kind")
    if kind not in tuple(Kind):
        raise DataError(f"there is no kind of session {str(kind)[:40]!r}", cure="load the page again")
    return Kind(kind)


def _name(message: dict[str, Any]) -> str:
    name = message.get("name")
    if not isinstance(name, str) or not 0 < len(name.strip()) <= 80:
        raise DataError("the session has no name, or one above 80 characters", cure="name it")
    return name.strip()


def _texts(message: dict[str, Any], key: str) -> list[str]:
    found = message.get(key, [])
    if not isinstance(found, list) or not all(isinstance(one, str) for one in found):
        raise DataError(f"{key!r} must be a list of words", cure="load the page again")
    return [one.strip() for one in found]


def _programmes(message: dict[str, Any]) -> list[tuple[str, str]]:
    clips, seats = _texts(message, "clips"), _texts(message, "seats")
    return list(dict.fromkeys((clip, seat) for clip in clips for seat in seats))


def _number(message: dict[str, Any], key: str, otherwise: int) -> int:
    found = message.get(key, otherwise)
    if not isinstance(found, int) or isinstance(found, bool):
        raise DataError(f"{key!r} must be a whole number", cure="write one")
    return found


def _known(message: dict[str, Any]) -> Known:
    return Known.RECORDED if message.get("levels_known") == Known.RECORDED else Known.TYPED


def _levels(levels: object) -> tuple[float, ...] | None:
    if levels is None:
        return None
    if not isinstance(levels, list) or not all(
        isinstance(one, int | float) and not isinstance(one, bool) and -200 < one < 200 for one in levels
    ):
        raise DataError(
            "levels must be decibels from -200 to 200", cure="write one for each, or leave all out"
        )
    return tuple(map(float, levels))
