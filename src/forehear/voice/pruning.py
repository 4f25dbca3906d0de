"""Leaving parts out, one after the other, that which is missed least first; and adding what pays."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from forehear.design import NetworkPart, NetworkStep, PartBank, PartChain
from forehear.parts import CapacitorPart, CoilPart, ResistorPart
from forehear.voice.circuit import Sort
from forehear.voice.descent import Space, Valley, Watch, descend, space_of
from forehear.voice.evaluator import Evaluator
from forehear.voice.layout import Layout, evaluator_for
from forehear.voice.shop import RANGES, USUAL_WIRE_M, sort_of, value_of

GIVEN_UP_DB = 1.5  # over the best, after which no more parts are left out
FEWEST = 1
PAYS_DB = 0.10  # that one more part, or one more group of parts, must gain
TRIES = 6  # values from which an added group is started
FIRST_LOOK = 3  # parts that are tried for good after a first look


@dataclass(frozen=True, eq=False)
class Grown:
    """A layout at the bottom of its valley."""

    layout: Layout  # holds the values
    valley: Valley
    space: Space
    evaluator: Evaluator

    @property
    def goal_db(self) -> float:
        """How far it is from the goal."""
        return self.valley.goal_db


@dataclass(frozen=True, eq=False)
class Addition:
    """One more part, or group of parts, and what it gains."""

    doing: str
    gained_db: float
    grown: Grown


def settled(layout: Layout, like: Evaluator, watch: Watch) -> Grown:
    """Bring a layout to the bottom of the valley it lies in."""
    evaluator, space = space_for(layout, like)
    valley = descend(evaluator, space, space.start, watch)
    return grown(layout, evaluator, space, valley)


def space_for(layout: Layout, like: Evaluator) -> tuple[Evaluator, Space]:
    """Make what judges a layout, and what may change in it."""
    evaluator, values, losses = evaluator_for(layout, like)
    parts = layout.parts
    ranges = [_range(parts[number]) for number in layout.free]
    return evaluator, space_of(evaluator, values, losses, layout.free, ranges)


def grown(layout: Layout, evaluator: Evaluator, space: Space, valley: Valley) -> Grown:
    """Put the values of a valley into its layout."""
    values, _ = space.filled(valley.x)
    turned = layout.with_values(values.tolist()).turned(valley.polarity)
    return Grown(turned, valley, space, evaluator.with_polarity(valley.polarity))


def pruned(first: Grown, watch: Watch) -> Iterator[Grown]:
    """Give networks with ever fewer parts, until the goal has suffered."""
    now = first
    while len(now.layout.parts) > FEWEST:
        shorter = _shorter(now, watch)
        if shorter is None or shorter.goal_db > first.goal_db + GIVEN_UP_DB:
            return
        yield shorter
        now = shorter


def _shorter(now: Grown, watch: Watch) -> Grown | None:
    """Leave out the part that is missed least: a first look at all, then the best few for good."""
    looks = []
    for number in now.layout.free:
        layout = now.layout.without(number)
        if not layout.free or not _drives(layout, now.layout):
            continue
        evaluator, space = space_for(layout, now.evaluator)
        goal = float(watch.counted(evaluator.goals(*space.filled(space.start[np.newaxis])))[0])
        looks.append((goal, number, layout))
    looks.sort(key=lambda look: look[:2])
    found = [settled(layout, now.evaluator, watch) for _, _, layout in looks[:FIRST_LOOK]]
    watch.told(0.5, "fewer parts")
    return min(found, key=lambda one: one.goal_db, default=None)


def _drives(layout: Layout, before: Layout) -> bool:
    """Tell whether every way but the lowest still has something in series that keeps the bass away."""
    pairs = zip(layout.ways[1:], before.ways[1:], strict=True)
    return all(_guarded(new.network) or not _guarded(old.network) for new, old in pairs)


def _guarded(network: tuple[NetworkStep, ...]) -> bool:
    return any(
        step.kind == "series"
        and isinstance(step.element, NetworkPart)
        and isinstance(step.element.component, CapacitorPart)
        for step in network
    )


def additions(base: Grown, random: np.random.Generator, watch: Watch) -> list[Addition]:
    """Try pads, flattening, notches and traps; give those that pay, best first."""
    found = []
    for number, (doing, way, place, step) in enumerate(_groups(base.layout)):
        watch.told(number / 12, doing)
        layout = base.layout.with_step(way, place, step)
        evaluator, space = space_for(layout, base.evaluator)
        new = [index for index, part in enumerate(layout.parts) if not part.keys]
        columns = [space.free.index(index) for index in new]
        starts = np.tile(space.start, (TRIES * 8, 1))
        starts[:, columns] += random.uniform(-1.5, 1.5, (len(starts), len(columns)))
        starts = np.clip(starts, space.low, space.high)
        goals = watch.counted(evaluator.goals(*space.filled(starts)))
        best = starts[np.argsort(goals, kind="stable")[: TRIES // 2]]
        valley = min((descend(evaluator, space, x, watch) for x in best), key=lambda one: one.goal_db)
        gained = base.goal_db - valley.goal_db
        if gained >= PAYS_DB:
            found.append(Addition(doing, gained, grown(layout, evaluator, space, valley)))
    return sorted(found, key=lambda one: -one.gained_db)


def _groups(layout: Layout) -> Iterator[tuple[str, int, int, NetworkStep]]:
    """Give what may be added: what it is, in which way, at which place, as which step."""
    for way, own in enumerate(layout.ways):
        end = len(own.network)
        coil, capacitor = CoilPart(0.3e-3, wire_m=USUAL_WIRE_M), CapacitorPart(4.7e-6)
        if way > 0 and not _holds_resistor(own.network):
            yield f"a pad in the way {own.name!r}", way, end, _step("series", _new(ResistorPart(2.2)))
        flat = PartChain((_new(ResistorPart(6.8)), _new(CapacitorPart(10e-6))))
        yield f"flattening of the impedance of {own.name!r}", way, end, _step("shunt", flat)
        notch = PartChain((_new(ResistorPart(3.3)), _new(coil), _new(capacitor)))
        yield f"a notch across {own.name!r}", way, end, _step("shunt", notch)
        trap = PartBank((_new(ResistorPart(10.0)), _new(coil), _new(capacitor)))
        yield f"a trap before {own.name!r}", way, end, _step("series", trap)


def _holds_resistor(network: tuple[NetworkStep, ...]) -> bool:
    return any(
        step.kind == "series"
        and isinstance(step.element, NetworkPart)
        and isinstance(step.element.component, ResistorPart)
        for step in network
    )


def _new(component: CoilPart | CapacitorPart | ResistorPart) -> NetworkPart:
    return NetworkPart(component, ())


def _step(kind: str, element: NetworkPart | PartChain | PartBank) -> NetworkStep:
    return NetworkStep(kind, element, ())


def _range(part: NetworkPart) -> tuple[float, float]:
    """Range of what can be had, widened to where the part is already."""
    sort: Sort = sort_of(part.component)
    low, high = RANGES[sort]
    value = value_of(part.component)
    return min(low, value), max(high, value)
