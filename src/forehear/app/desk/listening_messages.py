"""What listening pages send and get, read with care."""

import json
from typing import Any

from fastapi import Request
from fastapi.responses import PlainTextResponse, Response

from forehear.ground.errors import DataError

LARGEST_MESSAGE = 64_000


async def message_of(request: Request) -> dict[str, Any]:
    """Read a small JSON object; a foreign page could not send this kind unasked."""
    if request.headers.get("content-type", "").split(";")[0].strip() != "application/json":
        raise DataError("the page sent something that is not JSON", cure="load the page again")
    data = await body_of(request, LARGEST_MESSAGE)
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise DataError("the page sent something that is not JSON", cure="load the page again")
    return found


async def body_of(request: Request, largest: int) -> bytes:
    """Read a body of limited size."""
    pieces, size = [], 0
    async for piece in request.stream():
        pieces.append(piece)
        size += len(piece)
        if size > largest:
            raise DataError(f"more than {largest // 1000} kB were sent", cure="send less")
    return b"".join(pieces)


def plain(data: bytes) -> Response:
    """Hand out bytes."""
    return Response(data, media_type="application/octet-stream")


def gone() -> Response:
    """Say that a sound is not kept any more."""
    return PlainTextResponse("this sound is not kept any more\n", status_code=404)
