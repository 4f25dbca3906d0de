"""Binary frames: the length of a JSON header, the header, padding to four bytes, then float32 arrays."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from forehear.ground.errors import Complaints, ForehearError


def frame(head: Mapping[str, Any]) -> bytes:
    """Return a frame that is a header alone."""
    return _padded(_json(head))


@dataclass(frozen=True, eq=False)
class Packed:
    """A picture ready to be sent; only the number of the message that it answers is put in for each page."""

    head: dict[str, Any]  # with the places of the arrays
    rest: str  # the header as JSON, without its opening brace
    numbers: bytes

    @property
    def whole(self) -> bool:
        """Whether it needs no picture before it."""
        return bool(self.head.get("whole", True))

    def for_page(self, seq: int) -> bytes:
        """Return the frame for a page whose newest message has number `seq`."""
        return _padded(f'{{"seq":{seq},{self.rest}') + self.numbers


def packed(head: dict[str, Any], arrays: Mapping[str, NDArray[Any]]) -> Packed:
    """Pack a header and named arrays; places and sizes are counted in numbers of four bytes."""
    places, offset = {}, 0
    for name, array in arrays.items():
        places[name] = {"offset": offset, "shape": list(array.shape)}
        offset += array.size
    numbers = b"".join(np.ascontiguousarray(array, dtype="<f4").tobytes() for array in arrays.values())
    whole = {**head, "arrays": places}
    return Packed(whole, _json(whole)[1:], numbers)


def _json(head: Mapping[str, Any]) -> str:
    return json.dumps(head, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _padded(header: str) -> bytes:
    data = header.encode()
    return len(data).to_bytes(4, "little") + data + b"\0" * (-(4 + len(data)) % 4)


def refusal(seq: int, error: ForehearError | Complaints) -> dict[str, Any]:
    """Say what cannot be done, where, and what would help."""
    errors = error.errors if isinstance(error, Complaints) else (error,)
    first, more = errors[0], len(errors) - 1
    what = f"{first.what} (and {more} more)" if more else first.what
    return {"kind": "refused", "seq": seq, "what": what, "where": first.where, "cure": first.cure}
