"""The example solved by the reference solver at a small reach, and how tests count what is solved."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import pytest

from forehear.ground.arrays import FloatArray
from forehear.ground.store import KeptResults
from forehear.ground.work import Progress
from forehear.radiation.harmonics import Expansion
from forehear.spine import refining
from forehear.spine.hearing import Hearing
from forehear.spine.refined import Reach
from forehear.spine.refining import Shape

SMALL = Reach(top_hz=800.0, blend_from_hz=560.0)
HEARING = replace(Hearing.standard(), reach=SMALL)


@dataclass
class Counted:
    """How many bands were solved, and of which sources each."""

    sources: list[tuple[int, ...]] = field(default_factory=list)

    @property
    def bands(self) -> int:
        """How many bands were begun."""
        return len(self.sources)


@contextmanager
def counted() -> Iterator[Counted]:
    """Count the bands that are solved meanwhile, what memory holds forgotten first."""
    count, solve = Counted(), refining._solved

    def counting(
        shape: Shape, sources: Sequence[int], asked: tuple[Reach, FloatArray], progress: Progress
    ) -> Expansion:
        count.sources.append(tuple(sources))
        return solve(shape, sources, asked, progress)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(refining, "_solved", counting)
        patch.setattr(refining, "_loaded", KeptResults(6))
        yield count
