"""The first thing a designer asks: which compromise suits this room."""

from collections.abc import Mapping, Sequence

from forehear.ground.findings import Level
from forehear.judge.noticeable import SAME
from forehear.publish.heard import heard_note, heard_table, told_apart
from forehear.publish.markup import Markup, element, joined, table
from forehear.publish.scene import brief_words
from forehear.publish.words import NO_BREAK_SPACE, typeset
from forehear.spine.compare import Comparison, ComparisonRow
from forehear.spine.hearable import SPREAD
from forehear.spine.prediction import Prediction

LINE_LOOKS = ("l0", "l1", "l2", "l3")
SIGNS = {Level.STOPS: "■", Level.CHECK: "▲", Level.FINE: "●"}


def look_of(index: int) -> str:
    """Line style of a candidate; from the fifth on they repeat."""
    return LINE_LOOKS[index % len(LINE_LOOKS)]


def swatch(index: int, name: str) -> Markup:
    """Draw a short piece of a candidate's line."""
    line = element("polyline", points="1,6 39,6", class_=f"line {look_of(index)}")
    return element("svg", line, viewBox="0 0 40 12", role="img", aria_label=f"line of {name}")


def line_key(words: Mapping[int, str]) -> Markup:
    """Which line is whose: the candidates' numbers, and words for each."""
    items = (element("li", swatch(index, told), told) for index, told in words.items())
    return element("ul", *items, class_="key")


def overview(comparison: Comparison, names: Sequence[str]) -> Markup:
    """Return the brief, what each candidate is best at and gives up, and the numbers side by side."""
    first = comparison.predictions[0]
    several = len(names) > 1
    cards = [
        _card(index, name, comparison.predictions[index], comparison) for index, name in enumerate(names)
    ]
    told = element("div", *cards, class_="grid three text") if several else _counts(first)
    return joined(
        [
            element("p", brief_words(first.design), class_="quiet"),
            _lead(comparison, names),
            told,
            _heard(comparison, names),
            _numbers(comparison.table, names),
        ]
    )


def _card(index: int, name: str, prediction: Prediction, comparison: Comparison) -> Markup:
    pieces = [
        element("h3", swatch(index, name), element("a", name, href=f"#candidate-{index + 1}"), class_="pair")
    ]
    best, costs = comparison.strengths[index], comparison.costs[index]
    pieces += _told("Best at", best, "nothing that was compared")
    pieces += _told("Gives up", costs, "nothing that the others have")
    pieces.append(_counts(prediction))
    return element("div", *pieces, class_="card")


def _told(label: str, sentences: Sequence[str], otherwise: str) -> list[Markup]:
    items = [typeset(sentence) for sentence in sentences] or [otherwise]
    return [element("p", element("b", label)), element("ul", *(element("li", item) for item in items))]


def _lead(comparison: Comparison, names: Sequence[str]) -> Markup:
    """Say first who leads in what the brief is for, and whom a finding stops."""
    told = []
    first = comparison.table[0] if comparison.table else None
    if first is not None and len(first.leaders) == 1:
        leader = first.leaders[0]
        heard = "" if told_apart(comparison.predictions, SPREAD) else f", though by {SAME}"
        told.append(f"{names[leader]} leads in {first.label}: {typeset(first.values[leader])}{heard}.")
    for name, prediction in zip(names, comparison.predictions, strict=True):
        stops = sum(finding.level is Level.STOPS for finding in prediction.findings)
        if stops:
            told.append(
                f"{name} has {'a finding that stops' if stops == 1 else 'findings that stop'} it as it is."
            )
    return element("p", " ".join(told), class_="lead") if told else Markup("")


def _heard(comparison: Comparison, names: Sequence[str]) -> Markup:
    """Set side by side what people can hear, before everything that can be measured."""
    rows = heard_table(comparison.predictions, names)
    heading = element("h3", "What you could hear")
    note = heard_note(comparison.predictions)
    return element(
        "div", heading, rows, note, class_="card spaced" if len(names) > 1 else "card spaced alone"
    )


def _counts(prediction: Prediction) -> Markup:
    """How many findings of each level."""
    told = []
    for level in Level:
        count = sum(finding.level is level for finding in prediction.findings)
        if count:
            words = {"stops": "stops", "check": "to check", "fine": "fine"}[str(level)]
            told.append(element("span", f"{SIGNS[level]} {count} {words}", class_=str(level)))
    return element("div", *told, class_="counts")


def _numbers(rows: Sequence[ComparisonRow], names: Sequence[str]) -> Markup:
    written = [[typeset(row.label), *(_cell(row, index) for index in range(len(names)))] for row in rows]
    several = len(names) > 1
    note = (
        element(
            "p",
            "✓ marks the best and who does as well; rows without it have nobody clearly worse.",
            class_="note",
        )
        if several
        else Markup("")
    )
    heading = element("h3", "Side by side" if several else "In numbers")
    return element(
        "div",
        heading,
        table(["", *names], written, class_="even"),
        note,
        class_="card" if several else "card alone",
    )


def _cell(row: ComparisonRow, index: int) -> Markup:
    if index in row.leaders:
        return element("span", f"✓{NO_BREAK_SPACE}{typeset(row.values[index])}", class_="best")
    return element("span", typeset(row.values[index]))
