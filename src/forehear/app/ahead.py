"""A second process that works ahead: what later candidates will be asked for is found while the first is shown.

The two share nothing but the cache folder. What the second has kept when it is asked for is read; anything else is
found by whoever asks. So no answer depends on whether it runs, how far it came, or how it ended.
"""

import contextlib
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from types import FrameType

from forehear.design import Design, load
from forehear.ground.work import usable_cores
from forehear.spine import SolverChoice
from forehear.spine.hearing import Hearing
from forehear.spine.keeping import is_kept, kept_ranges, kept_story
from forehear.spine.refined import USUAL
from forehear.spine.situation import begin, heard, is_refined


@contextlib.contextmanager
def working_ahead(designs: Sequence[Design], solver: SolverChoice, *, room: bool) -> Iterator[None]:
    """Find meanwhile what later ones of several designs need and nobody knows yet; it ends with the body."""
    process = _started(designs[1:], solver) if _is_worth_it(designs, solver, room=room) else None
    try:
        yield
    finally:
        if process is not None:
            process.terminate()
            process.wait()


def _is_worth_it(designs: Sequence[Design], solver: SolverChoice, *, room: bool) -> bool:
    if not room or len(designs) < 2 or usable_cores() < 2:
        return False
    if solver is SolverChoice.REFERENCE and not all(is_refined(design, USUAL) for design in designs):
        return False  # it would have to wait for the solver
    return not all(is_kept(begin(design, _hearing(solver))) for design in designs[1:])


def _hearing(solver: SolverChoice) -> Hearing:
    return replace(Hearing.standard(), reach=None if solver is SolverChoice.INSTANT else USUAL)


def _started(designs: Sequence[Design], solver: SolverChoice) -> subprocess.Popen[bytes] | None:
    """Start it apart from the terminal, whose Ctrl-C is not for it."""
    paths = [str(design.path.resolve()) for design in designs]
    with contextlib.suppress(OSError):
        return subprocess.Popen(
            [sys.executable, "-P", "-m", __name__, solver.value, *paths],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    return None


def work_ahead(solver: SolverChoice, paths: Sequence[Path]) -> None:
    """Find and keep what these designs will be asked for, the last one first: it is farthest from being asked for."""
    for path in reversed(paths):
        situation = heard(begin(load(path), _hearing(solver)))
        kept_story(situation)
        kept_ranges(situation)


def _stop(_signal: int, _frame: FrameType | None) -> None:
    sys.exit(1)  # as an exception, which leaves no half-written file behind


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, _stop)
    work_ahead(SolverChoice(sys.argv[1]), [Path(path) for path in sys.argv[2:]])
