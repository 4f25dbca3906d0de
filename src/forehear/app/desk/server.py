"""The desk's door: pages, their data twins, and the live websocket, on loopback only."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import numpy as np
from fastapi import FastAPI, Request, WebSocket, WebSocketDisconnect
from fastapi.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp

from forehear.app.desk.curves_in import LARGEST_BYTES
from forehear.app.desk.frames import Packed, frame, refusal
from forehear.app.desk.guard import Guard, Lock
from forehear.app.desk.listening_doors import add_listening
from forehear.app.desk.live import Desk
from forehear.app.desk.pages import Page
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.reading.curves import curve_text

STATIC = Path(__file__).parents[1] / "static"
DESKS = ("seats", "front", "network")
PAGES = (*DESKS, "listen")
KINDS = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
    ".png": "image/png",
    ".ico": "image/x-icon",
}


def make_app(desk: Desk, lock: Lock, static: Path = STATIC) -> ASGIApp:
    """Make the app that serves one desk."""

    @contextlib.asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        await desk.open()
        yield
        await desk.close()

    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, redirect_slashes=False, lifespan=life)
    _pages(app, lock, static)
    _twins(app, desk, lock)
    _voice(app, desk, lock)
    _curve(app, desk, lock)
    _live(app, desk, lock)
    add_listening(app, desk, lock, static)
    return Guard(app, lock)


def _known(request: Request, lock: Lock) -> bool:
    return lock.opens(request.query_params.get("token")) or lock.opens(request.cookies.get(lock.cookie))


def _turned_away() -> Response:
    return PlainTextResponse(
        "open the address that 'forehear desk' printed; it carries the token\n", status_code=403
    )


def _pages(app: FastAPI, lock: Lock, static: Path) -> None:
    async def page(request: Request) -> Response:
        if not _known(request, lock):
            return _turned_away()
        answer = _file(static, "index.html")
        answer.set_cookie(lock.cookie, lock.token, httponly=True, samesite="strict", path="/")
        return answer

    for path in ("/", *(f"/{name}" for name in PAGES)):
        app.add_api_route(path, page, methods=["GET"], response_model=None)

    async def asset(name: str) -> Response:
        return _file(static, name)

    app.add_api_route("/static/{name:path}", asset, methods=["GET"], response_model=None)


def _file(static: Path, name: str) -> Response:
    """Serve a file of the bundle; whatever resolves to a place outside it is not there."""
    not_there = PlainTextResponse("there is no such file\n", status_code=404)
    if "\0" in name or "\\" in name:
        return not_there
    root = static.resolve()
    path = (root / name).resolve()
    kind = KINDS.get(path.suffix)
    if kind is None or not path.is_relative_to(root) or not path.is_file():
        return not_there
    return FileResponse(path, media_type=kind)


def _twins(app: FastAPI, desk: Desk, lock: Lock) -> None:
    """Serve the data behind each desk as JSON: the header and arrays of the newest picture."""

    async def twin(request: Request) -> Response:
        if not _known(request, lock):
            return _turned_away()
        picture = await desk.newest()
        if picture is None:
            return PlainTextResponse("the first picture is still being made\n", status_code=503)
        return JSONResponse(as_twin(picture))

    for name in DESKS:
        app.add_api_route(f"/{name}.json", twin, methods=["GET"], response_model=None)


def _voice(app: FastAPI, desk: Desk, lock: Lock) -> None:
    """Serve everything the Voice panel shows."""

    async def voice(request: Request) -> Response:
        if not _known(request, lock):
            return _turned_away()
        return JSONResponse(await desk.on_bench(desk.hands.voice.shown))

    app.add_api_route("/voice.json", voice, methods=["GET"], response_model=None)


def as_twin(picture: Packed) -> dict[str, Any]:
    """Return a picture as plain data, arrays as lists; what is not there is null."""
    numbers = np.frombuffer(picture.numbers, dtype="<f4")
    head = {key: value for key, value in picture.head.items() if key != "arrays"}
    arrays = {}
    for name, place in picture.head["arrays"].items():
        size = int(np.prod(place["shape"]))
        values = numbers[place["offset"] : place["offset"] + size].reshape(place["shape"]).astype(float)
        arrays[name] = json.loads(json.dumps(values.round(4).tolist()).replace("NaN", "null"))
    return {**head, "arrays": arrays}


def _curve(app: FastAPI, desk: Desk, lock: Lock) -> None:
    """Take the text of a curve dropped on a driver; the page then asks to see or take it by a message."""

    async def curve(request: Request) -> Response:
        if not lock.opens(request.query_params.get("token")):
            return _turned_away()
        kind = request.headers.get("content-type", "").split(";")[0].strip()
        if kind not in ("text/plain", "application/octet-stream"):
            return PlainTextResponse("send plain text\n", status_code=415)
        data = await _body(request)
        if data is None:
            return PlainTextResponse("a curve holds at most 2 MB\n", status_code=413)
        asked = (request.query_params.get("driver", ""), request.query_params.get("kind", ""))
        try:
            text = curve_text(data, f"dropped {asked[1][:40]}")
            return JSONResponse(await desk.on_bench(lambda: desk.hands.drop(*asked, text)))
        except (ForehearError, Complaints) as error:
            return JSONResponse(refusal(0, error), status_code=422)

    app.add_api_route("/curve", curve, methods=["PUT"], response_model=None)


async def _body(request: Request) -> bytes | None:
    """Read a body of limited size; None when it is larger."""
    data = b""
    async for piece in request.stream():
        data += piece
        if len(data) > LARGEST_BYTES:
            return None
    return data


def _live(app: FastAPI, desk: Desk, lock: Lock) -> None:
    async def live(socket: WebSocket) -> None:
        if not lock.opens(socket.query_params.get("token")) and not lock.opens(
            socket.cookies.get(lock.cookie)
        ):
            await socket.close(1008)
            return
        await socket.accept()
        page = Page(socket.send_bytes)
        await desk.join(page, socket.query_params.get("work"))
        await _both_ways(socket, page, desk)

    app.add_api_websocket_route("/live", live)


async def _both_ways(socket: WebSocket, page: Page, desk: Desk) -> None:
    """Send and receive until either side is gone."""
    sending = asyncio.create_task(page.serve())
    receiving = asyncio.create_task(_listen(socket, page, desk))
    try:
        done, _ = await asyncio.wait({sending, receiving}, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            with contextlib.suppress(WebSocketDisconnect, RuntimeError, OSError):
                task.result()
    finally:
        page.gone = True
        desk.leave(page)
        for task in (sending, receiving):
            task.cancel()
            with contextlib.suppress(BaseException):
                await task
        with contextlib.suppress(WebSocketDisconnect, RuntimeError, OSError):
            await socket.close()


async def _listen(socket: WebSocket, page: Page, desk: Desk) -> None:
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        text = message.get("text")
        if text is None:
            error = DesignError("the page sent something that is not text", cure="load the page again")
            page.tell(frame(refusal(0, error)))
        else:
            await desk.take(page, text)
