"""A box as a solid modeller writes it, in every form of file that surfaces are read from."""

import io
import struct
import zipfile
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]
SIZE_M = (0.22, 0.3, 0.25)


def bare_box(size_m: tuple[float, float, float] = SIZE_M) -> tuple[Floats, Wholes]:
    """Eight corners and twelve triangles, as a solid modeller writes a box; its front lies in x = 0."""
    width, height, depth = size_m
    place = np.array(
        [[x, y, z] for x in (-depth, 0) for y in (-width / 2, width / 2) for z in (-height / 2, height / 2)]
    )
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return place, np.array([t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))])


def stl(place: Floats, triangle: Wholes) -> bytes:
    """In bytes; the head begins as the form in words does, which some programs write."""
    head = b"solid of a modeller".ljust(80) + struct.pack("<I", len(triangle))
    corners = (1000 * place[triangle]).reshape(-1, 9)
    return head + b"".join(struct.pack("<12fH", 0, 0, 0, *corner, 0) for corner in corners)


def stl_in_words(place: Floats, triangle: Wholes) -> bytes:
    lines = ["solid box"]
    for corners in 1000 * place[triangle]:
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {x:.6e} {y:.6e} {z:.6e}" for x, y, z in corners]
        lines += [" endloop", "endfacet"]
    return "\n".join([*lines, "endsolid box"]).encode()


def ply(place: Floats, triangle: Wholes, order: str = "ascii") -> bytes:
    """With a colour beside each vertex, as scanners write it."""
    head = f"""ply
format {order} 1.0
comment made for a test
element vertex {len(place)}
property float x
property float y
property float z
property uchar red
element face {len(triangle)}
property list uchar int vertex_indices
end_header
"""
    if order == "ascii":
        rows = [f"{x:.9g} {y:.9g} {z:.9g} 7" for x, y, z in 1000 * place]
        return (head + "\n".join([*rows, *(f"3 {a} {b} {c}" for a, b, c in triangle)])).encode()
    sign = "<" if order == "binary_little_endian" else ">"
    body = b"".join(struct.pack(sign + "3fB", *point, 7) for point in 1000 * place)
    return head.encode() + body + b"".join(struct.pack(sign + "B3i", 3, *corner) for corner in triangle)


MODEL = """<?xml version="1.0" encoding="UTF-8"?>
<model unit="inch" xmlns="urn:a-name-for-solids"><resources>
<object id="1" type="model"><mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object>
<object id="2" type="model"><components><component objectid="1" transform="{turn}"/></components></object>
</resources><build><item objectid="2" transform="1 0 0 0 1 0 0 0 1 {shift}"/></build></model>"""


def threemf(
    place: Floats, triangle: Wholes, turn: str = "1 0 0 0 1 0 0 0 1 0 0 0", model: str = MODEL
) -> bytes:
    """In inches, an object within an object, moved ten of them forward and put back by its corners."""
    back = place / 0.0254 - np.array([10.0, 0.0, 0.0])
    text = model.format(
        vertices="".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in back),
        triangles="".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in triangle),
        turn=turn,
        shift="10 0 0",
    )
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as folder:
        folder.writestr("3D/3dmodel.model", text)
    return packed.getvalue()


FORMS: dict[str, Callable[[Floats, Wholes], bytes]] = {
    "box.stl": stl,
    "words.stl": stl_in_words,
    "box.ply": ply,
    "little.ply": lambda place, triangle: ply(place, triangle, "binary_little_endian"),
    "big.ply": lambda place, triangle: ply(place, triangle, "binary_big_endian"),
    "box.3mf": threemf,
}
