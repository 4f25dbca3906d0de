"""The network of a way, read into a tree of steps; every complaint at its place, all at once."""

from functools import partial

from forehear.design.design import NetworkElement, NetworkPart, NetworkStep, PartBank, PartChain
from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.nodes import Key, Plain
from forehear.ground.reading.sections import Gathered, in_words, unknown_key
from forehear.parts import read_component

STEP_KINDS = ("series", "shunt")
MOST_PARTS = 60
Keys = tuple[Key, ...]


def read_network(value: Plain, document: Document, keys: Keys, gathered: Gathered) -> tuple[NetworkStep, ...]:
    """Read a list of steps from the amplifier toward the driver; complaints go to `gathered`."""
    if value is None:
        return ()
    if not isinstance(value, list) or len(value) > MOST_PARTS:
        gathered.add(
            f"a list of series and shunt steps is wanted here, found {in_words(value)}",
            document.where(keys),
            "write '- series: {capacitor: 5.6 uF}' lines",
        )
        return ()
    steps = [
        gathered.attempt(partial(_step, item, document, (*keys, number), gathered))
        for number, item in enumerate(value)
    ]
    return tuple(step for step in steps if step is not None)


def _step(item: Plain, document: Document, keys: Keys, gathered: Gathered) -> NetworkStep | None:
    if not isinstance(item, dict) or len(item) != 1:
        raise DesignError(
            f"one step is wanted here, found {in_words(item)}",
            where=document.where(keys),
            cure="write '- series: ...' or '- shunt: ...', one a line",
        )
    kind, content = next(iter(item.items()))
    if kind not in STEP_KINDS:
        what, cure = unknown_key(kind, STEP_KINDS)
        raise DesignError(what, where=document.where((*keys, kind)), cure=cure)
    element = _element(content, document, (*keys, kind), gathered)
    return NetworkStep(kind, element, keys) if element else None


def _element(value: Plain, document: Document, keys: Keys, gathered: Gathered) -> NetworkElement | None:
    if isinstance(value, list):
        elements = _elements(value, document, keys, gathered)
        return PartChain(elements) if elements else None
    if isinstance(value, dict) and "parallel" in value:
        if len(value) != 1 or not isinstance(value["parallel"], list):
            raise DesignError(
                "parallel takes a list and stands alone",
                where=document.where((*keys, "parallel")),
                cure="write {parallel: [{coil: 1 mH}, {resistor: 10 ohm}]}",
            )
        elements = _elements(value["parallel"], document, (*keys, "parallel"), gathered)
        return PartBank(elements) if elements else None
    return NetworkPart(read_component(value, document, keys), keys)


def _elements(
    values: list[Plain], document: Document, keys: Keys, gathered: Gathered
) -> tuple[NetworkElement, ...]:
    if not values:
        gathered.add("this list of components is empty", document.where(keys), "name at least one component")
    found = [
        gathered.attempt(partial(_element, value, document, (*keys, number), gathered))
        for number, value in enumerate(values)
    ]
    return tuple(element for element in found if element is not None)
