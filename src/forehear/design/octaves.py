"""Quantities that are told once for all octaves or octave by octave: decay times and noise."""

from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from forehear.ground.reading import quantities as q
from forehear.ground.reading.sections import Reads, ReadsNumber, Unfit

OF_DECAY = (8, 7)  # octaves: from 63 Hz, or from 125 Hz
OF_NOISE = (7,)  # from 125 Hz


@dataclass(frozen=True)
class ReadsOctaves:
    """Marks one quantity, or a list with one for each octave up to 8 kHz."""

    one: Reads | ReadsNumber
    each: Reads | ReadsNumber
    counts: tuple[int, ...]

    def read(self, value: object) -> float | tuple[float, ...]:
        """Read one number, or as many as one of `counts`."""
        if not isinstance(value, list):
            return self.one.read(value)
        if len(value) not in self.counts:
            wanted = " or ".join(f"{count} from {_first_octave(count)}" for count in self.counts)
            raise Unfit(
                f"{len(value)} octaves found, {wanted} belong here",
                f"write {wanted} to 8 kHz, or one for all; decimals take a point",
            )
        return tuple(self._numbered(number, item) for number, item in enumerate(value, 1))

    def _numbered(self, number: int, item: object) -> float:
        try:
            return self.each.read(item)
        except q.UnreadableQuantity as error:
            raise Unfit(f"value {number} of this list: {error.what}", error.cure) from None

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        one = self.one.__get_pydantic_json_schema__(schema, handler)
        least, most = min(self.counts), max(self.counts)
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": least, "maxItems": most}]}


def _first_octave(count: int) -> str:
    return "63 Hz" if count == max(OF_DECAY) else "125 Hz"


_SECONDS = Reads(q.TIME, least=0.05, most=5.0)
DecayTime: TypeAlias = Annotated[float | tuple[float, ...], ReadsOctaves(_SECONDS, _SECONDS, OF_DECAY)]
NoiseLevel: TypeAlias = Annotated[
    float | tuple[float, ...],
    ReadsOctaves(Reads(q.LEVEL, least=0.0, most=120.0), Reads(q.LEVEL, least=-20.0, most=120.0), OF_NOISE),
]


_SHARE = ReadsNumber(least=0.0, most=0.95)
Scattering: TypeAlias = Annotated[float | tuple[float, ...], ReadsOctaves(_SHARE, _SHARE, OF_DECAY)]


def eight_octaves(told: float | tuple[float, ...]) -> tuple[float, ...]:
    """Return eight octaves from 63 Hz; where seven are told, 63 Hz is as 125 Hz.

    Examples
    --------
    >>> eight_octaves((0.6, 0.5, 0.45, 0.4, 0.4, 0.4, 0.35))[:3]
    (0.6, 0.6, 0.5)
    """
    octaves = told if isinstance(told, tuple) else (told,)
    return (octaves[0],) * (max(OF_DECAY) - len(octaves)) + octaves
