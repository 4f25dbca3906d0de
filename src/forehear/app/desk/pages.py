"""The pages that look at the desk: each gets every word of news in order, and of pictures the newest."""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable

from forehear.app.desk.frames import Packed

MOST_NEWS = 400  # a page that lets this much wait is no longer listening

Send = Callable[[bytes], Awaitable[None]]


class Page:
    """One open page."""

    def __init__(self, send: Send) -> None:
        self.asked = 0  # number of the newest message taken
        self.answered = 0  # number of the newest message that the newest picture holds
        self.gone = False
        self._send = send
        self._news: deque[bytes] = deque()
        self._picture: Packed | None = None
        self._wake = asyncio.Event()

    def tell(self, frame: bytes) -> None:
        """Queue news."""
        self._news.append(frame)
        self.gone = self.gone or len(self._news) > MOST_NEWS
        self._wake.set()

    def show(self, picture: Packed) -> None:
        """Let a picture be the next one sent; one that still waits is passed over."""
        self._picture = picture
        self._wake.set()

    async def serve(self) -> None:
        """Send what is queued until the page is gone."""
        while not self.gone:
            await self._wake.wait()
            self._wake.clear()
            while self._news:
                await self._send(self._news.popleft())
            picture, self._picture = self._picture, None
            if picture is not None:
                await self._send(picture.for_page(self.answered))
