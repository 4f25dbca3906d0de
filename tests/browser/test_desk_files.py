"""Nothing is lost: files changed by others, work kept aside, a server started again, curves dropped, long work."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from browser.desks import Served, Sheet, example, until, words

CONNECTION = "console: WebSocket connection to "  # the browser itself says that a server went away
MOVED = {"file": "design", "path": ["drivers", "tweeter", "centre"], "text": "[2 mm, 54 mm]"}
SLOW = str(Path(__file__).with_name("slow_desk.py"))
DROP = """([name, text]) => {
  const what = new DataTransfer();
  what.items.add(new File([text], name, {type: 'text/plain'}));
  for (const kind of ['dragover', 'drop'])
    document.body.dispatchEvent(new DragEvent(kind, {dataTransfer: what, bubbles: true, cancelable: true}));
}"""


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    """A desk that may be stopped and started again."""
    served = Served(example(tmp_path) / "twin.yaml", tmp_path / "state")
    yield served
    served.stop()


def armchair(sheet: Sheet) -> str:
    """Return the number on the armchair."""
    return sheet.spreads()["armchair"]


def move_armchair(sheet: Sheet) -> str:
    """Move the armchair by keys; return the number that it has there."""
    sheet.seat("armchair").focus()
    sheet.keys(*["Shift+ArrowLeft"] * 8)
    place = until(lambda: s if (s := sheet.served.twin()["seats"][3])["y_m"] == 2.75 else {}, "moved")
    until(lambda: armchair(sheet) == words(place["spread_db"]), "its number")
    return words(place["spread_db"])


def test_a_file_that_changed_on_disk_is_never_overwritten_unasked(sheet: Sheet) -> None:
    brief = sheet.served.folder / "brief.yaml"
    moved = move_armchair(sheet)
    theirs = brief.read_text(encoding="utf-8").replace("title: Attic cinema", "title: Attic, theirs")
    brief.write_text(theirs, encoding="utf-8")
    sheet.keys("Control+s")
    bar = sheet.page.locator(".bar.check")
    expect(bar).to_contain_text("brief.yaml changed on disk")
    assert brief.read_text(encoding="utf-8") == theirs
    sheet.button("Save mine over it").click()
    expect(sheet.button("Saved")).to_be_disabled()
    expect(bar).to_have_count(0)
    assert "theirs" not in brief.read_text(encoding="utf-8")
    assert armchair(sheet) == moved


def test_a_file_changed_on_disk_is_taken_when_told(sheet: Sheet) -> None:
    design = sheet.served.folder / "twin.yaml"
    before = armchair(sheet)
    design.write_text(design.read_text(encoding="utf-8").replace("6.8 uF", "3.9 uF"), encoding="utf-8")
    expect(sheet.page.locator(".bar.check")).to_contain_text(
        "twin.yaml changed on disk"
    )  # noticed without a save
    sheet.button("Take the file from disk").click()
    expect(sheet.page.locator('[data-spread-at="armchair"]')).not_to_have_text(before)
    assert "3.9 uF" in str(sheet.served.twin()["ways"])
    sheet.keys("Control+z")
    expect(sheet.page.locator('[data-spread-at="armchair"]')).to_have_text(before)


def test_work_that_was_not_saved_is_offered_back(browser: Browser, own: Served) -> None:
    first = Sheet(browser, own)
    before = armchair(first)
    moved = move_armchair(first)
    assert moved != before
    first.close()
    own.stop()
    own.start()
    again = Sheet(browser, own)
    expect(again.page.locator(".bar.news")).to_contain_text("brief.yaml")
    assert armchair(again) == before
    again.button("Take it back").click()
    expect(again.page.locator('[data-spread-at="armchair"]')).to_have_text(moved)
    expect(again.button("Save")).to_be_enabled()
    assert "3.55 m" in (own.folder / "brief.yaml").read_text(encoding="utf-8")
    again.saved()
    assert "2.75 m" in (own.folder / "brief.yaml").read_text(encoding="utf-8")
    again.close()
    assert again.complaints == first.complaints == []


def test_a_server_started_again_finds_its_page(browser: Browser, own: Served) -> None:
    sheet = Sheet(browser, own)
    moved = move_armchair(sheet)
    own.stop()
    bar = sheet.page.locator(".bar.check")
    expect(bar).to_contain_text("connection to forehear is lost")
    assert armchair(sheet) == moved
    own.start()
    expect(bar).to_have_count(0, timeout=10_000)
    until(lambda: own.twin()["seats"][3]["y_m"] == 2.75, "what the page had, without a question")
    expect(sheet.page.locator(".bar")).to_have_count(0)
    assert armchair(sheet) == moved
    sheet.seat("armchair").focus()
    sheet.keys("ArrowLeft")
    until(lambda: own.twin()["seats"][3]["y_m"] == 2.74, "and it goes on")
    sheet.close()
    assert [words for words in sheet.complaints if not words.startswith(CONNECTION)] == []


def test_a_dropped_response_is_shown_then_taken(sheet: Sheet) -> None:
    before, folder = armchair(sheet), sheet.served.folder
    theirs = (folder / "parts" / "dome-25-response.txt").read_text(encoding="utf-8").splitlines()
    rows = [line.split() for line in theirs if line and line[0].isdigit()]
    louder = "\n".join(f"{hz} {float(db) + 4:.2f}" for hz, db, *_ in rows)
    sheet.page.evaluate(DROP, ["louder.txt", louder])
    card = sheet.page.get_by_role("region", name="A dropped curve")
    expect(card).to_contain_text("louder.txt")
    card.get_by_label("driver").select_option("tweeter")
    expect(card.locator(".plot canvas")).to_be_visible()
    assert armchair(sheet) == before, "shown is not taken"
    card.get_by_role("button", name="Take it").click()
    expect(sheet.page.locator('[data-spread-at="armchair"]')).not_to_have_text(before)
    expect(card).to_have_count(0)
    assert not (folder / "parts" / "dome-25-response-2.txt").exists()
    sheet.saved()
    assert (folder / "parts" / "dome-25-response-2.txt").read_text(encoding="utf-8").strip() == louder
    shown, promised = sheet.served.picture()["seats"], sheet.served.predicted()["seats"]
    assert [seat["spread_db"] for seat in shown] == [seat["spread_db"] for seat in promised]


def test_a_picked_text_that_is_no_curve_is_refused_in_words(sheet: Sheet) -> None:
    letter = {"name": "letter.txt", "mimeType": "text/plain", "buffer": b"Dear builder,\nno numbers here.\n"}
    sheet.page.locator("input[type=file]").set_input_files([letter])  # type: ignore[list-item]
    card = sheet.page.get_by_role("region", name="A dropped curve")
    expect(card.get_by_role("alert")).to_be_visible()
    expect(card.get_by_role("button", name="Take it")).to_be_disabled()
    card.get_by_role("button", name="Put away").click()
    expect(card).to_have_count(0)
    sheet.complaints = [
        words for words in sheet.complaints if "422" not in words
    ]  # Chromium notes each such answer


def test_long_work_shows_how_far_it_is_and_stops_while_the_desk_stays_quick(
    browser: Browser, tmp_path: Path
) -> None:
    served = Served(example(tmp_path) / "twin.yaml", tmp_path / "state", (SLOW,))
    sheet = Sheet(browser, served)
    served.ask_nothing_back({"do": "start", "job": "slow"})
    bar = sheet.page.get_by_role("progressbar", name="Slow search")
    expect(bar).to_be_visible()
    first = float(bar.get_attribute("value") or 0)
    until(lambda: float(bar.get_attribute("value") or 0) > first, "it goes on")
    expect(sheet.page.locator(".job")).to_contain_text("s left")
    begun = time.monotonic()
    move_armchair(sheet)
    assert time.monotonic() - begun < 5  # not a matter of speed: the job itself takes ten seconds
    assert bar.is_visible()
    sheet.page.get_by_role("button", name="Stop: Slow search").click()
    expect(sheet.page.locator(".job")).to_have_count(0)
    sheet.close()
    served.stop()
    assert sheet.complaints == []


def test_refine_is_pressed_and_a_moved_driver_takes_it_back(browser: Browser, tmp_path: Path) -> None:
    served = Served(example(tmp_path) / "twin.yaml", tmp_path / "state", (SLOW,))
    sheet = Sheet(browser, served)
    solver = sheet.page.locator("header .quietly")
    expect(solver).to_have_text("instant")
    sheet.button("Refine").focus()
    sheet.keys("Enter")
    expect(sheet.button("Refine")).to_be_disabled()
    expect(solver).to_have_text("reference to 560 Hz", timeout=30_000)
    expect(sheet.page.locator(".job")).to_have_count(0)
    assert any("edges of 12 mm radius act up to 800 Hz" in words for words in served.picture()["estimated"])
    served.ask({"do": "change", "group": "m", "changes": [MOVED]})
    expect(solver).to_have_text("instant")
    expect(sheet.button("Refine")).to_be_enabled()
    sheet.keys("Control+z")
    expect(solver).to_have_text("reference to 560 Hz")
    sheet.close()
    served.stop()
    assert sheet.complaints == []
