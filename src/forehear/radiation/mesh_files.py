"""Triangles from files that programs for solid modelling write: STL, PLY and 3MF, by their first bytes.

Read here and not by a library: the well-kept ones bring an XML package and a graph package along for 3MF alone.
"""

import io
import re
import struct
import zipfile
import zlib
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DataError
from forehear.radiation.mesh_ply import Soup, read_ply, unusable

_MOST_BYTES = 2**28  # of a file, or of a model once unpacked
_STL_HEAD = 84
_STL_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corner", "<f4", (3, 3)), ("more", "<u2")])
_METRE = "meter"  # as the format spells it
_UNITS_M = {
    "micron": 1e-6,
    "milli" + _METRE: 1e-3,
    "centi" + _METRE: 1e-2,
    _METRE: 1.0,
    "inch": 0.0254,
    "foot": 0.3048,
}
_NO_TURN = "1 0 0 0 1 0 0 0 1 0 0 0"
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    ElementTree.ParseError,
    OSError,
    EOFError,
    ValueError,  # a place before the start of the file
    RuntimeError,  # locked with a password, or packed in a way that is not known
)
_DEEPEST = 16  # components within components


def read_triangles(path: Path, unit_m: float) -> Soup:
    """Read a file of triangles; `unit_m` is what its numbers are counted in where the format does not say."""
    try:
        size = path.stat().st_size
        if size > _MOST_BYTES:
            raise unusable(path, f"is {size / 2**20:.0f} MiB large, more than {_MOST_BYTES >> 20} MiB")
        data = path.read_bytes()
    except OSError as error:
        raise DataError(
            f"the mesh cannot be read: {error.strerror}", where=path.name, cure="give the name of a mesh file"
        ) from error
    if data.startswith(b"PK"):
        return _read_3mf(path, data)
    if data.startswith(b"ply"):
        place, triangle = read_ply(path, data)
    elif data.lstrip().startswith(b"solid") and b"\0" not in data[:_STL_HEAD]:
        place, triangle = _read_ascii_stl(path, data)
    else:
        place, triangle = _read_binary_stl(path, data)
    return place * unit_m, triangle


def _is_binary_stl(data: bytes) -> bool:
    return len(data) >= _STL_HEAD and len(data) == _STL_HEAD + 50 * struct.unpack_from("<I", data, 80)[0]


def _read_binary_stl(path: Path, data: bytes) -> Soup:
    if not _is_binary_stl(data):
        if len(data) < _STL_HEAD:
            raise unusable(path, f"holds {len(data)} bytes, which are no STL, PLY or 3MF")
        count = struct.unpack_from("<I", data, 80)[0]
        raise unusable(
            path,
            f"is no STL, PLY or 3MF, or it is damaged: as STL it announces {count} triangles, "
            f"but {(len(data) - _STL_HEAD) / 50:.1f} follow",
        )
    corner = np.frombuffer(data, dtype=_STL_TRIANGLE, offset=_STL_HEAD)["corner"]
    return _loose(corner.astype(np.float64))


def _read_ascii_stl(path: Path, data: bytes) -> Soup:
    number = rb"\s+([^\s]+)" * 3
    found = list(re.finditer(rb"vertex" + number, data))
    try:
        corner = np.array([match.groups() for match in found], dtype="S32").astype(np.float64)
    except ValueError as error:
        wrong = next(match for match in found if not _are_numbers(match.groups()))
        line = data.count(b"\n", 0, wrong.start()) + 1
        raise unusable(path, "has a vertex that is not three numbers", line) from error
    if not found or len(found) % 3:
        raise unusable(path, f"has {len(found)} vertices, but three a triangle are needed")
    return _loose(corner.reshape(-1, 3, 3))


def _are_numbers(words: tuple[bytes, ...]) -> bool:
    try:
        return all(np.isfinite(float(word)) for word in words)
    except ValueError:
        return False


def _loose(corner: FloatArray) -> Soup:
    """Every triangle with corners of its own."""
    return corner.reshape(-1, 3), np.arange(3 * len(corner), dtype=np.int64).reshape(-1, 3)


def _read_3mf(path: Path, data: bytes) -> Soup:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as folder:
            models = {
                "/" + info.filename.lstrip("/"): _model(path, folder, info)
                for info in folder.infolist()
                if info.filename.lower().endswith(".model")
            }
    except _DAMAGED as error:
        raise unusable(path, f"is damaged: {error}") from error
    main = next((name for name in models if name.lower() == "/3d/3dmodel.model"), next(iter(models), ""))
    if not main:
        raise unusable(path, "is a packed folder without a 3D model in it")
    root = models[main]
    unit = root.get("unit", "milli" + _METRE)
    if unit not in _UNITS_M:
        raise unusable(path, f"counts in the unit {unit!r}")
    things = {
        (name, thing.get("id")): thing for name, model in models.items() for thing in _named(model, "object")
    }
    try:
        bodies = [
            _placed(soup, item.get("transform", _NO_TURN))
            for item in _named(root, "item")
            for soup in _bodies(things, _key(item, main), _DEEPEST)
        ]
    except (KeyError, ValueError, TypeError) as error:
        raise unusable(
            path, f"names or holds something that is not there or is no number: {error}"
        ) from error
    if not bodies:
        raise unusable(path, "builds nothing")
    first = np.cumsum([0, *(len(place) for place, _ in bodies[:-1])])
    place = np.concatenate([place for place, _ in bodies])
    return place * _UNITS_M[unit], np.concatenate(
        [triangle + start for (_, triangle), start in zip(bodies, first, strict=True)]
    )


def _model(path: Path, folder: zipfile.ZipFile, info: zipfile.ZipInfo) -> ElementTree.Element:
    if info.file_size > _MOST_BYTES:
        raise unusable(path, f"unpacks to {info.file_size >> 20} MiB, more than {_MOST_BYTES >> 20} MiB")
    text = folder.read(info)
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise unusable(path, "declares entities, which a 3D model has no need of")
    return ElementTree.fromstring(text)


def _named(model: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    """Find parts by name, whatever namespace they are in."""
    return [part for part in model.iter() if part.tag.rpartition("}")[2] == name]


def _key(part: ElementTree.Element, model: str) -> tuple[str, str | None]:
    """Which object an item or a component means; it may lie in another model of the same file."""
    other = next((value for name, value in part.attrib.items() if name.rpartition("}")[2] == "path"), model)
    return other, part.get("objectid")


def _bodies(
    things: dict[tuple[str, str | None], ElementTree.Element], key: tuple[str, str | None], deepest: int
) -> list[Soup]:
    """Triangles of an object and of those that it is put together from."""
    if not deepest:
        raise ValueError("objects that hold themselves")
    thing = things[key]
    found = []
    for mesh in _named(thing, "mesh"):
        place = [[float(vertex.get(axis, "")) for axis in "xyz"] for vertex in _named(mesh, "vertex")]
        corner = [
            [int(triangle.get(v, "")) for v in ("v1", "v2", "v3")] for triangle in _named(mesh, "triangle")
        ]
        found.append(
            (np.array(place).reshape(-1, 3), np.array(corner, dtype=np.int64).reshape(-1, 3)),
        )
    for component in _named(thing, "component"):
        turn = component.get("transform", _NO_TURN)
        found += [_placed(soup, turn) for soup in _bodies(things, _key(component, key[0]), deepest - 1)]
    return found


def _placed(soup: Soup, transform: str) -> Soup:
    """Move a body as twelve numbers say: three rows that turn and one that shifts."""
    rows = np.array([float(word) for word in transform.split()]).reshape(4, 3)
    mirrored = np.linalg.det(rows[:3]) < 0
    return soup[0] @ rows[:3] + rows[3], soup[1][:, ::-1] if mirrored else soup[1]
