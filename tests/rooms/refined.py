"""The example solved by the reference solver at a small reach, and how tests count what is solved."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

import pytest

from forehear.ground.store import KeptResults
from forehear.spine import refining
from forehear.spine.hearing import Hearing
from forehear.spine.refined import Reach

SMALL = Reach(top_hz=800.0, blend_from_hz=560.0)
HEARING = replace(Hearing.standard(), reach=SMALL)


@dataclass
class Counted:
    """How many bands were solved."""

    bands: int = 0


@contextmanager
def counted() -> Iterator[Counted]:
    """Count the bands that are solved meanwhile, what memory holds forgotten first."""
    count, solve = Counted(), refining._solved

    def counting(*arguments: object) -> object:
        count.bands += 1
        return solve(*arguments)  # type: ignore[arg-type]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(refining, "_solved", counting)
        patch.setattr(refining, "_loaded", KeptResults(6))
        yield count
