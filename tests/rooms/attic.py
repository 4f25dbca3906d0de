"""The example, solved once for all tests that look at it, and folders of it that may be spoilt."""

import shutil
from functools import lru_cache
from pathlib import Path

from forehear.design import Change, Design, load
from forehear.spine import Prediction, predict
from forehear.spine.hearing import Hearing
from forehear.spine.situation import Situation, solve_situation

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema"
CANDIDATES = ("twin", "stack", "trio")
HEARING = Hearing.standard()


@lru_cache
def candidate(name: str, turn_deg: float | None = None) -> Design:
    """One candidate, perhaps with its cabinet turned to one side."""
    design = load(EXAMPLE / f"{name}.yaml")
    if turn_deg is None:
        return design
    return design.with_changes([Change(("placements", "centre", "turn"), f"{turn_deg:g} deg")])


@lru_cache
def situation(name: str, turn_deg: float | None = None) -> Situation:
    return solve_situation(candidate(name, turn_deg), HEARING)


@lru_cache
def prediction(name: str, turn_deg: float | None = None) -> Prediction:
    return predict(candidate(name, turn_deg))


def copied(folder: Path) -> Path:
    """The example in a folder of its own, what was made there left out."""
    return Path(shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("out")))
