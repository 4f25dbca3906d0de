"""Sounds as the desk hands them out: made in one go so that they are equally long and loud, and as plain bytes."""

import secrets
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.work import Progress

MOST_KEPT = 12  # of the Listen desk: twenty seconds of two ears are 8 MB
ID_BYTES = 18
DITHER = 2.0**-20  # far below what is heard: no two answers hold the same bytes, though it be the same sound

Sound: TypeAlias = NDArray[np.float32]  # [ear, sample]


@dataclass(frozen=True, eq=False)
class Heard:
    """One sound: a candidate at a seat."""

    title: str
    seat: str
    rate_hz: int
    sound: Sound
    loudness_lufs: float
    facts: dict[str, str]  # level and settings, in words
    modelled: tuple[str, ...]
    left_out: tuple[str, ...]
    wav: Callable[[], bytes]  # with its settings inside


Make: TypeAlias = Callable[[Sequence[Design], str, str, Progress], Sequence[Heard]]
"""Called with designs, a seat, a clip and a progress; returns one sound a design."""


class Shelf:
    """The sounds made last, under names that say nothing."""

    def __init__(self, most: int = MOST_KEPT) -> None:
        self._most = most
        self._kept: OrderedDict[str, Heard] = OrderedDict()

    def put(self, heard: Heard) -> str:
        """Keep a sound; return its name."""
        name = new_name()
        self._kept[name] = heard
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return name

    def get(self, name: str) -> Heard | None:
        """Return a sound that is still kept."""
        return self._kept.get(name)


def new_name() -> str:
    """Return a name drawn by chance; all are equally long."""
    return secrets.token_urlsafe(ID_BYTES)


def told(name: str, heard: Heard) -> dict[str, Any]:
    """Return what the Listen desk shows beside a sound."""
    return {
        "id": name,
        "title": heard.title,
        "seat": heard.seat,
        "rate_hz": heard.rate_hz,
        "samples": int(heard.sound.shape[-1]),
        "facts": heard.facts,
        "modelled": list(heard.modelled),
        "left_out": list(heard.left_out),
    }


def plain_bytes(sound: Sound) -> bytes:
    """Return a sound as little-endian 32-bit floats, left ear first."""
    return np.ascontiguousarray(sound, dtype="<f4").tobytes()


def blind_bytes(sound: Sound, samples: int) -> bytes:
    """Return a sound as bytes of a length that says nothing, and that are others each time."""
    long = np.zeros((2, samples), dtype=np.float32)
    long[:, : sound.shape[-1]] = sound
    chance = np.random.default_rng(secrets.randbits(64))
    return plain_bytes(
        long + np.float32(DITHER) * (chance.random(long.shape, dtype=np.float32) - np.float32(0.5))
    )
