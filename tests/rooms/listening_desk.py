"""A desk that listens: sessions asked for and answered as its pages do."""

import io
import time
import wave
from typing import Any

import numpy as np
from httpx import Response

from rooms.desks import LOCK, TestClient

SHORT = "listening/clips/short.wav"
TOKEN = {"token": LOCK.token}
ABX = {
    "name": "an evening",
    "kind": "abx",
    "candidates": ["twin.yaml", "stack.yaml"],
    "listeners": ["one", "two"],
    "clips": [SHORT],
    "seats": ["armchair"],
    "trials": 4,
}
RATING = {
    **ABX,
    "kind": "rating",
    "candidates": ["twin.yaml", "stack.yaml", "trio.yaml"],
    "attributes": ["dialogue clarity", "evenness"],
    "repeat": True,
    "anchor": True,
    "scale": 10,
}
REAL = {
    **ABX,
    "kind": "pairs",
    "real": True,
    "candidates": ["The brown ones", "The black ones"],
    "clips": ["a record"],
    "trials": 1,
}
SECRETS = ("twin", "stack", "trio", "repeat", "anchor", "levels", "seed", "candidate")


def noise_file(seed: int, *, seconds: float = 0.75, high: float = 3000.0, channels: int = 1) -> bytes:
    """Write noise as a sound file, three quarters of a second unless asked otherwise, the same in every channel."""
    written = io.BytesIO()
    with wave.open(written, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(48_000)
        noise = np.random.default_rng(seed).standard_normal(round(48_000 * seconds)) * high
        plain = np.clip(noise, -32768, 32767).astype("<i2")
        file.writeframes(np.repeat(plain, channels).tobytes())
    return written.getvalue()


def bring(client: TestClient, name: str, data: bytes) -> Response:
    """Bring a clip as the page does."""
    kind = {"content-type": "application/octet-stream"}
    return client.post("/listen/clip", params={"name": name}, content=data, headers=kind)


def level_of(client: TestClient, name: str, data: bytes) -> Response:
    """Ask how loud a recording is, as the page does."""
    kind = {"content-type": "application/octet-stream"}
    return client.post("/listen/level", params={"name": name}, content=data, headers=kind)


def begun(client: TestClient, message: dict[str, Any]) -> str:
    answer = client.post("/listen/begin", json=message)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["id"])


def state(client: TestClient, key: str, listener: int = 0) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/blind/{key}.json", params={"listener": listener}).json()
    return found


def once_ready(client: TestClient, key: str) -> dict[str, Any]:
    """Wait until the sounds of a session are there again."""
    for _ in range(1000):
        told = state(client, key)
        if told["ready"]:
            return told
        time.sleep(0.02)
    raise AssertionError("no sounds")


def press(client: TestClient, key: str, what: str = "answer", **message: object) -> int:
    return client.post(f"/blind/{key}/{what}", json={"listener": 0, **message}).status_code


def answer_all(client: TestClient, key: str, listener: int) -> None:
    """Answer something to everything that a listener has left."""
    while (trial := state(client, key, listener)["trial"]) is not None:
        told = state(client, key, listener)
        own = {"listener": listener, "trial": trial["number"]}
        if told["kind"] != "rating":
            assert press(client, key, **own, label="A") == 200
            continue
        for label in trial["labels"]:
            for attribute in told["attributes"]:
                assert press(client, key, **own, label=label, attribute=attribute, value=5) == 200
        assert press(client, key, "finish", **own) == 200
