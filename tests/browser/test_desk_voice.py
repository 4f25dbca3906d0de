"""The Voice panel by hand: opened late, started, watched, stopped, tried, undone and saved; read by everybody."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, expect

from browser.desks import PATIENCE_S, Served, Sheet, example, until
from browser.test_desk_everywhere import AXE, CUT_OFF, SCHEMES, SHOTS, WORDS_OVER_WORDS
from forehear.design import load

CALM = str(Path(__file__).with_name("calm_desk.py"))
LONG_MS = 60_000
WITHOUT = ("turn a way round", "leave parts out", "add parts")
TABLES = ("How the goal falls", "What evenness costs", "What spoils most", "What gives out at which level")


def shown(served: Served) -> dict[str, Any]:
    """Read what the panel shows."""
    with urlopen(f"{served.home}/voice.json?token={served.token}", timeout=PATIENCE_S) as answer:
        found: dict[str, Any] = json.load(answer)
    return found


def values(served: Served) -> list[str]:
    """List the values of the parts as the drawing has them."""
    steps = [step for way in served.twin("network")["ways"] for step in way["steps"]]
    return [str(step["element"]["value"]) for step in steps]


@pytest.fixture(scope="module")
def one_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("desk")
    served = Served(example(folder) / "twin.yaml", folder / "state", [CALM])
    yield served
    served.stop()


@pytest.fixture
def voice(sheet: Sheet) -> Sheet:
    """The Network desk with the panel open."""
    sheet.go("Network")
    sheet.button("Voice").click()
    sheet.page.locator(".voice .goal").wait_for()
    return sheet


def short_search(voice: Sheet) -> None:
    """Look for values alone: the shortest search there is."""
    older = shown(voice.served)["found"]
    voice.page.get_by_text("How it searches").click()
    for name in WITHOUT:
        voice.page.get_by_label(name).check()
    voice.button("Start").click()
    until(lambda: (new := shown(voice.served)["found"]) and new != older, "found")
    voice.page.locator('[data-offer="0"]').wait_for()
    expect(voice.button("Start")).to_be_visible()


def test_the_panel_is_fetched_when_it_is_opened(sheet: Sheet) -> None:
    asked: list[str] = []
    sheet.page.on("request", lambda request: asked.append(request.url.rpartition("/")[2]))
    sheet.go("Network")
    door = sheet.button("Voice")
    expect(door).to_have_attribute("aria-expanded", "false")
    assert not {"Voice.js", "voice.css", "voice.json"} & set(asked)
    door.press("Enter")
    expect(sheet.page.get_by_role("heading", name="Voice: find the network")).to_be_visible()
    until(lambda: {"Voice.js", "voice.css", "voice.json"} <= set(asked), "fetched")
    expect(sheet.page.locator(".voice .hint")).to_contain_text("Undo takes it back")
    expect(sheet.field("impedance, at least")).to_have_value("3.2")
    expect(sheet.field("in the room")).to_have_value("1")
    expect(sheet.page.get_by_label("armchair", exact=True)).to_be_checked()
    door.press("Enter")
    expect(sheet.page.locator(".voice")).to_have_count(0)


def test_a_network_is_found_tried_undone_and_saved(voice: Sheet) -> None:
    before = values(voice.served)
    short_search(voice)
    now = shown(voice.served)["found"]
    best = now["voicing"]["short_list"][0]
    row = voice.page.locator('[data-offer="0"] .numbers')
    expect(row).to_contain_text(f"{best['goal']:.2f}\u00a0dB")
    expect(row).to_contain_text(f"{now['voicing']['goal_before'] - best['goal']:.2f}\u00a0dB better")
    expect(row).to_contain_text(f"{best['price']:.2f}")
    expect(voice.page.locator('.voice [data-network="1"]')).to_have_count(2)
    assert voice.page.locator(".voice .fall").get_attribute("points")
    voice.button("Parts: network 1").click()
    expect(voice.page.locator(".voice .parts li")).to_have_count(best["parts"])
    missing = sum(part["missing"] for part in best["made"])
    expect(voice.page.locator(".voice .to-get")).to_have_count(missing)
    voice.button("Keep as A").click()
    spreads = [seat["spread_db"] for seat in voice.served.twin()["seats"]]
    voice.button("Try: network 1").press("Enter")
    expect(voice.button("In the drawing: network 1")).to_be_disabled()
    made = values(voice.served)
    assert made != before
    for part, value in zip(best["made"], made, strict=True):
        assert value in part["name"]
    assert [seat["spread_db"] for seat in voice.served.twin()["seats"]] != spreads
    expect(voice.page.locator(".schematic")).to_contain_text(
        made[0].replace(" ", "\u00a0").replace("uF", "µF")
    )
    voice.page.keyboard.press("Control+z")
    until(lambda: values(voice.served) == before, "undone")
    expect(voice.button("Try: network 1")).to_be_enabled()
    voice.button("Save as a design file: network 1").click()
    expect(voice.button("Saved as twin-voiced-1.yaml: network 1")).to_be_disabled()
    assert (voice.served.folder / "twin-voiced-1.yaml").is_file()
    assert load(voice.served.folder / "twin-voiced-1.yaml").title == "Twin voiced 1"


def test_a_search_is_stopped_and_the_desk_is_used_meanwhile(voice: Sheet) -> None:
    voice.page.get_by_text("How it searches").click()
    for order in (1, 2, 3, 4):
        voice.page.get_by_label(f"order {order}").check()
    voice.button("Start").click()
    job = voice.page.locator("header .job")
    expect(job).to_contain_text("Voice")
    expect(voice.page.locator(".voice .fall")).to_be_visible(timeout=LONG_MS)
    voice.go("Seats")
    place = voice.page.locator('[data-spread-at="armchair"]')
    before = place.text_content() or ""
    voice.seat("armchair").focus()
    voice.keys(*["Shift+ArrowLeft"] * 4)
    expect(place).not_to_have_text(before)
    expect(job).to_be_visible()
    voice.go("Network")
    voice.button("Stop, and keep the best so far").press("Enter")
    expect(job).to_have_count(0)
    expect(voice.page.locator(".voice .found")).to_contain_text("stopped by hand", timeout=LONG_MS)
    expect(voice.page.locator(".voice .stale")).to_contain_text("search again")
    assert shown(voice.served)["found"]["voicing"]["short_list"]


def test_what_cannot_be_is_said_beside_the_goal(voice: Sheet) -> None:
    voice.fill("parts, at most", "none")
    expect(voice.field("parts, at most")).to_have_attribute("aria-invalid", "true")
    voice.fill("parts, at most", "")
    voice.fill("impedance, at least", "6")
    voice.button("Start").click()
    said = voice.page.locator(".voice .refused")
    expect(said).to_contain_text("alone have 3.7 ohm at 20 Hz")
    expect(said).to_contain_text("Cure: ask for 3.7 ohm or less")
    voice.fill("impedance, at least", "3.2")
    for name in ("in the room", "on axis", "listening window", "speech to the sides"):
        voice.fill(name, "0")
    voice.button("Start").click()
    expect(voice.page.get_by_role("alert")).to_contain_text("all weights are zero")


@pytest.fixture
def axe() -> str:
    """The accessibility checker, from the development packages of web/."""
    if not AXE.is_file():
        pytest.fail(f"{AXE} is missing: sh web/run.sh check installs axe-core")
    return AXE.read_text(encoding="utf-8")


@pytest.fixture
def all_found(voice: Sheet) -> Served:
    """A desk whose panel has something to show everywhere."""
    short_search(voice)
    voice.button("Build it many times").click()
    voice.button("Load it").click()
    until(lambda: shown(voice.served)["builds"] and shown(voice.served)["stress"], "builds and stress")
    return voice.served


def with_everything(browser: Browser, served: Served, zoom: int = 1) -> Sheet:
    """Open a page, and on it everything that the panel can show."""
    sheet = Sheet(browser, served, "network", zoom=zoom)
    sheet.button("Voice").click()
    sheet.page.locator('[data-offer="0"]').wait_for()
    sheet.page.get_by_text("How it searches").click()
    sheet.button("Parts: network 1").click()
    expect(sheet.page.locator(".voice figure")).to_have_count(len(TABLES))
    for name in TABLES:
        sheet.button(f"{name}: table").press("Enter")
    return sheet


def copy_each_picture(sheet: Sheet) -> None:
    """Copy every picture of the panel, and look at what is on the clipboard."""
    sheet.context.grant_permissions(["clipboard-read", "clipboard-write"])
    for name in TABLES:
        for kind in ("SVG", "PNG"):
            sheet.button(f"{name}: copy as {kind}").click()
            expect(sheet.page.locator(".toast")).to_contain_text(f"“{name}” is on the clipboard as {kind}")
            if kind == "SVG":
                text = sheet.page.evaluate("navigator.clipboard.readText()")
                assert text.startswith("<svg")
                assert "var(--" not in text
                assert text.count("<text") > 3


def test_everybody_can_read_it_and_nothing_is_cut_off(browser: Browser, all_found: Served, axe: str) -> None:
    """Everything shown at once, in both themes, at 1280 x 720 and at 200 %."""
    SHOTS.mkdir(parents=True, exist_ok=True)
    for zoom in (1, 2):
        sheet = with_everything(browser, all_found, zoom)
        words = sheet.page.locator(".voice").inner_text()
        assert "NaN" not in words
        assert "undefined" not in words
        sheet.page.evaluate(axe)
        for scheme in SCHEMES:
            sheet.page.emulate_media(color_scheme=scheme)
            sheet.page.screenshot(path=SHOTS / f"voice-{scheme}-{100 * zoom}.png", full_page=True)
            found = sheet.page.evaluate("axe.run()") if zoom == 1 else {"violations": []}
            assert [(rule["id"], rule["nodes"]) for rule in found["violations"]] == []
        assert sheet.page.evaluate("document.documentElement.scrollWidth") <= 1280 // zoom
        assert sheet.page.evaluate(CUT_OFF) == []
        assert sheet.page.evaluate(WORDS_OVER_WORDS) == []
        if zoom == 1:
            copy_each_picture(sheet)
        sheet.close()
        assert sheet.complaints == []
