"""The report in a real browser: quiet, whole at every width, readable in both themes, no words over words."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from forehear.design import Reflector
from forehear.publish import write_report
from forehear.publish.pictures.colours import viridis
from forehear.spine.compare import Comparison
from rooms.synthetic import one_candidate, playing_together, three_candidates, with_ranges

AXE = Path(__file__).resolve().parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
ARGUMENTS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
LONG_TITLES = ("Twin", "An upright two-way with quite a long name", "Trio <b>&amp; friends</b>")

# What a person meets in text: every leaf's colour and the first background behind it.
CONTRAST = """() => {
  const clear = c => c === 'rgba(0, 0, 0, 0)' || c === 'transparent';
  const behind = e => { while (e && clear(getComputedStyle(e).backgroundColor)) e = e.parentElement;
                        return e ? getComputedStyle(e).backgroundColor : 'rgb(255, 255, 255)'; };
  const told = [];
  const words = 'h1,h2,h3,p,li,a,td,th,dt,dd,figcaption,small,summary,span,svg text';
  for (const e of document.querySelectorAll(words)) {
    if (!e.textContent.trim() || e.closest('details:not([open]) > :not(summary)')) continue;
    if (e.matches('.spread,.on-map')) continue;  // on colours of their own
    const style = getComputedStyle(e);
    told.push([e.textContent.slice(0, 40), e.tagName === 'text' ? style.fill : style.color, behind(e)]);
  }
  return told;
}"""

# Words of one picture that lie over each other, or leave the picture.
CLASHES = """() => {
  const told = [];
  for (const svg of document.querySelectorAll('svg')) {
    if (svg.parentElement.closest('svg')) continue;
    const frame = svg.getBoundingClientRect();
    const words = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
    for (const [text, box] of words)
      if (box.left < frame.left - 1 || box.right > frame.right + 1
          || box.bottom > frame.bottom + 1 || box.top < frame.top - 1)
        told.push(['leaves', svg.getAttribute('aria-label'), text]);
    words.forEach(([text, a], i) => words.slice(i + 1).forEach(([other, b]) => {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 1 && high > 4) told.push(['over', svg.getAttribute('aria-label'), text, other]);
    }));
  }
  return told;
}"""

OVERFLOW = """() => [...document.querySelectorAll('body *')]
  .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1
               && !e.closest('.scroll') && !e.closest('svg'))
  .map(e => e.tagName + ' ' + e.textContent.slice(0, 40))"""

CELLS = """() => [...document.querySelectorAll('th, td')]
  .filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"""

UNNAMED = """() => [...document.querySelectorAll('svg')]
  .filter(s => !s.parentElement.closest('svg') && !(s.getAttribute('aria-label') || '').trim()).length"""

PIXELS = """async () => {
  const picture = document.querySelector('svg image');
  const image = new Image();
  image.src = picture.getAttribute('href');
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = image.naturalWidth;
  canvas.height = image.naturalHeight;
  const drawing = canvas.getContext('2d');
  drawing.drawImage(image, 0, 0);
  const row = drawing.getImageData(0, (image.naturalHeight - 1) / 2, image.naturalWidth, 1).data;
  return [image.naturalWidth, image.naturalHeight, [...row]];
}"""


@pytest.fixture(scope="module")
def browser(chromium: Path) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(chromium), args=list(ARGUMENTS))
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("reports")
    write_report(three_candidates(LONG_TITLES), folder / "three.html")
    write_report(one_candidate(), folder / "one.html")
    write_report(everything(), folder / "all.html")
    return {name: folder / f"{name}.html" for name in ("three", "one", "all")}


def everything() -> Comparison:
    """Three candidates with ranges, several speakers, and boards on the plan."""
    comparison = three_candidates(LONG_TITLES)
    reflectors = (
        Reflector("screen", (0.05, 2.1, 1.45), (1.0, 0.0, 0.0), 2.2, 1.2, (0.05,) * 8, ""),
        Reflector("table", (2.3, 2.1, 0.45), (0.0, 0.0, 1.0), 0.9, 0.5, (0.05,) * 8, ""),
    )
    told = []
    for prediction in map(with_ranges, comparison.predictions):
        brief = replace(prediction.design.brief, reflectors=reflectors)
        together = playing_together([seat.name for seat in prediction.seats])
        told.append(replace(prediction, design=replace(prediction.design, brief=brief), together=together))
    return replace(comparison, predictions=tuple(told))


def opened(
    browser: Browser, path: Path, width: int = 1280, scheme: Literal["light", "dark"] = "light"
) -> tuple[Page, list[str]]:
    """Open a page and note everything it says or asks for."""
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    noted: list[str] = []
    page.on("console", lambda message: noted.append(f"console: {message.text}"))
    page.on("pageerror", lambda error: noted.append(f"error: {error}"))
    page.on("request", lambda request: noted.append(f"request: {request.url[:60]}"))
    page.goto(path.as_uri())
    return page, noted


@pytest.mark.parametrize("name", ["three", "one", "all"])
@pytest.mark.parametrize("width", [1280, 800, 420])
def test_page_is_quiet_whole_and_named(
    browser: Browser, reports: dict[str, Path], name: str, width: int
) -> None:
    page, noted = opened(browser, reports[name], width)
    asked = [note for note in noted if not note.startswith(("request: file:", "request: data:"))]
    assert asked == []
    assert len([note for note in noted if note.startswith("request: file:")]) == 1
    assert page.evaluate(OVERFLOW) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(CELLS) == []
    assert page.evaluate(UNNAMED) == 0
    assert page.evaluate(CLASHES) == []
    page.close()


@pytest.mark.parametrize("name", ["one", "all"])
def test_nobody_is_shut_out(browser: Browser, reports: dict[str, Path], name: str) -> None:
    """The rules of axe-core, an accessibility checker, with every table open."""
    if not AXE.is_file():
        pytest.fail(f"{AXE.name} is missing: sh web/run.sh check installs axe-core")
    page, _ = opened(browser, reports[name])
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    page.evaluate(AXE.read_text(encoding="utf-8"))
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme)
        found: dict[str, list[dict[str, Any]]] = page.evaluate("axe.run()")
        told = [
            (scheme, rule["id"], node["target"], node["failureSummary"])
            for rule in found["violations"]
            for node in rule["nodes"]
        ]
        assert told == []
        assert len(found["passes"]) > 20, "it must have looked"
    page.close()


@pytest.mark.parametrize("scheme", SCHEMES)
def test_text_stands_out_from_its_ground(
    browser: Browser, reports: dict[str, Path], scheme: Literal["light", "dark"]
) -> None:
    page, _ = opened(browser, reports["three"], scheme=scheme)
    told = page.evaluate(CONTRAST)
    assert len(told) > 300
    faint = [
        (words, round(contrast(ink, ground), 2)) for words, ink, ground in told if contrast(ink, ground) < 4.5
    ]
    assert faint == []  # WCAG 2, success criterion 1.4.3: 4.5 to 1
    grounds = {ground for _, _, ground in told}
    assert len(grounds) >= 2
    page.close()


def test_themes_differ(browser: Browser, reports: dict[str, Path]) -> None:
    grounds = []
    for scheme in SCHEMES:
        page, _ = opened(browser, reports["one"], scheme=scheme)
        grounds.append(page.evaluate("getComputedStyle(document.documentElement).backgroundColor"))
        page.close()
    assert grounds == ["rgb(246, 244, 239)", "rgb(21, 25, 29)"]


def test_browser_reads_our_level_map_as_we_meant_it(browser: Browser, reports: dict[str, Path]) -> None:
    page, _ = opened(browser, reports["one"])
    width, height, row = page.evaluate(PIXELS)
    assert (width, height) == (240, 73)
    on_axis = [tuple(row[4 * column : 4 * column + 3]) for column in range(width)]
    zero_db = tuple(
        int(value) for value in viridis()[round(255 * 24 / 30)]
    )  # the bar reaches from -24 to 6 dB
    assert set(on_axis) == {zero_db}
    page.close()


def test_prints_on_a4_in_light_whatever_the_theme(browser: Browser, reports: dict[str, Path]) -> None:
    page, _ = opened(browser, reports["three"], scheme="dark")
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(28, 33, 38)"
    assert page.evaluate(CELLS) == []
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    pages = printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ")
    assert 5 <= pages <= 20
    assert b"/MediaBox [0 0 594" in printed or b"/MediaBox [0 0 595" in printed  # A4 is 595 points wide
    page.close()


def test_tables_open_by_keyboard(browser: Browser, reports: dict[str, Path]) -> None:
    page, _ = opened(browser, reports["one"])
    page.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert page.locator("details[open] table").first.is_visible()
    page.close()


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2: (L1 + 0.05) / (L2 + 0.05), relative luminance of sRGB colours."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def luminance(colour: str) -> float:
    values = [float(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_contrast_of_black_on_white() -> None:
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21.0)
    assert contrast("rgb(119, 119, 119)", "rgb(255, 255, 255)") == pytest.approx(
        4.48, abs=0.005
    )  # WCAG's own example
