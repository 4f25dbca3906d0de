"""Moving a way's lower or upper end by re-scaling its network in parts that can be bought."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from forehear.design import Change, Design, NetworkElement, NetworkPart, PartChain, Way
from forehear.network import nearest_preferred
from forehear.parts import CapacitorPart, CoilPart, ResistorPart


class End(StrEnum):
    """Which end of a way's band a part makes."""

    LOWER = "lower"  # series capacitors and shunt coils
    UPPER = "upper"  # series coils and shunt capacitors


@dataclass(frozen=True)
class Retuned:
    """A way with a re-scaled network, and the same as changes to the file."""

    way: Way
    changes: tuple[Change, ...]


def retuned(design: Design, way: Way, end: End, factor: float) -> Retuned:
    """Scale coils and capacitors that make one end of a way's band, to the nearest E24 values.

    Scaling both by one factor moves the filter's corner down by that factor and leaves its shape (for a load that
    stays the same). Traps, which hold a coil and a capacitor together, and resistors stay. Nothing changes when nothing
    makes that end, when a part has a file of its own, or when no value moves.

    Parameters
    ----------
    factor
        What values are multiplied by: above 1 moves the corner down. [-]
    """
    scaled = {
        part: new
        for part in _parts_at(way, end)
        if _written_in_line(design, part) and (new := _scaled(part, factor)) != part
    }
    network = tuple(replace(step, element=_with(step.element, scaled)) for step in way.network)
    return Retuned(replace(way, network=network), tuple(_change(part) for part in scaled.values()))


def _parts_at(way: Way, end: End) -> Iterator[NetworkPart]:
    for step in way.network:
        reactive = [
            part
            for part in _chained(step.element)
            if not isinstance(part.component, ResistorPart) and not part.component.bypassed
        ]
        if len(reactive) != 1:
            continue
        is_coil = isinstance(reactive[0].component, CoilPart)
        makes_upper = is_coil == (step.kind == "series")
        if makes_upper == (end is End.UPPER):
            yield reactive[0]


def _chained(element: NetworkElement) -> list[NetworkPart]:
    """Parts of an element that is one part or a plain chain; none where it holds anything side by side."""
    if isinstance(element, NetworkPart):
        return [element]
    if isinstance(element, PartChain):
        parts = [part for part in element.elements if isinstance(part, NetworkPart)]
        return parts if len(parts) == len(element.elements) else []
    return []


def _written_in_line(design: Design, part: NetworkPart) -> bool:
    value = design.document.plain()
    for key in part.keys:
        value = value[key]
    return "part" not in value


def _scaled(part: NetworkPart, factor: float) -> NetworkPart:
    component = part.component
    if isinstance(component, CoilPart):
        inductance_h = nearest_preferred(component.inductance_h * factor, "E24")
        return replace(part, component=replace(component, inductance_h=inductance_h))
    assert isinstance(component, CapacitorPart)
    capacitance_f = nearest_preferred(component.capacitance_f * factor, "E24")
    return replace(part, component=replace(component, capacitance_f=capacitance_f))


def _change(part: NetworkPart) -> Change:
    if isinstance(part.component, CoilPart):
        return Change((*part.keys, "coil"), f"{1e3 * part.component.inductance_h:.6g} mH")
    assert isinstance(part.component, CapacitorPart)
    return Change((*part.keys, "capacitor"), f"{1e6 * part.component.capacitance_f:.6g} uF")


def _with(element: NetworkElement, scaled: dict[NetworkPart, NetworkPart]) -> NetworkElement:
    if isinstance(element, NetworkPart):
        return scaled.get(element, element)
    return replace(element, elements=tuple(_with(inner, scaled) for inner in element.elements))
