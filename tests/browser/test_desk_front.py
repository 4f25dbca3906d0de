"""The Front desk by hand: drivers and the cabinet dragged and stepped, refusals, the level map and its holes."""

import re

import pytest
from playwright.sync_api import Locator, expect

from browser.desks import Sheet, until, words


@pytest.fixture
def front(sheet: Sheet) -> Sheet:
    sheet.go("Front")
    return sheet


def thing(front: Sheet, name: str) -> Locator:
    """Return something that can be moved on the front."""
    return front.page.locator(f'[data-thing="{name}"]')


def px_per_mm(front: Sheet) -> float:
    """Measure the scale on the two woofers, which stand 236 mm apart."""
    left, right = (thing(front, f"driver woofer {side}").bounding_box() for side in ("left", "right"))
    assert left is not None
    assert right is not None
    return (right["x"] - left["x"]) / 236


def tweeter(front: Sheet) -> tuple[float, float]:
    """Read from the server where the tweeter is."""
    place = front.served.twin("front")["drivers"][2]
    return place["across_mm"], place["up_mm"]


def pixels(front: Sheet) -> str:
    """Return the level map as it is painted."""
    found: str = front.page.evaluate("document.querySelector('.map canvas').toDataURL()")
    return found


def test_a_driver_is_dragged_in_whole_millimetres(front: Sheet) -> None:
    scale, before = px_per_mm(front), pixels(front)
    front.drag(thing(front, "driver tweeter"), (7.3 * scale, -2.4 * scale), steps=12)
    until(lambda: tweeter(front) == (7, 56), "dragged and snapped")
    expect(front.field("tweeter, across in millimetres")).to_have_value("7")
    expect(front.field("tweeter, up in millimetres")).to_have_value("56")
    until(lambda: pixels(front) != before, "a new map")
    front.button("Undo").click()
    until(lambda: tweeter(front) == (0, 54), "a drag is one step of undo")
    until(lambda: pixels(front) == before, "the map that was")


def test_the_map_follows_while_the_hand_moves(front: Sheet) -> None:
    before = pixels(front)
    front.drag(thing(front, "driver tweeter"), (30, 6), drop=False)
    until(lambda: pixels(front) != before, "a new map before the hand lets go")
    front.keys("Escape")
    until(lambda: tweeter(front) == (0, 54), "Escape gives the drag back")
    until(lambda: pixels(front) == before, "the map that was")
    front.page.mouse.up()
    assert tweeter(front) == (0, 54)


def test_arrows_move_a_driver_by_one_millimetre_or_ten(front: Sheet) -> None:
    thing(front, "driver tweeter").focus()
    front.keys("ArrowRight", "ArrowDown", "Shift+ArrowLeft", "ArrowDown")
    until(lambda: tweeter(front) == (-9, 52), "arrow keys")
    label = "tweeter: \u22129 mm across, 52 mm up. Arrow keys move it 1 mm, with Shift 10 mm"
    expect(thing(front, "driver tweeter")).to_have_attribute("aria-label", label)


def test_a_field_beside_every_handle(front: Sheet) -> None:
    front.fill("tweeter, across in millimetres", "-12.5")
    until(lambda: tweeter(front) == (-12.5, 54), "typed")
    front.fill("woofer left, set back in millimetres", "20")
    until(lambda: front.served.twin()["drivers"][0]["set_back_mm"] == 20, "set back")
    front.field("cabinet, depth in millimetres").focus()
    front.keys("ArrowUp", "Shift+ArrowUp")
    until(lambda: front.served.twin()["cabinet"]["depth_mm"] == 271, "stepped")
    assert tweeter(front) == (-12.5, 54)


def test_drivers_never_overlap(front: Sheet) -> None:
    scale = px_per_mm(front)
    front.drag(thing(front, "driver tweeter"), (90 * scale, 40 * scale), drop=False)
    alert = front.page.locator(".no-words")
    expect(alert).to_be_visible()
    assert "woofer right" in alert.inner_text()
    front.page.mouse.up()
    now = tweeter(front)
    expect(front.field("tweeter, across in millimetres")).to_have_value(f"{now[0]:g}")
    shown = thing(front, "driver tweeter").get_attribute("aria-label") or ""
    assert shown.startswith(f"tweeter: {words(now[0], 0)} mm across, {words(now[1], 0)} mm up")
    assert now[0] < 60
    thing(front, "driver tweeter").focus()
    front.keys("ArrowUp")
    expect(alert).to_have_count(0)


def test_the_cabinet_is_pulled_wider(front: Sheet) -> None:
    scale = px_per_mm(front)
    front.drag(thing(front, "cabinet width"), (10 * scale, 0))
    until(lambda: front.served.twin()["cabinet"]["width_mm"] == 440, "both sides move")
    thing(front, "cabinet height").focus()
    front.keys("ArrowUp", "Shift+ArrowUp")
    until(lambda: front.served.twin()["cabinet"]["height_mm"] == 211, "height by keys")
    expect(front.page.get_by_text("acts only in the reference solve")).to_be_visible()


def test_hovering_the_map_marks_direction_and_frequency_everywhere(front: Sheet) -> None:
    pane = front.page.locator(".map .pane").bounding_box()
    assert pane is not None
    readout = front.page.locator(".readout")
    front.page.mouse.move(pane["x"] + 0.6 * pane["width"], pane["y"] + 0.25 * pane["height"])
    expect(readout).to_have_text(re.compile(r"^9[05]° .*right, 1\.\d\d\s*kHz: \u2212?\d+\.\d\s*dB$"))
    expect(front.page.locator("svg.plan .pointed")).to_have_count(1)
    expect(front.page.locator(".cross line")).to_have_count(2)
    for key in front.page.locator(".curves .key .at").all():
        expect(key).to_have_text(re.compile(r"1\.\d\d\s*kHz"))
    assert front.page.locator(".curves .key .at").count() == 2
    now = front.served.twin("front")
    told = re.search(r"^(\d+)°.*, ([\d.]+)\s*kHz: (\S+)\s*dB", readout.inner_text())
    assert told
    row = now["arrays"]["angle_deg"].index(float(told[1]))
    hz = now["arrays"]["frequency_hz"]
    band = min(range(len(hz)), key=lambda n: abs(hz[n] - 1000 * float(told[2])))
    assert told[3] == words(now["arrays"]["orbit.horizontal_db"][row][band])
    front.page.mouse.move(5, 5)
    expect(front.page.locator("svg.plan .pointed")).to_have_count(0)


def test_the_map_is_read_by_keys(front: Sheet) -> None:
    front.page.locator(".map .pane").focus()
    front.keys("ArrowUp", "ArrowUp", "ArrowUp", "Shift+ArrowRight")
    expect(front.page.locator(".readout")).to_contain_text("10° ")
    expect(front.page.locator(".map .pane")).to_have_attribute("aria-valuenow", "10")
    front.keys("Escape")
    expect(front.page.locator(".readout")).to_contain_text("Point at the map")


def test_either_orbit(front: Sheet) -> None:
    before = pixels(front)
    front.button("vertical").click()
    until(lambda: pixels(front) != before, "another map")
    expect(front.page.locator(".around figcaption")).to_contain_text("vertical orbit")
    expect(front.page.locator("svg.plan")).to_contain_text("from the side")
    front.button("horizontal").click()
    until(lambda: pixels(front) == before, "the first map")


def test_a_hole_of_the_map_opens_its_causes(front: Sheet) -> None:
    now = front.served.picture()
    armchair = now["seats"][3]
    mark = front.page.locator(
        ".map .hole", has=front.page.locator("xpath=self::*[contains(@aria-label, 'armchair')]")
    )
    mark.click()
    causes = front.page.get_by_role("region", name="Causes of the hole at armchair")
    expect(causes).to_be_visible()
    for share in armchair["stories"][0]["shares"]:
        expect(causes).to_contain_text(share["cause"])
        expect(causes).to_contain_text(words(share["db"]))
    mark.focus()
    front.keys("Enter")
    expect(causes).to_have_count(0)


def test_the_map_of_what_was_kept(front: Sheet) -> None:
    before = pixels(front)
    front.button("Keep as A").click()
    front.fill("tweeter, across in millimetres", "-15")
    until(lambda: pixels(front) != before, "now")
    front.button("A").click()
    until(lambda: pixels(front) == before, "A")
    expect(front.page.locator(".around figcaption")).to_contain_text(", A")
