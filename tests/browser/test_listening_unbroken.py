"""Playing on while other sounds are made: not a sample is lost, doubled or silent, and then they cross-fade in."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from browser.desks import Served, Sheet, until
from browser.listening import RATE_HZ, two_candidates
from forehear.ground.arrays import FloatArray

FADE, BLOCK = round(0.008 * RATE_HZ), 128
GAIN = 0.1  # a page begins at -20 dB
PATIENCE_MS = 20_000
NEAR = 2e-6  # of a sample: what comes out is what was sent, but for rounding
TAP = """registerProcessor('tap', class extends AudioWorkletProcessor {
  process([input]) {
    this.port.postMessage([currentFrame, input.length ? input.map(channel => channel.slice()) : null]);
    return true;
  }
})"""
TAPPED = """
const connect = AudioNode.prototype.connect;
window.tap = {blocks: [], ready: false};
AudioNode.prototype.connect = function (to, ...more) {
  const here = this.context;
  if (to === here.destination && here instanceof AudioContext)
    here.audioWorklet.addModule(URL.createObjectURL(new Blob([TAP], {type: 'text/javascript'}))).then(() => {
      const node = new AudioWorkletNode(here, 'tap');
      node.port.onmessage = ({data}) => tap.blocks.push(data);
      connect.call(this, node);
      connect.call(node, here.destination);
      tap.ready = true;
    });
  return connect.call(this, to, ...more);
};
"""
TAKEN = """() => {
  const plain = block => [block[0], block[1] && block[1].map(channel => Array.from(channel))];
  return tap.blocks.map(plain);
}"""
LOADED = """async ([loads, samples]) => {
  const { Player } = await import('/static/PlayerBar.js');
  const context = new OfflineAudioContext(2, 2 * samples, 48000);
  const told = (which, long) => {
    const buffer = context.createBuffer(2, long, 48000);
    const numbers = Float32Array.from({length: long}, (_, i) => which / 4 + i / samples / 4);
    for (const ear of [0, 1]) buffer.copyToChannel(numbers, ear);
    return buffer;
  };
  const player = new Player(context);
  player.loudness(0);
  player.load([told(0, samples)]);
  player.play();
  const places = [];
  for (const [at, which, long] of loads)
    context.suspend(at).then(() => {
      player.load([told(which, long)]);
      places.push(player.playing);
      context.resume();
    });
  const out = await context.startRendering();
  return [Array.from(out.getChannelData(0)), places];
}"""


@dataclass(frozen=True, eq=False)
class Made:
    """Sounds as the server made them for one request."""

    left: list[FloatArray]  # of each candidate


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    served = two_candidates(tmp_path_factory.mktemp("unbroken"))
    yield served
    served.stop()


@pytest.fixture
def listen(browser: Browser, hall: Served) -> Iterator[Sheet]:
    """The Listen desk; whatever it plays is also written down, block by block as the browser renders it."""
    sheet = Sheet(browser, hall)
    page = sheet.page
    rules = sheet.context.new_cdp_session(page)
    rules.send("Page.setBypassCSP", {"enabled": True})  # for the tap, which no page of the desk may load
    page.add_init_script(f"const TAP = {json.dumps(TAP)};{TAPPED}")
    page.goto(f"{hall.home}/listen")
    page.get_by_role("button", name="Play", exact=True).wait_for(timeout=PATIENCE_MS)
    until(lambda: page.evaluate("tap.ready"), "the tap")
    yield sheet
    sheet.close()
    assert sheet.complaints == []


def chosen(page: Page, what: str, value: str) -> Made:
    """Choose a clip or a seat, wait until its sounds are heard, and fetch them as the page did."""
    with page.expect_response("**/listen/sounds", timeout=PATIENCE_MS) as answer:
        page.get_by_role("combobox", name=what).first.select_option(value)
    told: list[dict[str, Any]] = answer.value.json()["sounds"]
    expect(page.get_by_role("link", name="save as WAV")).to_have_attribute(
        "href", f"/listen/sound/{told[0]['id']}?wav", timeout=PATIENCE_MS
    )
    home = page.url.removesuffix("/listen")
    bodies = [page.request.get(f"{home}/listen/sound/{one['id']}").body() for one in told]
    return Made([np.frombuffer(body, "<f4").reshape(2, -1)[0].astype(float) for body in bodies])


def heard_until_now(page: Page) -> FloatArray:
    """Return everything that was played since the blocks were forgotten: the left channel, without a hole in time."""
    blocks = page.evaluate(TAKEN)
    frames = np.array([frame for frame, _ in blocks])
    assert np.all(np.diff(frames) == BLOCK), "the browser rendered every block"
    silence = [[0.0] * BLOCK]
    return np.concatenate([np.array((channels or silence)[0]) for _, channels in blocks])


def begins_at(heard: FloatArray, sound: FloatArray) -> int:
    """Find where in a sound, played again and again, a stretch begins: the best of all places."""
    stretch = np.zeros_like(sound)
    stretch[: heard.size] = heard
    match = np.fft.irfft(np.fft.rfft(sound) * np.conj(np.fft.rfft(stretch)), sound.size)
    return int(match.argmax())


def played(sound: FloatArray, begin: int, count: int) -> FloatArray:
    """Play a sound from a place on, beginning anew at its end."""
    return GAIN * sound[(begin + np.arange(count)) % sound.size]


def fade_begins(heard: FloatArray, before: FloatArray, after: Callable[[int], FloatArray]) -> int:
    """Find the sample at which a straight fade begins: its first samples may hide in the rounding, so of those just
    before the first that shows, the one from which all samples agree best."""
    shows = int(np.argmax(np.abs(heard - before) > NEAR))
    return min(range(max(shows - 16, 0), shows + 1), key=lambda at: unlike(heard, before, after(at), at))


def unlike(heard: FloatArray, before: FloatArray, after: FloatArray, fade: int) -> float:
    """Tell by how much, at most, what is heard differs from a straight fade that begins at a sample."""
    share = np.clip((np.arange(heard.size) - fade) / FADE, 0, 1)
    return float(np.abs(heard - (1 - share) * before - share * after).max())


def test_nothing_breaks_while_another_seat_is_made(listen: Sheet) -> None:
    """Real time in the browser: noise plays, another seat is asked for, and every sample that comes out is held
    against the sounds that the server sent: the first to the fade, a straight fade of 8 ms, the second from there."""
    page = listen.page
    first = chosen(page, "clip", "pink noise")
    listen.button("Play").click()
    page.wait_for_timeout(300)
    page.evaluate("tap.blocks = []")
    page.wait_for_timeout(100)
    second = chosen(page, "seat", "armchair")
    page.wait_for_timeout(300)
    heard = heard_until_now(page)
    listen.button("Stop").click()
    long = 4096
    one, other = first.left[0], second.left[0]
    begin = begins_at(heard[:long], one)
    before = played(one, begin, heard.size)
    assert np.abs(heard[:long] - before[:long]).max() < NEAR, "it plays what was sent"

    def after(fade: int) -> FloatArray:
        """The other sound as if it had always played: at the fade it is at the same place of the programme."""
        return played(other, (begin + fade) % one.size - fade, heard.size)

    fade = fade_begins(heard, before, after)
    assert fade > 0.1 * RATE_HZ, "it played on while the other was made"
    assert np.abs(heard[fade + FADE :] - after(fade)[fade + FADE :]).max() < NEAR, (
        "the same place of the programme"
    )
    assert unlike(heard, before, after(fade), fade) < 1e-4
    zeros = np.flatnonzero(heard == 0.0)
    assert np.diff(zeros).min(initial=9) > 1, "no two samples of silence"


def test_a_switch_in_real_time_is_unbroken(listen: Sheet) -> None:
    """The same for another candidate, by its key: nothing has to be made."""
    page = listen.page
    sounds = chosen(page, "clip", "pink noise").left
    listen.button("Play").click()
    page.wait_for_timeout(300)
    page.evaluate("tap.blocks = []")
    page.wait_for_timeout(100)
    listen.keys("2")
    page.wait_for_timeout(200)
    heard = heard_until_now(page)
    begin = begins_at(heard[:2048], sounds[0])
    one, other = (played(sound, begin, heard.size) for sound in sounds)
    fade = fade_begins(heard, one, lambda _: other)
    assert 2048 < fade < heard.size - 0.1 * RATE_HZ
    assert np.abs(heard[fade + FADE :] - other[fade + FADE :]).max() < NEAR
    assert unlike(heard, one, other, fade) < 1e-4


def test_other_sounds_fade_in_at_the_very_sample(listen: Sheet) -> None:
    """Sounds that write which they are and where into every sample; the second is shorter, and the third is loaded
    while the second still fades in."""
    samples, shorter = 24_000, 18_000
    lead, edge = round(0.02 * RATE_HZ), round(0.03 * RATE_HZ)
    loads = [[0.2, 1, shorter], [0.204, 2, samples]]
    left, playing = listen.page.evaluate(LOADED, [loads, samples])
    heard = np.array(left)
    assert playing == [True, True]
    at = int(np.ceil(0.2 * RATE_HZ / BLOCK)) * BLOCK + lead  # then the third, once the fade is over
    then = at + FADE
    first = np.arange(heard.size) - lead
    assert np.abs(heard[lead + edge : at] - first[lead + edge : at] / samples / 4).max() < 1e-6
    third = 0.5 + (first[then + FADE :] % samples) / samples / 4
    assert np.abs(heard[then + FADE :][: samples // 2] - third[: samples // 2]).max() < 1e-6
    share = np.arange(FADE) / FADE
    second = 0.25 + first[at:then] % shorter / samples / 4
    wanted = (1 - share) * first[at:then] / samples / 4 + share * second
    assert np.abs(heard[at:then] - wanted).max() < 1e-4
