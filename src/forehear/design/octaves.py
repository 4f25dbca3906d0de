"""Quantities that are told once for all octaves or octave by octave: decay times and noise."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from forehear.ground.reading import quantities as q
from forehear.ground.reading.sections import Reads, Unfit

OF_DECAY = (8, 7)  # octaves: from 63 Hz, or from 125 Hz
OF_NOISE = (7,)  # from 125 Hz
# Background noise in the octaves 125 Hz to 8 kHz: the curve NC-25 (beranek-1957), and the A-weighting of
# IEC 61672-1, both from memory.
QUIET_ROOM_DB = (44.0, 37.0, 31.0, 27.0, 24.0, 22.0, 21.0)
A_WEIGHTING_DB = (-16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1)


@dataclass(frozen=True)
class ReadsOctaves:
    """Marks one quantity, or a list with one for each octave up to 8 kHz."""

    one: Reads
    each: Reads
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


def decay_octaves_s(told: float | tuple[float, ...]) -> tuple[float, ...]:
    """Return eight octaves from 63 Hz; where seven are told, 63 Hz is as 125 Hz.

    Examples
    --------
    >>> decay_octaves_s((0.6, 0.5, 0.45, 0.4, 0.4, 0.4, 0.35))[:3]
    (0.6, 0.6, 0.5)
    """
    octaves = told if isinstance(told, tuple) else (told,)
    return (octaves[0],) * (max(OF_DECAY) - len(octaves)) + octaves


def noise_octaves_db(told: float | tuple[float, ...]) -> tuple[float, ...]:
    """Return seven octaves from 125 Hz; one number is an A-weighted level, spread as noise of a quiet room.

    Source
    ------
    beranek-1957, curve NC-25 for the shape: ordinary rooms without a tone that stands out.

    Examples
    --------
    >>> [round(level) for level in noise_octaves_db(30.0)]
    [39, 32, 26, 22, 19, 17, 16]
    """
    if isinstance(told, tuple):
        return told
    shift = told - a_weighted_db(QUIET_ROOM_DB)
    return tuple(level + shift for level in QUIET_ROOM_DB)


def a_weighted_db(levels_db: Sequence[float]) -> float:
    """Return the A-weighted sum of seven octaves from 125 Hz.

    Examples
    --------
    >>> round(a_weighted_db(QUIET_ROOM_DB), 1)
    34.8
    """
    weighted = zip(levels_db, A_WEIGHTING_DB, strict=True)
    return 10 * math.log10(sum(10 ** ((level + weight) / 10) for level, weight in weighted))
