"""What one step of a part's value does to every seat: only the network is solved again."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from forehear.design import NetworkElement, NetworkPart, Way
from forehear.ground.errors import OutsideValidity
from forehear.ground.reading.nodes import Key
from forehear.ground.work import Progress, unseen
from forehear.network import next_preferred, solve_network
from forehear.parts import CapacitorPart, CoilPart, ComponentPart
from forehear.spine.hearing import in_room_spread_db
from forehear.spine.live import Live
from forehear.spine.translate import branch_of


@dataclass(frozen=True)
class StepEffect:
    """How much the spread of each seat grows by one step up of one part, seats as in the situation."""

    keys: tuple[Key, ...]  # of the part
    spread_db: tuple[float, ...]  # empty where the step cannot be made


def step_effects(live: Live, progress: Progress = unseen) -> tuple[StepEffect, ...]:
    """Step every part of the network up by one value of E24 and hear the seats again."""
    situation = live.situation
    parts = situation.design.network_parts
    found = []
    for number, part in enumerate(parts):
        progress(number / len(parts), "steps of the parts")
        found.append(StepEffect(part.keys, _effect(live, part)))
    return tuple(found)


def _effect(live: Live, part: NetworkPart) -> tuple[float, ...]:
    situation = live.situation
    if part.component.bypassed:
        return (0.0,) * len(situation.seats)
    stepped = replace(part, component=stepped_up(part.component))
    branches = [branch_of(_with(way, part, stepped)) for way in situation.design.ways]
    try:
        voltage = solve_network(branches, situation.speaker.impedance).voltage
    except OutsideValidity:
        return ()
    slope = situation.design.brief.goals.in_room_slope_db_per_octave
    return tuple(
        in_room_spread_db(sound, voltage, situation.hearing, slope) - seat.spread_db
        for sound, seat in zip(situation.sounds, situation.seats, strict=True)
    )


def stepped_up(part: ComponentPart) -> ComponentPart:
    """Return a part with the next larger value of E24; the DCR of a coil with a stated one stays."""
    if isinstance(part, CoilPart):
        return replace(part, inductance_h=next_preferred(part.inductance_h, "E24"))
    if isinstance(part, CapacitorPart):
        return replace(part, capacitance_f=next_preferred(part.capacitance_f, "E24"))
    return replace(part, resistance_ohm=next_preferred(part.resistance_ohm, "E24"))


def _with(way: Way, part: NetworkPart, stepped: NetworkPart) -> Way:
    network = tuple(replace(step, element=_exchanged(step.element, part, stepped)) for step in way.network)
    return replace(way, network=network)


def _exchanged(element: NetworkElement, part: NetworkPart, stepped: NetworkPart) -> NetworkElement:
    if isinstance(element, NetworkPart):
        return stepped if element.keys == part.keys else element
    inner: Sequence[NetworkElement] = [_exchanged(one, part, stepped) for one in element.elements]
    return replace(element, elements=tuple(inner))
