"""A desk in this process: the bundled example in a folder of its own, and a page that speaks the protocol."""

import json
import shutil
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():  # it would rather have the successor of httpx, which few have yet
    warnings.simplefilter("ignore", DeprecationWarning)
    warnings.simplefilter("ignore", UserWarning)
    from starlette.testclient import TestClient, WebSocketTestSession

from forehear.app.desk.folder import open_folder
from forehear.app.desk.guard import Lock
from forehear.app.desk.live import Desk
from forehear.app.desk.server import make_app
from forehear.app.desk.workbench import Workbench
from forehear.design import Change

EXAMPLE = Path(__file__).parents[2] / "examples" / "attic-cinema"
LOCK = Lock("t" * 32, 8765)
HOME = "http://127.0.0.1:8765"
SOCKET = f"ws://127.0.0.1:8765/live?token={LOCK.token}"
MOST_FRAMES = 200
SEAT_KEYS = ("spread_db", "direct_spread_db", "hole", "direct_hole", "azimuth_deg", "distance_m")


def example(at: Path) -> Path:
    """Copy the bundled example."""
    return Path(shutil.copytree(EXAMPLE, at / "attic-cinema", ignore=shutil.ignore_patterns("out")))


def workbench(folder: Path, design: str = "twin.yaml") -> Workbench:
    """Open one design of a folder."""
    return Workbench(*open_folder(folder / design))


def served(folder: Path, design: str = "twin.yaml") -> tuple[TestClient, Desk]:
    """Return a client of a desk, not yet begun: use it with `with`."""
    desk = Desk(workbench(folder, design))
    return TestClient(make_app(desk, LOCK), base_url=HOME), desk


def head_of(data: bytes) -> dict[str, Any]:
    """Read the header of a frame by the words of its format: length, JSON, padding to four bytes."""
    length = int.from_bytes(data[:4], "little")
    head: dict[str, Any] = json.loads(data[4 : 4 + length])
    return head


def array_of(data: bytes, name: str) -> NDArray[np.float32]:
    """Read an array of a frame."""
    start = 4 + int.from_bytes(data[:4], "little")
    start += -start % 4
    place = head_of(data)["arrays"][name]
    count = int(np.prod(place["shape"]))
    return np.frombuffer(data, "<f4", count, start + 4 * place["offset"]).reshape(place["shape"])


class Reader:
    """A page: numbers its messages and reads frames until one is what it waits for."""

    def __init__(self, socket: WebSocketTestSession) -> None:
        self.socket = socket
        self.seq = 0
        self.frame = b""

    def __enter__(self) -> Self:
        self.socket.__enter__()
        return self

    def __exit__(self, *error: object) -> None:
        self.socket.__exit__(*error)

    def send(self, do: str, **more: object) -> int:
        """Send a message."""
        self.seq += 1
        self.socket.send_text(json.dumps({"seq": self.seq, "do": do, **more}))
        return self.seq

    def until(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """Read frames up to the one that is wanted."""
        for _ in range(MOST_FRAMES):
            self.frame = self.socket.receive_bytes()
            head = head_of(self.frame)
            if wanted(head):
                return head
        raise AssertionError(f"not among {MOST_FRAMES} frames")

    def picture(self, *, full: bool = False) -> dict[str, Any]:
        """Read up to a picture that holds everything sent so far."""
        return self.until(
            lambda head: head["kind"] == "picture" and head["seq"] >= self.seq and head["full"] >= full
        )

    def told(self, kind: str) -> dict[str, Any]:
        """Read up to news of a kind."""
        return self.until(lambda head: head["kind"] == kind)

    def ask(self, do: str, **more: object) -> dict[str, Any]:
        """Send a message and read up to its picture."""
        self.send(do, **more)
        return self.picture()

    def refused(self, do: str, **more: object) -> dict[str, Any]:
        """Send a message that is refused."""
        seq = self.send(do, **more)
        return self.until(lambda head: head["kind"] == "refused" and head["seq"] == seq)


def page(client: TestClient, address: str = SOCKET) -> Reader:
    """Open a page."""
    return Reader(client.websocket_connect(address))


def moved(text: str, *, driver: str = "tweeter") -> dict[str, Any]:
    """Return the change that moves a driver, as a page writes it."""
    return {"file": "design", "path": ["drivers", driver, "centre"], "text": text}


def write(path: tuple[str | int, ...], text: str, file: str = "design") -> tuple[str, Change]:
    """Return a change as the workbench takes it."""
    return file, Change(path, text)


def numbers(told: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the numbers of every seat, of a picture or of a prediction as JSON."""
    return [{key: seat[key] for key in SEAT_KEYS} for seat in told["seats"]]
