"""The Seats desk by hand: seats and the speaker dragged, moved by keys and typed; A, candidates, undo; saved."""

import re

from playwright.sync_api import Browser, expect

from browser.desks import EXAMPLE, SEATS, Sheet, until, words

NUMBERS = (
    "spread_db", "direct_spread_db", "hole", "direct_hole", "azimuth_deg", "elevation_deg", "distance_m",
)  # fmt: skip
HOLE = re.compile("\u2212\\d+\\s*dB")


def px_per_m(sheet: Sheet) -> float:
    """Measure the plan's scale on two seats that stand 1.50 m apart."""
    left, right = (sheet.seat(name).bounding_box() for name in ("sofa left", "sofa right"))
    assert left is not None
    assert right is not None
    return (right["x"] - left["x"]) / 1.5


def place(sheet: Sheet, seat: str) -> tuple[float, float]:
    """Read where the fields say a seat stands."""
    x, y = (sheet.field(f"{seat} {axis} in metres").input_value() for axis in "xy")
    return float(x), float(y)


def labels_at(sheet: Sheet, seat: str) -> str:
    """Read what is written at a seat, its number and its hole."""
    return sheet.seat(seat).locator("xpath=..").text_content() or ""


def test_what_is_seen_first(sheet: Sheet) -> None:
    now = sheet.served.picture()
    assert sheet.spreads() == {seat["name"]: words(seat["spread_db"]) for seat in now["seats"]}
    assert len(sheet.spreads()) == 4
    deepest = min(now["seats"], key=lambda seat: seat["hole"]["db"] if seat["hole"] else 0)
    expect(sheet.page.get_by_role("heading", name=f"What {deepest['name']} hears")).to_be_visible()
    expect(sheet.page.locator(".before li")).to_have_count(len(now["findings"]))
    why = sheet.page.locator(".story .bars > *, .story [role=listitem]") if deepest["stories"] else None
    expect(why.first if why else sheet.page.locator(".story .whence")).to_be_visible()


def test_a_hint_is_given_once(sheet: Sheet) -> None:
    hint = sheet.page.locator(".hint")
    expect(hint).to_have_count(1)
    sheet.button("Understood").click()
    expect(hint).to_have_count(0)
    sheet.page.reload()
    expect(sheet.seat("armchair")).to_be_visible()
    expect(hint).to_have_count(0)


def test_a_seat_is_chosen_by_pointer_and_by_key(sheet: Sheet) -> None:
    story = sheet.page.locator("#story-title")
    for name in SEATS:
        sheet.seat(name).click()
        expect(story).to_have_text(f"What {name} hears")
    sheet.seat("sofa left").focus()
    expect(story).to_have_text("What sofa left hears")
    sheet.keys("Tab")
    expect(story).to_have_text("What sofa middle hears")
    row = sheet.page.locator(".heard").get_by_role("button", name="armchair")
    row.focus()
    sheet.keys("Enter")
    expect(story).to_have_text("What armchair hears")
    expect(sheet.seat("armchair")).to_have_attribute("aria-pressed", "true")


def test_the_armchair_dragged_out_of_the_hole_and_back(sheet: Sheet) -> None:
    served, scale = sheet.served, px_per_m(sheet)
    before = sheet.spreads()["armchair"]
    assert HOLE.search(labels_at(sheet, "armchair"))
    sheet.drag(sheet.seat("armchair"), (-1.3 * scale, 0.4 * scale))
    expect(sheet.page.locator('[data-spread-at="armchair"]')).not_to_have_text(before)
    out = served.picture()["seats"][3]
    assert (out["x_m"], out["y_m"]) == place(sheet, "armchair")
    assert abs(out["y_m"] - 2.25) < 0.03
    assert out["hole"] is None
    assert not HOLE.search(labels_at(sheet, "armchair"))
    assert sheet.spreads()["armchair"] == words(out["spread_db"]) < before
    sheet.drag(sheet.seat("armchair"), (1.3 * scale, -0.4 * scale))
    until(lambda: place(sheet, "armchair") == (2.3, 3.55), "where it was")
    expect(sheet.page.locator('[data-spread-at="armchair"]')).to_have_text(before)
    expect(sheet.button("Saved")).to_be_disabled()


def test_keys_move_a_seat_by_a_centimetre_or_ten(sheet: Sheet) -> None:
    sheet.seat("armchair").focus()
    sheet.keys("ArrowLeft", "ArrowLeft", "Shift+ArrowDown", "ArrowUp")
    until(lambda: place(sheet, "armchair") == (2.39, 3.53), "arrow keys")
    now = sheet.served.picture()
    assert (now["seats"][3]["x_m"], now["seats"][3]["y_m"]) == (2.39, 3.53)
    assert sheet.spreads()["armchair"] == words(now["seats"][3]["spread_db"])
    sheet.keys("Control+z")
    until(lambda: place(sheet, "armchair") == (2.3, 3.55), "keys struck in a row are one step of undo")


def test_a_field_beside_every_handle(sheet: Sheet) -> None:
    sheet.fill("armchair x in metres", "2.75")
    until(lambda: sheet.served.twin()["seats"][3]["x_m"] == 2.75, "typed")
    sheet.field("armchair y in metres").focus()
    sheet.keys("ArrowDown", "Shift+ArrowDown")
    until(lambda: sheet.served.twin()["seats"][3]["y_m"] == 3.44, "stepped")
    sheet.fill("armchair ear height in metres", "1.2 m")
    until(lambda: sheet.served.twin()["seats"][3]["ear_m"] == 1.2, "a unit may be typed too")
    sheet.fill("centre x in metres", "0.6")
    until(lambda: sheet.served.twin()["placements"][0]["x_m"] == 0.6, "speaker")
    sheet.fill("armchair x in metres", "far away")
    expect(sheet.field("armchair x in metres")).to_have_attribute("aria-invalid", "true")
    sheet.keys("Escape")
    expect(sheet.field("armchair x in metres")).to_have_value("2.75")


def test_the_speaker_is_turned_toward_the_armchair(sheet: Sheet) -> None:
    before = sheet.served.twin()["seats"][3]
    speaker = sheet.page.locator('[data-placement="centre"]')
    speaker.focus()
    sheet.keys("]", "]", "{")
    until(lambda: sheet.served.twin()["placements"][0]["turn_deg"] == -8, "keys turn by 1 and 10 degrees")
    sheet.fill("turn", "10")
    until(lambda: sheet.served.twin()["placements"][0]["turn_deg"] == 10, "typed")
    scale = px_per_m(sheet)
    sheet.drag(sheet.page.locator('[data-turn="centre"]'), (0.3 * scale, -0.1 * scale))
    turned = until(
        lambda: now if (now := sheet.served.twin())["placements"][0]["turn_deg"] > 20 else {}, "pulled"
    )
    assert turned["placements"][0]["turn_deg"] % 0.5 == 0
    assert abs(turned["seats"][3]["azimuth_deg"]) < abs(before["azimuth_deg"]) - 19
    until(
        lambda: sheet.spreads()["armchair"] == words(sheet.served.twin()["seats"][3]["spread_db"]), "number"
    )


def test_the_speaker_is_dragged(sheet: Sheet) -> None:
    scale = px_per_m(sheet)
    sheet.drag(sheet.page.locator('[data-placement="centre"] .cabinet'), (-0.5 * scale, 0.2 * scale))
    until(lambda: abs(sheet.served.twin()["placements"][0]["y_m"] - 1.6) < 0.03, "dragged")
    sheet.page.locator('[data-placement="centre"]').focus()
    was = sheet.served.twin()["placements"][0]["y_m"]
    sheet.keys("Shift+ArrowRight")
    until(lambda: abs(sheet.served.twin()["placements"][0]["y_m"] - was - 0.1) < 1e-9, "and moved by a key")


def test_what_is_kept_is_compared_against(sheet: Sheet) -> None:
    expect(sheet.page.locator(".since")).to_contain_text("Nothing is kept yet")
    before = sheet.spreads()["armchair"]
    sheet.button("Keep as A").click()
    expect(sheet.page.locator(".since")).to_contain_text("None")
    sheet.seat("armchair").focus()
    sheet.keys("Shift+ArrowDown", "Shift+ArrowDown", "Shift+ArrowDown")
    row = sheet.page.locator(".since tbody tr")
    expect(row).to_have_text("seats > armchair > position2.3 m, 3.55 m2.6 m, 3.55 m")
    expect(sheet.page.locator(".story .card-head small")).to_contain_text(f"A {before}")
    expect(sheet.page.locator(".story .key").first).to_contain_text("A")
    sheet.button("Forget A").click()
    expect(sheet.page.locator(".since")).to_contain_text("Nothing is kept yet")


def test_candidates_are_switched_and_laid_over_each_other(sheet: Sheet) -> None:
    expect(sheet.page.get_by_role("heading", level=1)).to_have_text("Twin")
    twin = sheet.spreads()
    sheet.page.get_by_label("compare against").select_option("Trio")
    expect(sheet.page.locator(".heard thead")).to_contain_text("Trio")
    expect(sheet.page.locator(".story .key").first).to_contain_text("Trio")
    other = {seat["name"]: seat["other"]["spread_db"] for seat in sheet.served.twin()["seats"]}
    sheet.page.get_by_label("candidate").select_option("Trio")
    expect(sheet.page.get_by_role("heading", level=1)).to_have_text("Trio")
    until(
        lambda: sheet.spreads() == {name: words(db) for name, db in other.items()}, "the same, now in front"
    )
    assert sheet.spreads() != twin


def test_undo_and_redo_reach_across_desks(sheet: Sheet) -> None:
    sheet.seat("armchair").focus()
    sheet.keys("ArrowLeft", "ArrowLeft", "ArrowLeft")
    until(lambda: sheet.served.twin()["seats"][3]["y_m"] == 3.52, "seat")
    sheet.go("Front")
    sheet.page.locator('[data-thing="driver tweeter"]').focus()
    sheet.keys("Shift+ArrowRight")
    until(lambda: sheet.served.twin()["drivers"][2]["across_mm"] == 10, "driver")
    sheet.go("Network")
    sheet.page.locator(".part", has_text="C1").focus()
    sheet.keys("ArrowUp")
    until(lambda: "24 uF" in str(sheet.served.twin()["ways"]), "part")
    for back, done in (("24 uF", "ways"), ("'across_mm': 10", "drivers"), ("3.52", "seats")):
        sheet.button("Undo").click()
        until(lambda back=back, done=done: back not in str(sheet.served.twin()[done]), f"{back} undone")
    expect(sheet.button("Saved")).to_be_disabled()
    sheet.keys("Control+Shift+z", "Control+y", "Control+y")
    until(lambda: "24 uF" in str(sheet.served.twin()["ways"]), "redone")
    assert sheet.served.twin()["seats"][3]["y_m"] == 3.52
    expect(sheet.button("Redo")).to_be_disabled()


def test_show_leads_from_a_finding_to_its_place(sheet: Sheet) -> None:
    now = sheet.served.picture()
    for finding in now["findings"]:
        sheet.go("Seats")
        sheet.page.get_by_role("button", name=f"Show: {finding['what']}").click()
        desk, target = finding["show"]["desk"], finding["show"]["target"]
        expect(sheet.page.locator(f".desk.{desk}")).to_be_visible()
        expect(sheet.page.locator(".marked, .mark").first).to_be_visible()
        assert target


def test_two_windows_stay_in_step(browser: Browser, sheet: Sheet) -> None:
    other = Sheet(browser, sheet.served, "front", "dark")
    place = sheet.page.locator('[data-spread-at="armchair"]')
    before = place.text_content() or ""
    other.page.locator('[data-thing="driver tweeter"]').focus()
    other.keys("Shift+ArrowLeft")  # one step: on a slow machine two would be two to undo
    expect(place).not_to_have_text(before)
    sheet.page.bring_to_front()
    sheet.keys("Control+z")
    expect(place).to_have_text(before)
    expect(other.button("Saved")).to_be_disabled()
    other.close()
    assert other.complaints == []


def test_the_numbers_are_those_that_the_command_predicts_from_the_saved_file(sheet: Sheet) -> None:
    served, scale, first = sheet.served, px_per_m(sheet), sheet.spreads()
    sheet.drag(sheet.seat("armchair"), (-0.62 * scale, 0.21 * scale))
    sheet.drag(sheet.page.locator('[data-turn="centre"]'), (0.11 * scale, -0.02 * scale))
    sheet.seat("sofa left").focus()
    sheet.keys("ArrowRight", "Shift+ArrowUp")
    sheet.go("Front")
    sheet.drag(sheet.page.locator('[data-thing="driver tweeter"]'), (13, 4))
    sheet.page.locator('[data-thing="driver woofer left"]').focus()
    sheet.keys("ArrowRight", "ArrowRight", "ArrowUp")
    sheet.go("Network")
    sheet.page.locator(".part", has_text="C2").focus()
    sheet.keys("ArrowUp", "ArrowUp")
    sheet.go("Seats")
    sheet.saved()
    shown, promised = served.picture(), served.predicted()
    assert not shown["unsaved"]
    assert [seat["name"] for seat in shown["seats"]] == list(SEATS)
    for seat, wanted in zip(shown["seats"], promised["seats"], strict=True):
        for key in (
            "spread_db",
            "direct_spread_db",
            "hole",
            "direct_hole",
            "azimuth_deg",
            "elevation_deg",
            "distance_m",
        ):
            assert seat[key] == wanted[key], (seat["name"], key)
    wanted = {seat["name"]: words(seat["spread_db"]) for seat in promised["seats"]}
    until(lambda: sheet.spreads() == wanted, "the number on each seat")
    rows = sheet.page.locator(".heard tbody tr")
    for seat, row in zip(promised["seats"], rows.all(), strict=True):
        assert f"{words(seat['spread_db'])} ({words(seat['direct_spread_db'])}) dB" in row.inner_text()
    assert [f["what"] for f in shown["findings"]] == [f["what"] for f in promised["findings"]]
    assert wanted != first


def test_a_save_keeps_every_comment_and_every_other_line(sheet: Sheet) -> None:
    sheet.seat("armchair").focus()
    sheet.keys("ArrowLeft")
    sheet.go("Network")
    sheet.page.locator(".part", has_text="L1").focus()
    sheet.keys("ArrowUp")
    sheet.saved()
    for name, change in (
        ("twin.yaml", ("0.82 mH", "0.91 mH")),
        ("brief.yaml", ("[2.3 m, 3.55 m]", "[2.3 m, 3.54 m]")),
    ):
        before = (EXAMPLE / name).read_text(encoding="utf-8").splitlines()
        after = (sheet.served.folder / name).read_text(encoding="utf-8").splitlines()
        changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
        assert [old.replace(*change) for old, _ in changed] == [new for _, new in changed]
        assert len(changed) == 1
        assert sum("#" in line for line in after) == sum("#" in line for line in before)


def test_what_the_room_does_is_told(sheet: Sheet) -> None:
    room = sheet.page.locator(".in-room")
    expect(room.locator(".turning")).to_be_visible(timeout=30_000)
    now = until(lambda: twin if (twin := sheet.served.picture())["story"] else {}, "turns and moves")
    heard = now["seats"][3]["heard"]
    expect(room.locator('[data-clarity="armchair"]')).to_contain_text(words(heard["c50_db"]))
    expect(room.locator('[data-clarity="armchair"] small')).to_have_text(
        " to ".join(words(end) for end in heard["ranges"]["c50_db"])
    )
    sheet.seat("armchair").focus()
    sheet.keys("Enter")
    turn, row = now["story"]["turn_deg"], now["story"]["spread_db"][3]
    best = turn[row.index(min(row))]
    expect(room.get_by_text(re.compile(rf"Turned {abs(best):.0f}° .*armchair gains"))).to_be_visible()
    expect(room.locator(".changes tr")).to_have_count(6)
