"""The pages that look at the desk: each gets every word of news in order, and of pictures the newest."""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable

from forehear.app.desk.frames import Packed
from forehear.app.desk.sight import WHOLE, Sight

MOST_NEWS = 400  # a page that lets this much wait is no longer listening

Send = Callable[[bytes], Awaitable[None]]


class Page:
    """One open page."""

    def __init__(self, send: Send) -> None:
        self.asked = 0  # number of the newest message taken
        self.answered = 0  # number of the newest message that the newest picture holds
        self.gone = False
        self.sight: Sight = WHOLE  # what it has in view
        self._send = send
        self._news: deque[bytes] = deque()
        self._pictures: list[Packed] = []  # at most a whole one, and then one of what is in view
        self._wake = asyncio.Event()

    def tell(self, frame: bytes) -> None:
        """Queue news."""
        self._news.append(frame)
        self.gone = self.gone or len(self._news) > MOST_NEWS
        self._wake.set()

    def show(self, picture: Packed) -> None:
        """Let a picture be the next one sent; one that still waits is passed over.

        A whole one is passed over for a whole one only: what is not whole is laid over what came before it.
        """
        self._pictures = [*(one for one in self._pictures if one.whole and not picture.whole), picture]
        self._wake.set()

    async def serve(self) -> None:
        """Send what is queued until the page is gone."""
        while not self.gone:
            await self._wake.wait()
            self._wake.clear()
            while self._news:
                await self._send(self._news.popleft())
            pictures, self._pictures = self._pictures, []
            for picture in pictures:
                await self._send(picture.for_page(self.answered))
