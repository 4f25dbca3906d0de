"""Kept results, found again by the content of their inputs: in memory the last few dozen, on disk what took long."""

import contextlib
import hashlib
import io
import itertools
import json
import zipfile
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from forehear.ground.errors import DataError
from forehear.ground.files import write_atomically

Result = TypeVar("Result")
Arrays = Mapping[str, NDArray[Any]]
KEPT_FORMAT = "forehear-kept/1"
_LEAVES = frozenset({float, int, bool, str, type(None)})


def content_key(*inputs: object) -> str:
    """Hash plain inputs (numbers, text, arrays, dataclasses of them) by what they hold."""
    told: list[bytes] = []
    for part in inputs:
        _tell(part, told)
    return hashlib.blake2b(b"".join(told), digest_size=20).hexdigest()


def _tell(value: object, told: list[bytes]) -> None:
    kind: Any = type(value)
    told.append(kind.__name__.encode())
    if isinstance(value, np.ndarray):
        told += f"{value.dtype.str}{value.shape}".encode(), value.tobytes()
    elif kind in _LEAVES or isinstance(value, str | bytes):
        told.append(repr(value).encode())
    elif names := _field_names(kind):
        for name in names:
            told.append(name.encode())
            _tell(getattr(value, name), told)
    elif isinstance(value, Iterable):
        for item in itertools.chain(*value.items()) if isinstance(value, dict) else value:
            _tell(item, told)
        told.append(b"end")
    else:
        told.append(repr(value).encode())


@cache
def _field_names(kind: type) -> tuple[str, ...]:
    """Names of the fields of a dataclass; of anything else none."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else ()


class KeptResults(Generic[Result]):
    """The most recent results of one stage, in memory only."""

    def __init__(self, most: int = 48) -> None:
        self._most = most
        self._results: OrderedDict[str, Result] = OrderedDict()
        self._lock = Lock()

    def get(self, key: str, make: Callable[[], Result]) -> Result:
        """Return the result kept under `key`, or make and keep it."""
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
                return self._results[key]
        result = make()
        with self._lock:
            self._results[key] = result
            while len(self._results) > self._most:
                self._results.popitem(last=False)
        return result

    def known(self, key: str) -> Result | None:
        """Return the result kept under `key`; None where there is none."""
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
            return self._results.get(key)

    def get_all(self, keys: Sequence[str], make: Callable[[list[int]], Sequence[Result]]) -> list[Result]:
        """Return the results kept under all keys; those that are missing are made together, by their places."""
        with self._lock:
            found = {place: self._results[key] for place, key in enumerate(keys) if key in self._results}
            for place in found:
                self._results.move_to_end(keys[place])
        missing = [place for place in range(len(keys)) if place not in found]
        if missing:
            made = dict(zip(missing, make(missing), strict=True))
            for place, result in made.items():
                self.get(keys[place], lambda result=result: result)  # type: ignore[misc]
            found.update(made)
        return [found[place] for place in range(len(keys))]


class KeptFiles:
    """Results on disk, each as arrays (`.npz`) and what they are (`.json`); the least used go when there are too many.

    What is damaged, or cannot be written, counts as not there: it can be worked out again.
    """

    def __init__(self, folder: Path, most_bytes: int) -> None:
        self._folder = folder
        self._most_bytes = most_bytes

    def has(self, key: str) -> bool:
        """Tell whether anything is kept under `key`, whole or not: as quick as the disk tells."""
        with contextlib.suppress(OSError):
            return self._paths(key)[1].exists()
        return False

    def get(self, key: str) -> dict[str, NDArray[Any]] | None:
        """Return the arrays kept under `key`; None where there are none, or not whole ones."""
        numbers, about = self._paths(key)
        try:
            told = json.loads(about.read_text(encoding="utf-8"))
            data = numbers.read_bytes()
            if told["format"] != KEPT_FORMAT or told["digest"] != _digest(data):
                return None
            with np.load(io.BytesIO(data), allow_pickle=False) as found:
                arrays = {name: found[name] for name in found.files}
        except (OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile):
            return None
        with contextlib.suppress(OSError):
            numbers.touch()  # used lately
        return arrays

    def put(self, key: str, arrays: Arrays, about: Mapping[str, object]) -> None:
        """Keep arrays under `key`, each file by an atomic rename, the words last: without them nothing is there."""
        written = io.BytesIO()
        np.savez(written, allow_pickle=False, **dict(arrays))
        data = written.getvalue()
        told = {"format": KEPT_FORMAT, "digest": _digest(data), **about}
        numbers, words = self._paths(key)
        with contextlib.suppress(OSError, DataError):
            self._folder.mkdir(parents=True, exist_ok=True)
            write_atomically(numbers, data)
            write_atomically(words, json.dumps(told, indent=1) + "\n")
            self._make_room(numbers)

    def _paths(self, key: str) -> tuple[Path, Path]:
        return self._folder / f"{key}.npz", self._folder / f"{key}.json"

    def _make_room(self, newest: Path) -> None:
        """Remove what was used longest ago until the rest fits; the newest stays, however little room there is."""
        every = sorted(self._folder.glob("*.npz"), key=lambda path: path.stat().st_mtime, reverse=True)
        taken = 0
        for numbers in sorted(every, key=lambda path: path != newest):
            words = numbers.with_suffix(".json")
            taken += sum(each.stat().st_size for each in (numbers, words) if each.exists())
            if taken > self._most_bytes and numbers != newest:
                words.unlink(missing_ok=True)
                numbers.unlink(missing_ok=True)


def _digest(data: bytes) -> str:
    return hashlib.blake2b(data, digest_size=20).hexdigest()
