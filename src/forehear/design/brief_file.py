"""What a brief holds, key by key."""

import math
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from forehear.ground.reading import quantities as q
from forehear.ground.reading.sections import Reads, ReadsNumber, Section, Unfit, in_words
from forehear.parts import units as u

OCTAVES = 8  # 63 Hz to 8 kHz


@dataclass(frozen=True)
class ReadsAbsorption:
    """Marks absorption: one number for all octaves, 8 from 63 Hz, or 7 from 125 Hz (63 Hz then as 125 Hz)."""

    def read(self, value: object) -> tuple[float, ...]:
        """Read one number or a list into eight octaves."""
        if isinstance(value, dict):
            if set(value) != {"absorption"}:
                raise Unfit("'absorption' alone belongs here", "write {absorption: [0.1, ...]} or one number")
            value = value["absorption"]
        if isinstance(value, list):
            if len(value) not in (OCTAVES - 1, OCTAVES):
                raise Unfit(
                    f"{len(value)} octaves of absorption found",
                    "write 8 numbers from 63 Hz to 8 kHz, or 7 from 125 Hz; decimals take a point",
                )
            octaves = tuple(
                self._one(item, f"value {number} of absorption") for number, item in enumerate(value, 1)
            )
            return octaves if len(octaves) == OCTAVES else (octaves[0], *octaves)
        return (self._one(value, "absorption"),) * OCTAVES

    @staticmethod
    def _one(value: object, name: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise Unfit(
                f"{name} is {in_words(value)}, a number is wanted", "write a number from 0 to 1, such as 0.15"
            )
        if not 0 <= value <= 1:
            raise Unfit(
                f"{name} is {value:g}, outside 0 to 1",
                "write the part of the energy that is absorbed, 0 to 1",
            )
        return float(value)

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        number = {"type": "number", "minimum": 0, "maximum": 1}
        octaves = {"type": "array", "items": number, "minItems": OCTAVES - 1, "maxItems": OCTAVES}
        group = {
            "type": "object",
            "properties": {"absorption": {"anyOf": [number, octaves]}},
            "required": ["absorption"],
        }
        return {"anyOf": [number, group]}


Absorption: TypeAlias = Annotated[tuple[float, ...], ReadsAbsorption()]


class RoomFile(Section):
    """A shoebox: length along x, width along y, height."""

    length: u.RoomSize
    width: u.RoomSize
    height: u.RoomSize
    temperature: u.Temperature = 20.0


class SurfacesFile(Section):
    """Absorption of the six surfaces. The front wall is at x = 0, the left wall at y = 0."""

    front_wall: Absorption
    rear_wall: Absorption
    left_wall: Absorption
    right_wall: Absorption
    floor: Absorption
    ceiling: Absorption


class SeatFile(Section):
    """Where a head is: x and y in the room, and the height of the ears."""

    position: tuple[u.Position, u.Position]
    ear_height: u.Size = 1.1


class PlacementFile(Section):
    """Where a speaker stands: the middle of its front panel, and where it aims."""

    position: tuple[u.Position, u.Position, u.Position]
    turn: u.Angle = Field(0.0, description="counter-clockwise seen from above; 0 deg faces along x")
    tilt: u.Angle = Field(0.0, description="up")
    design: u.Text | None = Field(
        None, description="another design that stands here; left out: the one looked at"
    )


class PlacementChange(Section):
    """What a candidate changes about a placement; all of it, for a placement of its own."""

    position: tuple[u.Position, u.Position, u.Position] | None = None
    turn: u.Angle | None = None
    tilt: u.Angle | None = None
    design: u.Text | None = None


class LargestSize(Section):
    """The largest cabinet that fits."""

    width: u.Size | None = None
    height: u.Size | None = None
    depth: u.Size | None = None


class GoalsFile(Section):
    """What the speaker must do."""

    main_seats: Annotated[list[u.Text], Field(min_length=1)] | None = None
    lowest_impedance: u.Resistance | None = None
    budget: u.Price | None = None
    largest_size: LargestSize | None = None
    speech_level: u.LevelDb | None = None
    in_room_slope: Annotated[float, Reads(q.SLOPE, least=-6.0, most=6.0)] | None = Field(
        None, alias="in-room slope"
    )


class PrinterFile(Section):
    """The printer: how large a part it makes."""

    width: u.Size
    depth: u.Size
    height: u.Size
    price_per_kg: Annotated[float, ReadsNumber(least=0.0, most=1e4)] | None = None


class BriefFile(Section):
    """One brief."""

    title: u.Text
    room: RoomFile
    surfaces: SurfacesFile
    seats: Annotated[dict[str, SeatFile], Field(min_length=1)]
    placements: dict[str, PlacementFile] = Field(default_factory=dict)
    goals: GoalsFile = Field(default=GoalsFile.model_validate({}))
    currency: u.Text | None = None
    printer: PrinterFile | None = None
