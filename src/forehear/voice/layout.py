"""Networks as the design has them, changed: parts exchanged, left out or added; and the circuit each makes."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from forehear.design import Design, NetworkElement, NetworkPart, NetworkStep, PartBank, PartChain, Way
from forehear.ground.arrays import FloatArray
from forehear.ground.reading.quantities import write_quantity
from forehear.parts import CapacitorPart, CoilPart, ComponentPart, ResistorPart
from forehear.spine.translate import branch_of
from forehear.voice.circuit import circuit_of
from forehear.voice.evaluator import Evaluator
from forehear.voice.shop import USUAL_WIRE_M, Offer

Exchange = Callable[[int, NetworkPart], NetworkElement | None]


@dataclass(frozen=True)
class Layout:
    """The ways of a design with some network or other.

    `fixed` holds the keys of parts that have files of their own, and the names of these: such parts stay as they are.
    """

    ways: tuple[Way, ...]
    fixed: Mapping[tuple[str | int, ...], str] = field(default_factory=dict)

    @property
    def parts(self) -> tuple[NetworkPart, ...]:
        """Every part that is heard, in the order of the circuit."""
        return tuple(
            part
            for way in self.ways
            for step in way.network
            for part in _parts(step.element)
            if not part.component.bypassed
        )

    @property
    def free(self) -> tuple[int, ...]:
        """Numbers of the parts that may change."""
        return tuple(
            number for number, part in enumerate(self.parts) if not part.keys or part.keys not in self.fixed
        )

    @property
    def names(self) -> list[str]:
        """What each heard part is, and where, in words; each its own."""
        found = [
            f"{what_it_is(part.component)} in {step.kind}, {way.name}"
            for way in self.ways
            for step in way.network
            for part in _parts(step.element)
            if not part.component.bypassed
        ]
        return [
            f"{name} ({found[:place].count(name) + 1})" if found.count(name) > 1 else name
            for place, name in enumerate(found)
        ]

    def exchanged(self, exchange: Exchange) -> "Layout":
        """Return a copy with every heard part exchanged; nothing in its place leaves it out."""
        count = iter(range(10_000))
        ways = tuple(replace(way, network=tuple(_steps(way.network, exchange, count))) for way in self.ways)
        return replace(self, ways=ways)

    def with_offers(self, offers: Mapping[int, Offer]) -> "Layout":
        """Return a copy with parts that can be had in some places."""

        def exchange(number: int, part: NetworkPart) -> NetworkElement:
            offer = offers.get(number)
            if offer is None:
                return part
            made = tuple(NetworkPart(component, part.keys) for component in offer.parts)
            if len(made) == 1:
                return made[0]
            return PartBank(made) if offer.side_by_side else PartChain(made)

        return self.exchanged(exchange)

    def with_values(self, values: Sequence[float]) -> "Layout":
        """Return a copy with other values, losses of coils going with their wire."""

        def exchange(number: int, part: NetworkPart) -> NetworkElement:
            return replace(part, component=with_value(part.component, float(values[number])))

        return self.exchanged(exchange)

    def without(self, dropped: int) -> "Layout":
        """Return a copy that lacks one part: in series a wire is in its place, across the branch nothing."""
        return self.exchanged(lambda number, part: None if number == dropped else part)

    def turned(self, polarity: FloatArray) -> "Layout":
        """Return a copy with these polarities, 1 or -1 a way."""
        pairs = zip(self.ways, polarity, strict=True)
        return replace(self, ways=tuple(replace(way, reversed=bool(sign < 0)) for way, sign in pairs))

    def with_step(self, way: int, place: int, step: NetworkStep) -> "Layout":
        """Return a copy with one step more in one way, before the step that now has this place."""
        own = self.ways[way]
        network = (*own.network[:place], step, *own.network[place:])
        return replace(self, ways=(*self.ways[:way], replace(own, network=network), *self.ways[way + 1 :]))

    def with_wires(self) -> "Layout":
        """Return a copy in which every coil is wound of something."""

        def exchange(number: int, part: NetworkPart) -> NetworkElement:
            coil = part.component
            bare = isinstance(coil, CoilPart) and coil.dcr_ohm is None and coil.wire_m is None
            if not isinstance(coil, CoilPart) or not bare or number not in free:
                return part
            return replace(part, component=replace(coil, wire_m=USUAL_WIRE_M))

        free = set(self.free)
        return self.exchanged(exchange)


def layout_of(design: Design) -> Layout:
    """Take the networks of a design."""
    plain = design.document.plain()
    fixed = {}
    for part in design.network_parts:
        value = plain
        for key in part.keys:
            value = value[key]
        if "part" in value:
            fixed[part.keys] = str(value["part"])
    return Layout(design.ways, fixed)


def evaluator_for(layout: Layout, like: Evaluator) -> tuple[Evaluator, FloatArray, FloatArray]:
    """Make what judges a layout out of what judges another one: the same ears, another circuit.

    Returns
    -------
    evaluator, values, losses
        With the values and losses that the layout has, [part].
    """
    branches = [branch_of(way) for way in layout.ways]
    circuit, values, losses = circuit_of(branches, like.circuit.load_ohm, like.circuit.frequency_hz)
    return replace(like, circuit=circuit), values, losses


def goal_of(layout: Layout, like: Evaluator) -> float:
    """Return how far a layout is from its goal [dB]."""
    evaluator, values, losses = evaluator_for(layout, like)
    return float(evaluator.goals(values[np.newaxis], losses[np.newaxis])[0])


def with_value(component: ComponentPart, value: float) -> ComponentPart:
    """Return a part of another value, its loss going along, its price not."""
    if isinstance(component, CoilPart):
        dcr_ohm = component.dcr_ohm
        if dcr_ohm is not None:
            dcr_ohm *= (value / component.inductance_h) ** 0.6
        return replace(component, inductance_h=value, dcr_ohm=dcr_ohm, price=None)
    if isinstance(component, CapacitorPart):
        esr_ohm = component.esr_ohm * component.capacitance_f / value
        return replace(component, capacitance_f=value, esr_ohm=esr_ohm, price=None)
    assert isinstance(component, ResistorPart)
    return replace(component, resistance_ohm=value, price=None)


def what_it_is(component: ComponentPart) -> str:
    """Say what a part is.

    Examples
    --------
    >>> what_it_is(CoilPart(1.2e-3, wire_m=1e-3))
    'coil 1.2 mH'
    """
    if isinstance(component, CoilPart):
        return f"coil {write_quantity(component.inductance_h, 'mH', digits=3)}"
    if isinstance(component, CapacitorPart):
        return f"capacitor {write_quantity(component.capacitance_f, 'uF', digits=3)}"
    return f"resistor {write_quantity(component.resistance_ohm, 'ohm', digits=3)}"


def _parts(element: NetworkElement) -> Iterator[NetworkPart]:
    if isinstance(element, NetworkPart):
        yield element
    else:
        for inner in element.elements:
            yield from _parts(inner)


def _steps(network: Sequence[NetworkStep], exchange: Exchange, count: Iterator[int]) -> Iterator[NetworkStep]:
    for step in network:
        element = _exchanged(step.element, exchange, count)
        if element is not None:
            yield replace(step, element=element)


def _exchanged(element: NetworkElement, exchange: Exchange, count: Iterator[int]) -> NetworkElement | None:
    if isinstance(element, NetworkPart):
        return element if element.component.bypassed else exchange(next(count), element)
    inner = [_exchanged(one, exchange, count) for one in element.elements]
    kept = tuple(one for one in inner if one is not None)
    if not kept:
        return None
    return kept[0] if len(kept) == 1 else replace(element, elements=kept)
