"""How long work tells how far it is, and how it takes the cores."""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeAlias, TypeVar

Progress: TypeAlias = Callable[[float, str], None]
"""Called with the share done, 0 to 1, and what is being done now."""

Item = TypeVar("Item")
Made = TypeVar("Made")


def unseen(_share: float, _doing: str) -> None:
    """Tell nobody."""


def part_of(progress: Progress, start: float, end: float) -> Progress:
    """Return a progress that fills only the stretch from `start` to `end` of another one."""
    return lambda share, doing: progress(start + (end - start) * share, doing)


def side_by_side(make: Callable[[Item], Made], items: Sequence[Item]) -> list[Made]:
    """Make something of every item, on all cores; for work whose kernels release Python's lock."""
    cores = min(os.cpu_count() or 1, len(items))
    if cores < 2:
        return [make(item) for item in items]
    with ThreadPoolExecutor(cores) as pool:
        return list(pool.map(make, items))
