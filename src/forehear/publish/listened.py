"""What a closed listening session says, as one HTML page by itself."""

from dataclasses import asdict
from typing import Any

from forehear.listen.analysis import analyse
from forehear.listen.cautions import matched_words
from forehear.listen.findings import Analysis, Picture, Table, Verdict
from forehear.listen.plan import Kind, Part, Stimulus, labels_of
from forehear.listen.session import Session
from forehear.publish.markup import Markup, behind, element, figure, joined, table
from forehear.publish.pictures.dots import Dot, dot_key, dot_rows
from forehear.publish.style import style_sheet
from forehear.publish.words import typeset

FORMAT = "forehear-listening-result/1"
SIGNS = {Verdict.DIFFERENT: ("●", "fine"), Verdict.NOT_SHOWN: ("▲", "check"), Verdict.TOO_FEW: ("▲", "check")}
KINDS = {
    Kind.ABX: "ABX: is X the same as A or as B?",
    Kind.RATING: "Every sound rated.",
    Kind.PAIRS: "Pairs: which is preferred?",
}
READING = (
    "p is the chance that listeners who hear no difference would answer so by luck. Below 1 in 20 a difference is "
    "called heard. A large p does not say that all sound the same: it may be that too few answered.",
    "Where several things are tested at once, each p is raised so that luck in one of them is not taken for more.",
)


def results_page(session: Session, *, style: str | None = None) -> str:
    """Return the results of a closed session; `style` is where a served page finds its style sheet.

    Raises
    ------
    DataError
        When the session is not closed.
    """
    found = analyse(session)
    title = f"What was heard: {session.name}"
    looks = (
        element("style", Markup(style_sheet()))
        if style is None
        else Markup(f'<link rel="stylesheet" href="{style}"/>')
    )
    head = joined(
        [
            element("meta", charset="utf-8"),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            element("meta", name="color-scheme", content="light dark"),
            element("title", title),
            Markup('<link rel="icon" href="data:,"/>'),
            looks,
        ]
    )
    begun = f"{KINDS[session.setup.kind]} Begun {session.begun}. {matched_words(session.setup)}"
    kicker = element("p", typeset(begun.rstrip()), class_="lead quiet")
    header = element("header", kicker, element("h1", title))
    body = joined([header, element("main", *_sections(session, found))])
    page = element("html", element("head", head), element("body", body), lang="en-GB")
    return f"<!DOCTYPE html>\n{page}\n"


def results_data(found: Analysis) -> dict[str, Any]:
    """Return an analysis as plain data: what the page shows, and every number of it."""
    return {"format": FORMAT, **asdict(found)}


def _sections(session: Session, found: Analysis) -> list[Markup]:
    sign, look = SIGNS[found.verdict]
    verdict = element("p", element("span", f"{sign} {found.verdict}", class_=look), class_="lead")
    told = (element("p", typeset(sentence)) for sentence in (found.headline, *found.sentences))
    sections = [element("section", element("h2", "In short"), verdict, *told)]
    if found.cautions:
        worth = (element("p", typeset(words), class_="card spaced") for words in found.cautions)
        sections.insert(0, element("section", element("h2", "Read this first"), *worth))
    if found.picture is not None:
        sections.append(
            element("section", element("h2", "Picture"), results_figure(found.picture, found.table))
        )
    sections.append(
        element("section", element("h2", "What was hidden"), behind("Who heard what", _plan(session)))
    )
    reading = (element("p", words) for words in READING)
    sections.append(element("section", element("h2", "How to read this"), *reading))
    return sections


def results_figure(picture: Picture, numbers: Table) -> Markup:
    """Draw the picture with its key, and its table behind it."""
    rows = [
        (row.name, [Dot(mark.value, mark.words, mark.place, mark.low, mark.high) for mark in row.marks])
        for row in picture.rows
    ]
    drawn = joined(
        [dot_rows(picture.title, rows, picture.unit, span=picture.span), dot_key(dict(picture.key))]
    )
    return element(
        "div",
        figure(picture.title, drawn, table(numbers.heads, numbers.rows), typeset(picture.note)),
        class_="alone",
    )


def _plan(session: Session) -> Markup:
    """Tell what stood behind every letter."""
    rows = []
    for listener, (name, trials) in enumerate(zip(session.setup.listeners, session.plan, strict=True)):
        for number, trial in enumerate(trials):
            labels = zip(labels_of(session.setup, trial), trial.stimuli, strict=True)
            sounds = ", ".join(f"{label} {_called(session, stimulus)}" for label, stimulus in labels)
            done = "yes" if (listener, number) in session.finished else "no"
            rows.append((f"{name}, {number + 1}", sounds, done))
    return table(("listener and trial", "letters", "answered"), rows, class_="words")


def _called(session: Session, stimulus: Stimulus) -> str:
    name = session.setup.candidates[stimulus.candidate]
    return name if stimulus.part is Part.ITSELF else f"{name} ({stimulus.part})"
