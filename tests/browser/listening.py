"""Listening as its users meet it: a desk on two candidates, listeners' pages, sessions begun as the desk does."""

import io
import wave
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, BrowserContext, FilePayload, Locator, Page, Response

from browser.desks import Served, example

RATE_HZ = 48_000
NAMES = {"twin": "Candelabra", "stack": "Zeppelin"}
PROGRAM = str(Path(__file__).with_name("listening_desk.py"))
SHORT = "listening/clips/short.wav"


def two_candidates(folder: Path) -> Served:
    """Serve two candidates with names that stand nowhere else."""
    at = example(folder)
    for file, title in NAMES.items():
        text = (at / f"{file}.yaml").read_text(encoding="utf-8")
        text = text.replace(f"design: {file.capitalize()}", f"design: {title}")
        (at / f"{title.lower()}.yaml").write_text(text, encoding="utf-8")
        (at / f"{file}.yaml").unlink()
    (at / "trio.yaml").unlink()
    short = at / SHORT
    short.parent.mkdir(parents=True)
    short.write_bytes(noise_file())
    return Served(at / "candelabra.yaml", folder / "state", (PROGRAM,))


def kill(served: Served) -> None:
    """End it at once, signal 9."""
    served.process.kill()
    served.process.wait(timeout=20)
    assert served.process.stdout is not None
    served.process.stdout.close()


class Ear:
    """A listener's page in a browser of its own, and everything that it received."""

    def __init__(self, browser: Browser, hall: Served, address: str) -> None:
        self.context: BrowserContext = browser.new_context(viewport={"width": 1280, "height": 720})
        self.received: list[Response] = []
        self.sockets: list[str] = []
        self.said: list[str] = []
        self.context.on("response", lambda answer: self.received.append(answer))
        self.page: Page = self.context.new_page()
        self.page.on("websocket", lambda socket: self.sockets.append(socket.url))
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.goto(f"{hall.home}{address}?token={hall.token}")

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def close(self) -> None:
        self.context.close()


def recording(name: str, seconds: float, gain: float, channels: int = 1) -> FilePayload:
    """Return a recording of noise as somebody would choose it in a form."""
    return {"name": name, "mimeType": "audio/wav", "buffer": noise_file(seconds, gain, channels)}


def noise_file(seconds: float = 1.0, gain: float = 1.0, channels: int = 1) -> bytes:
    """Write noise as a sound file, a second of it unless asked otherwise."""
    written = io.BytesIO()
    with wave.open(written, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        noise = np.random.default_rng(1).standard_normal(round(seconds * RATE_HZ)) * 3000 * gain
        file.writeframes(np.repeat(noise.astype("<i2"), channels).tobytes())
    return written.getvalue()


def begin(hall: Served, page: Page, **more: object) -> str:
    """Begin a session as the Listen desk does."""
    wanted = {
        "name": "an evening",
        "kind": "abx",
        "candidates": ["candelabra.yaml", "zeppelin.yaml"],
        "listeners": ["first"],
        "clips": [SHORT],
        "seats": ["armchair"],
        "trials": 6,
        **more,
    }
    answer = page.request.post(f"{hall.home}/listen/begin", data=wanted)
    assert answer.ok, answer.text()
    return str(answer.json()["id"])


def file_of(hall: Served, key: str) -> Path:
    return hall.folder / "listening" / f"{key}.json"
