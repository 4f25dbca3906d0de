"""What the surfaces of a room swallow: as numbers, by the name of a common surface, or nothing there at all."""

import difflib
import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Annotated, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from forehear.ground.reading.sections import Unfit, in_words, shortened

OCTAVES = 8  # 63 Hz to 8 kHz
OPEN = "open"
EVERYTHING = (1.0,) * OCTAVES
_SOURCES = {"table": "from memory, a typical textbook table", "estimated": "estimated"}


@dataclass(frozen=True)
class Surface:
    """What one surface absorbs, octaves 63 Hz to 8 kHz; the name in the library and where its values come from."""

    absorption: tuple[float, ...]
    made_of: str | None = None
    source: str = ""


@cache  # the packaged file does not change while the program runs
def common_surfaces() -> dict[str, Surface]:
    """Return the library of common surfaces.

    Examples
    --------
    >>> common_surfaces()["carpet with underlay"].absorption[4]
    0.69
    """
    text = resources.files("forehear.design").joinpath("surfaces.toml").read_text("utf-8")
    return {
        name: Surface(tuple(entry["absorption"]), name, _SOURCES[entry["source"]])
        for name, entry in tomllib.loads(text).items()
    }


def surface_named(name: object) -> Surface:
    """Return a surface of the library; an unknown name is refused with the nearest ones."""
    known = common_surfaces()
    if isinstance(name, str) and name in known:
        return known[name]
    if not isinstance(name, str):
        raise Unfit(f"the name of a surface is wanted here, found {in_words(name)}", _one_of(list(known)[:3]))
    raise Unfit(f"no surface {shortened(name)} is known here", _one_of(_nearest(name, list(known))))


def _one_of(names: Sequence[str]) -> str:
    return f"write {' or '.join(repr(name) for name in names)}, or {{absorption: [0.1, ...]}}"


def _nearest(name: str, known: Sequence[str]) -> list[str]:
    """Find names that share a word, else names that look alike, else the first few."""
    lowered = name.lower()
    words = {word for word in lowered.split() if len(word) > 3}
    sharing = [other for other in known if words & set(other.split())]
    alike = difflib.get_close_matches(lowered, known, n=3, cutoff=0.5)
    return ([lowered] if lowered in known else sharing or alike or list(known))[:3]


def read_absorption(value: object) -> tuple[float, ...]:
    """Read one number for all octaves, 8 from 63 Hz, or 7 from 125 Hz (63 Hz then as 125 Hz).

    Examples
    --------
    >>> read_absorption([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7])
    (0.1, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)
    """
    if not isinstance(value, list):
        return (_share(value, "absorption"),) * OCTAVES
    if len(value) not in (OCTAVES - 1, OCTAVES):
        raise Unfit(
            f"{len(value)} octaves of absorption found",
            "write 8 numbers from 63 Hz to 8 kHz, or 7 from 125 Hz; decimals take a point",
        )
    octaves = tuple(_share(item, f"value {number} of absorption") for number, item in enumerate(value, 1))
    return octaves if len(octaves) == OCTAVES else (octaves[0], *octaves)


def _share(value: object, name: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Unfit(
            f"{name} is {in_words(value)}, a number is wanted", "write a number from 0 to 1, such as 0.15"
        )
    if not 0 <= value <= 1:
        raise Unfit(
            f"{name} is {value:g}, outside 0 to 1", "write the part of the energy that is absorbed, 0 to 1"
        )
    return float(value)


@dataclass(frozen=True)
class ReadsSurface:
    """Marks a surface: a number, {absorption: ...}, {made of: ...}, or `open` where that is allowed."""

    may_be_open: bool = True

    def read(self, value: object) -> Surface:
        """Read what a surface absorbs."""
        if isinstance(value, dict):
            if set(value) == {"made of"}:
                return surface_named(value["made of"])
            if set(value) != {"absorption"}:
                raise Unfit(
                    "'absorption' alone belongs here, or 'made of' alone",
                    "write {absorption: [0.1, ...]}, {made of: plaster on masonry} or one number",
                )
            return Surface(read_absorption(value["absorption"]))
        if isinstance(value, str):
            return self._word(value)
        return Surface(read_absorption(value))

    def _word(self, word: str) -> Surface:
        if word == OPEN and self.may_be_open:
            return Surface(EVERYTHING)
        if word in common_surfaces():
            raise Unfit(f"{word!r} is a material", f"write {{made of: {word}}}")
        either = " or open" if self.may_be_open else ""
        raise Unfit(
            f"absorption is {shortened(word)}, a number is wanted",
            f"write a number from 0 to 1, such as 0.15, {{made of: ...}}{either}",
        )

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        number = {"type": "number", "minimum": 0, "maximum": 1}
        octaves = {"type": "array", "items": number, "minItems": OCTAVES - 1, "maxItems": OCTAVES}
        choices = [number, _group("absorption", {"anyOf": [number, octaves]})]
        choices.append(_group("made of", {"type": "string", "enum": list(common_surfaces())}))
        if self.may_be_open:
            choices.append({"const": OPEN, "description": "nothing there: everything leaves"})
        return {"anyOf": choices}


def _group(key: str, value: JsonSchemaValue) -> JsonSchemaValue:
    return {
        "type": "object",
        "properties": {key: value},
        "required": [key],
        "additionalProperties": False,
    }


SurfaceOfRoom: TypeAlias = Annotated[Surface, ReadsSurface()]
SurfaceOfBoard: TypeAlias = Annotated[Surface, ReadsSurface(may_be_open=False)]
