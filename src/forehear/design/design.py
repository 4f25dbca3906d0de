"""A design in SI: what the files say, resolved. Read-only; changes give a new one."""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from forehear.design.brief import Brief, Placement
from forehear.ground.reading.documents import Change, Document
from forehear.ground.reading.nodes import Key
from forehear.parts import ComponentPart, DriverPart


@dataclass(frozen=True)
class Cabinet:
    """Outside sizes and the wall."""

    width_m: float
    height_m: float
    depth_m: float
    edge_radius_m: float
    wall_m: float


@dataclass(frozen=True, eq=False)
class PlacedDriver:
    """A driver on the front; `centre_m` is (across, up) from the middle, across to the listener's right."""

    name: str
    part: DriverPart
    centre_m: tuple[float, float]
    set_back_m: float
    set_back_uncertainty_m: float


@dataclass(frozen=True)
class ClosedBox:
    """Closed air behind a way."""

    volume_m3: float


@dataclass(frozen=True)
class VentedBox:
    """Air behind a way with a port on the front; `port_centre_m` is (across, up) from the middle."""

    volume_m3: float
    tuned_hz: float
    port_radius_m: float
    port_centre_m: tuple[float, float]
    ql: float


@dataclass(frozen=True)
class NetworkPart:
    """One component of a network and the keys that lead to it."""

    component: ComponentPart
    keys: tuple[Key, ...]


@dataclass(frozen=True)
class PartChain:
    """Elements one after the other."""

    elements: tuple["NetworkElement", ...]


@dataclass(frozen=True)
class PartBank:
    """Elements side by side."""

    elements: tuple["NetworkElement", ...]


NetworkElement: TypeAlias = NetworkPart | PartChain | PartBank


def network_parts(element: NetworkElement) -> Iterator[NetworkPart]:
    """Give every component of a network element."""
    if isinstance(element, NetworkPart):
        yield element
    else:
        for inner in element.elements:
            yield from network_parts(inner)


@dataclass(frozen=True)
class NetworkStep:
    """One step from the amplifier toward the driver: "series" with it or "shunt" across it."""

    kind: str
    element: NetworkElement
    keys: tuple[Key, ...]


@dataclass(frozen=True)
class Way:
    """Drivers that share a branch of the network and the air behind them."""

    name: str
    drivers: tuple[str, ...]
    wired: str  # "parallel" or "series"
    enclosure: ClosedBox | VentedBox | None
    reversed: bool
    network: tuple[NetworkStep, ...]


Rebuild: TypeAlias = Callable[["Design", Document, Document, Sequence[DriverPart]], "Design"]


@dataclass(frozen=True, eq=False)
class Design:
    """One speaker and its brief, read and checked.

    Attributes
    ----------
    drivers, ways
        In the order of the file.
    placements
        Those in force: the brief's, as the design changes them.
    reference
        The driver whose centre is the reference point (the smallest diaphragm unless the file names one).
    estimated
        What files leave out and what is taken instead, in words.
    """

    title: str
    path: Path
    document: Document
    brief: Brief
    cabinet: Cabinet
    drivers: tuple[PlacedDriver, ...]
    ways: tuple[Way, ...]
    placements: tuple[Placement, ...]
    reference: str
    rated_impedance_ohm: float | None
    estimated: tuple[str, ...]
    rebuild: Rebuild = field(repr=False)

    @property
    def driver(self) -> Mapping[str, PlacedDriver]:
        """The drivers by name."""
        return {driver.name: driver for driver in self.drivers}

    @property
    def reference_centre_m(self) -> tuple[float, float]:
        """(across, up) of the reference point from the middle of the front."""
        return self.driver[self.reference].centre_m

    @property
    def own_placements(self) -> tuple[Placement, ...]:
        """The placements where this design itself stands."""
        return tuple(placement for placement in self.placements if placement.design_path is None)

    @property
    def network_parts(self) -> tuple[NetworkPart, ...]:
        """Every component of every network, in the order of the file."""
        return tuple(part for way in self.ways for step in way.network for part in _parts_of(step.element))

    @property
    def documents(self) -> tuple[Document, ...]:
        """The design, its brief and the driver files."""
        parts = {driver.part.document.label: driver.part.document for driver in self.drivers}
        return (self.document, self.brief.document, *parts.values())

    @property
    def design_hash(self) -> str:
        """Hash of what the files say, comments and layout left out."""
        digest = hashlib.blake2b(digest_size=16)
        for document in self.documents:
            digest.update(json.dumps(document.plain(), sort_keys=True, default=str).encode())
        for driver in self.drivers:
            for curve in (driver.part.response and driver.part.response.curve, driver.part.impedance):
                if curve:
                    digest.update(curve.frequency_hz.tobytes() + curve.value.tobytes())
                    digest.update(b"" if curve.phase_deg is None else curve.phase_deg.tobytes())
        digest.update(
            repr([way.network for way in self.ways]).encode()
        )  # components that have files of their own
        return digest.hexdigest()

    def where(self, *keys: Key) -> str:
        """Return "file:line:column  key > key" of a value of the design file."""
        return self.document.where(keys)

    def with_changes(self, changes: Sequence[Change]) -> "Design":
        """Return a changed copy, checked like a file; nothing is written.

        Raises
        ------
        DesignError, Complaints
            When the changed design would not be accepted.
        """
        return self.with_documents(self.document.with_changes(changes), self.brief.document)

    def with_brief_changes(self, changes: Sequence[Change]) -> "Design":
        """Return a copy with a changed brief (a seat moved, say); nothing is written."""
        return self.with_documents(self.document, self.brief.document.with_changes(changes))

    def with_documents(
        self, document: Document, brief_document: Document, parts: Sequence[DriverPart] = ()
    ) -> "Design":
        """Return the design that these documents describe; `parts` take the place of driver files on disk."""
        return self.rebuild(self, document, brief_document, parts)

    def save(self, path: Path | None = None) -> None:
        """Write the design file atomically, comments kept; to its own path when no other is named."""
        self.document.save(path)


def _parts_of(element: NetworkElement) -> tuple[NetworkPart, ...]:
    if isinstance(element, NetworkPart):
        return (element,)
    return tuple(part for inner in element.elements for part in _parts_of(inner))
