"""What a design file holds, key by key. Networks are trees and read by `network_tree`."""

from typing import Annotated, Any, TypeAlias

from pydantic import Field, WithJsonSchema

from forehear.design.brief_file import PlacementChange
from forehear.ground.reading.sections import ReadsNumber, ReadsText, Section
from forehear.parts import units as u

NETWORK_SCHEMA = {
    "type": "array",
    "description": "from the amplifier to the driver: items 'series:' or 'shunt:', each with one component, "
    "a list (in series) or {parallel: [...]}",
    "items": {"type": "object", "minProperties": 1, "maxProperties": 1},
}
NetworkFile: TypeAlias = Annotated[list[Any] | None, WithJsonSchema(NETWORK_SCHEMA)]


class CabinetFile(Section):
    """Outside sizes of the cabinet."""

    width: u.Size
    height: u.Size
    depth: u.Size
    edge_radius: u.SizeOrZero = 0.0
    wall: u.SizeOrZero = 0.0


class PlacedDriverFile(Section):
    """A driver on the front: [across, up] from the middle, across to the listener's right."""

    part: u.Text
    centre: tuple[u.Position, u.Position]
    set_back: u.SizeOrZero = 0.0
    set_back_uncertainty: u.SizeOrZero = 0.0


class VentedFile(Section):
    """A vented enclosure; the port opens on the front."""

    volume: u.Volume
    tuned_to: u.Frequency
    port_diameter: u.Size
    port_centre: tuple[u.Position, u.Position]
    ql: Annotated[float, ReadsNumber(least=0.5, most=1000.0)] = Field(7.0, alias="QL")


class EnclosureFile(Section):
    """The air behind a way: closed or vented. A way without one is sealed by itself."""

    closed: u.Volume | None = None
    vented: VentedFile | None = None


class WayFile(Section):
    """The drivers of one way and what drives them."""

    drivers: Annotated[list[u.Text], Field(min_length=1)]
    wired: Annotated[str, ReadsText(choices=("parallel", "series"))] = "parallel"
    enclosure: EnclosureFile | None = None
    polarity: Annotated[str, ReadsText(choices=("normal", "reversed"))] = "normal"
    network: NetworkFile = None


class CandidateFile(Section):
    """One design."""

    design: u.Text
    brief: u.Text
    cabinet: CabinetFile
    drivers: Annotated[dict[str, PlacedDriverFile], Field(min_length=1)]
    ways: Annotated[dict[str, WayFile], Field(min_length=1)]
    reference: u.Text | None = Field(None, description="driver whose centre is the reference point")
    placements: dict[str, PlacementChange] = Field(default_factory=dict)
    rated_impedance: u.Resistance | None = None
    notes: str | None = None
