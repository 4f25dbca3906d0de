"""Triangles from PLY files, in words or in bytes."""

import re
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DataError
from forehear.radiation.elements import Indices

Soup: TypeAlias = tuple[FloatArray, Indices]
"""Places [vertex, 3] and corners [triangle, 3]."""

_KINDS = {
    **dict.fromkeys(("char", "int8"), "b"),
    **dict.fromkeys(("uchar", "uint8"), "B"),
    **dict.fromkeys(("short", "int16"), "h"),
    **dict.fromkeys(("ushort", "uint16"), "H"),
    **dict.fromkeys(("int", "int32"), "i"),
    **dict.fromkeys(("uint", "uint32"), "I"),
    **dict.fromkeys(("float", "float32"), "f"),
    **dict.fromkeys(("double", "float64"), "d"),
}
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}

Take: TypeAlias = Callable[[str, int], list[float]]
"""Takes the next numbers of a kind."""


@dataclass(frozen=True)
class _Rows:
    """Rows of one kind: the name of each property, its kind, and the kind that counts a list or nothing."""

    name: str
    count: int
    properties: list[tuple[str, str, str]]


def unusable(path: Path, what: str, line: int | None = None) -> DataError:
    """Complain about a mesh file."""
    where = path.name if line is None else f"{path.name}:{line}"
    return DataError(f"the mesh file {what}", where=where, cure="write it out again as STL, PLY or 3MF")


def read_ply(path: Path, data: bytes) -> Soup:
    """Read the vertices and faces of a PLY file; faces of more than three corners become fans."""
    end = re.search(rb"end_header\r?\n", data)
    if end is None:
        raise unusable(path, "has no end of its PLY header")
    order, rows = _header(path, data[: end.start()].decode("ascii", "replace"))
    take = _from_bytes(data, end.end(), order) if order else _from_words(data[end.end() :].split())
    try:
        tables = {each.name: _read(each, take) for each in rows}
        place = np.array([tables["vertex"][axis] for axis in "xyz"], dtype=np.float64)[:, :, 0].T
        told = tables["face"]
        faces = told["vertex_indices"] if "vertex_indices" in told else told["vertex_index"]
        cut = [(face[0], face[i], face[i + 1]) for face in faces for i in range(1, len(face) - 1)]
        fans = np.array(cut, dtype=np.int64).reshape(-1, 3)
    except (KeyError, IndexError) as error:
        raise unusable(path, "lacks vertices with x, y, z or faces with vertex_indices") from error
    except (ValueError, OverflowError, struct.error) as error:
        raise unusable(
            path, "ends before all that its PLY header announces, or holds what is no number"
        ) from error
    return place, fans


def _header(path: Path, text: str) -> tuple[str, list[_Rows]]:
    """Read the order of the bytes, nothing for words, and what rows there are."""
    order, rows = "", list[_Rows]()
    for line, words in enumerate((line.split() for line in text.splitlines()), 1):
        try:
            if words[:1] == ["format"]:
                order = _ORDERS[words[1]]
            elif words[:1] == ["element"]:
                rows.append(_Rows(words[1], int(words[2]), []))
            elif words[:2] == ["property", "list"]:
                rows[-1].properties.append((words[4], _KINDS[words[3]], _KINDS[words[2]]))
            elif words[:1] == ["property"]:
                rows[-1].properties.append((words[2], _KINDS[words[1]], ""))
        except (KeyError, IndexError, ValueError) as error:
            raise unusable(path, f"has a PLY header with an unknown line: {' '.join(words)}", line) from error
    return order, [each for each in rows if each.properties]


def _read(rows: _Rows, take: Take) -> dict[str, list[list[float]]]:
    """Read all rows of one kind, [property][row][number]."""
    found: dict[str, list[list[float]]] = {name: [] for name, _, _ in rows.properties}
    for _ in range(rows.count):
        for name, kind, counted in rows.properties:
            found[name].append(take(kind, int(take(counted, 1)[0]) if counted else 1))
    return found


def _from_words(words: list[bytes]) -> Take:
    at = 0

    def take(_kind: str, many: int) -> list[float]:
        nonlocal at
        told = words[at : at + many]
        if many < 0 or len(told) < many:
            raise ValueError(f"{many} words wanted, {len(told)} left")
        at += many
        return [float(word) for word in told]

    return take


def _from_bytes(data: bytes, start: int, order: str) -> Take:
    at = start

    def take(kind: str, many: int) -> list[float]:
        nonlocal at
        told = struct.unpack_from(f"{order}{many}{kind}", data, at)
        at += struct.calcsize(f"{order}{many}{kind}")
        return list(told)

    return take
