"""The network of a design as a page draws it: labels, values as written, and where each is written."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from forehear.design import ClosedBox, Design, NetworkElement, NetworkPart, PartChain, VentedBox, Way
from forehear.ground.reading.nodes import Plain
from forehear.ground.reading.quantities import write_quantity
from forehear.parts import CapacitorPart, CoilPart

LETTERS = {"coil": "L", "capacitor": "C", "resistor": "R"}
Effects = Mapping[tuple[Any, ...], list[dict[str, Any]]]  # keys of a part: what one step up does to each seat


def ways_shown(design: Design, effects: Effects | None) -> list[dict[str, Any]]:
    """Return every way with its steps; `effects` is None while they are not known."""
    counts: Counter[str] = Counter()
    plain = design.document.plain()
    return [
        {
            "name": way.name,
            "drivers": list(way.drivers),
            "wired": way.wired,
            "polarity": "reversed" if way.reversed else "normal",
            "enclosure": _enclosure_words(way),
            "steps": [
                {
                    "kind": step.kind,
                    "path": list(step.keys),
                    "element": _element(step.element, (*step.keys, step.kind), plain, counts, effects),
                }
                for step in way.network
            ],
        }
        for way in design.ways
    ]


def part_kind(part: NetworkPart) -> str:
    """Return "coil", "capacitor" or "resistor"."""
    if isinstance(part.component, CoilPart):
        return "coil"
    return "capacitor" if isinstance(part.component, CapacitorPart) else "resistor"


def _enclosure_words(way: Way) -> str:
    if isinstance(way.enclosure, ClosedBox):
        return f"closed, {write_quantity(way.enclosure.volume_m3, 'l')}"
    if isinstance(way.enclosure, VentedBox):
        volume = write_quantity(way.enclosure.volume_m3, "l")
        return f"vented, {volume}, tuned to {write_quantity(way.enclosure.tuned_hz, 'Hz')}"
    return "sealed by itself"


def _element(
    element: NetworkElement,
    keys: tuple[Any, ...],
    plain: Plain,
    counts: Counter[str],
    effects: Effects | None,
) -> dict[str, Any]:
    if isinstance(element, NetworkPart):
        return _part(element, plain, counts, effects)
    chain = isinstance(element, PartChain)
    path = keys if chain else (*keys, "parallel")
    inner = [
        _element(part, (*path, number), plain, counts, effects)
        for number, part in enumerate(element.elements)
    ]
    return {"chain" if chain else "bank": inner, "path": list(path)}


def _part(part: NetworkPart, plain: Plain, counts: Counter[str], effects: Effects | None) -> dict[str, Any]:
    kind = part_kind(part)
    counts[kind] += 1
    written = plain
    for key in part.keys:
        written = written[key]
    in_line = kind in written
    extras = {key: value for key, value in written.items() if key not in (kind, "bypassed")}
    return {
        "part": kind,
        "label": f"{LETTERS[kind]}{counts[kind]}",
        "value": str(written[kind]) if in_line else _value_words(part),
        "value_path": [*part.keys, kind],
        "in_file": None if in_line else str(written.get("part")),
        "path": list(part.keys),
        "extras": {key: value for key, value in extras.items() if isinstance(value, str | int | float)},
        "bypassed": part.component.bypassed,
        "step_effect": None if effects is None else effects.get(part.keys, []),
    }


def _value_words(part: NetworkPart) -> str:
    component = part.component
    if isinstance(component, CoilPart):
        return write_quantity(component.inductance_h, "mH")
    if isinstance(component, CapacitorPart):
        return write_quantity(component.capacitance_f, "uF")
    return write_quantity(component.resistance_ohm, "ohm")
