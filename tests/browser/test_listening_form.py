"""The form that begins a session, in Chromium: several clips and seats, and how loud real speakers are at the seat."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, expect

from browser.desks import Served, Sheet
from browser.listening import Ear, file_of, recording, two_candidates
from browser.test_desk_everywhere import CUT_OFF, SHOTS
from forehear.listen.plan import Known
from forehear.listen.session_file import read_session


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    served = two_candidates(tmp_path_factory.mktemp("form"))
    yield served
    served.stop()


@pytest.fixture
def listen(browser: Browser, hall: Served) -> Iterator[Sheet]:
    """The Listen desk with nothing filled in."""
    sheet = Sheet(browser, hall, "listen")
    sheet.page.get_by_role("heading", name="Blind sessions").wait_for()
    yield sheet
    sheet.close()
    assert [one for one in sheet.complaints if "422" not in one] == []


@pytest.fixture
def real(listen: Sheet) -> Locator:
    """The form, asked for a session with two real speakers."""
    form = listen.page.locator("form")
    form.get_by_label("name").fill("two real ones")
    form.get_by_label("kind").select_option("pairs")
    form.get_by_role("checkbox", name="real ones, connected by a leader").check()
    form.get_by_label("speakers, with commas").fill("The brown ones, The black ones")
    form.get_by_label("what is played, with commas").fill("a record, a voice")
    return form


def key_of(row: Locator) -> str:
    link = row.get_by_role("link", name="Open for listeners")
    return (link.get_attribute("href") or "").split("/")[-1]


def test_a_session_is_begun_and_closed_by_hand(listen: Sheet, hall: Served, browser: Browser) -> None:
    page = listen.page
    form = page.locator("form")
    form.get_by_label("name").fill("by hand")
    form.get_by_role("checkbox", name="speech").uncheck()
    for name in ("percussion", "short.wav", "armchair"):
        form.get_by_role("checkbox", name=name).check()
    expect(form).to_contain_text("Trials take turns through 4 pairs of a clip and a seat")
    form.get_by_role("spinbutton").fill("3")
    form.get_by_role("button", name="Begin").click()
    row = page.locator("tr", has_text="by hand")
    expect(row).to_contain_text("0 of 3")
    ear = Ear(browser, hall, f"/blind/{key_of(row)}")
    ear.button("listener 1").click()
    expect(ear.page.get_by_role("heading", name="Trial 1 of 3 clip 1 of 2, seat 1 of 2")).to_be_visible()
    ear.button("X is A").click()
    expect(ear.page.get_by_role("heading", name="Trial 2 of 3 clip 1 of 2, seat 2 of 2")).to_be_visible()
    ear.close()
    row.get_by_role("button", name="Close and tell").click()
    row.get_by_role("button", name="Stop early and tell all?").click()
    with page.context.expect_page() as opened:
        row.get_by_role("link", name="What was heard").click()
    result = opened.value
    expect(result.get_by_role("heading", level=1)).to_have_text("What was heard: by hand")
    expect(result.locator("main")).to_contain_text("Stopped early: 1 of the three trials")
    expect(result.locator("main")).to_contain_text("not enough answers to tell")
    assert result.locator("svg[role=img]").first.is_visible()
    result.close()


def test_levels_are_typed_for_every_speaker_or_for_none(listen: Sheet, hall: Served, real: Locator) -> None:
    expect(real).to_contain_text("levels not matched")
    real.get_by_label("levels at the seat").select_option("typed")
    real.get_by_label("level of The brown ones, dB").fill("70")
    real.get_by_role("button", name="Begin").click()
    expect(real.get_by_role("alert").last).to_contain_text("Not every speaker has its level")
    real.get_by_label("level of The black ones, dB").fill("70.2")
    expect(real.get_by_role("status")).to_have_text(
        "0.2 dB lie between the loudest and the softest: matched."
    )
    real.get_by_role("button", name="Begin").click()
    row = listen.page.locator("tr", has_text="two real ones").first
    row.wait_for()
    setup = read_session(file_of(hall, key_of(row))).setup
    assert (setup.levels_known, setup.levels_db) == (Known.TYPED, (70.0, 70.2))
    assert setup.levels_matched


def test_levels_are_measured_from_recordings(listen: Sheet, hall: Served, real: Locator) -> None:
    """Files chosen in the form, one 6.0 dB softer and longer: how loud each is, how far apart, and all of it kept."""
    real.get_by_label("name").fill("recorded ones")
    real.get_by_label("levels at the seat").select_option("recorded")
    expect(real).to_contain_text("caution")
    for colour, seconds, gain in (("brown", 6.0, 1.0), ("black", 8.0, 0.5)):
        chosen = real.get_by_label(f"recording of The {colour} ones")
        chosen.set_input_files([recording(f"{colour}.wav", seconds, gain)])
    expect(real.get_by_role("status")).to_contain_text(
        "6.0 dB lie between the loudest and the softest, and 0.2 dB"
    )
    expect(real.get_by_role("row", name="The black ones")).to_contain_text("LUFS\u22126.0 dB")
    SHOTS.mkdir(parents=True, exist_ok=True)
    real.screenshot(path=SHOTS / "listen-levels.png")
    assert listen.page.evaluate(CUT_OFF) == []
    real.get_by_role("button", name="Begin").click()
    row = listen.page.locator("tr", has_text="recorded ones")
    row.wait_for()
    setup = read_session(file_of(hall, key_of(row))).setup
    assert setup.levels_known is Known.RECORDED
    assert setup.levels_apart_db == pytest.approx(6.02, abs=0.1)
    assert [one.clip for one in setup.programmes] == ["a record", "a voice"]


@pytest.mark.parametrize(
    ("name", "seconds", "channels", "words"),
    [
        ("short.wav", 1.0, 1, "holds 0.6 s of noise"),
        ("brown.wav", 6.0, 1, "The same recording is chosen for two speakers."),
        ("wide.wav", 6.0, 2, "one channel and others two"),
    ],
)
def test_recordings_that_tell_nothing_say_why(
    real: Locator, name: str, seconds: float, channels: int, words: str
) -> None:
    """Beside a good one; no level is taken from them, and the session does not begin."""
    real.get_by_label("levels at the seat").select_option("recorded")
    brown, black = (real.get_by_label(f"recording of The {colour} ones") for colour in ("brown", "black"))
    brown.set_input_files([recording("brown.wav", 6.0, 1.0)])
    expect(real.get_by_role("row", name="The brown ones")).to_contain_text("LUFS")
    black.set_input_files([recording(name, seconds, 1.0, channels)])
    expect(real.get_by_role("alert").first).to_contain_text(words)
    expect(real.get_by_role("status")).to_be_empty()
    real.get_by_role("button", name="Begin").click()
    expect(real.get_by_role("alert").last).to_contain_text("Not every speaker has its level")
