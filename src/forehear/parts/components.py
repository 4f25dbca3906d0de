"""Coils, capacitors and resistors of a crossover network, from a part file or written in line."""

from dataclasses import dataclass, replace
from typing import TypeAlias

from pydantic import Field, StrictBool

from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.naming import named_file
from forehear.ground.reading.nodes import Key, Plain
from forehear.ground.reading.sections import Section, validate
from forehear.parts import units as u
from forehear.parts.driver_file import Origin


@dataclass(frozen=True)
class CoilPart:
    """A coil; its DCR as stated, or the wire it is wound of, or neither."""

    inductance_h: float
    dcr_ohm: float | None = None
    wire_m: float | None = None
    price: float | None = None
    bypassed: bool = False
    tolerance: float | None = None  # half width as a share of the value


@dataclass(frozen=True)
class CapacitorPart:
    """A capacitor with its series resistance; `rated_v` is the voltage it stands, as printed."""

    capacitance_f: float
    esr_ohm: float = 0.0
    price: float | None = None
    bypassed: bool = False
    tolerance: float | None = None
    electrolytic: bool = False
    rated_v: float | None = None


@dataclass(frozen=True)
class ResistorPart:
    """A resistor; the rating is the power it takes for long."""

    resistance_ohm: float
    rating_w: float | None = None
    price: float | None = None
    bypassed: bool = False
    tolerance: float | None = None


ComponentPart: TypeAlias = CoilPart | CapacitorPart | ResistorPart


class CoilFile(Section):
    """A coil as written."""

    coil: u.Inductance
    dcr: u.ResistanceOrZero | None = None
    wire: u.Size | None = None
    price: u.Price | None = None
    tolerance: u.Tolerance | None = None
    bypassed: StrictBool = False
    name: u.Text | None = None
    data: Origin | None = None


class CapacitorFile(Section):
    """A capacitor as written."""

    capacitor: u.Capacitance
    esr: u.ResistanceOrZero = 0.0
    electrolytic: StrictBool = False
    voltage: u.Voltage | None = None
    price: u.Price | None = None
    tolerance: u.Tolerance | None = None
    bypassed: StrictBool = False
    name: u.Text | None = None
    data: Origin | None = None


class ResistorFile(Section):
    """A resistor as written."""

    resistor: u.Resistance
    rating: u.Power | None = None
    price: u.Price | None = None
    tolerance: u.Tolerance | None = None
    bypassed: StrictBool = False
    name: u.Text | None = None
    data: Origin | None = None


class ComponentFromFile(Section):
    """A component that has a file of its own."""

    part: u.Text = Field(description="file of the component, relative to the design")
    bypassed: StrictBool = False


COMPONENT_KEYS = ("coil", "capacitor", "resistor", "part")


def read_component(value: Plain, document: Document, keys: tuple[Key, ...]) -> ComponentPart:
    """Read one component that stands at `keys` of a document.

    Raises
    ------
    DesignError, Complaints
        Whatever is wrong with it.
    """
    if isinstance(value, dict) and "part" in value:
        named = validate(ComponentFromFile, value, document, keys)
        path, label = named_file(document, named.part, (*keys, "part"))
        other = Document.read(path, label)
        content = other.plain()
        if "part" in content:
            raise DesignError(
                "a part file cannot name another", where=other.where(("part",)), cure="write the part here"
            )
        component = read_component(content, other, ())
        return replace(component, bypassed=True) if named.bypassed else component
    if isinstance(value, dict) and "coil" in value:
        coil = validate(CoilFile, value, document, keys)
        return CoilPart(coil.coil, coil.dcr, coil.wire, coil.price, coil.bypassed, coil.tolerance)
    if isinstance(value, dict) and "capacitor" in value:
        capacitor = validate(CapacitorFile, value, document, keys)
        return CapacitorPart(
            capacitor.capacitor,
            capacitor.esr,
            capacitor.price,
            capacitor.bypassed,
            capacitor.tolerance,
            capacitor.electrolytic,
            capacitor.voltage,
        )
    if isinstance(value, dict) and "resistor" in value:
        resistor = validate(ResistorFile, value, document, keys)
        return ResistorPart(
            resistor.resistor, resistor.rating, resistor.price, resistor.bypassed, resistor.tolerance
        )
    raise DesignError(
        "a coil, capacitor or resistor is wanted here",
        where=document.where(keys),
        cure="write {coil: 1.2 mH}, {capacitor: 15 uF} or {resistor: 3.9 ohm}",
    )
