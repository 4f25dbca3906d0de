"""Every desk in both themes: nobody shut out, nothing cut off, tables, copies and data behind each picture."""

import json
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from browser.desks import Scheme, Served, Sheet, until

ROOT = Path(__file__).parents[2]
AXE = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
SHOTS = ROOT / "out" / "desk"
SCHEMES: tuple[Scheme, ...] = ("light", "dark")
DESKS = ("Seats", "Front", "Network")
CUT_OFF = """() => {
  const wide = document.documentElement.clientWidth;
  const inside = e => e.closest('svg, .scroll, .wide, .unseen, .overlay, canvas, .uplot');
  const told = [];
  for (const e of document.querySelectorAll('body *')) {
    const box = e.getBoundingClientRect();
    if (box.width && box.right > wide + 1 && !inside(e)) told.push(['leaves', e.tagName, e.textContent.slice(0, 40)]);
    const bare = e.matches('button, th, td, h1, h2, label, small') && getComputedStyle(e).display !== 'inline';
    if (bare && !inside(e) && e.offsetParent && e.scrollWidth > e.clientWidth + 1)
      told.push(['cut', e.tagName, e.textContent.slice(0, 40)]);
  }
  for (const e of document.querySelectorAll('.wide'))
    if (e.scrollWidth > e.clientWidth + 1) told.push(['scrolls', e.tagName, e.textContent.slice(0, 40)]);
  return told;
}"""
WORDS_OVER_WORDS = """() => {
  const told = [];
  for (const svg of document.querySelectorAll('main svg')) {
    const texts = [...svg.querySelectorAll('text')].filter(t => t.textContent.trim());
    const words = texts.map(t => [t.textContent, t.getBoundingClientRect()]);
    words.forEach(([text, a], i) => words.slice(i + 1).forEach(([other, b]) => {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 1 && high > 4) told.push([text, other]);
    }));
  }
  return told;
}"""
FONT_IS_HERE = """document.fonts.check('16px "Atkinson Hyperlegible Next Variable"')"""
PNG_ON_CLIPBOARD = """async () => {
  const [item] = await navigator.clipboard.read();
  const bitmap = await createImageBitmap(await item.getType('image/png'));
  return [bitmap.width, bitmap.height];
}"""


@pytest.fixture
def axe() -> str:
    """The accessibility checker, from the development packages of web/."""
    if not AXE.is_file():
        pytest.fail(f"{AXE.relative_to(ROOT)} is missing: sh web/run.sh check installs axe-core")
    return AXE.read_text(encoding="utf-8")


@pytest.fixture
def busy(desk: Served) -> Served:
    """A desk on which everything is to be seen: A kept, a candidate compared, something changed."""
    tweeter = {"file": "design", "path": ["drivers", "tweeter", "centre"], "text": "[4 mm, 54 mm]"}
    desk.ask(
        {"do": "keep"},
        {"do": "compare", "candidate": "trio.yaml"},
        {"do": "change", "changes": [tweeter], "group": ""},
    )
    desk.picture()
    return desk


@pytest.fixture
def copying(browser: Browser, desk: Served) -> Iterator[Sheet]:
    """A page that may use the clipboard."""
    sheet = Sheet(browser, desk)
    sheet.context.grant_permissions(["clipboard-read", "clipboard-write"])
    yield sheet
    sheet.close()
    assert sheet.complaints == []


def open_everything(sheet: Sheet, desk: str) -> None:
    """Choose something on a desk, so that what stands only beside a chosen thing is seen too."""
    sheet.go(desk)
    if desk == "Network":
        sheet.page.locator(".schematic .part").nth(1).focus()
    elif desk == "Front":
        sheet.page.locator(".around .quiet", has_text="armchair").click()
    else:
        sheet.page.get_by_role("button", name="In the room: table").click()


@pytest.mark.parametrize("desk_name", DESKS)
def test_nobody_is_shut_out(browser: Browser, busy: Served, axe: str, desk_name: str) -> None:
    sheet = Sheet(browser, busy)
    open_everything(sheet, desk_name)
    sheet.page.evaluate(axe)
    for scheme in SCHEMES:
        sheet.page.emulate_media(color_scheme=scheme)
        found: dict[str, list[dict[str, Any]]] = sheet.page.evaluate("axe.run()")
        told = [
            (scheme, rule["id"], node["target"], node["failureSummary"])
            for rule in found["violations"]
            for node in rule["nodes"]
        ]
        assert told == []
        assert len(found["passes"]) > 20, "it must have looked"
    sheet.close()
    assert sheet.complaints == []


@pytest.mark.parametrize("zoom", [1, 2])
def test_nothing_is_cut_off(browser: Browser, busy: Served, zoom: int) -> None:
    """1280 x 720, and the same window at 200 % (WCAG 2, success criterion 1.4.4)."""
    SHOTS.mkdir(parents=True, exist_ok=True)
    sheet = Sheet(browser, busy, zoom=zoom)
    for desk_name in DESKS:
        open_everything(sheet, desk_name)
        for scheme in SCHEMES:
            sheet.page.emulate_media(color_scheme=scheme)
            sheet.page.screenshot(
                path=SHOTS / f"{desk_name.lower()}-{scheme}-{100 * zoom}.png", full_page=True
            )
        assert sheet.page.evaluate("document.documentElement.scrollWidth") <= 1280 // zoom
        assert sheet.page.evaluate(CUT_OFF) == []
        assert sheet.page.evaluate(WORDS_OVER_WORDS) == []
    assert sheet.page.evaluate(FONT_IS_HERE)
    sheet.close()
    assert sheet.complaints == []


def test_themes_follow_the_system(sheet: Sheet) -> None:
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    curve = "document.querySelector('.plot canvas').toDataURL()"
    light, drawn = sheet.page.evaluate(ground), sheet.page.evaluate(curve)
    assert light == "rgb(246, 244, 239)"
    sheet.page.emulate_media(color_scheme="dark")
    until(lambda: sheet.page.evaluate(ground) == "rgb(21, 25, 29)", "dark")
    until(lambda: sheet.page.evaluate(curve) != drawn, "drawn anew")


@pytest.mark.parametrize("desk_name", DESKS)
def test_a_table_stands_behind_every_picture(sheet: Sheet, desk_name: str) -> None:
    sheet.served.picture()
    sheet.go(desk_name)
    tables = sheet.page.locator("figure .tools button", has_text="Table")
    assert tables.count() >= 3
    for table in tables.all():
        table.press("Enter")
        expect(table).to_have_attribute("aria-pressed", "true")
    rows = sheet.page.locator("figure .data")
    assert rows.count() == tables.count()
    for each in rows.all():
        assert each.locator("tbody tr").count() >= 4
        assert "NaN" not in each.inner_text()
        assert "undefined" not in each.inner_text()


@pytest.mark.parametrize("desk_name", DESKS)
def test_every_picture_is_copied_as_svg_and_png(copying: Sheet, desk_name: str) -> None:
    copying.served.picture()
    copying.go(desk_name)
    figures = copying.page.locator("figure", has=copying.page.locator(".tools"))
    assert figures.count() >= 3
    for figure in figures.all():
        figure.locator(".tools button", has_text="SVG").click()
        expect(copying.page.locator(".toast")).to_contain_text("on the clipboard as SVG")
        text = copying.page.evaluate("navigator.clipboard.readText()")
        svg = ElementTree.fromstring(text)
        assert svg.tag == "{http" + "://www.w3.org/2000/svg}svg"
        assert len(list(svg.iter())) > 20
        assert "var(--" not in text
        assert "url(http" not in text
        figure.locator(".tools button", has_text="PNG").click()
        expect(copying.page.locator(".toast")).to_contain_text("on the clipboard as PNG")
        width, height = copying.page.evaluate(PNG_ON_CLIPBOARD)
        assert width == 2 * float(svg.attrib["width"])
        assert height == 2 * float(svg.attrib["height"])
        copying.page.evaluate("navigator.clipboard.writeText('')")


@pytest.mark.parametrize("desk_name", DESKS)
def test_the_data_behind_a_desk_are_what_it_shows(sheet: Sheet, desk_name: str) -> None:
    now = sheet.served.picture()
    answer = sheet.page.request.get(
        f"{sheet.served.home}/{desk_name.lower()}.json"
    )  # the page's own cookie opens it
    assert answer.headers["content-type"] == "application/json"
    twin = json.loads(answer.text())
    assert twin["seats"] == now["seats"]
    sheet.go(desk_name)
    assert f"/{desk_name.lower()}" in sheet.page.url
    assert sheet.served.token not in sheet.page.url


def test_the_desks_are_walked_by_keyboard_alone(sheet: Sheet) -> None:
    sheet.keys("Tab", "Tab")
    expect(sheet.page.get_by_role("link", name="Front")).to_be_focused()
    sheet.keys("Enter")
    expect(sheet.page.locator(".desk.front")).to_be_visible()
    expect(sheet.page).to_have_title("Twin \u2013 front")
    sheet.page.go_back()
    expect(sheet.page.locator(".desk.seats")).to_be_visible()
