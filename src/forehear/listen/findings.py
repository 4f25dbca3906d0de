"""What an analysis says: words, numbers, and what its picture shows; how it is drawn is not its business."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from forehear.listen.plan import Kind


class Verdict(StrEnum):
    """What may be concluded."""

    DIFFERENT = "a difference was heard"
    NOT_SHOWN = "no difference was shown"
    TOO_FEW = "not enough answers to tell"


@dataclass(frozen=True)
class Mark:
    """One dot of the picture; `place` is the candidate, or what else chooses its shape."""

    place: int
    value: float
    words: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Row:
    """One row of the picture."""

    name: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Picture:
    """Dots along one axis."""

    title: str
    unit: str
    rows: tuple[Row, ...]
    key: tuple[tuple[int, str], ...]  # what each place means
    note: str
    span: tuple[float, float] | None = None  # of the axis; None: as wide as the marks need


@dataclass(frozen=True)
class Table:
    """The numbers behind the picture."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Analysis:
    """What a closed session says."""

    name: str
    kind: Kind
    verdict: Verdict
    headline: str
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]  # what makes it worth less
    picture: Picture | None  # None where nothing was answered
    table: Table
    numbers: dict[str, Any]  # plain data


def p_words(p: float) -> str:
    """Write a chance as it stands in a table.

    Examples
    --------
    >>> p_words(0.0384), p_words(0.00004)
    ('p 0.038', 'p below 0.001')
    """
    return "p below 0.001" if p < 0.001 else f"p {p:.3f}" if p < 0.1 else f"p {p:.2f}"


def chance_words(p: float) -> str:
    """Write a chance as one says it.

    Examples
    --------
    >>> chance_words(0.0384), chance_words(0.00004), chance_words(0.4), chance_words(0.999)
    ('4 times in 100', 'less than once in 1000', '40 times in 100', 'nearly always')
    """
    if p < 0.001:
        return "less than once in 1000"
    if p > 0.995:
        return "nearly always"
    of = 1000 if p < 0.0095 else 100
    times = round(p * of)
    return f"{'once' if times == 1 else f'{times} times'} in {of}"
