"""How long work tells how far it is, how it takes the cores, and what memory the machine gives it."""

import contextlib
import ctypes
import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeAlias, TypeVar

_GIVING_WAY = 10  # of 19
_M_ARENA_MAX = -8  # of malloc.h

Progress: TypeAlias = Callable[[float, str], None]
"""Called with the share done, 0 to 1, and what is being done now."""

Item = TypeVar("Item")
Made = TypeVar("Made")


def unseen(_share: float, _doing: str) -> None:
    """Tell nobody."""


def part_of(progress: Progress, start: float, end: float) -> Progress:
    """Return a progress that fills only the stretch from `start` to `end` of another one."""
    return lambda share, doing: progress(start + (end - start) * share, doing)


def usable_cores() -> int:
    """Cores that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def side_by_side(make: Callable[[Item], Made], items: Sequence[Item], cores: int | None = None) -> list[Made]:
    """Make something of every item, on all cores unless told; for work whose kernels release Python's lock."""
    threads = min(usable_cores() if cores is None else cores, len(items))
    if threads < 2:
        return [make(item) for item in items]
    made: dict[int, Made] = {}
    faults: list[BaseException] = []
    waiting = iter(range(len(items)))  # whoever is free takes the next

    def work() -> None:
        try:
            for place in waiting:
                made[place] = make(items[place])
        except BaseException as fault:  # told by the thread that asked
            faults.append(fault)
            _leave(waiting)

    helpers = [threading.Thread(target=work) for _ in range(threads - 1)]
    for helper in helpers:
        helper.start()
    try:
        work()
        for helper in helpers:
            helper.join()
    finally:
        _leave(waiting)
    if faults:
        raise faults[0]
    return [made[place] for place in range(len(items))]


def _leave(waiting: Iterator[int]) -> None:
    """Let nothing that waits begin any more."""
    for _ in waiting:
        pass


@contextlib.contextmanager
def all_cores() -> Iterator[ThreadPoolExecutor]:
    """Give a thread a core; work begins in the order it is given, and what has not begun at the end never does.

    So work may wait for what was given earlier.
    """
    pool = ThreadPoolExecutor(usable_cores())
    try:
        yield pool
    finally:
        pool.shutdown(cancel_futures=True)


def step_back() -> None:
    """Let this thread and all that it starts give way to others, where the system lets threads differ."""
    if sys.platform == "linux":
        with contextlib.suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), _GIVING_WAY)


def one_heap_for_all_threads() -> None:
    """Let threads share one heap where the C library is GNU's; with one each a long-lived server grows by a third.

    Must come before threads do.
    """
    if sys.platform == "linux":
        with contextlib.suppress(AttributeError, OSError):
            ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)


def free_memory_bytes() -> int | None:
    """Memory that can still be had without swapping; None where the system does not tell."""
    try:
        told = Path("/proc/meminfo").read_text(encoding="ascii")
    except OSError:
        return None
    available = next(line.split()[1] for line in told.splitlines() if line.startswith("MemAvailable"))
    return min(1024 * int(available), _left_to_this_group())


def _left_to_this_group() -> int:
    """Memory that a container leaves to its processes [byte]; endless where there is no limit."""
    folder = Path("/sys/fs/cgroup")
    try:
        limit = int((folder / "memory.max").read_text(encoding="ascii"))
        return limit - int((folder / "memory.current").read_text(encoding="ascii"))
    except (OSError, ValueError):  # no such file, or "max"
        return sys.maxsize
