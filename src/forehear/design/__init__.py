"""The design document: read, checked, changed with comments kept, and written back."""

from forehear.design.boards import boards_of
from forehear.design.brief import (
    Brief,
    Goals,
    Placement,
    Programme,
    Reflector,
    Room,
    Seat,
    Standing,
    Uncertainty,
    Voicing,
)
from forehear.design.checks import check_design
from forehear.design.design import (
    Cabinet,
    ClosedBox,
    Design,
    NetworkElement,
    NetworkPart,
    NetworkStep,
    PartBank,
    PartChain,
    PlacedDriver,
    VentedBox,
    Way,
)
from forehear.design.loading import load, load_brief
from forehear.design.schema import brief_schema, design_schema, driver_schema
from forehear.design.starter import write_starter
from forehear.ground.reading.documents import Change

__all__ = [
    "Brief",
    "Cabinet",
    "Change",
    "ClosedBox",
    "Design",
    "Goals",
    "NetworkElement",
    "NetworkPart",
    "NetworkStep",
    "PartBank",
    "PartChain",
    "PlacedDriver",
    "Placement",
    "Programme",
    "Reflector",
    "Room",
    "Seat",
    "Standing",
    "Uncertainty",
    "VentedBox",
    "Voicing",
    "Way",
    "boards_of",
    "brief_schema",
    "check_design",
    "design_schema",
    "driver_schema",
    "load",
    "load_brief",
    "write_starter",
]
