"""The Network desk by hand: values typed and stepped, parts added, removed, bypassed and moved, polarity flipped."""

from typing import Any

import pytest
from playwright.sync_api import Locator, expect

from browser.desks import SEATS, Sheet, until, words


@pytest.fixture
def network(sheet: Sheet) -> Sheet:
    sheet.served.picture()
    sheet.go("Network")
    return sheet


def part(network: Sheet, label: str) -> Locator:
    """Return a part of the drawing."""
    return network.page.locator(".schematic .part").filter(
        has=network.page.locator(f"xpath=.//*[local-name()='tspan' and text()='{label}']")
    )


def parts(network: Sheet, way: int) -> list[tuple[str, str, str]]:
    """List the plain steps of a way as the server has them."""
    steps: list[dict[str, Any]] = network.served.twin("network")["ways"][way]["steps"]
    return [(step["kind"], step["element"]["part"], step["element"]["value"]) for step in steps]


HIGH = [
    ("series", "resistor", "0.91 ohm"),
    ("series", "capacitor", "6.8 uF"),
    ("shunt", "coil", "0.27 mH"),
    ("series", "capacitor", "47 uF"),
]


def test_a_value_is_typed_where_it_stands(network: Sheet) -> None:
    before = network.served.twin()["seats"][3]["spread_db"]
    part(network, "C2").locator(".caption").click()
    field = network.field("Value of C2")
    expect(field).to_be_focused()
    network.page.keyboard.type("10")
    network.keys("Enter")
    until(lambda: parts(network, 1)[1][2] == "10 uF", "typed; the unit is understood")
    expect(field).to_have_count(0)
    expect(part(network, "C2")).to_be_focused()
    expect(part(network, "C2")).to_contain_text("10\u00a0µF")
    assert network.served.twin()["seats"][3]["spread_db"] != before
    network.keys("Enter")
    network.page.keyboard.type("3.3 uF")
    network.keys("Escape")
    assert parts(network, 1)[1][2] == "10 uF"


def test_what_is_typed_right_after_a_click_lands_in_the_field(network: Sheet) -> None:
    """The field has the focus before the browser can handle another key, not a frame later."""
    focused = part(network, "C2").evaluate(
        """async part => {
             part.querySelector('.caption').dispatchEvent(new MouseEvent('click', {bubbles: true, detail: 1}));
             for (let turn = 0; turn < 8; turn++) await Promise.resolve();  // microtasks alone
             const at = document.activeElement;
             return at instanceof HTMLInputElement && at.selectionEnd === at.value.length && at.value;
           }"""
    )
    assert focused == "6.8 uF"


def test_nonsense_is_refused_in_words(network: Sheet) -> None:
    part(network, "C2").locator(".caption").click()
    network.page.keyboard.type("3,3 uF")
    network.keys("Enter")
    expect(network.page.get_by_role("alert")).to_be_visible()
    assert parts(network, 1) == HIGH
    expect(part(network, "C2")).to_contain_text("6.8\u00a0µF")


def test_arrow_keys_step_through_the_series(network: Sheet) -> None:
    part(network, "C2").focus()
    network.keys("ArrowUp")
    until(lambda: parts(network, 1)[1][2] == "7.5 uF", "E24 of IEC 60063: 6.8 7.5 8.2")
    network.keys("ArrowUp", "Shift+ArrowUp")
    until(lambda: parts(network, 1)[1][2] == "10 uF", "8.2, and then 10 in E12")
    network.keys("Shift+ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown")
    until(lambda: parts(network, 1)[1][2] == "6.2 uF", "and down again")
    expect(part(network, "C2")).to_contain_text(
        "6.2 µF"
    )  # any space: what was just set shows before the answer
    while network.button("Undo").is_enabled() and parts(network, 1) != HIGH:
        network.keys("Control+z")
        network.page.wait_for_timeout(100)
    network.keys("ArrowUp", "ArrowUp", "ArrowUp")
    until(lambda: parts(network, 1)[1][2] == "9.1 uF", "three steps of E24")
    network.keys("Control+z")
    until(lambda: parts(network, 1) == HIGH, "keys struck in a row are one step of undo")


def test_what_one_step_does_is_told_and_comes_true(network: Sheet) -> None:
    now = network.served.picture()
    told = {each["seat"]: each["db"] for each in now["ways"][1]["steps"][1]["element"]["step_effect"]}
    assert list(told) == list(SEATS)
    largest = max(told, key=lambda seat: abs(told[seat]))
    expect(part(network, "C2").locator(".remark")).to_have_text(
        f"{largest} {'+' if told[largest] > 0 else ''}{words(told[largest])}\u00a0dB"
    )
    part(network, "C2").focus()
    rows = network.page.locator(".details .bar-row")
    expect(rows).to_have_count(4)
    before = {seat["name"]: seat["spread_db"] for seat in now["seats"]}
    network.keys("ArrowUp")
    after = until(
        lambda: twin if parts(network, 1)[1][2] == "7.5 uF" and (twin := network.served.picture()) else {},
        "step",
    )
    for seat in after["seats"]:
        assert seat["spread_db"] - before[seat["name"]] == pytest.approx(told[seat["name"]], abs=2e-4)


def test_a_part_is_added_on_a_rail_and_beside_another(network: Sheet) -> None:
    gap = network.page.locator('[data-gap="high 0"]')
    gap.focus()
    network.keys("Enter")
    form = network.page.get_by_role("form", name="Add a part to way high")
    expect(form).to_be_visible()
    form.get_by_label("resistor").check()
    form.get_by_label("Value").fill("2.2 ohm")
    form.get_by_role("button", name="Add resistor").click()
    until(lambda: parts(network, 1)[:2] == [("series", "resistor", "2.2 ohm"), HIGH[0]], "first on the rail")
    expect(network.page.locator(".schematic .part")).to_have_count(7)
    part(network, "C1").focus()
    network.keys("a")
    form = network.page.get_by_role("form", name="Add a part to way low")
    form.get_by_label("resistor").check()
    form.get_by_label("in a chain with C1").check()
    form.get_by_label("Value").fill("4.7")
    network.keys("Enter")
    leg = until(
        lambda: network.served.twin()["ways"][0]["steps"][1]["element"].get("chain"), "a chain in the leg"
    )
    assert [(one["part"], one["value"]) for one in leg] == [("capacitor", "22 uF"), ("resistor", "4.7 ohm")]
    network.keys("Control+z", "Control+z")
    until(lambda: parts(network, 1) == HIGH, "undone")


def test_a_part_is_removed(network: Sheet) -> None:
    part(network, "L2").focus()
    network.keys("Delete")
    until(lambda: parts(network, 1) == [HIGH[0], HIGH[1], HIGH[3]], "removed")
    expect(network.page.locator(".toast")).to_contain_text("removed; Undo brings it back")
    network.button("Undo").click()
    until(lambda: parts(network, 1) == HIGH, "back")


def test_a_part_is_bypassed_and_written_so(network: Sheet) -> None:
    part(network, "R1").focus()
    network.keys("b")
    until(lambda: network.served.twin()["ways"][1]["steps"][0]["element"]["bypassed"], "bypassed")
    expect(network.page.locator(".schematic .part.bypassed")).to_have_count(1)
    network.saved()
    text = (network.served.folder / "twin.yaml").read_text(encoding="utf-8")
    assert "{resistor: 0.91 ohm, rating: 10 W, price: 0.80, bypassed: true}" in text
    network.button("Bypass").click()
    until(lambda: not network.served.twin()["ways"][1]["steps"][0]["element"]["bypassed"], "in use again")


def test_parts_change_places(network: Sheet) -> None:
    part(network, "C3").focus()
    network.keys("Alt+ArrowLeft")
    until(lambda: parts(network, 1) == [HIGH[0], HIGH[1], HIGH[3], HIGH[2]], "one earlier")
    network.button("Later").click()
    until(lambda: parts(network, 1) == HIGH, "and later again")
    labels = network.page.locator('.schematic [data-way="high"] .part .label')
    expect(labels).to_have_text(["R1", "C2", "L2", "C3"])
    assert network.button("Later").is_disabled(), "it is the last"


def test_polarity_is_flipped(network: Sheet) -> None:
    polarity = network.page.locator('[data-polarity="high"]')
    before = network.served.twin()["arrays"]["sum.acoustic_db"]
    polarity.click()
    until(lambda: network.served.twin()["ways"][1]["polarity"] == "reversed", "by pointer")
    expect(polarity).to_have_attribute("aria-pressed", "true")
    assert network.served.twin()["arrays"]["sum.acoustic_db"] != before
    polarity.focus()
    network.keys("Enter")
    until(lambda: network.served.twin()["ways"][1]["polarity"] == "normal", "by key")
    until(lambda: network.served.twin()["arrays"]["sum.acoustic_db"] == before, "as it was")


def test_woofers_are_wired_in_series(network: Sheet) -> None:
    at_20_hz = network.served.twin()["arrays"]["impedance.magnitude_ohm"][0]
    wiring = network.page.locator('[data-wiring="low"]')
    wiring.focus()
    network.keys("w")
    until(lambda: network.served.twin()["ways"][0]["wired"] == "series", "wired")
    expect(wiring).to_contain_text("in series")
    ratio = network.served.twin()["arrays"]["impedance.magnitude_ohm"][0] / at_20_hz
    assert 3.5 < ratio < 4, "two alike in series instead of parallel: four times, less the coil's resistance"


def test_a_network_that_shorts_the_amplifier_is_refused(network: Sheet) -> None:
    part(network, "L1").focus()
    network.keys("b")
    until(lambda: network.served.twin()["ways"][0]["steps"][0]["element"]["bypassed"], "bypassed")
    part(network, "C1").locator(".caption").click()
    network.page.keyboard.type("90000 uF")
    network.keys("Enter")
    alert = network.page.get_by_role("alert")
    expect(alert).to_contain_text("shorts the amplifier")
    until(lambda: parts(network, 0)[1][2] == "22 uF", "given back")
    expect(part(network, "C1")).to_contain_text("22\u00a0µF")
