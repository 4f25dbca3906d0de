"""Where the doors of listening are; what stands behind them loads when somebody first knocks."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from threading import Lock as ThreadLock
from typing import TYPE_CHECKING, TypeAlias

from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse, PlainTextResponse, Response

from forehear.app.desk.frames import refusal
from forehear.app.desk.guard import Lock
from forehear.app.desk.live import Desk
from forehear.ground.errors import Complaints, ForehearError

if TYPE_CHECKING:
    from forehear.app.desk.listening_routes import Doors

Handler: TypeAlias = Callable[[Request], Awaitable[Response]]
LOOKED_AT: dict[str, Callable[["Doors"], Handler]] = {  # the first that fits is taken
    "/listen.json": lambda doors: doors.sounds.choices,
    "/listen/sound/{name}": lambda doors: doors.sounds.sound,
    "/blind/{key}.json": lambda doors: doors.sessions.state,
    "/blind/{key}": lambda doors: doors.sessions.page,
    "/blind/{key}/sound/{name}": lambda doors: doors.sessions.blind_sound,
    "/leader/{key}.json": lambda doors: doors.sessions.leading,
    "/leader/{key}": lambda doors: doors.sessions.page,
    "/results/{key}.json": lambda doors: doors.sessions.results_twin,
    "/results/{key}": lambda doors: doors.sessions.results,
    "/results.css": lambda doors: doors.sessions.style,
}
ASKED: dict[str, Callable[["Doors"], Handler]] = {
    "/listen/sounds": lambda doors: doors.sounds.sounds,
    "/listen/clip": lambda doors: doors.sounds.clip,
    "/listen/level": lambda doors: doors.sounds.level,
    "/listen/begin": lambda doors: doors.sounds.begin,
    "/listen/close": lambda doors: doors.sounds.close,
    "/blind/{key}/answer": lambda doors: doors.sessions.answer,
    "/blind/{key}/finish": lambda doors: doors.sessions.finish,
    "/blind/{key}/wish": lambda doors: doors.sessions.wish,
    "/leader/{key}/plays": lambda doors: doors.sessions.plays,
}


class _Later:
    """The doors' other side, built once."""

    def __init__(self, build: Callable[[], "Doors"]) -> None:
        self._build = build
        self._built: Doors | None = None
        self._lock = ThreadLock()

    def doors(self) -> "Doors":
        with self._lock:
            self._built = self._built or self._build()
            return self._built


def add_listening(app: FastAPI, desk: Desk, lock: Lock, static: Path) -> None:
    """Add all doors of listening to the desk's app; each needs the token, and says complaints in words."""

    def build() -> "Doors":
        from forehear.app.desk.listening_routes import Doors  # what reads and filters sound

        return Doors(desk, lock, static)

    later = _Later(build)

    def door(which: Callable[["Doors"], Handler]) -> Handler:
        async def handler(request: Request) -> Response:
            query, cookie = request.query_params.get("token"), request.cookies.get(lock.cookie)
            if not lock.opens(query) and not lock.opens(cookie):
                words = "open the address that 'forehear desk' printed; it carries the token\n"
                return PlainTextResponse(words, status_code=403)
            try:
                return await which(await asyncio.to_thread(later.doors))(request)
            except (ForehearError, Complaints) as error:
                return JSONResponse(refusal(0, error), status_code=422)

        return handler

    for path, which in LOOKED_AT.items():
        app.add_api_route(path, door(which), methods=["GET"], response_model=None)
    for path, which in ASKED.items():
        app.add_api_route(path, door(which), methods=["POST"], response_model=None)
