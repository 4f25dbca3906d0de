"""Kept results: the last few dozen answers of a stage, found again by the content of its inputs."""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, is_dataclass
from threading import Lock
from typing import Generic, TypeVar

import numpy as np

Result = TypeVar("Result")


def content_key(*inputs: object) -> str:
    """Hash plain inputs (numbers, text, arrays, dataclasses of them) by what they hold."""
    digest = hashlib.blake2b(digest_size=20)
    for part in inputs:
        _feed(digest, part)
    return digest.hexdigest()


def _feed(digest: "hashlib.blake2b", value: object) -> None:
    digest.update(type(value).__name__.encode())
    if isinstance(value, np.ndarray):
        digest.update(f"{value.dtype.str}{value.shape}".encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            digest.update(field.name.encode())
            _feed(digest, getattr(value, field.name))
    elif isinstance(value, dict):
        for key, item in value.items():
            _feed(digest, key)
            _feed(digest, item)
    elif isinstance(value, Iterable) and not isinstance(value, str | bytes):
        for item in value:
            _feed(digest, item)
        digest.update(b"end")
    else:
        digest.update(repr(value).encode())


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
