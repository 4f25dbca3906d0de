"""The whole way of a voicing: from a design and a wish to a short list of networks that can be built."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from forehear.design import Design
from forehear.ground.errors import DesignError, OutsideValidity
from forehear.ground.work import Progress, part_of, unseen
from forehear.judge.words import frequency_words
from forehear.spine.hearing import Hearing
from forehear.spine.situation import Situation, solve_situation
from forehear.voice.choosing import Choice, Shelf, choose
from forehear.voice.descent import (
    Stopped,
    Valley,
    Watch,
    descend,
    distinct,
    first_look,
    valleys,
    without_clock,
)
from forehear.voice.evaluator import Evaluator
from forehear.voice.heard import level, products
from forehear.voice.layout import Layout, evaluator_for, layout_of
from forehear.voice.orders import layouts_of_orders
from forehear.voice.pruning import Addition, Grown, additions, grown, pruned, space_for
from forehear.voice.shop import Shop, value_of
from forehear.voice.wish import Wish, begin_voicing

ORDERS_FOLLOWED = 6  # choices of orders that are followed to the bottom
FAMILIES = 2  # valleys from which parts are left out
SHORT_LIST = 5
THRIFT_DB = 0.25  # what the price of the whole network counts in the thrifty choice
WASTE_DB = 0.02  # what it counts always, so that nothing dear is taken for nothing
WORSE_DB = 0.5  # over the best, after which a candidate is no choice
CHEAPER = 0.93  # a candidate that costs less than this share of another is worth showing
TOLD_OHM, TOLD_DB = 0.995, 0.05  # a limit broken by less is kept


@dataclass(frozen=True, eq=False)
class Candidate:
    """One network of parts that can be had."""

    layout: Layout
    goal_db: float
    price: float
    parts: int
    note: str = ""  # what it has that the design has not


@dataclass(frozen=True, eq=False)
class Voiced:
    """What a search found."""

    design: Design
    situation: Situation
    wish: Wish
    evaluator: Evaluator  # of the design as it is
    goal_before_db: float
    before: Candidate
    short_list: tuple[Candidate, ...]  # best first; none where nothing better was found
    suggestions: tuple[Addition, ...]
    evaluations: int
    stopped_by: str

    @property
    def goal_after_db(self) -> float:
        """The best goal that is had now."""
        return min([self.goal_before_db, *(one.goal_db for one in self.short_list)])


@dataclass(frozen=True)
class Search:
    """How long and from where."""

    seed: int = 1
    seconds: float | None = None
    turned: bool = True  # whether polarities may change
    fewer: bool = True  # whether parts may be left out
    more: bool = True  # whether parts may be added
    orders: tuple[int, ...] = ()  # of ladders to try in every way, in place of the network given


def find_network(design: Design, wish: Wish, search: Search, progress: Progress = unseen) -> Voiced:
    """Find networks for a design, best first, each made of parts that can be had.

    Parameters
    ----------
    design
        As it was read.
    wish
        What is strived for.
    search
        Seed and limits.
    progress
        Told how far it is; may stop it by raising `Stopped` or KeyboardInterrupt, and what was found is kept.

    Raises
    ------
    DesignError
        When nothing may change, or limits cannot be kept.
    """
    watch = Watch(part_of(progress, 0.05, 1.0), search.seconds)
    progress(0.0, f"{design.title}: the seats")
    situation = solve_situation(design, Hearing.standard())
    start, wish = begin_voicing(situation, wish)
    evaluator = start.evaluator
    given = layout_of(design)
    before = _as_it_is(given, evaluator, wish.shop)
    quest = _Quest(evaluator, wish, search, watch, before.price, situation)
    found: list[Candidate] = []
    suggestions: list[Addition] = []
    try:
        for item in quest.candidates(given.with_wires()):
            found += [item] if isinstance(item, Candidate) else []
            suggestions += [item] if isinstance(item, Addition) else []
    except (Stopped, KeyboardInterrupt) as stop:
        watch.stopped_by = watch.stopped_by if isinstance(stop, Stopped) else "hand"
        if not found:
            found += quest.quickly(given.with_wires())
    except OutsideValidity as error:
        raise DesignError(error.what, where=design.where("ways"), cure=error.cure) from error
    kept = [one for one in found if not broken(one, evaluator, wish)]
    if not kept:
        _refuse(design, found, evaluator, wish)
    better = [one for one in kept if one.goal_db < before.goal_db or broken(before, evaluator, wish)]
    return Voiced(
        design=design,
        situation=situation,
        wish=wish,
        evaluator=evaluator,
        goal_before_db=before.goal_db,
        before=before,
        short_list=tuple(short_list(better)),
        suggestions=tuple(suggestions),
        evaluations=watch.evaluations,
        stopped_by=watch.stopped_by,
    )


@dataclass(frozen=True, eq=False)
class _Quest:
    """One search."""

    evaluator: Evaluator
    wish: Wish
    search: Search
    watch: Watch
    price: float  # of the network as it is
    situation: Situation

    def candidates(self, layout: Layout) -> Iterator[Candidate | Addition]:
        """Give candidates as they are found: as many parts as given, then fewer, then more."""
        random = np.random.default_rng(self.search.seed)
        best = self._of_orders(random) if self.search.orders else self._valleys(layout, random)
        for one in best[:FAMILIES]:
            yield from self._chosen(one)
        if self.search.more:
            self.watch.told(0.5, "what would pay")
            for addition in additions(best[0], random, self.watch):
                yield addition
                yield from self._chosen(addition.grown, f"with {addition.doing}")
        if self.search.fewer:
            yield from self._fewer(best[:FAMILIES])

    def _valleys(self, layout: Layout, random: np.random.Generator) -> list[Grown]:
        evaluator, space = space_for(layout, self.evaluator)
        found: list[Valley] = []
        watch = replace(self.watch, progress=part_of(self.watch.progress, 0.0, 0.4))
        try:
            valleys(evaluator, space, random, watch, found, turned=self.search.turned)
        finally:
            self.watch.evaluations, self.watch.best = watch.evaluations, watch.best
            self.watch.stopped_by = watch.stopped_by
        return [grown(layout, evaluator, space, valley) for valley in distinct(found)]

    def _of_orders(self, random: np.random.Generator) -> list[Grown]:
        """Look at ladders of all orders asked for, then follow the best few."""
        layouts = list(layouts_of_orders(self.situation, self.search.orders))
        looks: list[tuple[float, int, Layout, Valley]] = []
        for number, layout in enumerate(layouts):
            self.watch.told(0.4 * number / len(layouts), f"order {number + 1} of {len(layouts)}")
            evaluator, space = space_for(layout, self.evaluator)
            best = first_look(evaluator, space, random, self.watch)
            looks.append((best.goal_db, number, layout, best))
        looks.sort(key=lambda look: look[:2])
        found = []
        for _, _, layout, rough in looks[:ORDERS_FOLLOWED]:
            evaluator, space = space_for(layout, self.evaluator)
            judge = evaluator.with_polarity(rough.polarity)
            found.append(grown(layout, evaluator, space, descend(judge, space, rough.x, self.watch)))
        return sorted(found, key=lambda one: one.goal_db)

    def _fewer(self, best: Sequence[Grown]) -> Iterator[Candidate]:
        """Leave parts out, and choose the best network of every size."""
        of_size: dict[int, Grown] = {}
        for one in best:
            for shorter in pruned(one, self.watch):
                size = len(shorter.layout.parts)
                if size not in of_size or shorter.goal_db < of_size[size].goal_db:
                    of_size[size] = shorter
        for place, size in enumerate(sorted(of_size, reverse=True)):
            self.watch.told(0.6 + 0.4 * place / len(of_size), f"{size} parts")
            yield from self._chosen(of_size[size])

    def _chosen(self, one: Grown, note: str = "") -> Iterator[Candidate]:
        """Fill a layout with parts, once for the best goal and once with an eye to the price."""
        most = self.wish.goal.limits.most_parts
        if most is not None and len(one.layout.parts) > most:
            return
        price = self.price or sum(self.wish.shop.price(part.component) for part in one.layout.parts)
        shelf = replace(self._shelf(one), per_price_db=WASTE_DB / price)
        dear = choose(one.evaluator, one.space, one.valley, shelf, self.watch)
        yield self._candidate(one, shelf, dear, note)
        thrift = replace(shelf, per_price_db=THRIFT_DB / price)
        yield self._candidate(
            one, thrift, choose(one.evaluator, one.space, one.valley, thrift, self.watch), note
        )

    def _shelf(self, one: Grown) -> Shelf:
        """Give all offers for the free parts of a layout."""
        shop, parts = self.wish.shop, one.layout.parts
        free = set(one.space.free)
        fixed = sum(shop.price(part.component) for number, part in enumerate(parts) if number not in free)
        offers = tuple(
            shop.offers(parts[number].component, value_of(parts[number].component))
            for number in one.space.free
        )
        return Shelf(offers, self.wish.goal.limits.most_cost, fixed)

    def _candidate(self, one: Grown, shelf: Shelf, choice: Choice, note: str) -> Candidate:
        picked = {
            number: shelf.offers[place][choice.picks[place]] for place, number in enumerate(one.space.free)
        }
        layout = one.layout.with_offers(picked)
        return Candidate(layout, choice.goal_db, round(choice.price, 2), len(layout.parts), note)

    def quickly(self, layout: Layout) -> list[Candidate]:
        """Make one network of parts from where the design is, whatever the time."""
        if not layout.free and self.search.orders:
            layout = next(layouts_of_orders(self.situation, self.search.orders))
        hurry = replace(self, watch=replace(without_clock(self.watch), progress=unseen))
        evaluator, space = space_for(layout, self.evaluator)
        valley = descend(evaluator, space, space.start, hurry.watch)
        return list(hurry._chosen(grown(layout, evaluator, space, valley)))[:1]


def short_list(found: Sequence[Candidate]) -> list[Candidate]:
    """Give the trade-off front of evenness against price and count of parts, thinned to a few, best first."""
    front: list[Candidate] = []
    for one in sorted(found, key=lambda candidate: (candidate.goal_db, candidate.price, candidate.parts)):
        if front and one.goal_db > front[0].goal_db + WORSE_DB:
            break
        if all(one.price < CHEAPER * other.price or one.parts < other.parts for other in front):
            front.append(one)
    if len(front) <= SHORT_LIST:
        return front
    places = np.unique(np.linspace(0, len(front) - 1, SHORT_LIST).round().astype(int))
    return [front[place] for place in places]


def broken(candidate: Candidate, like: Evaluator, wish: Wish) -> str:
    """Say which limits a candidate breaks, and what it reaches; nothing where it keeps all."""
    return " and ".join(_broken(candidate, like, wish))


def _broken(candidate: Candidate, like: Evaluator, wish: Wish) -> Iterator[str]:
    limits = wish.goal.limits
    evaluator, values, losses = evaluator_for(candidate.layout, like)
    answer = evaluator.circuit.solve(values[np.newaxis], losses[np.newaxis])
    magnitude = 1 / np.abs(answer.admittance_s[0])
    on_axis = level(evaluator.ears.around.energy(products(answer.volts)))[:, 0, 0]
    reached = float(evaluator.ears.level_weight @ on_axis)
    if limits.lowest_level_db is not None and reached < limits.lowest_level_db - TOLD_DB:
        yield f"a level of {limits.lowest_level_db:.1f} dB (the best found plays {reached:.1f} dB)"
    floor = limits.lowest_impedance_ohm
    if floor is not None and magnitude.min() < TOLD_OHM * floor:
        at = frequency_words(float(evaluator.circuit.frequency_hz[magnitude.argmin()]))
        yield f"an impedance of {floor:g} ohm (the best found has {magnitude.min():.2f} ohm at {at})"
    if limits.most_parts is not None and candidate.parts > limits.most_parts:
        yield f"{limits.most_parts} parts (the best found takes {candidate.parts})"
    if limits.most_cost is not None and candidate.price > limits.most_cost + 0.005:
        yield f"a cost of {limits.most_cost:.2f} (the cheapest found costs {candidate.price:.2f})"


def _refuse(design: Design, found: Sequence[Candidate], like: Evaluator, wish: Wish) -> None:
    if not found:
        most = wish.goal.limits.most_parts
        raise DesignError(
            f"no network of at most {most} parts was found that drives every way",
            where=design.brief.where("goals", "voicing", "most parts"),
            cure="allow more parts, or leave parts out of the design first",
        )
    nearest = min(found, key=lambda one: (one.price if wish.goal.limits.most_cost else 0.0, one.goal_db))
    raise DesignError(
        f"no network of these parts keeps {broken(nearest, like, wish)}",
        where=design.brief.where("goals"),
        cure="relax what cannot be kept (with --level, --floor, --most-parts or --most-cost, or in the brief)",
    )


def _as_it_is(layout: Layout, evaluator: Evaluator, shop: Shop) -> Candidate:
    own, values, losses = evaluator_for(layout, evaluator)
    goal = float(own.goals(values[np.newaxis], losses[np.newaxis])[0])
    price = sum(shop.price(part.component) for part in layout.parts)
    return Candidate(layout, goal, round(price, 2), len(layout.parts))
