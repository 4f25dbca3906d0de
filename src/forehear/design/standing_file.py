"""What a file says of how a speaker stands: on a stand, on a shelf, in a niche, or hung on the wall."""

from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from forehear.design.brief import SURFACES, Standing
from forehear.ground.reading.sections import ReadsText, Section, Unfit, shortened
from forehear.parts import units as u

STAND = "stand"
_SIZED = {
    "shelf": "{shelf: {depth: 320 mm}}",
    "niche": "{niche: {width: 600 mm, height: 350 mm, depth: 320 mm}}",
    "wall": "{wall: {gap: 10 mm}}",
}

HeldBy: TypeAlias = Annotated[str, ReadsText(choices=SURFACES)]


class ShelfFile(Section):
    """A board under the cabinet, its middle under the middle of the front."""

    depth: u.Size
    width: u.Size = Field(0.9, description="900 mm unless given")
    set_back: u.SizeOrZero = Field(0.0, description="from the front edge of the board back to the cabinet")
    held_by: HeldBy | None = Field(
        None, description="floor, where it is a sideboard; else the wall behind it"
    )


class NicheFile(Section):
    """Boards below, above, left, right and behind; inside sizes, the cabinet in the middle of the width."""

    width: u.Size
    height: u.Size
    depth: u.Size
    set_back: u.SizeOrZero = Field(0.0, description="from the front edge of the boards back to the cabinet")


class WallFile(Section):
    """Hung on the wall behind."""

    gap: u.SizeOrZero = 0.0


class StandingFile(Section):
    """How a speaker stands; one of these, or none."""

    shelf: ShelfFile | None = None
    niche: NicheFile | None = None
    wall: WallFile | None = None


@dataclass(frozen=True)
class OrStand:
    """Marks a group that the word `stand` may take the place of."""

    def read(self, value: object) -> object:
        """Let the word stand for a group that says nothing, and ask for one kind at a time."""
        if isinstance(value, str):
            if value == STAND:
                return StandingFile()
            if value in _SIZED:
                raise Unfit(f"{value!r} alone does not say its sizes", f"write {_SIZED[value]}")
            raise Unfit(f"{shortened(value)} is not known here", f"write {STAND}, or {_SIZED['shelf']}")
        if isinstance(value, dict) and len(value.keys() & _SIZED.keys()) > 1:
            raise Unfit(
                f"a speaker stands one way, found {' and '.join(key for key in _SIZED if key in value)}",
                "keep one of them",
            )
        return value

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"anyOf": [{"const": STAND, "description": "nothing near it is added"}, handler(schema)]}


StandingChoice: TypeAlias = Annotated[StandingFile, OrStand()]


def standing_of(file: StandingFile) -> Standing:
    """Take what a file says into SI."""
    if file.shelf is not None:
        shelf = file.shelf
        return Standing("shelf", shelf.depth, shelf.width, set_back_m=shelf.set_back, held_by=shelf.held_by)
    if file.niche is not None:
        niche = file.niche
        return Standing("niche", niche.depth, niche.width, niche.height, niche.set_back)
    return Standing() if file.wall is None else Standing("wall", gap_m=file.wall.gap)
