"""The report: one page that tells which candidate suits the room, and why."""

from collections.abc import Sequence
from pathlib import Path

from forehear.ground.files import write_atomically
from forehear.publish.candidate import candidate
from forehear.publish.markup import Markup, element, joined
from forehear.publish.overview import overview
from forehear.publish.reading import reading
from forehear.publish.room_effect import room_effect
from forehear.publish.scene import brief_title, candidate_names
from forehear.publish.seats import plans, seat_curves
from forehear.publish.speech import speech_section
from forehear.publish.style import style_sheet
from forehear.publish.together import together_section
from forehear.spine.compare import Comparison
from forehear.spine.prediction import Prediction


def write_report(comparison: Comparison, path: Path) -> None:
    """Write the report to `path`, whole or not at all."""
    write_atomically(path, report_page(comparison))


def report_page(comparison: Comparison) -> str:
    """Return the report as one HTML page by itself; the same comparison gives the same bytes."""
    names = candidate_names(comparison.predictions)
    brief = brief_title(comparison.predictions[0].design)
    single = len(names) == 1
    title = f"What every seat hears of {names[0]}" if single else "Which compromise suits this room?"
    body = joined([_header(title, brief, names), element("main", *_sections(comparison, names))])
    head = joined(
        [
            element("meta", charset="utf-8"),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("meta", name="color-scheme", content="light dark"),
            element("title", f"{title} {brief}" if single else f"{brief}: {title}"),
            element("style", Markup(style_sheet())),
        ]
    )
    page = element("html", element("head", head), element("body", body), lang="en")
    return f"<!DOCTYPE html>\n{page}\n"


def _header(title: str, brief: str, names: tuple[str, ...]) -> Markup:
    links = [
        ("room", "The room"),
        ("speech", "Speech"),
        ("seats", "Each seat"),
        ("effect", "What the room does"),
    ]
    links += [(f"candidate-{index + 1}", name) for index, name in enumerate(names)]
    links.append(("reading", "How to read this"))
    items = (element("li", element("a", words, href=f"#{target}")) for target, words in links)
    kicker = element("p", brief, class_="lead quiet")
    return element("header", kicker, element("h1", title), element("nav", element("ul", *items)))


def _sections(comparison: Comparison, names: tuple[str, ...]) -> list[Markup]:
    predictions = comparison.predictions
    sections = [
        element("section", element("h2", "In short"), overview(comparison, names), id="answer"),
        _section("room", "What each seat hears, seen from above", ROOM_WORDS, plans(predictions, names)),
        _section("speech", "How clear speech is", "", speech_section(predictions, names)),
        _section("seats", "The sound at each seat", SEAT_WORDS, seat_curves(predictions, names)),
        _section("effect", "What the room does", EFFECT_WORDS, _effects(predictions, names)),
    ]
    if any(prediction.together for prediction in predictions):
        playing = together_section(predictions, names)
        sections.append(_section("together", "All speakers at once", "", playing))
    for index, (prediction, name) in enumerate(zip(predictions, names, strict=True)):
        heading = f"{name}: why, and what would cure it"
        sections.append(_section(f"candidate-{index + 1}", heading, "", candidate(prediction, name)))
    sections.append(_section("reading", "How to read this", "", reading(predictions, names)))
    return sections


def _effects(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    told = zip(predictions, names, strict=True)
    return joined(room_effect(prediction, name, index) for index, (prediction, name) in enumerate(told))


ROOM_WORDS = (
    "The number in each seat is its spread in dB, the smaller the more even; under its name stands the "
    "deepest hole that remains in the room."
)
SEAT_WORDS = (
    "Level in the room as the ear smooths it, with its trend as a thin straight line. "
    "The shaded band is judged. A dot marks the deepest hole."
)

EFFECT_WORDS = (
    "The same speaker without a room and in it; turned, moved, and with each surface treated; and how sound arrives. "
    "Spread changes of less than 1 dB are called no difference you could hear."
)


def _section(name: str, heading: str, words: str, content: str) -> Markup:
    lead = element("p", words, class_="quiet") if words else Markup("")
    return element("section", element("h2", heading), lead, content, id=name, class_="page")
