"""How long the desk takes from a page's message to the picture that answers it, over a real socket.

Run as ``python tests/speed/bench_desk_server.py``. A three-way with five drivers, five seats, both orbits and the
sound in the room. Prints milliseconds, and ratios against a yardstick timed in the same run: as many complex
exponentials as both orbits of five drivers hold.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from websockets.sync.client import ClientConnection, connect

EXAMPLE = Path(__file__).parents[2] / "examples" / "attic-cinema"
REPEATS = 120
FIVE = {
    "width: 460 mm": "width: 540 mm",
    "[-130 mm, 0 mm]": "[-190 mm, 0 mm]",
    "[130 mm, 0 mm]": "[190 mm, 0 mm]",
    "midrange: {part: parts/cone-75.yaml, centre: [0 mm, -28 mm]": "midrange: {part: parts/cone-75.yaml, "
    "centre: [50 mm, -30 mm], set back: 9 mm}\n  other midrange: {part: parts/cone-75.yaml, centre: [-50 mm, -30 mm]",
    "drivers: [midrange]": "drivers: [midrange, other midrange]",
    "enclosure: {closed: 1 l}": "enclosure: {closed: 2 l}",
}
SEAT = "\nplacements:"
FRONT = ["direct", "curves", "horizontal"]  # what the Front desk shows
EVERYTHING = ["seats", "direct", "horizontal", "vertical", "curves", "network"]


def folder_in(place: Path) -> Path:
    """Make the design of the bench out of the example."""
    folder = Path(shutil.copytree(EXAMPLE, place / "bench", ignore=shutil.ignore_patterns("out")))
    design, brief = folder / "trio.yaml", folder / "brief.yaml"
    text = design.read_text(encoding="utf-8")
    for old, new in FIVE.items():
        assert old in text, old
        text = text.replace(old, new)
    design.write_text(text, encoding="utf-8")
    fifth = "\n  stool: {position: [4.4 m, 2.6 m], ear height: 1.1 m}\n"
    brief.write_text(brief.read_text(encoding="utf-8").replace(SEAT, fifth + SEAT, 1), encoding="utf-8")
    return design


def head_of(data: bytes) -> dict[str, object]:
    """Read the header of a frame."""
    head: dict[str, object] = json.loads(data[4 : 4 + int.from_bytes(data[:4], "little")])
    return head


class Page:
    """A page that waits for each picture."""

    def __init__(self, socket: ClientConnection) -> None:
        self.socket = socket
        self.seq = 0

    def ask(self, file: str, path: list[object], text: str) -> float:
        """Write one value; return how long its picture takes [ms]."""
        self.seq += 1
        change = {"file": file, "path": path, "text": text}
        message = json.dumps({"seq": self.seq, "do": "change", "changes": [change], "group": "bench"})
        begun = time.perf_counter()
        self.socket.send(message)
        while True:
            data = self.socket.recv()
            spent = 1000 * (time.perf_counter() - begun)
            assert isinstance(data, bytes)
            head = head_of(data)
            assert head["kind"] in ("picture", "job", "voice"), head
            if head["kind"] == "picture" and head["seq"] == self.seq and not head["full"]:
                return spent

    def look(self, parts: list[str]) -> None:
        """Say what is in view."""
        self.seq += 1
        self.socket.send(json.dumps({"seq": self.seq, "do": "look", "at": parts}))

    def search(self) -> None:
        """Start to look for networks, and wait until that is under way."""
        self.seq += 1
        self.socket.send(json.dumps({"seq": self.seq, "do": "voice", "goal": {}}))
        self._until(lambda head: head["kind"] == "voice" and bool(head["fell"]))

    def until_found(self) -> float:
        """Wait for the end of the search; return how long [ms]."""
        return self._until(lambda head: head["kind"] == "voice" and not head["running"])

    def until_full(self) -> float:
        """Wait for the reasons; return how long [ms]."""
        return self._until(lambda head: bool(head.get("full")))

    def _until(self, wanted: Callable[[dict[str, object]], bool]) -> float:
        begun = time.perf_counter()
        while True:
            data = self.socket.recv()
            assert isinstance(data, bytes)
            if wanted(head_of(data)):
                return 1000 * (time.perf_counter() - begun)


def gestures() -> Iterator[tuple[str, list[str], Callable[[Page, int], float]]]:
    """Yield what is timed: its name, what is in view, and the gesture."""
    for name, up in (("tweeter", 62), ("midrange", -30), ("woofer left", 0)):
        across = {"tweeter": 0, "midrange": 50, "woofer left": -190}[name]

        def drag(page: Page, step: int, name: str = name, up: int = up, across: int = across) -> float:
            return page.ask("design", ["drivers", name, "centre"], f"[{across} mm, {up + step / 40:.3f} mm]")

        yield f"drag {name}", FRONT, drag
        yield f"drag {name}, all seen", EVERYTHING, drag
    yield (
        "step a capacitor",
        ["network"],
        lambda page, step: page.ask(
            "design", ["ways", "high", "network", 0, "series", "capacitor"], f"{4.0 + step / 100:.2f} uF"
        ),
    )
    yield (
        "drag a seat",
        ["seats"],
        lambda page, step: page.ask(
            "brief", ["seats", "armchair", "position"], f"[2.3 m, {3.0 + step / 250:.4f} m]"
        ),
    )
    yield (
        "turn the cabinet",
        ["seats"],
        lambda page, step: page.ask("design", ["placements", "centre", "turn"], f"{step / 8:.3f} deg"),
    )


def yardstick_ms() -> float:
    """Time as many complex exponentials as five drivers on both orbits hold [ms]."""
    angle = np.random.default_rng(0).uniform(0, 6, 5 * 144 * 240)
    spent = []
    for _ in range(15):
        begun = time.perf_counter()
        np.exp(1j * angle)
        spent.append(time.perf_counter() - begun)
    return 1000 * min(spent)


def main() -> None:
    """Start a desk, time it, and stop it."""
    yardstick = yardstick_ms()
    print(f"yardstick                  {yardstick:6.1f} ms")
    with tempfile.TemporaryDirectory() as place:
        environment = {**os.environ, "XDG_STATE_HOME": place, "PYTHONPATH": os.pathsep.join(sys.path)}
        command = [sys.executable, "-m", "forehear.app.cli", "desk", str(folder_in(Path(place))), "--no-open"]
        begun = time.perf_counter()
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
            try:
                assert process.stdout is not None
                address = process.stdout.readline().strip()
                print(f"serving after              {1000 * (time.perf_counter() - begun):6.0f} ms")
                measure(address, yardstick, begun)
                memory = re.search(r"VmHWM:\s*(\d+)", Path(f"/proc/{process.pid}/status").read_text())
                print(f"memory at most             {int(memory[1]) / 1024 if memory else 0:6.0f} MB")
            finally:
                process.terminate()


def measure(address: str, yardstick: float, begun: float) -> None:
    """Time every gesture."""
    with connect(address.replace("http", "ws").replace("/?", "/live?"), max_size=None) as socket:
        page = Page(socket)
        socket.recv()
        print(f"first picture after        {1000 * (time.perf_counter() - begun):6.0f} ms")
        print(f"reasons after that         {page.until_full():6.0f} ms")
        every = list(gestures())
        for title, seen, gesture in every:
            page.look(seen)
            timed(title, page, gesture, yardstick)
            page.until_full()
        title, seen, gesture = every[0]
        page.look(seen)
        page.search()
        timed(f"{title}, searching", page, gesture, yardstick)
        print(f"a search beside that, left {page.until_found():6.0f} ms")


def timed(title: str, page: Page, gesture: Callable[[Page, int], float], yardstick: float) -> None:
    """Make a gesture again and again, and print how long its pictures took."""
    spent = np.array([gesture(page, step) for step in range(1, REPEATS)])[5:]
    median, late = np.percentile(spent, [50, 95])
    print(
        f"{title:26s} {median:6.1f} ms median, {late:6.1f} p95, {spent.min():6.1f} best, "
        f"{median / yardstick:4.1f} yardsticks"
    )


if __name__ == "__main__":
    main()
