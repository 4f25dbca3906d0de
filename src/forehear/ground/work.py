"""How long work tells how far it is."""

from collections.abc import Callable
from typing import TypeAlias

Progress: TypeAlias = Callable[[float, str], None]
"""Called with the share done, 0 to 1, and what is being done now."""


def unseen(_share: float, _doing: str) -> None:
    """Tell nobody."""


def part_of(progress: Progress, start: float, end: float) -> Progress:
    """Return a progress that fills only the stretch from `start` to `end` of another one."""
    return lambda share, doing: progress(start + (end - start) * share, doing)
