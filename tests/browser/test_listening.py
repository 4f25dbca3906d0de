"""Listening in Chromium: switching without a gap on one clock, sessions by hand and by keys, and nothing given away."""

import json
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from browser.desks import Scheme, Served, Sheet, until
from browser.listening import RATE_HZ, Ear, begin, file_of, kill, noise_file, two_candidates
from browser.test_desk_everywhere import AXE, CUT_OFF, SHOTS
from forehear.listen.session_file import read_session

LEAD, EDGE, FADE = round(0.02 * RATE_HZ), round(0.03 * RATE_HZ), round(0.008 * RATE_HZ)
PATIENCE_MS = 20_000
BLOCK = 128  # samples that a browser renders at a time
SCHEMES: tuple[Scheme, ...] = ("light", "dark")
HIDDEN = ("candelabra", "zeppelin", "twin", "stack", "trio")
REFUSED = "net::ERR_"  # the browser itself says that a server went away
PLAYED = """async ([switches, level_db, same, samples]) => {
  const { Player } = await import('/static/PlayerBar.js');
  const context = new OfflineAudioContext(2, 2.5 * samples, 48000);
  const buffers = [0, 1, 2].map(which => {
    const buffer = context.createBuffer(2, samples, 48000);
    const ramp = i => which / 4 + i / samples / 4;
    const told = Float32Array.from({ length: samples }, (_, i) => same ? Math.sin(i / 7) / 2 : ramp(i));
    buffer.copyToChannel(told, 0);
    buffer.copyToChannel(told, 1);
    return buffer;
  });
  const player = new Player(context);
  player.load(buffers);
  player.loudness(level_db);
  player.play();
  const places = [];
  for (const [at, which] of switches)
    context.suspend(at).then(() => { player.choose(which); places.push(player.position_s); context.resume(); });
  const out = await context.startRendering();
  if (!switches.length) return Math.max(...out.getChannelData(0).map(Math.abs));
  return [Array.from(out.getChannelData(0)), Array.from(out.getChannelData(1)), places];
}"""


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A desk that stays."""
    served = two_candidates(tmp_path_factory.mktemp("hall"))
    yield served
    served.stop()


@pytest.fixture(scope="module")
def listen(browser: Browser, hall: Served) -> Iterator[Sheet]:
    """The Listen desk."""
    sheet = Sheet(browser, hall, "listen")
    sheet.page.get_by_role("heading", name="Blind sessions").wait_for()
    yield sheet
    sheet.close()
    assert sheet.complaints == []


# --- the player


def test_switching_is_gapless_and_at_the_very_sample(listen: Sheet) -> None:
    """Sounds that write which they are, and where, into every sample: nothing is lost, doubled or late.

    Switched once, then twice within one fade, and on after the end of the programme, where it begins again.
    """
    samples = 24_000
    switches = [[0.2, 1], [0.4, 2], [0.404, 0], [0.9, 1]]
    left, right, places = listen.page.evaluate(PLAYED, [switches, 0, False, samples])
    heard = np.array(left)
    assert left == right
    place = (np.arange(heard.size) - LEAD) % samples / samples / 4
    sounds = np.array([[which / 4] for which in range(3)]) + place
    began = [int(np.ceil(at * RATE_HZ / BLOCK)) * BLOCK + LEAD for at, _ in switches]
    began[2] = began[1] + FADE  # pressed during a fade: it follows at once
    order = [0, *(which for _, which in switches)]
    edges = [LEAD + EDGE, *began, heard.size - BLOCK]
    for which, start, end in zip(order, edges, edges[1:], strict=False):
        steady = slice(start if start == edges[0] else start + FADE, end)
        assert np.abs(heard[steady] - sounds[which, steady]).max(initial=0.0) < 1e-6
    for index, start in enumerate(began):
        fade = slice(start, start + FADE)
        before, after = sounds[order[index], fade], sounds[order[index + 1], fade]
        share = (heard[fade] - before) / (after - before)
        assert np.abs(share - np.arange(FADE) / FADE).max() < 0.01, "a straight fade of 8 ms"
    asked = np.array([int(np.ceil(at * RATE_HZ / BLOCK)) * BLOCK for at, _ in switches])
    assert np.abs(np.array(places) * RATE_HZ - (asked - LEAD) % samples).max() < 0.01


def test_switching_between_equal_sounds_is_not_heard_at_all(listen: Sheet) -> None:
    samples = 12_000
    left, _, _ = listen.page.evaluate(PLAYED, [[[0.1, 1], [0.2, 2]], 0, True, samples])
    steady = np.array(left)[LEAD + EDGE : samples]
    wanted = np.sin((np.arange(LEAD + EDGE, samples) - LEAD) / 7) / 2
    assert np.abs(steady - wanted).max() < 1e-6


@pytest.mark.parametrize(("level_db", "gain"), [(-20, 0.1), (0, 1.0), (30, 1.0), (-90, 0.001)])
def test_nothing_is_made_louder_than_it_is(listen: Sheet, level_db: float, gain: float) -> None:
    loudest = listen.page.evaluate(PLAYED, [[], level_db, True, 4800])
    assert loudest == pytest.approx(gain / 2, rel=2e-3)


# --- the Listen desk


def test_candidates_are_heard_at_a_seat(listen: Sheet) -> None:
    page = listen.page
    page.get_by_role("combobox", name="seat").first.select_option("armchair")
    page.get_by_role("combobox", name="clip").first.select_option("percussion")
    expect(page.get_by_role("heading", name="Candelabra at armchair")).to_be_visible(timeout=PATIENCE_MS)
    listen.button("Play").click()
    expect(listen.button("1 Candelabra")).to_have_attribute("aria-pressed", "true")
    listen.keys("2")
    expect(listen.button("2 Zeppelin")).to_have_attribute("aria-pressed", "true")
    expect(listen.button("1 Candelabra")).to_have_attribute("aria-pressed", "false")
    loud = page.get_by_role("slider", name="how loud")
    assert loud.get_attribute("aria-valuetext") == "-20 dB", "it begins quiet"
    expect(page.locator(".desk.listen")).to_contain_text("caution")
    expect(page.locator(".desk.listen")).to_contain_text("What is modelled")
    expect(page.locator(".desk.listen")).to_contain_text("What is not")
    listen.button("Stop").click()
    with page.expect_download() as told:
        page.get_by_role("link", name="save as WAV").click()
    assert told.value.suggested_filename == "Zeppelin at armchair.wav"
    assert told.value.path().read_bytes()[:4] == b"RIFF"
    listen.button("Play").click()
    page.get_by_role("combobox", name="seat").first.select_option("sofa left")
    expect(page.get_by_role("heading", name="Zeppelin at sofa left")).to_be_visible(timeout=PATIENCE_MS)
    expect(listen.button("Stop")).to_be_visible()  # it went on playing
    listen.button("Stop").click()


def test_a_clip_is_brought(listen: Sheet) -> None:
    page = listen.page
    brought = page.get_by_label("or bring one")
    brought.set_input_files([{"name": "own.wav", "mimeType": "audio/wav", "buffer": noise_file()}])
    expect(page.get_by_role("combobox", name="clip").first).to_have_value("listening/clips/own.wav")
    brought.set_input_files([{"name": "no.wav", "mimeType": "audio/wav", "buffer": b"no sound"}])
    expect(page.get_by_role("alert").nth(1)).to_contain_text("no.wav")
    listen.complaints.clear()  # the browser itself says that it was refused


# --- listeners


def test_a_session_by_keys_alone_gives_nothing_away(browser: Browser, hall: Served, listen: Sheet) -> None:
    """A whole session by keys; then a hunt through every body, header, address and socket of the listener's page."""
    key = begin(hall, listen.page)
    ear = Ear(browser, hall, f"/blind/{key}")
    ear.button("first").press("Enter")
    for number in range(6):
        expect(ear.page.get_by_role("heading", name=f"Trial {number + 1} of 6")).to_be_visible()
        expect(ear.button("Play")).to_be_enabled()
        for label in "BXA":
            ear.page.keyboard.press(label.lower())
            expect(ear.button(f"Hear {label}")).to_have_attribute("aria-pressed", "true")
        if number == 0:
            ear.button("Play").press("Enter")
            ear.button("Stop").press("Enter")
        ear.button("X is B").press("Enter")
    expect(ear.page.locator("main")).to_contain_text("All answered, first.")
    assert len(read_session(file_of(hall, key)).answers) == 6
    sizes = set()
    for answer in ear.received:
        told = json.dumps([answer.url, answer.all_headers()]).lower()
        body = answer.body()
        if "/sound/" in answer.url:
            sizes.add(len(body))
        told += body.decode("latin-1").lower()
        found = [name for name in HIDDEN[:2] if name in told]
        assert not found, (answer.url, found)
        if answer.headers["content-type"].startswith("application/json"):
            assert not [
                name for name in (*HIDDEN, "anchor", "repeat", "plan", "seed", "level") if name in told
            ]
    assert len([one for one in ear.received if "/sound/" in one.url]) == 18
    assert len(sizes) == 1
    assert ear.sockets == []
    assert ear.said == []
    assert not [name for name in HIDDEN if name in ear.page.content().lower()]
    ear.close()


def test_a_reload_goes_on_where_it_was(browser: Browser, hall: Served, listen: Sheet) -> None:
    key = begin(hall, listen.page, kind="rating", attributes=["evenness", "treble"], repeat=True, trials=1)
    ear = Ear(browser, hall, f"/blind/{key}")
    ear.button("first").click()
    expect(ear.button("Done")).to_be_disabled()
    scale = ear.page.get_by_role("slider", name="B, treble")
    scale.focus()
    scale.press("ArrowRight")
    expect(ear.page.get_by_role("status").first).to_have_text("saved")
    scale.press("ArrowRight")
    expect(ear.page.locator("main")).to_contain_text("5 still to rate")
    until(lambda: read_session(file_of(hall, key)).given(0, 0)["B", "treble"].value == 52, "the second press")
    ear.page.reload()
    expect(ear.page.get_by_role("slider", name="B, treble")).to_have_attribute("aria-valuetext", "52")
    expect(ear.page.get_by_role("slider", name="A, treble")).to_have_attribute(
        "aria-valuetext", "not rated yet"
    )
    for label in "ABC":
        for attribute in ("evenness", "treble"):
            ear.page.get_by_role("slider", name=f"{label}, {attribute}").press("End")
    ear.button("Done").click()
    expect(ear.page.locator("main")).to_contain_text("All answered")
    assert ear.said == []
    ear.close()


# --- real speakers


def test_a_leader_connects_and_the_listener_learns_letters_alone(
    browser: Browser, hall: Served, listen: Sheet
) -> None:
    speakers = ["The brown ones", "The black ones"]
    key = begin(hall, listen.page, kind="pairs", real=True, candidates=speakers, clips=["a record"], trials=1)
    (row,) = [
        one
        for one in listen.page.request.get(f"{hall.home}/listen.json").json()["sessions"]
        if one["id"] == key
    ]
    leader = browser.new_page()
    leader.goto(f"{hall.home}/leader/{key}?token={hall.token}&key={row['leader']}")
    ear = Ear(browser, hall, f"/blind/{key}")
    ear.button("first").click()
    ear.button("Ask for B").click()
    expect(leader.locator("main")).to_contain_text("B: connect The b")
    expect(leader.locator("main")).to_contain_text("Play: a record; the listener sits at armchair")
    leader.get_by_role("button", name="It is connected and plays").click()
    expect(ear.page.locator("main")).to_contain_text("B is connected.")
    expect(ear.button("Ask for B")).to_have_attribute("aria-pressed", "true")
    ear.button("I prefer B").click()
    expect(ear.page.locator("main")).to_contain_text("All answered")
    for answer in ear.received:
        assert not any(name in answer.text() for name in speakers if "woff2" not in answer.url)
    ear.close()
    leader.close()


# --- for everybody


def test_nobody_is_shut_out_and_nothing_cut_off(browser: Browser, hall: Served, listen: Sheet) -> None:
    """The Listen desk, a listener's page with ratings, the leader's and the results; both themes, and at 200 %."""
    page = listen.page
    key = begin(
        hall, page, kind="rating", attributes=["dialogue clarity", "evenness"], repeat=True, anchor=True
    )
    closed = begin(hall, page, trials=2)
    page.request.post(f"{hall.home}/listen/close", data={"id": closed})
    SHOTS.mkdir(parents=True, exist_ok=True)
    for zoom in (1, 2):
        context = browser.new_context(
            viewport={"width": 1280 // zoom, "height": 720 // zoom}, device_scale_factor=zoom
        )
        sheet = context.new_page()
        said: list[str] = []
        sheet.on("console", lambda message, said=said: said.append(message.text))  # type: ignore[misc]
        for name in ("listen", f"blind/{key}", f"leader/{key}", f"results/{closed}")[: 6 - 2 * zoom]:
            sheet.goto(f"{hall.home}/{name}?token={hall.token}")
            if name == "listen":
                sheet.get_by_role("button", name="Play", exact=True).wait_for()
            if name.startswith("blind"):
                sheet.get_by_role("button", name="first", exact=True).click()
                sheet.get_by_role("button", name="Done", exact=True).wait_for()
            _look_at(sheet, name.split("/")[0], zoom)
        context.close()
        assert [one for one in said if "422" not in one] == [], "the leader's page was opened without its key"


def _look_at(sheet: Page, name: str, zoom: int) -> None:
    for scheme in SCHEMES[: 3 - zoom]:
        sheet.emulate_media(color_scheme=scheme)
        sheet.screenshot(path=SHOTS / f"{name}-{scheme}-{100 * zoom}.png", full_page=True)
        assert sheet.evaluate(CUT_OFF) == [], (name, zoom)
        if zoom == 1:
            sheet.evaluate(AXE.read_text(encoding="utf-8"))
            found: dict[str, list[dict[str, Any]]] = sheet.evaluate("axe.run()")
            told = [
                (name, scheme, rule["id"], node["target"], node["failureSummary"])
                for rule in found["violations"]
                for node in rule["nodes"]
            ]
            assert told == []
            assert len(found["passes"]) > 10, "it must have looked"


# --- at last, for it ends the desk


def test_a_server_killed_between_presses_loses_none(browser: Browser, hall: Served, listen: Sheet) -> None:
    """Killed after each press that was taken, and in the middle of the last: the page goes on with the next server."""
    key = begin(hall, listen.page, trials=4)
    listen.page.goto("about:blank")
    path = file_of(hall, key)
    ear = Ear(browser, hall, f"/blind/{key}")
    ear.button("first").click()
    ear.button("X is A").click()
    expect(ear.page.get_by_role("heading", name="Trial 2 of 4")).to_be_visible()
    kill(hall)
    assert len(read_session(path).answers) == 1
    ear.button("X is B").click()
    expect(ear.page.get_by_role("alert").first).to_contain_text("does not answer")
    expect(ear.page.get_by_role("status").first).to_be_empty()
    hall.start()
    expect(ear.button("Play")).to_be_enabled(timeout=PATIENCE_MS)  # by itself
    for alert in ear.page.get_by_role("alert").all():
        expect(alert).to_be_empty(timeout=PATIENCE_MS)
    ear.page.evaluate("document.querySelector('[aria-label=Answer] button').click()")  # and no waiting
    kill(hall)
    answers = len(read_session(path).answers)
    assert answers in (1, 2), "it may be taken and not yet told, but not told and not taken"
    assert answers == 2 or ear.page.get_by_role("status").first.text_content() != "saved"
    assert [one for one in ear.said if REFUSED not in one] == []
    ear.close()
