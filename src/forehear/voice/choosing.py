"""From continuous values to parts that can be had, all chosen together.

Around the bottom of a valley the goal is a quadratic form of the logarithms. A breadth-first branch and bound over
that form keeps the few hundred most promising ways to fill the places, part after part; the true goal judges what is
left, and then every single change and every pair of changes of neighbours is tried until none helps.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.voice.descent import Space, Valley, Watch
from forehear.voice.evaluator import Evaluator
from forehear.voice.shop import Offer

BEAM = 160  # ways to fill the places that are kept while parts are added
NEAR = 8  # offers of one part that are tried
REACH = 2  # neighbours up and down that a change may take
MOST_ROUNDS = 12
SAME = 1e-9  # dB that are no gain
BATCH = 400  # networks solved at once

Picks = NDArray[np.int_]  # [..., free part] numbers of offers


@dataclass(frozen=True, eq=False)
class Shelf:
    """The offers for every free part, as arrays."""

    offers: tuple[tuple[Offer, ...], ...]
    most_cost: float | None = None
    fixed_cost: float = 0.0  # of the parts that may not change
    per_price_db: float = 0.0  # what a unit of money counts
    over_cost_db: float = 0.5  # what a unit of money beyond the most counts

    def value(self, picks: Picks) -> FloatArray:
        """Values of picks, [..., free part]."""
        return self._of(picks, "value")

    def loss_ohm(self, picks: Picks) -> FloatArray:
        """Losses of picks, [..., free part]."""
        return self._of(picks, "loss_ohm")

    def price(self, picks: Picks) -> FloatArray:
        """Price of the whole network, [...]."""
        total: FloatArray = self._of(picks, "price").sum(axis=-1) + self.fixed_cost
        return total

    def toll_db(self, picks: Picks) -> FloatArray:
        """Give what picks cost, in dB of the goal, [...]."""
        price = self.price(picks)
        over = 0.0 if self.most_cost is None else self.over_cost_db * np.maximum(price - self.most_cost, 0.0)
        return self.per_price_db * price + over

    def _of(self, picks: Picks, name: str) -> FloatArray:
        each = [
            np.array([getattr(offer, name) for offer in own], dtype=float)[picks[..., part]]
            for part, own in enumerate(self.offers)
        ]
        return np.stack(each, axis=-1)


@dataclass(frozen=True, eq=False)
class Choice:
    """One network of parts that can be had."""

    picks: tuple[int, ...]
    goal_db: float
    price: float
    polarity: FloatArray


def choose(evaluator: Evaluator, space: Space, valley: Valley, shelf: Shelf, watch: Watch) -> Choice:
    """Fill every place of a network with parts that can be had, near the bottom of a valley."""
    judge = _Judge(evaluator.with_polarity(valley.polarity), space, shelf, watch)
    beam = promising(judge.evaluator, space, valley.x, shelf, watch)
    tolled = judge.tolled(beam)
    best, best_tolled = beam[int(tolled.argmin())], float(tolled.min())
    for _ in range(MOST_ROUNDS):
        watch.told(0.9, "parts")
        tried = neighbours(best, shelf)
        tolled = judge.tolled(tried)
        if tolled.min() >= best_tolled - SAME:
            break
        best, best_tolled = tried[int(tolled.argmin())], float(tolled.min())
    goal_db = float(judge.goals(best[np.newaxis])[0])
    return Choice(tuple(best.tolist()), goal_db, float(shelf.price(best)), valley.polarity)


@dataclass(frozen=True, eq=False)
class _Judge:
    """Judges many picks at once."""

    evaluator: Evaluator
    space: Space
    shelf: Shelf
    watch: Watch

    def goals(self, picks: Picks) -> FloatArray:
        """Goal of picks, [pick] [dB]."""
        found = [self._some(picks[at : at + BATCH]) for at in range(0, len(picks), BATCH)]
        return np.concatenate(found)

    def tolled(self, picks: Picks) -> FloatArray:
        """Goal and toll of picks, [pick] [dB]."""
        total: FloatArray = self.goals(picks) + self.shelf.toll_db(picks)
        return total

    def _some(self, picks: Picks) -> FloatArray:
        free = list(self.space.free)
        values, losses = self.space.filled(np.log(self.shelf.value(picks)))
        losses[:, free] = self.shelf.loss_ohm(picks)
        return self.watch.counted(self.evaluator.goals(values, losses))


def promising(evaluator: Evaluator, space: Space, x: FloatArray, shelf: Shelf, watch: Watch) -> Picks:
    """Keep the most promising ways to fill all places, by the quadratic form around a bottom: [way, free part]."""
    rows, change = evaluator.rows_and_slopes(*space.filled(x))
    watch.counted(np.sqrt([rows @ rows]))
    goal = max(float(np.sqrt(rows @ rows)), 1e-6)
    root, triangle = np.linalg.qr(change[:, list(space.free)])
    rest = root.T @ rows
    count = len(space.free)
    picks: Picks = np.zeros((1, count), dtype=int)
    away, bound = np.zeros((1, count)), np.zeros(1)
    toll = shelf.per_price_db * 2 * goal  # the form is the square of the goal
    for part in reversed(range(count)):
        offers = shelf.offers[part]
        distance = np.log([offer.value for offer in offers]) - x[part]
        near = np.argsort(np.abs(distance), kind="stable")[:NEAR]
        row = rest[part] + away @ triangle[part]
        added = (row[:, np.newaxis] + triangle[part, part] * distance[near]) ** 2 - rest[part] ** 2
        added = added + toll * np.array([offers[number].price for number in near])
        total = bound[:, np.newaxis] + added
        order = np.argsort(total, axis=None, kind="stable")[:BEAM]
        parent, child = np.unravel_index(order, total.shape)
        picks, away, bound = picks[parent].copy(), away[parent].copy(), total[parent, child]
        picks[:, part], away[:, part] = near[child], distance[near[child]]
    return picks


def neighbours(picks: Picks, shelf: Shelf) -> Picks:
    """Give every network one change, or two changes to the very next values, away: [network, free part]."""
    far = [_steps(int(number), shelf.offers[part], REACH) for part, number in enumerate(picks)]
    found = [_with(picks, [(part, step)]) for part, steps in enumerate(far) for step in steps]
    near = [_steps(int(number), shelf.offers[part], 1) for part, number in enumerate(picks)]
    for one, other in combinations(range(len(picks)), 2):
        found += [_with(picks, [(one, a), (other, b)]) for a in near[one] for b in near[other]]
    return np.array(found, dtype=int).reshape(-1, len(picks))


def _steps(number: int, offers: Sequence[Offer], reach: int) -> list[int]:
    """Offers within reach of one: the next values as alike in price as can be, and its own value otherwise made.

    Pairs of changes, which reach no further than the next values, leave the make alone.
    """
    own = offers[number]
    values = sorted({offer.value for offer in offers})
    rank = values.index(own.value)
    found = []
    for value in values[max(rank - reach, 0) : rank + reach + 1]:
        alike = [index for index, offer in enumerate(offers) if offer.value == value and index != number]
        if value == own.value:
            found += alike if reach > 1 else []
        elif alike:
            found.append(min(alike, key=lambda index: _unlike(offers[index], own)))
    return found


def _unlike(offer: Offer, other: Offer) -> tuple[int, float]:
    """How unlike two offers are: in the number of parts, then in loss over value."""
    per_value = [one.loss_ohm / one.value for one in (offer, other)]
    return abs(offer.count - other.count), abs(per_value[0] - per_value[1])


def _with(picks: Picks, changes: Sequence[tuple[int, int]]) -> Picks:
    changed = picks.copy()
    for part, number in changes:
        changed[part] = number
    return changed
