"""A picture with a palette as a PNG file in memory."""

import base64
import struct
import zlib

import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"


def palette_png(pixel: NDArray[np.uint8], palette: NDArray[np.uint8]) -> bytes:
    """Return a PNG file of palette entries.

    Parameters
    ----------
    pixel
        Palette entry of each pixel, [row, column], top row first. [-]
    palette
        Colours [entry, (red, green, blue)], at most 256. [-]

    Returns
    -------
    bytes
        The file. [-]

    Source
    ------
    png-iso-15948, clauses 5 and 11: signature and chunks IHDR, PLTE, IDAT, IEND; filter type 0 on each row.
    """
    height, width = pixel.shape
    header = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    rows = np.concatenate([np.zeros((height, 1), np.uint8), pixel], axis=1)
    chunks = (
        (b"IHDR", header),
        (b"PLTE", palette.astype(np.uint8).tobytes()),
        (b"IDAT", zlib.compress(rows.tobytes(), 9)),
        (b"IEND", b""),
    )
    return SIGNATURE + b"".join(_chunk(kind, data) for kind, data in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def embedded(png: bytes) -> str:
    """Return a PNG file as an address that holds the file itself."""
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")
