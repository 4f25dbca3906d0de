"""Things the designer should know; shaped like errors so that every door shows both alike."""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much a finding matters before anything is printed."""

    STOPS = "stops"
    CHECK = "check"
    FINE = "fine"


@dataclass(frozen=True)
class Finding:
    """One thing the designer should know.

    `code` is a stable name for scripts, such as ``hole-in-room``; `where` is file:line:column and the key path,
    `cause` and `cure` may be empty.
    """

    level: Level
    code: str
    what: str
    where: str = ""
    cause: str = ""
    cure: str = ""
