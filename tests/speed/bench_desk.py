"""How quick the desk is under a hand, in Chromium: from the event of a pointer or a key to the new picture on screen.

Run as ``python tests/speed/bench_desk.py``. A three-way with five drivers, five seats, both orbits and the sound in
the room, dragged with a real pointer at sixty moves a second. Prints milliseconds, and ratios against a yardstick
timed in the same run: as many complex exponentials as both orbits of five drivers hold. "On screen" is the end of
the frame after the page was drawn anew. While one picture is under way newer events overtake older ones; what is
held against the bar is how old the newest event is that a picture answers.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from bench_desk_server import folder_in, yardstick_ms
from playwright.sync_api import Page, sync_playwright

from forehear.ground.arrays import FloatArray

MOVES = 240
FRAME_S = 1 / 60
STEPS = 60
BARS = {"drag": (50, 100), "step": (50, 50)}  # median and p95 [ms]
WATCH = """
window.bench = {events: [], sent: [], shown: [], painted: 0, refused: 0, newest: null, full: false};
const note = e => { bench.newest = e.timeStamp; bench.events.push(e.timeStamp); };
for (const kind of ['pointermove', 'keydown']) addEventListener(kind, note, {capture: true});
const send = WebSocket.prototype.send;
WebSocket.prototype.send = function (text) {
  const {seq} = typeof text === 'string' ? JSON.parse(text) : {};
  if (seq) bench.sent.push({seq, event: bench.newest, at: performance.now()});
  return send.call(this, text);
};
const drawing = CanvasRenderingContext2D.prototype, put = drawing.putImageData;
drawing.putImageData = function (...more) { bench.painted += 1; return put.apply(this, more); };
const wanted = Object.getOwnPropertyDescriptor(WebSocket.prototype, 'onmessage');
Object.defineProperty(WebSocket.prototype, 'onmessage', {set(hear) {
  wanted.set.call(this, event => {
    const came = performance.now();
    hear(event);
    const length = new DataView(event.data).getUint32(0, true);
    const head = JSON.parse(new TextDecoder().decode(new Uint8Array(event.data, 4, length)));
    bench.refused += head.kind === 'refused';
    if (head.kind !== 'picture') return;
    bench.full = head.full;
    const channel = new MessageChannel();
    channel.port1.onmessage = () =>
      bench.shown.push({seq: head.seq, full: head.full, came, at: performance.now(), painted: bench.painted,
                        bytes: event.data.byteLength});
    requestAnimationFrame(() => channel.port2.postMessage(0));
  });
}});
"""


@dataclass(frozen=True)
class Counted:
    """What was counted during one gesture; times in milliseconds."""

    waited: FloatArray  # of each picture: from the newest event that it answers until it is on screen
    overtaken: FloatArray  # of every event: until a picture that answers it or a newer one is on screen
    server: FloatArray  # from the message to its picture's arrival
    drawing: FloatArray  # from that arrival to the screen
    a_second: float
    kilobytes: float


def counted(page: Page) -> Counted:
    """Count what happened since `forget`."""
    bench = page.evaluate("bench")
    sent = {each["seq"]: each for each in bench["sent"] if each["event"] is not None}
    shown = [each for each in bench["shown"] if each["seq"] in sent and not each["full"]]
    first = {each["seq"]: each for each in reversed(shown)}  # of each message the first picture
    answered = [(sent[seq], each) for seq, each in sorted(first.items())]
    overtaken = [
        min((each["at"] for one, each in answered if one["event"] >= event), default=np.nan) - event
        for event in bench["events"]
    ]
    times = np.sort([each["at"] for _, each in answered])
    return Counted(
        waited=np.array([each["at"] - one["event"] for one, each in answered]),
        overtaken=np.array([wait for wait in overtaken if np.isfinite(wait)]),
        server=np.array([each["came"] - one["at"] for one, each in answered]),
        drawing=np.array([each["at"] - each["came"] for _, each in answered]),
        a_second=1000 * (times.size - 1) / (times[-1] - times[0]),
        kilobytes=float(np.mean([each["bytes"] for _, each in answered])) / 1000,
    )


def told(name: str, found: Counted, bars: tuple[int, int], yardstick: float) -> None:
    """Print what a gesture cost."""
    median, late = np.percentile(found.waited, [50, 95])
    print(
        f"{name:26s} {median:6.1f} ms median (bar {bars[0]}), {late:6.1f} p95 (bar {bars[1]}), "
        f"{found.waited.min():6.1f} best, {median / yardstick:4.1f} yardsticks, {found.waited.size} pictures"
    )
    server, drawing, any_event = (
        float(np.median(each)) for each in (found.server, found.drawing, found.overtaken)
    )
    print(
        f"{'':26s} of it server and wire {server:.1f}, drawing {drawing:.1f}; overtaken events too {any_event:.1f}; "
        f"{found.kilobytes:.0f} kB a picture"
    )


def forget(page: Page) -> None:
    """Wait until the hand rests and the reasons are there, then begin to count anew."""
    page.wait_for_timeout(300)
    while not page.evaluate("bench.full"):
        page.wait_for_timeout(50)
    page.evaluate("Object.assign(bench, {events: [], sent: [], shown: [], newest: null})")


def drag(page: Page, driver: str, path: Callable[[int], tuple[float, float]], yardstick: float) -> None:
    """Drag a driver about and home again, sixty moves a second; where it may not go there are no pictures."""
    handle = page.locator(f'[data-thing="driver {driver}"]')
    box = handle.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    forget(page)
    painted, refused = page.evaluate("[bench.painted, bench.refused]")
    begun = time.perf_counter()
    for move in range(1, MOVES):
        dx, dy = path(move)
        page.mouse.move(x + dx, y + dy)
        time.sleep(max(0.0, begun + move * FRAME_S - time.perf_counter()))
    page.mouse.move(x, y)
    page.mouse.up()
    page.wait_for_timeout(120)
    found = counted(page)
    told(f"drag {driver}", found, BARS["drag"], yardstick)
    maps = page.evaluate("bench.painted") - painted
    no = page.evaluate("bench.refused") - refused
    print(
        f"{'':26s} {found.a_second:6.1f} pictures a second (bar 25), {maps} maps painted, {no} places refused"
    )


def keys(page: Page, name: str, key: str, yardstick: float, pause_ms: int = 90) -> None:
    """Press a key again and again, each after the one before was answered."""
    forget(page)
    for _ in range(STEPS):
        page.keyboard.press(key)
        page.wait_for_timeout(pause_ms)
    told(name, counted(page), BARS["step"], yardstick)


def weight_kb(page: Page, address: str) -> float:
    """Open the page and add up what it fetched."""
    fetched: list[int] = []
    page.on("response", lambda answer: fetched.append(len(answer.body())))
    page.goto(address)
    page.locator(".desk.seats").wait_for()
    page.wait_for_load_state("networkidle")
    return sum(fetched) / 1000


def measure(page: Page, address: str, yardstick: float, begun: float) -> None:
    """Time every gesture."""
    page.add_init_script(WATCH)
    weight = weight_kb(page, address)
    print(
        f"page there after           {1000 * (time.perf_counter() - begun):6.0f} ms, from starting the command"
    )
    print(f"page weight                {weight:6.0f} kB (bar 250)")
    page.get_by_role("link", name="Front").click()
    page.locator(".map canvas").wait_for()
    drag(page, "tweeter", lambda move: (10 * np.sin(move / 6), 2 - 2 * np.cos(move / 5)), yardstick)
    drag(page, "midrange", lambda move: (4 - 4 * np.cos(move / 5), 2 * np.sin(move / 5)), yardstick)
    page.get_by_role("link", name="Network").click()
    page.locator(".schematic .part", has_text="C2").first.focus()
    for name, pair in (("network value step", ("ArrowUp", "ArrowDown")),):
        for key in pair:
            keys(page, f"{name}, {key}", key, yardstick)
    page.get_by_role("link", name="Seats").click()
    page.locator('[data-seat="armchair"]').focus()
    keys(page, "seat by a key", "ArrowLeft", yardstick)


def main() -> None:
    """Start a desk and a browser, time them, and stop both."""
    browser_path = shutil.which("chromium") or shutil.which("chromium-browser")
    assert browser_path, "chromium is not installed, so this cannot be measured"
    yardstick = yardstick_ms()
    print(
        f"yardstick                  {yardstick:6.1f} ms; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    )
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        environment = {**os.environ, "XDG_STATE_HOME": place, "PYTHONPATH": os.pathsep.join(sys.path)}
        command = [sys.executable, "-m", "forehear.app.cli", "desk", str(folder_in(Path(place))), "--no-open"]
        browser = playwright.chromium.launch(
            executable_path=browser_path,
            args=["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"],
        )
        page = browser.new_page(viewport={"width": 1280, "height": 720})
        begun = time.perf_counter()
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
            try:
                assert process.stdout is not None
                address = process.stdout.readline().strip()
                measure(page, address, yardstick, begun)
                memory = re.search(r"VmHWM:\s*(\d+)", Path(f"/proc/{process.pid}/status").read_text())
                print(
                    f"server memory at most      {int(memory[1]) / 1024 if memory else 0:6.0f} MB (bar 300)"
                )
            finally:
                process.terminate()
        browser.close()


if __name__ == "__main__":
    main()
