"""Groups of keys as pydantic models, with every complaint in our own words and at its place."""

import difflib
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, ErrorDetails, core_schema

from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.reading.documents import Document, complaints_of
from forehear.ground.reading.nodes import Key, Plain
from forehear.ground.reading.quantities import (
    NUMBER,
    Measure,
    UnreadableQuantity,
    read_quantity,
    write_quantity,
)

Model = TypeVar("Model", bound="Section")
Result = TypeVar("Result")


def spoken(name: str) -> str:
    """Turn a field name into the key people write: underscores are spaces."""
    return name.replace("_", " ")


class Section(BaseModel):
    """A group of keys; unknown keys are complaints, and the known ones are remembered for suggestions."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, alias_generator=spoken, arbitrary_types_allowed=True
    )

    @model_validator(mode="before")
    @classmethod
    def _note_known_keys(cls, data: Plain, info: ValidationInfo) -> Plain:
        if isinstance(info.context, dict):
            info.context[id(data)] = cls.known_keys()
        return data

    @classmethod
    def known_keys(cls) -> tuple[str, ...]:
        """Return the keys as people write them."""
        return tuple(field.alias or name for name, field in cls.model_fields.items())


class Unfit(UnreadableQuantity):
    """A value that can be read but not used."""


@dataclass(frozen=True)
class Reads:
    """Marks a number that is written with a unit of `measure`; limits are in SI and counted in."""

    measure: Measure
    least: float = -math.inf
    most: float = math.inf

    def read(self, value: object) -> float:
        """Read a quantity and hold it against the limits."""
        found = read_quantity(value, self.measure)
        unit = str(value).split(maxsplit=1)[1].strip()
        _within(found, self.least, self.most, str(value).strip(), lambda limit: write_quantity(limit, unit))
        return found

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        units = "|".join(unit for unit, _ in self.measure.units)
        return {
            "type": "string",
            "description": f"{self.measure.name} with its unit",
            "pattern": f"^{NUMBER} ({units})$",
            "examples": [self.measure.example],
        }


@dataclass(frozen=True)
class ReadsNumber:
    """Marks a bare number; limits are counted in."""

    least: float = -math.inf
    most: float = math.inf

    def read(self, value: object) -> float:
        """Read a bare number."""
        if isinstance(value, str) and "," in value:
            raise Unfit(
                f"{value[:40]!r} has a decimal comma",
                f"write a decimal point: {value.replace(',', '.')[:40]}",
            )
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise Unfit(
                f"a bare number is wanted here, found {in_words(value)}", "write a number without a unit"
            )
        _within(float(value), self.least, self.most, str(value), lambda limit: f"{limit:g}")
        return float(value)

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        limits = {"minimum": self.least, "maximum": self.most}
        return {"type": "number", **{name: limit for name, limit in limits.items() if math.isfinite(limit)}}


@dataclass(frozen=True)
class ReadsText:
    """Marks a line of text, or one of a few words when `choices` are given."""

    choices: tuple[str, ...] = ()

    def read(self, value: object) -> str:
        """Read one line of text."""
        words = " or ".join(self.choices)
        if not isinstance(value, str):
            wanted, cure = (
                (words, f"write {words}") if words else ("text", "write a name; put a bare number in quotes")
            )
            raise Unfit(f"{wanted} is wanted here, found {in_words(value)}", cure)
        if self.choices and value not in self.choices:
            raise Unfit(f"{shortened(value)} is not known here", f"write {words}")
        if not value.strip() or len(value) > 200 or not value.isprintable():
            raise Unfit(
                f"{shortened(value)} cannot be used as one line of text", "write 1 to 200 plain characters"
            )
        return value

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"type": "string", **({"enum": list(self.choices)} if self.choices else {"minLength": 1})}


def _within(found: float, least: float, most: float, shown: str, write: Callable[[float], str]) -> None:
    if found < least:
        raise Unfit(
            f"{shown} is too small; at least {write(least)} is allowed here", f"write {write(least)} or more"
        )
    if found > most:
        raise Unfit(
            f"{shown} is too large; at most {write(most)} is allowed here", f"write {write(most)} or less"
        )


def shortened(value: object) -> str:
    """Show a value from a file, cut to a length that fits in a sentence."""
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def in_words(value: object) -> str:
    """Say what kind of thing stands in the file."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, list):
        return "a list"
    return shortened(value)


def validate(model: type[Model], value: Plain, document: Document, keys: Sequence[Key] = ()) -> Model:
    """Check `value`, which stands at `keys` of `document`, against a model.

    Raises
    ------
    Complaints
        Every complaint at once, in the order of the file.
    """
    known: dict[int, tuple[str, ...]] = {}
    try:
        return model.model_validate(value, context=known)
    except ValidationError as error:
        details = _without_halves(error.errors(include_url=False))
        complaints = [
            _complaint(detail, value, document, (*keys, *detail["loc"]), known) for detail in details
        ]
        raise Complaints(sorted(complaints, key=lambda one: _line(one, document))) from None


def _without_halves(details: list[ErrorDetails]) -> list[ErrorDetails]:
    """Where a decimal comma inside braces split a number, complain about the comma, not about its first half."""
    split = {detail["loc"][:-1] for detail in details if _second_half(detail)}
    return [
        detail
        for detail in details
        if _second_half(detail) or detail["loc"][:-1] not in split or not isinstance(detail["input"], int)
    ]


def _second_half(detail: ErrorDetails) -> bool:
    """Tell whether a key is the rest of a number: {coil: 1,2 mH} holds the keys 'coil' and '2 mH'."""
    return (
        detail["type"] == "extra_forbidden"
        and detail["input"] is None
        and str(detail["loc"][-1])[:1].isdigit()
    )


def _line(complaint: ForehearError, document: Document) -> int:
    return int(complaint.where.removeprefix(document.label).split(":")[1])


def _complaint(
    detail: ErrorDetails,
    value: Plain,
    document: Document,
    keys: Sequence[Key],
    known: dict[int, tuple[str, ...]],
) -> DesignError:
    cause = detail.get("ctx", {}).get("error")
    if isinstance(cause, UnreadableQuantity):
        what, cure = cause.what, cause.cure
    elif detail["type"] == "extra_forbidden":
        what, cure = _unknown_key(detail, value, known)
    else:
        what, cure = _in_our_words(detail)
    return DesignError(what, where=document.where(keys), cure=cure)


def _unknown_key(detail: ErrorDetails, value: Plain, known: dict[int, tuple[str, ...]]) -> tuple[str, str]:
    key = str(detail["loc"][-1])
    if _second_half(detail):
        return f"a decimal comma splits the number before {shortened(key)}", "write a decimal point"
    parent = value
    for step in detail["loc"][:-1]:
        parent = parent[step]
    return unknown_key(key, known.get(id(parent), ()))


def unknown_key(key: str, known: Sequence[str]) -> tuple[str, str]:
    """Say that a key is not known, and which was probably meant.

    Examples
    --------
    >>> unknown_key("heigth", ("width", "height"))
    ("the key 'heigth' is not known here", "did you mean 'height'?")
    """
    lowered = {name.lower(): name for name in known}
    near = difflib.get_close_matches(key.lower(), lowered, n=1, cutoff=0.6)
    cure = f"did you mean {lowered[near[0]]!r}?" if near else f"known here: {', '.join(known)}"
    return f"the key {shortened(key)} is not known here", cure


def _in_our_words(detail: ErrorDetails) -> tuple[str, str]:
    kind, found, last = detail["type"], detail["input"], detail["loc"][-1] if detail["loc"] else ""
    if kind == "missing":
        if isinstance(last, int):
            return f"value {last + 1} of this list is missing", "write all of its values"
        return f"{last!r} is missing", f"add '{last}: ...' here"
    if kind in ("too_long", "too_short"):
        return _wrong_count(detail)
    wanted = next((words for name, words in _WANTED.items() if kind.startswith(name)), None)
    if wanted:
        return f"{wanted} is wanted here, found {in_words(found)}", f"write {wanted}"
    return f"{in_words(found)} cannot be used here", "compare it with a starter file"


_WANTED = {
    "model": "a group of keys",
    "dict": "a group of keys",
    "tuple": "a list in [ ]",
    "list": "a list in [ ]",
    "bool": "true or false",
    "string": "text",
}


def _wrong_count(detail: ErrorDetails) -> tuple[str, str]:
    context, found = detail.get("ctx", {}), detail["input"]
    count = len(found) if isinstance(found, list | dict) else 0
    limit = context.get("max_length", context.get("min_length", 0))
    word = "at most" if "max_length" in context else "at least"
    cure = f"write {word} {limit}"
    if isinstance(found, list) and any(isinstance(item, int) for item in found):
        cure += "; if a decimal comma split a number in two, write a point"
    return f"this list holds {count} values, {word} {limit} belong here", cure


@dataclass
class Gathered:
    """Collects complaints, so that a reader can go on after the first one."""

    errors: list[ForehearError] = field(default_factory=list)

    def attempt(self, work: "Callable[[], Result]") -> "Result | None":
        """Do some reading; keep its complaints and return None when it fails."""
        try:
            return work()
        except (ForehearError, Complaints) as error:
            self.errors.extend(complaints_of(error))
            return None

    def add(self, what: str, where: str, cure: str) -> None:
        """Keep one complaint."""
        self.errors.append(DesignError(what, where=where, cure=cure))
