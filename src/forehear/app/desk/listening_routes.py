"""The doors of listening: sounds and sessions for the Listen desk, blind and leader's pages, results."""

import asyncio
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import FileResponse, JSONResponse, Response

from forehear.app.desk import listening_render
from forehear.app.desk.guard import Lock
from forehear.app.desk.jobs import Stopped
from forehear.app.desk.listening import Listening
from forehear.app.desk.listening_asked import wanted_in
from forehear.app.desk.listening_messages import body_of, gone, message_of, plain
from forehear.app.desk.listening_sounds import plain_bytes, told
from forehear.app.desk.live import Desk
from forehear.ground.errors import DataError
from forehear.listen import CAUTION, clips, make_ready
from forehear.listen.analysis import analyse
from forehear.publish.listened import results_data, results_page
from forehear.publish.style import style_sheet

LARGEST_CLIP = 100_000_000
STYLE = "/results.css"


class SoundDoors:
    """Sounds and sessions, for the Listen desk."""

    def __init__(self, desk: Desk, listening: Listening) -> None:
        self._desk, self._listening = desk, listening

    async def choices(self, _request: Request) -> Response:
        """Say what may be listened to, and which sessions there are."""
        return JSONResponse(await self._desk.on_bench(self._choices))

    def _choices(self) -> dict[str, Any]:
        state, design = self._desk.workbench.view().state, self._desk.workbench.design()
        return {
            "clips": [*clips(), *self._listening.own_clips()],
            "seats": [seat.name for seat in design.brief.seats],
            "candidates": state["candidates"],
            "unsaved": state["unsaved"],
            "caution": CAUTION,
            "sessions": self._listening.sessions(),
        }

    async def sounds(self, request: Request) -> Response:
        """Make sounds, and say what they are once they are there."""
        asked = await message_of(request)
        candidates = asked.get("candidates")
        if not isinstance(candidates, list) or not all(isinstance(one, str) for one in candidates):
            raise DataError("'candidates' must be a list of files", cure="load the page again")
        seat, clip = str(asked.get("seat", "")), str(asked.get("clip", ""))
        page = str(asked.get("page", ""))[:40]
        future = await self._desk.on_bench(lambda: self._listening.sounds(candidates, seat, clip, page))
        try:
            made = await asyncio.wrap_future(future)
        except Stopped:
            made = []  # the same page asks for others, or the user stopped it
        return JSONResponse({"sounds": [told(name, heard) for name, heard in made]})

    async def sound(self, request: Request) -> Response:
        """Hand out one sound: as numbers, or as a file with its settings inside."""
        heard = self._listening.shelf.get(request.path_params["name"])
        if heard is None:
            return gone()
        if "wav" in request.query_params:
            name = "".join(
                one if one.isalnum() or one in " -" else "_" for one in f"{heard.title} at {heard.seat}"
            )
            headers = {
                "content-disposition": f'attachment; filename="{name.encode("ascii", "replace").decode()}.wav"'
            }
            return Response(await asyncio.to_thread(heard.wav), media_type="audio/wav", headers=headers)
        return plain(await asyncio.to_thread(plain_bytes, heard.sound))

    async def clip(self, request: Request) -> Response:
        """Take a sound file that the user brings; it lies beside the sessions from then on."""
        name, data = await self._file_of(request)
        return JSONResponse({"clip": await asyncio.to_thread(self._listening.take_clip, name, data)})

    async def level(self, request: Request) -> Response:
        """Tell how loud a recording of a real speaker is."""
        name, data = await self._file_of(request)
        return JSONResponse(await asyncio.to_thread(self._listening.level, name, data))

    @staticmethod
    async def _file_of(request: Request) -> tuple[str, bytes]:
        """Read a sound file that a page sends, and its name."""
        if request.headers.get("content-type", "").split(";")[0].strip() != "application/octet-stream":
            raise DataError("the page sent no file", cure="load the page again")
        return request.query_params.get("name", ""), await body_of(request, LARGEST_CLIP)

    async def begin(self, request: Request) -> Response:
        """Begin a session; its sounds are made first."""
        asked = await message_of(request)
        state = (await self._desk.on_bench(self._desk.workbench.view)).state
        wanted = wanted_in(asked, {one["file"]: one["title"] for one in state["candidates"]})
        future = await self._desk.on_bench(lambda: self._listening.begin(wanted))
        return JSONResponse({"id": await asyncio.wrap_future(future)})

    async def close(self, request: Request) -> Response:
        """Close a session."""
        asked = await message_of(request)
        await asyncio.to_thread(self._listening.close, str(asked.get("id", "")))
        return JSONResponse({})


class SessionDoors:
    """Listeners' pages, the leader's, and results."""

    def __init__(self, listening: Listening, lock: Lock, static: Path) -> None:
        self._listening, self._lock, self._static = listening, lock, static

    async def page(self, _request: Request) -> Response:
        """Serve the page of a session, the leader's too; nothing of the session is in it."""
        answer = FileResponse(self._static / "blind.html", media_type="text/html; charset=utf-8")
        answer.set_cookie(self._lock.cookie, self._lock.token, httponly=True, samesite="strict", path="/")
        return answer

    async def state(self, request: Request) -> Response:
        """Say what a listener has before them."""
        key, who = request.path_params["key"], request.query_params.get("listener", "")
        await asyncio.to_thread(self._listening.prepare, key)
        listener = int(who) if who.isdecimal() and len(who) < 4 else None
        return JSONResponse(await asyncio.to_thread(self._listening.blind(key).state, listener))

    async def blind_sound(self, request: Request) -> Response:
        """Hand out a sound under the name that chance gave it."""
        blind = self._listening.blind(request.path_params["key"])
        data = await asyncio.to_thread(blind.sound, request.path_params["name"])
        return gone() if data is None else plain(data)

    async def answer(self, request: Request) -> Response:
        """Take a press; it is in the file when this is answered."""
        asked, blind = await message_of(request), self._listening.blind(request.path_params["key"])
        await asyncio.to_thread(blind.answer, asked)
        return JSONResponse({})

    async def finish(self, request: Request) -> Response:
        """Let a listener go on."""
        asked, blind = await message_of(request), self._listening.blind(request.path_params["key"])
        await asyncio.to_thread(blind.finish, asked)
        return JSONResponse({})

    # --- real speakers ---

    async def wish(self, request: Request) -> Response:
        """Ask the leader for what stands behind a letter."""
        asked, blind = await message_of(request), self._listening.blind(request.path_params["key"])
        blind.wish(asked)
        return JSONResponse({})

    async def leading(self, request: Request) -> Response:
        """Say what the leader is to connect."""
        blind = self._listening.blind(request.path_params["key"])
        return JSONResponse(blind.leading(request.query_params.get("key", "")))

    async def plays(self, request: Request) -> Response:
        """Take the leader's word that it plays."""
        asked, blind = await message_of(request), self._listening.blind(request.path_params["key"])
        blind.plays(str(asked.get("key", "")))
        return JSONResponse({})

    # --- results ---

    async def results(self, request: Request) -> Response:
        """Show what a closed session says."""
        session = self._listening.blind(request.path_params["key"]).keeper.session
        page = await asyncio.to_thread(results_page, session, style=STYLE)
        return Response(page, media_type="text/html; charset=utf-8")

    async def results_twin(self, request: Request) -> Response:
        """Give the same as data."""
        session = self._listening.blind(request.path_params["key"]).keeper.session
        return JSONResponse(results_data(analyse(session)))

    async def style(self, _request: Request) -> Response:
        """Serve the style sheet of results."""
        return Response(style_sheet(), media_type="text/css; charset=utf-8")


class Doors:
    """What stands behind each door."""

    def __init__(self, desk: Desk, lock: Lock, static: Path) -> None:
        make_ready()  # before a choice is offered: what is chosen then sounds sooner
        listening = Listening(desk.workbench, desk.jobs, listening_render.make_sounds)
        self.sounds = SoundDoors(desk, listening)
        self.sessions = SessionDoors(listening, lock, static)
