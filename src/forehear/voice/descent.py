"""Going downhill from many starts: the continuous values of a network."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.ground.work import Progress, unseen
from forehear.voice.evaluator import Evaluator

TRIED = 96  # starts looked at for every polarity
FOLLOWED = 8  # of which so many are followed downhill
POLISHED = 2  # valleys, of all polarities, that are followed to their bottom
KICKS = 12  # out of the best valleys
KICK = 1.5  # standard deviation of the logarithms, of every second part
NEAR = 1.03  # of the best goal, within which a rough descent is followed to its bottom
WIDE = 8.0  # a start lies at most this factor from the values given
KEPT_NEAR = 0.02  # dB between goals that are one and the same valley


class Stopped(Exception):
    """Somebody asked to stop, or the time is up; what was found so far counts."""


@dataclass
class Watch:
    """Counts evaluations, tells how far it is, and stops when told or when the time is up."""

    progress: Progress = unseen
    seconds: float | None = None
    evaluations: int = 0
    best: float = float("inf")
    stopped_by: str = "finished"
    started: float = field(default_factory=monotonic)

    def told(self, share: float, doing: str) -> None:
        """Tell how far it is.

        Raises
        ------
        Stopped
            When the time is up.
        """
        best = "" if self.best == float("inf") else f", best {self.best:.2f} dB"
        self.progress(share, doing + best)
        if self.seconds is not None and monotonic() - self.started > self.seconds:
            self.stopped_by = "time"
            raise Stopped

    def counted(self, goals: FloatArray) -> FloatArray:
        """Count evaluations that were made, and keep the best."""
        self.evaluations += goals.size
        self.best = min(self.best, float(goals.min()))
        return goals


@dataclass(frozen=True)
class Patience:
    """When a descent ends: after so many steps, or when a step gains less than this share of the squared goal."""

    steps: int
    settled: float


ROUGH, FINE = Patience(10, 1e-2), Patience(60, 1e-6)


@dataclass(frozen=True, eq=False)
class Space:
    """What may change: logarithms of values within bounds, and how losses go with values."""

    values: FloatArray  # [part] of the design
    loss_factor: FloatArray  # [part] loss over the value to its power
    loss_power: FloatArray  # [part]
    low: FloatArray  # [free part], logarithms
    high: FloatArray
    free: tuple[int, ...]  # parts that may change

    def filled(self, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give values and losses of all parts, [..., part], for logarithms of the free ones."""
        values = np.broadcast_to(self.values, (*x.shape[:-1], self.values.size)).copy()
        values[..., list(self.free)] = np.exp(x)
        return values, self.loss_factor * values**self.loss_power

    @property
    def start(self) -> FloatArray:
        """Where the design is."""
        return np.clip(np.log(self.values[list(self.free)]), self.low, self.high)


@dataclass(frozen=True, eq=False)
class Valley:
    """The bottom that one descent found."""

    x: FloatArray  # [free part] logarithms of values
    goal_db: float
    polarity: FloatArray  # [way]


def space_of(
    evaluator: Evaluator,
    values: FloatArray,
    losses_ohm: FloatArray,
    free: Sequence[int],
    ranges: Sequence[tuple[float, float]],
) -> Space:
    """Make the space of some free parts, each within its range.

    Raises
    ------
    OutsideValidity
        When nothing is free.
    """
    if not free:
        raise OutsideValidity(
            "there is nothing to choose: no part of the network may change",
            cure="write at least one part in line in the design, not as a file of its own, or try --orders 1,2,3",
        )
    power = evaluator.circuit.loss_power
    bounds = np.log(np.array(ranges, dtype=float)).reshape(-1, 2)
    return Space(values, losses_ohm / values**power, power, bounds[:, 0], bounds[:, 1], tuple(free))


def descend(
    evaluator: Evaluator, space: Space, x: FloatArray, watch: Watch, patience: Patience = FINE
) -> Valley:
    """Go downhill by damped Gauss-Newton steps that stay within the bounds.

    Source
    ------
    more-1978: the damping; a step that would leave the bounds is cut, and parts held there drop out of it.
    """
    free = list(space.free)
    damping = 1e-2
    rows, change = evaluator.rows_and_slopes(*space.filled(x))
    goal = rows @ rows
    watch.counted(np.sqrt([goal]))
    for _ in range(patience.steps):
        slope, curved = rows @ change[:, free], change[:, free].T @ change[:, free]
        moving = ~(((x <= space.low) & (slope > 0)) | ((x >= space.high) & (slope < 0)))
        if not moving.any():
            break
        lower = None
        while lower is None and damping < 1e6:
            step = _damped(slope, curved, damping, moving)
            tried = np.clip(x + step, space.low, space.high)
            new_rows, new_change = evaluator.rows_and_slopes(*space.filled(tried))
            watch.counted(np.sqrt([new_rows @ new_rows]))
            if new_rows @ new_rows < goal:
                lower = tried
            else:
                damping *= 4
        if lower is None:
            break
        gained = 1 - (new_rows @ new_rows) / goal
        x, rows, change, goal, damping = lower, new_rows, new_change, new_rows @ new_rows, damping / 5
        if gained < patience.settled:
            break
    return Valley(x, float(np.sqrt(goal)), evaluator.circuit.polarity)


def _damped(slope: FloatArray, curved: FloatArray, damping: float, moving: NDArray[np.bool_]) -> FloatArray:
    scale = np.diag(curved) + 1e-3 * np.trace(curved) / len(slope) + 1e-12
    within = np.ix_(moving, moving)
    step = np.zeros_like(slope)
    step[moving] = -np.linalg.solve(curved[within] + damping * np.diag(scale[moving]), slope[moving])
    return np.clip(step, -1.5, 1.5)


def valleys(
    evaluator: Evaluator,
    space: Space,
    random: np.random.Generator,
    watch: Watch,
    found: list[Valley],
    *,
    turned: bool = True,
) -> None:
    """Look for valleys from the design and from random starts, with every polarity; they are added to `found`.

    Parameters
    ----------
    evaluator, space
        What judges, and what may change.
    random
        Where starts come from.
    watch
        Counts, and may stop it.
    found
        Where valleys go as they are found, so that a stop keeps them.
    turned
        Whether polarities may change.
    """
    own = evaluator.circuit.polarity
    turns = (
        [np.array([1.0, *rest]) for rest in product((1.0, -1.0), repeat=len(own) - 1)] if turned else [own]
    )
    for number, turn in enumerate(turns):
        judge = evaluator.with_polarity(own * turn if turned else own)
        starts = _starts(judge, space, random, watch)
        for place, start in enumerate(starts):
            watch.told(0.7 * (number + place / len(starts)) / len(turns), "values")
            found.append(descend(judge, space, start, watch, ROUGH))
    for place, rough in enumerate(distinct(found)[:POLISHED]):
        watch.told(0.7 + 0.1 * place / POLISHED, "values")
        found.append(descend(evaluator.with_polarity(rough.polarity), space, rough.x, watch))
    _kicked(evaluator, space, random, watch, found)


def _kicked(
    evaluator: Evaluator, space: Space, random: np.random.Generator, watch: Watch, found: list[Valley]
) -> None:
    """Jump out of the best valleys, of two polarities in turn, and see where it leads."""
    for number in range(KICKS):
        watch.told(0.8 + 0.2 * number / KICKS, "values")
        first = min(found, key=lambda one: one.goal_db)
        others = [one for one in found if not np.array_equal(one.polarity, first.polarity)]
        chosen = min(others, key=lambda one: one.goal_db) if others and number % 2 else first
        moved = random.normal(0, KICK, len(chosen.x)) * (random.random(len(chosen.x)) < 0.5)
        judge = evaluator.with_polarity(chosen.polarity)
        rough = descend(judge, space, np.clip(chosen.x + moved, space.low, space.high), watch, ROUGH)
        found.append(rough)
        if rough.goal_db < NEAR * chosen.goal_db:
            found.append(descend(judge, space, rough.x, watch))


def first_look(evaluator: Evaluator, space: Space, random: np.random.Generator, watch: Watch) -> Valley:
    """Go a little downhill from where a layout starts and from the best of random starts, with every polarity."""
    found = []
    for rest in product((1.0, -1.0), repeat=len(evaluator.circuit.polarity) - 1):
        judge = evaluator.with_polarity(np.array([1.0, *rest]))
        starts = _starts(judge, space, random, watch)[:2]
        found += [descend(judge, space, start, watch, ROUGH) for start in starts]
    return min(found, key=lambda one: one.goal_db)


def _starts(
    evaluator: Evaluator, space: Space, random: np.random.Generator, watch: Watch
) -> list[FloatArray]:
    """Give the design itself, and the best of many random starts around it."""
    spread = np.log(WIDE) * random.uniform(-1, 1, (TRIED, len(space.free)))
    spread *= random.choice([0.3, 0.6, 1.0], (TRIED, 1))
    tried = np.clip(space.start + spread, space.low, space.high)
    goals = watch.counted(evaluator.goals(*space.filled(tried)))
    return [space.start, *tried[np.argsort(goals, kind="stable")[: FOLLOWED - 1]]]


def distinct(found: Sequence[Valley]) -> list[Valley]:
    """Give valleys best first, each once."""
    kept: list[Valley] = []
    for valley in sorted(found, key=lambda one: one.goal_db):
        again = any(
            np.array_equal(valley.polarity, other.polarity)
            and abs(valley.goal_db - other.goal_db) < KEPT_NEAR
            and np.max(np.abs(valley.x - other.x)) < 0.05
            for other in kept
        )
        if not again:
            kept.append(valley)
    return kept


def without_clock(watch: Watch) -> Watch:
    """Return the same watch, never out of time."""
    return replace(watch, seconds=None)
