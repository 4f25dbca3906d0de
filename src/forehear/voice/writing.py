"""A layout as the text of a design file: comments kept where the steps stay, the network written anew where not."""

from collections.abc import Iterator
from pathlib import Path

from forehear.design import Change, Design, NetworkElement, NetworkPart, PartBank
from forehear.ground.reading.documents import Document
from forehear.ground.reading.quantities import write_quantity
from forehear.parts import CapacitorPart, CoilPart, ComponentPart
from forehear.voice.layout import Layout


def with_layout(design: Design, layout: Layout, title: str, notes: str) -> Design:
    """Return the design with another network, read and checked like a file; nothing is written."""
    document = design.document.with_changes(list(_changes(design, layout, title, notes)))
    for number, way in enumerate(layout.ways):
        if not _same_steps(design, layout, number):
            document = _network_anew(document, way.name, _network_lines(layout, number))
    return design.with_documents(document, design.brief.document)


def free_path(design: Design, taken: tuple[Path, ...] = ()) -> Path:
    """Name a file beside the design that does not exist yet."""
    number = 1
    while True:
        path = design.path.with_name(f"{design.path.stem}-voiced-{number}{design.path.suffix}")
        if not path.exists() and path not in taken:
            return path
        number += 1


def component_text(component: ComponentPart) -> str:
    """Write a part as a network has it.

    Examples
    --------
    >>> component_text(CoilPart(1.2e-3, wire_m=1e-3, price=7.2))
    '{coil: 1.2 mH, wire: 1 mm, price: 7.20}'
    """
    return "{" + ", ".join(_keys(component)) + "}"


def _keys(component: ComponentPart) -> Iterator[str]:
    if isinstance(component, CoilPart):
        yield f"coil: {write_quantity(component.inductance_h, 'mH')}"
        yield from _written(("wire", component.wire_m, "mm"), ("dcr", component.dcr_ohm, "ohm"))
    elif isinstance(component, CapacitorPart):
        yield f"capacitor: {write_quantity(component.capacitance_f, 'uF')}"
        yield from _written(("esr", component.esr_ohm or None, "ohm"))
        yield from ["electrolytic: true"] * component.electrolytic
        yield from _written(("voltage", component.rated_v, "V"))
    else:
        yield f"resistor: {write_quantity(component.resistance_ohm, 'ohm')}"
        yield from _written(("rating", component.rating_w, "W"))
    yield from _written(("tolerance", component.tolerance, "%"))
    if component.price is not None:
        yield f"price: {component.price:.2f}"
    yield from ["bypassed: true"] * component.bypassed


def _written(*told: tuple[str, float | None, str]) -> Iterator[str]:
    for key, value, unit in told:
        if value is not None:
            yield f"{key}: {write_quantity(value, unit)}"


def _changes(design: Design, layout: Layout, title: str, notes: str) -> Iterator[Change]:
    yield Change(("design",), title)
    quoted = notes.replace("\\", "\\\\").replace('"', '\\"')
    yield Change(("notes",), f'"{quoted}"')
    for number, (way, old) in enumerate(zip(layout.ways, design.ways, strict=True)):
        if way.reversed != old.reversed:
            yield Change(("ways", way.name, "polarity"), "reversed" if way.reversed else "normal")
        if _same_steps(design, layout, number):
            known = {part.keys: part.component for step in old.network for part in _all(step.element)}
            for step in way.network:
                for part in _all(step.element):
                    if part.component != known[part.keys]:
                        yield Change(part.keys, component_text(part.component))


def _same_steps(design: Design, layout: Layout, way: int) -> bool:
    """Tell whether a way has the very parts that it has in the design, values aside."""
    old, new = design.ways[way].network, layout.ways[way].network
    return [_shape(step.element) for step in old] == [_shape(step.element) for step in new] and all(
        one.kind == other.kind for one, other in zip(old, new, strict=True)
    )


def _shape(element: NetworkElement) -> object:
    if isinstance(element, NetworkPart):
        return element.keys
    return (isinstance(element, PartBank), *(_shape(inner) for inner in element.elements))


def _all(element: NetworkElement) -> Iterator[NetworkPart]:
    if isinstance(element, NetworkPart):
        yield element
    else:
        for inner in element.elements:
            yield from _all(inner)


def _network_lines(layout: Layout, way: int) -> list[str]:
    network = layout.ways[way].network
    return [f"- {step.kind}: {_element_text(step.element, layout)}" for step in network]


def _element_text(element: NetworkElement, layout: Layout) -> str:
    if isinstance(element, NetworkPart):
        name = layout.fixed.get(element.keys)
        return component_text(element.component) if name is None else f"{{part: {name}}}"
    inner = "[" + ", ".join(_element_text(one, layout) for one in element.elements) + "]"
    return f"{{parallel: {inner}}}" if isinstance(element, PartBank) else inner


def _network_anew(document: Document, way: str, lines: list[str]) -> Document:
    """Put other steps in the place of a way's network; comments among the old steps go with them."""
    own = document.root.entries["ways"].entries[way]
    node = own.entries.get("network")
    if node is None or node.flow or own.flow or not node.entries or not lines:
        steps = ", ".join("{" + line.removeprefix("- ") + "}" for line in lines)
        return document.with_changes([Change(("ways", way, "network"), f"[{steps}]")])
    source = document.source
    start = source.index("-", node.start.index)
    indent = " " * (start - source.rfind("\n", 0, start) - 1)
    text = f"\n{indent}".join(lines)
    edited = source[:start] + text + source[node.last_character() :]
    return Document.from_text(edited, document.path, document.label)
