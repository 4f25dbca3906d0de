"""Who may talk to the desk: this machine, by its own name, from its own pages, with the token."""

import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Message, Receive, Scope, Send

SCHEME = "http"  # on loopback there is nobody to hide from
HOSTS = ("127.0.0.1", "localhost")
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


@dataclass(frozen=True)
class Lock:
    """The token, and the port whose addresses are ours."""

    token: str
    port: int

    @property
    def cookie(self) -> str:
        """Name of the cookie; cookies are shared by all ports of a host, names are not."""
        return f"forehear_{self.port}"

    @property
    def hosts(self) -> tuple[str, ...]:
        """What the Host header may say."""
        return tuple(f"{host}:{self.port}" for host in HOSTS)

    def opens(self, token: str | None) -> bool:
        """Tell whether a token is the one, in a time that says nothing about it."""
        return token is not None and hmac.compare_digest(token.encode(), self.token.encode())

    def policy(self) -> str:
        """Return the content-security policy of every answer."""
        sockets = " ".join(f"ws://{host}" for host in self.hosts)
        return (
            "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' blob: data:; "
            f"connect-src 'self' {sockets}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )

    def may_come(self, headers: Mapping[str, str]) -> bool:
        """Tell whether Host is ours, and Origin too where there is one."""
        origin = headers.get("origin")
        ours = headers.get("host", "") in self.hosts
        return ours and (origin is None or origin in {f"{SCHEME}://{host}" for host in self.hosts})


class Guard:
    """Turns away what comes under another name or from a foreign page, before anything else is looked at."""

    def __init__(self, app: ASGIApp, lock: Lock) -> None:
        self._app = app
        self._lock = lock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request pass, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        names = [name for name, _ in scope["headers"]]
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        twice = names.count(b"host") != 1 or names.count(b"origin") > 1
        if twice or not self._lock.may_come(headers):
            await _refuse(scope, receive, send)
            return
        await self._app(scope, receive, self._with_headers(send))

    def _with_headers(self, send: Send) -> Send:
        own = {**HEADERS, "content-security-policy": self._lock.policy()}
        extra = [(name.encode(), value.encode()) for name, value in own.items()]

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message.get("headers", []), *extra]}
            await send(message)

        return sending


async def _refuse(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    body = b"this address is not served here\n"
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"x-content-type-options", b"nosniff")]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def query_token(query: bytes) -> str | None:
    """Return the token that an address carries."""
    found = parse_qs(query.decode("latin-1")).get("token")
    return found[0] if found and len(found) == 1 else None
