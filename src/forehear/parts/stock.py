"""A list of parts in the drawer, or in a shop, to choose from."""

from dataclasses import dataclass
from functools import partial
from pathlib import Path

from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document, raise_together
from forehear.ground.reading.sections import Gathered, in_words
from forehear.parts.components import ComponentPart, read_component

MOST_PARTS = 2000


@dataclass(frozen=True)
class Stock:
    """Parts to choose from; every one may be taken as often as wanted."""

    parts: tuple[ComponentPart, ...]
    where: str


def load_stock(path: str | Path, label: str | None = None) -> Stock:
    """Read a stock list: a file with `parts:`, components as a network has them.

    Raises
    ------
    DesignError, Complaints
        Everything that makes it unusable, each with its place and a cure.
    """
    document = Document.read(Path(path), label)
    plain = document.plain()
    gathered = Gathered()
    for key in plain:
        if key not in ("parts", "title"):
            gathered.add(
                f"the key {key!r} is not known here", document.where((key,)), "write 'parts:' and a list"
            )
    listed = plain.get("parts")
    where = document.where(("parts",))
    if not isinstance(listed, list) or not 0 < len(listed) <= MOST_PARTS:
        found = "an empty list" if listed == [] else in_words(listed)
        gathered.add(
            f"a list of 1 to {MOST_PARTS} parts is wanted here, found {found}",
            where,
            "write '- {capacitor: 6.8 uF, price: 3.20}' lines below 'parts:', or name no stock",
        )
        raise_together(gathered.errors)
        raise AssertionError("a reader failed without a complaint")
    read = [
        gathered.attempt(partial(read_component, item, document, ("parts", number)))
        for number, item in enumerate(listed)
    ]
    for number, component in enumerate(read):
        if component is not None and component.bypassed:
            gathered.errors.append(
                DesignError(
                    "a part in stock cannot be bypassed",
                    where=document.where(("parts", number, "bypassed")),
                    cure="delete 'bypassed'",
                )
            )
    raise_together(gathered.errors)
    return Stock(tuple(component for component in read if component is not None), where)
