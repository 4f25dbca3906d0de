"""A desk as its user meets it: the command serving a copy of the example, and Chromium in front of it."""

import json
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Literal, TypeVar
from urllib.request import urlopen

from playwright.sync_api import Browser, ConsoleMessage, Locator, expect
from websockets.sync.client import connect

EXAMPLE = Path(__file__).parents[2] / "examples" / "attic-cinema"
ARGUMENTS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
Scheme = Literal["light", "dark"]
SEATS = ("sofa left", "sofa middle", "sofa right", "armchair")
Found = TypeVar("Found")
PATIENCE_S = 15.0
HERE = "127.0.0.1"


def until(what: Callable[[], Found], words: str) -> Found:
    """Ask again and again until the answer is yes; return it."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        found = what()
        if found:
            return found
        time.sleep(0.02)
    raise AssertionError(f"waited {PATIENCE_S:.0f} s for nothing: {words}")


def head_of(data: str | bytes) -> dict[str, Any]:
    """Read the head of a frame."""
    assert isinstance(data, bytes)
    found: dict[str, Any] = json.loads(data[4 : 4 + int.from_bytes(data[:4], "little")])
    return found


def example(at: Path) -> Path:
    """Copy the bundled example."""
    return Path(shutil.copytree(EXAMPLE, at / "attic-cinema", ignore=shutil.ignore_patterns("out")))


class Served:
    """``forehear desk`` as a process of its own."""

    def __init__(self, place: Path, state: Path, program: Iterable[str] = ("-m", "forehear.app.cli")) -> None:
        self.place, self.state, self.program = place, state, tuple(program)
        self.folder = place if place.is_dir() else place.parent
        self.port = 0
        self.start()

    def start(self) -> None:
        """Start the command; on the port it had before, if it had one."""
        port = ("--port", str(self.port)) if self.port else ("--port", "0")
        environment = {
            **os.environ,
            "XDG_STATE_HOME": str(self.state),
            "PYTHONPATH": os.pathsep.join(sys.path),
        }
        self.process = subprocess.Popen(
            [sys.executable, *self.program, "desk", str(self.place), "--no-open", *port],
            stdout=subprocess.PIPE,
            text=True,
            env={**environment, "OPENBLAS_NUM_THREADS": "1"},
        )
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()
        found = re.fullmatch(r"(\w+://127\.0\.0\.1:(\d+))/\?token=(\S+)", self.address)
        assert found, self.address
        self.home, self.port, self.token = found[1], int(found[2]), found[3]

    def stop(self) -> None:
        """End it as a user does, and wait until it has put everything away."""
        self.process.terminate()
        self.process.wait(timeout=20)
        assert self.process.stdout is not None
        self.process.stdout.close()

    def twin(self, desk: str = "seats") -> dict[str, Any]:
        """Read the data behind a desk."""
        with urlopen(f"{self.home}/{desk}.json?token={self.token}", timeout=PATIENCE_S) as answer:
            found: dict[str, Any] = json.load(answer)
        return found

    def picture(self) -> dict[str, Any]:
        """Wait for the newest picture with all its reasons, and read it."""
        return until(lambda: twin if (twin := self.twin())["full"] else {}, "reasons")

    def head(self) -> dict[str, Any]:
        """Read the newest picture's head."""
        with connect(f"ws://{HERE}:{self.port}/live?token={self.token}", origin=self.home) as socket:  # type: ignore[arg-type]
            while True:
                head = head_of(socket.recv(timeout=PATIENCE_S))
                if head["kind"] == "picture":
                    return head

    def ask(self, *messages: dict[str, Any]) -> None:
        """Send messages as another page would, and wait until the last is answered."""
        with connect(f"ws://{HERE}:{self.port}/live?token={self.token}", origin=self.home) as socket:  # type: ignore[arg-type]
            for seq, message in enumerate(messages, start=1):
                socket.send(json.dumps({"seq": seq, **message}))
            head: dict[str, Any] = {}
            while messages and head.get("seq") != len(messages):
                head = head_of(socket.recv(timeout=PATIENCE_S))
                assert head["kind"] != "refused", head

    def ask_nothing_back(self, message: dict[str, Any]) -> None:
        """Send a message that no picture answers."""
        with connect(f"ws://{HERE}:{self.port}/live?token={self.token}", origin=self.home) as socket:  # type: ignore[arg-type]
            socket.send(json.dumps({"seq": 1, **message}))
            socket.recv(timeout=PATIENCE_S)

    def afresh(self) -> None:
        """Put the example back as it was, on disk and on the desk; what is so already costs nothing."""
        touched = False
        for path in self.folder.rglob("*"):
            was = EXAMPLE / path.relative_to(self.folder)
            if path.is_file() and not was.is_file():
                path.unlink()
            elif path.is_file() and path.read_bytes() != was.read_bytes():
                path.write_bytes(was.read_bytes())
                touched = True
        now = self.head()
        wanted = [
            (now["unsaved"] or touched, {"do": "reload"}),
            (now["candidate"] != "twin.yaml", {"do": "select", "candidate": "twin.yaml"}),
            (now["kept"], {"do": "unkeep"}),
            (now["other"], {"do": "compare", "candidate": None}),
        ]
        self.ask(*(message for needed, message in wanted if needed))

    def predicted(self, design: str = "twin.yaml") -> dict[str, Any]:
        """Let the command line predict the saved file."""
        told = self.state / "predicted.json"
        subprocess.run(
            [
                sys.executable,
                "-m",
                "forehear.app.cli",
                "predict",
                str(self.folder / design),
                "--json",
                str(told),
            ],
            check=True,
            capture_output=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        )
        found: dict[str, Any] = json.loads(told.read_text(encoding="utf-8"))
        return found


class Sheet:
    """An open page, and everything it said or asked for that it should not have."""

    def __init__(
        self, browser: Browser, served: Served, desk: str = "seats", scheme: Scheme = "light", zoom: int = 1
    ) -> None:
        self.served = served
        self.context = browser.new_context(
            viewport={"width": 1280 // zoom, "height": 720 // zoom},
            device_scale_factor=zoom,
            color_scheme=scheme,
        )
        self.page = self.context.new_page()
        self.complaints: list[str] = []
        self.page.on("console", self._said)
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.context.on("request", lambda request: self._asked(request.url))
        self._open(desk)

    def _open(self, desk: str) -> None:
        self.page.goto(f"{self.served.home}/{desk}?token={self.served.token}")
        self.page.locator(".desk:not(.quietly)").wait_for()

    def again(self) -> None:
        """Load the page anew, as somebody who was never here."""
        self.page.mouse.up()
        self.page.emulate_media(color_scheme="light")
        self.page.evaluate("localStorage.clear(), sessionStorage.clear()")
        self._open("seats")
        self.complaints.clear()

    def _said(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(f"console: {message.text}")

    def _asked(self, address: str) -> None:
        if not address.startswith(
            (self.served.home, self.served.home.replace("http", "ws", 1), "blob:", "data:")
        ):
            self.complaints.append(f"asked for {address}")

    def close(self) -> None:
        """Close the page."""
        self.context.close()

    # --- what is shown ---

    def seat(self, name: str) -> Locator:
        """Return a seat's handle on the plan."""
        return self.page.locator(f'[data-seat="{name}"]')

    def spreads(self) -> dict[str, str]:
        """Return the number written on each seat."""
        found = self.page.locator("[data-spread-at]")
        return {one.get_attribute("data-spread-at") or "": one.text_content() or "" for one in found.all()}

    def button(self, name: str) -> Locator:
        """Return a button by the whole of its name."""
        return self.page.get_by_role("button", name=name, exact=True)

    def field(self, name: str) -> Locator:
        """Return a field by the whole of its name."""
        return self.page.get_by_role("textbox", name=name, exact=True)

    def go(self, desk: str) -> None:
        """Go to a desk by its tab."""
        self.page.get_by_role("link", name=desk, exact=True).click()
        self.page.locator(f".desk.{desk.lower()}").wait_for()

    # --- gestures ---

    def drag(self, what: Locator, by: tuple[float, float], *, steps: int = 8, drop: bool = True) -> None:
        """Take hold of the middle of something and pull it."""
        box = what.bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + by[0], y + by[1], steps=steps)
        if drop:
            self.page.mouse.up()

    def keys(self, *names: str) -> None:
        """Press keys one after the other."""
        for name in names:
            self.page.keyboard.press(name)

    def fill(self, name: str, text: str) -> None:
        """Type into a field and take it."""
        field = self.field(name)
        field.click()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def saved(self) -> None:
        """Save, and wait until it is done."""
        expect(self.button("Save")).to_be_enabled()
        self.page.keyboard.press("Control+s")
        expect(self.button("Saved")).to_be_disabled()


def words(number: float, digits: int = 1) -> str:
    """Write a number as the page does: in so many digits, with a true minus."""
    return f"{number:.{digits}f}".replace("-", "\u2212")
