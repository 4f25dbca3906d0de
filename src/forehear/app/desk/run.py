"""Opening the desk: a free port on loopback, a token, one printed line, and the browser."""

import asyncio
import contextlib
import re
import secrets
import socket
import sys
import time
import webbrowser
from pathlib import Path

import uvicorn

from forehear.app.desk.folder import Folder, open_folder
from forehear.app.desk.guard import HOSTS, SCHEME, Lock
from forehear.app.desk.live import Desk
from forehear.app.desk.server import make_app
from forehear.app.desk.workbench import Workbench
from forehear.ground.errors import DesignError
from forehear.ground.files import write_privately
from forehear.ground.work import one_heap_for_all_threads

LOOPBACK = HOSTS[0]
USUAL_PORT = 8765
TOKEN = re.compile(r"[\w-]{32}")
TOKEN_LASTS_S = 24 * 3600
LARGEST_FRAME = 1_000_000  # refused with words up to here, cut off beyond


def serve(place: Path | None, port: int | None, *, opens: bool) -> None:
    """Serve a folder until the user stops it."""
    one_heap_for_all_threads()
    folder, first = open_folder(place)
    workbench = Workbench(folder, first)
    listening = _listening(port)
    lock = Lock(token_of(folder), listening.getsockname()[1])
    asyncio.run(_serve(workbench, lock, listening, opens=opens))


def token_of(folder: Folder) -> str:
    """Return the secret of a folder's desk: the last one while it is young, so that open pages find back in.

    Only its owner may read the file that holds it.
    """
    place = folder.aside.with_suffix(".token")
    with contextlib.suppress(OSError, ValueError):
        state = place.stat()
        young = 0 <= time.time() - state.st_mtime < TOKEN_LASTS_S
        token = place.read_text(encoding="ascii")
        if young and not state.st_mode & 0o077 and TOKEN.fullmatch(token):
            return token
    token = secrets.token_urlsafe(24)
    write_privately(place, token)
    return token


async def _serve(workbench: Workbench, lock: Lock, listening: socket.socket, *, opens: bool) -> None:
    desk = Desk(workbench)
    config = uvicorn.Config(
        make_app(desk, lock),
        log_level="error",
        access_log=False,
        ws="websockets-sansio",
        ws_max_size=LARGEST_FRAME,
        ws_per_message_deflate=False,
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    server = _Told(config, f"{SCHEME}://{LOOPBACK}:{lock.port}/?token={lock.token}", opens=opens)
    await server.serve(sockets=[listening])


class _Told(uvicorn.Server):
    """A server that says where it is once it serves."""

    def __init__(self, config: uvicorn.Config, address: str, *, opens: bool) -> None:
        super().__init__(config)
        self._address = address
        self._opens = opens

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            sys.stdout.write(f"{self._address}\n")
            sys.stdout.flush()
            if self._opens:
                webbrowser.open(self._address)


def _listening(port: int | None) -> socket.socket:
    """Bind the wanted port, or the usual one, or any that is free."""
    wanted = [port] if port is not None else [USUAL_PORT, 0]
    for number in wanted:
        place = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            place.bind((LOOPBACK, number))
        except OSError:
            place.close()
        else:
            return place
    raise DesignError(f"port {port} is taken", cure="leave --port out, or name another")
