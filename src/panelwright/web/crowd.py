"""Pages are made a few at a time, so that storing a fact never waits behind many of them."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

AT_ONCE = 2
"""Pages that are made at the same time; Python runs one thread at a time, so more gain nothing."""
_OTHERS = ("/static", "/api", "/events")


class Crowd:
    """Lets pages in, a few at a time.

    Attributes
    ----------
    asked : int
        Pages that are being made or wait for their turn.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.asked = 0
        self.places = asyncio.Semaphore(AT_ONCE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, a page in its turn."""
        if scope["type"] != "http" or scope["method"] != "GET" or self._is_other(scope["path"]):
            await self.app(scope, receive, send)
            return
        place = _Place(self)
        scope["crowd"] = self

        async def left(message: Message) -> None:
            place.leave()  # the page is made: how fast it is taken is no matter of others
            await send(message)

        try:
            await place.take()
            await self.app(scope, receive, left)
        finally:
            place.leave()

    @staticmethod
    def _is_other(path: str) -> bool:
        return path.startswith(_OTHERS)

    @property
    def waits(self) -> bool:
        """Tell whether others wait for their turn: who is in then does not linger."""
        return self.asked > AT_ONCE


class _Place:
    """One request's place in the crowd."""

    def __init__(self, crowd: Crowd) -> None:
        self._crowd = crowd
        self._taken = False
        self._here = True
        crowd.asked += 1

    async def take(self) -> None:
        await self._crowd.places.acquire()
        self._taken = True

    def leave(self) -> None:
        if not self._here:
            return
        self._here = False
        self._crowd.asked -= 1
        if self._taken:
            self._crowd.places.release()
