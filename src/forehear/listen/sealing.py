"""The sealed part of a session file: not to be read by accident, and whole or not at all.

It hides from eyes, not from somebody who means to look: whoever holds the file could open it.
"""

import base64
import binascii
import json
import zlib
from typing import Any

from forehear.ground.errors import DataError


def sealed(what: dict[str, Any]) -> str:
    """Return plain data as text that says nothing to a reader."""
    return base64.b64encode(zlib.compress(json.dumps(what).encode(), 9)).decode("ascii")


def unsealed(text: str) -> dict[str, Any]:
    """Return what was sealed.

    Raises
    ------
    DataError
        When a single character of it was lost or changed.
    """
    try:
        found = json.loads(zlib.decompress(base64.b64decode(text, validate=True)))
    except (binascii.Error, zlib.error, ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise DataError("the sealed part is damaged", cure="put back a copy of the file; nothing was changed")
    return found
