"""How soon the Listen desk sounds, in Chromium: from choosing to the first sample of what was chosen.

Run as ``python tests/speed/bench_listen_desk.py``. Three candidates, speech of nine seconds, a desk that has just
started. *First time*: the desk has made nothing for that seat, or of that clip. *Again*: the same choices once more.

The first sound of all is taken from the samples: from when the page offers a choice, Play pressed as soon as it is
there, until a block of samples is not silent. Then one sound plays while another is chosen, and the first sample of
the other is where the browser schedules its source, or the fade to it, to begin. What a sound card adds is not in it.
Beside the clock stands the work of the desk on all cores, which neighbours on the machine disturb less.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_listen import EXAMPLE
from playwright.sync_api import Page, sync_playwright

BAR_MS = 1000
SEATS = ("sofa middle", "sofa right", "armchair", "sofa left")
CLIPS = ("percussion", "tones", "pink noise", "speech")
PATIENCE_MS = 60_000
TAP = """registerProcessor('tap', class extends AudioWorkletProcessor {
  process([channels]) {
    const sounds = channels[0]?.some(value => value !== 0);
    if (sounds) this.port.postMessage(currentFrame);
    return !sounds;
  }
})"""
WATCH = """
window.heard = {offered: null, pressed: null, first: null, context: null, ready: false, begins: []};
const soon = when => performance.now() + 1000 * Math.max(0, when - heard.context.currentTime);
const {connect} = AudioNode.prototype, {start} = AudioBufferSourceNode.prototype;
const {setValueAtTime} = AudioParam.prototype;
AudioNode.prototype.connect = function (to, ...more) {
  if (to === this.context.destination && !heard.context) {
    heard.context = this.context;
    this.context.audioWorklet.addModule(URL.createObjectURL(new Blob([TAP], {type: 'text/javascript'}))).then(() => {
      const node = new AudioWorkletNode(this.context, 'tap');
      node.port.onmessage = () => { heard.first ??= performance.now(); };
      connect.call(this, node);
      connect.call(node, this.context.destination);
      heard.ready = true;
      press();
    });
  }
  return connect.call(this, to, ...more);
};
AudioBufferSourceNode.prototype.start = function (when, ...more) {
  heard.begins.push(soon(when));
  return start.call(this, when, ...more);
};
AudioParam.prototype.setValueAtTime = function (value, when) {
  heard.fades?.push(soon(when));
  return setValueAtTime.call(this, value, when);
};
const press = () => {
  const play = [...document.querySelectorAll('.listen button.main')].find(one => one.textContent === 'Play');
  if (!play || !heard.ready || heard.pressed !== null) return;
  heard.pressed = performance.now();
  play.click();
};
new MutationObserver(() => {
  if (document.querySelector('.listen select')) heard.offered ??= performance.now();
  press();
}).observe(document, {subtree: true, childList: true, characterData: true});
"""
CHOOSE = """([name, wanted]) => new Promise(done => {
  const labels = [...document.querySelectorAll('.listen label')];
  const select = labels.find(one => one.textContent.startsWith(name + ' ')).querySelector('select');
  heard.begins = [];
  const begun = performance.now();
  select.value = wanted;
  select.dispatchEvent(new Event('change', {bubbles: true}));
  const look = () => heard.begins.length ? done(heard.begins[0] - begun) : setTimeout(look, 2);
  look();
})"""
SWITCH = """number => new Promise(done => {
  const buttons = [...document.querySelectorAll('.listen button')];
  heard.fades = [];
  const begun = performance.now();
  buttons.find(one => one.textContent.startsWith(number + ' ')).click();
  const look = () => heard.fades.length ? done(heard.fades[0] - begun) : setTimeout(look, 2);
  look();
})"""


def work_ms(process: int) -> float:
    """Time that a process has spent on all cores together."""
    fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return 1000 * (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def told(name: str, found: list[tuple[float, float]]) -> None:
    """Print median and worst of some choices, by the clock and of work."""
    clock, work = np.array(found).T
    print(
        f"{name:40s} {np.median(clock):5.0f} ms median, {clock.max():5.0f} worst of {len(found)} (bar {BAR_MS}); "
        f"work of the desk {np.median(work):5.0f}, {work.max():5.0f} worst"
    )


def timed(page: Page, process: int, script: str, wanted: list[object]) -> list[tuple[float, float]]:
    """Choose one after the other while it plays; return how long each took, and the work of the desk."""
    found = []
    for one in wanted:
        before = work_ms(process)
        clock = float(page.evaluate(script, one))
        found.append((clock, work_ms(process) - before))
        page.wait_for_timeout(300)
    return found


def measure(page: Page, address: str, process: int) -> None:
    """Open the Listen desk, hear it, and choose."""
    page.add_init_script(f"const TAP = {json.dumps(TAP)};{WATCH}")
    before = work_ms(process)
    page.goto(address.replace("/?", "/listen?"))
    page.wait_for_function("window.heard.first !== null", timeout=PATIENCE_MS)
    offered, first = page.evaluate("[heard.offered, heard.first]")
    told("first sound of all, three candidates", [(first - offered, work_ms(process) - before)])
    told("a switch to another candidate", timed(page, process, SWITCH, [2, 3, 1, 2, 1]))
    for name, every in (("seat", SEATS), ("clip", CLIPS)):
        for when, some in (("first time", every[:3]), ("again", every)):
            wanted: list[object] = [[name, one] for one in some]
            told(f"another {name}, {when}", timed(page, process, CHOOSE, wanted))


def main() -> None:
    """Start a desk and a browser, listen, and stop both."""
    browser_path = shutil.which("chromium") or shutil.which("chromium-browser")
    assert browser_path, "chromium is not installed, so this cannot be measured"
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        folder = shutil.copytree(EXAMPLE, Path(place) / "attic", ignore=shutil.ignore_patterns("out"))
        environment = {**os.environ, "XDG_STATE_HOME": place, "PYTHONPATH": os.pathsep.join(sys.path)}
        command = [sys.executable, "-m", "forehear.app.cli", "desk", str(folder), "--no-open"]
        browser = playwright.chromium.launch(
            executable_path=browser_path,
            args=[
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--autoplay-policy=no-user-gesture-required",
            ],
        )
        page = browser.new_context(bypass_csp=True).new_page()  # the tap is no part of the desk
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
            try:
                assert process.stdout is not None
                address = process.stdout.readline().strip()
                time.sleep(
                    10 if "--rested" in sys.argv else 0
                )  # as somebody who looked at other desks before
                measure(page, address, process.pid)
            finally:
                process.terminate()
        browser.close()


if __name__ == "__main__":
    main()
