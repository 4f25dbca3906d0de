"""The report keeps its laws: no text becomes markup, nothing is fetched, same input, same bytes."""

import re
import time
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import DataError
from forehear.publish import report_page, write_report
from forehear.publish.markup import EMPTY_ELEMENTS, Markup, element
from forehear.publish.pictures.colours import spread_step
from rooms.synthetic import one_candidate, room_story, three_candidates

HOSTILE = "</title><script>alert('1')</script><img src=x onerror=\"alert(2)\">&amp; {{7*7}}"
SECTIONS = ["answer", "room", "speech", "seats", "effect"]


class Reader(HTMLParser):
    """Reads a page by the standard library's parser and complains where tags do not pair."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.text: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))
        self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append((self.open[-1] if self.open else "", data))


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture(scope="module")
def page() -> str:
    return report_page(three_candidates())


def test_same_comparison_gives_the_same_bytes(tmp_path: Path) -> None:
    for name in ("first", "second"):
        write_report(three_candidates(), tmp_path / name)
    assert (tmp_path / "first").read_bytes() == (tmp_path / "second").read_bytes()


def test_titles_from_files_never_become_markup() -> None:
    reader = read(report_page(three_candidates((HOSTILE, "Stack", "Stack"))))
    assert {tag for tag, _ in reader.tags}.isdisjoint({"script", "img", "iframe", "object", "link"})
    assert not [name for _, attributes in reader.tags for name in attributes if name.startswith("on")]
    headings = [data for tag, data in reader.text if tag == "h2"]
    assert f"{HOSTILE}: why, and what would cure it" in headings
    assert "Stack (2): why, and what would cure it" in headings


@given(st.text(st.characters(exclude_categories=("Cs", "Cc"))))
def test_any_text_comes_back_as_it_was(text: str) -> None:
    reader = read(element("p", text, title=text))
    assert reader.tags == [("p", {"title": text})]
    assert "".join(data for _, data in reader.text) == text


def test_page_needs_nothing_else(page: str) -> None:
    reader = read(page)
    for _, attributes in reader.tags:
        for name in ("href", "src"):
            assert attributes.get(name, "#").startswith(("#", "data:image/png;base64,"))
    bare = re.sub(r"base64,[A-Za-z0-9+/=]+", "", page)
    assert "://" not in bare
    assert "url(" not in bare
    assert "@import" not in bare


def test_sections_come_in_the_order_of_the_questions(page: str) -> None:
    told = [attributes["id"] for tag, attributes in read(page).tags if tag == "section"]
    assert told == [*SECTIONS, "candidate-1", "candidate-2", "candidate-3", "reading"]


def test_best_of_each_row_is_marked_by_sign(page: str) -> None:
    best = [data for _, data in read(page).text if data.startswith("✓") and "marks" not in data]
    assert best == ["✓\xa02.0 dB", "✓\xa086 euro"]


def test_one_candidate_alone_is_best_of_nothing() -> None:
    reader = read(report_page(one_candidate()))
    words = " ".join(data for _, data in reader.text)
    assert "✓" not in words
    assert "What every seat hears of Twin" in words
    told = [attributes["id"] for tag, attributes in reader.tags if tag == "section"]
    assert told == [*SECTIONS, "candidate-1", "reading"]


def test_each_seat_prints_its_spread_on_its_colour() -> None:
    comparison = one_candidate()
    tags = read(report_page(comparison)).tags
    fills = [attributes["fill"] for tag, attributes in tags if attributes.get("class") == "seat"]
    looks = [
        attributes["class"] for tag, attributes in tags if attributes.get("class", "").startswith("spread ")
    ]
    steps = [spread_step(seat.spread_db) for seat in comparison.predictions[0].seats]
    assert fills == [step.fill for step in steps]
    assert looks == [f"spread {step.ink}" for step in steps]
    assert len(set(fills)) > 1


def test_each_placement_is_heard_by_itself() -> None:
    alone = one_candidate()
    first = alone.predictions[0]
    seats = first.seats + tuple(replace(seat, placement="right") for seat in first.seats)
    both = replace(alone, predictions=(replace(first, seats=seats, room=room_story(seats)),))
    captions = [data.strip() for tag, data in read(report_page(both)).text if tag == "figcaption"]
    names = [seat.name for seat in first.seats]
    assert captions[3:11] == [f"{name}, hearing {place}" for place in ("centre", "right") for name in names]


def test_nobody_listening_is_said() -> None:
    alone = one_candidate()
    empty = replace(alone, predictions=(replace(alone.predictions[0], seats=()),))
    assert "No seat hears" in report_page(empty)


def test_findings_come_the_gravest_first(page: str) -> None:
    signs = [
        data.split()[0]
        for tag, data in read(page).text
        if tag == "span" and data[:1] in "■▲●" and data[2:3].isalpha()
    ]
    assert signs == ["■", "▲", "●"] * 3


def test_every_chart_has_its_table_behind(page: str) -> None:
    tags = [tag for tag, _ in read(page).tags]
    figures = tags.count("figure")
    assert figures == tags.count("details") > 20


def test_preference_is_no_headline(page: str) -> None:
    told = {tag for tag, data in read(page).text if "preference" in data.lower()}
    assert told == {"th", "p"}


def test_three_candidates_stay_small_and_quick(tmp_path: Path) -> None:
    comparison = three_candidates()
    started = time.perf_counter()
    write_report(comparison, tmp_path / "report.html")
    took = time.perf_counter() - started
    assert (tmp_path / "report.html").stat().st_size < 2_000_000
    assert took < 5.0  # a bar for accidents only; the speed itself is told by tests/speed


def test_a_folder_that_is_missing_is_said(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="cannot write"):
        write_report(one_candidate(), tmp_path / "nowhere" / "report.html")


def test_reader_of_this_test_notices_tags_that_do_not_pair() -> None:
    with pytest.raises(AssertionError):
        read("<p><b>words</p></b>")
    assert "br" in EMPTY_ELEMENTS
    assert list(_texts(element("p", Markup("<b>5</b>"), "<6"))) == ["5", "<6"]


def _texts(page: str) -> Iterator[str]:
    yield from (data for _, data in read(page).text)
