"""Pages are made one at a time and after facts, so that storing a fact never waits behind them."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

AT_ONCE = 1
"""Pages that are made at the same time; Python runs one thread at a time, so more gain nothing."""
STAND_BACK_S = 0.25
"""So long a page waits for facts that are being stored, however many there are."""
_OTHERS = ("/static", "/api", "/events")


class Crowd:
    """Lets facts pass and pages in, one after the other.

    Attributes
    ----------
    asked : int
        Pages that are being made or wait for their turn.
    storing : int
        Facts, or other things that are sent, that are being taken.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.asked = 0
        self.storing = 0
        self.places = asyncio.Semaphore(AT_ONCE)
        self.calm = asyncio.Event()
        self.calm.set()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, a page in its turn."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
        elif scope["method"] != "GET":
            await self._taken(scope, receive, send)
        elif scope["path"].startswith(_OTHERS):
            await self.app(scope, receive, send)
        else:
            await self._page(scope, receive, send)

    async def _taken(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.storing += 1
        self.calm.clear()
        try:
            await self.app(scope, receive, send)
        finally:
            self.storing -= 1
            if not self.storing:
                self.calm.set()

    async def _page(self, scope: Scope, receive: Receive, send: Send) -> None:
        scope["place"] = place = Place(self)

        async def left(message: Message) -> None:
            place.leave()  # the page is made: how fast it is taken is no matter of others
            await send(message)

        try:
            await place.take()
            await self.app(scope, receive, left)
        finally:
            place.leave()


class Place:
    """One page's place in the crowd."""

    def __init__(self, crowd: Crowd) -> None:
        self._crowd = crowd
        self._loop = asyncio.get_running_loop()
        self._taken = False
        self._here = True
        crowd.asked += 1

    @property
    def others_wait(self) -> bool:
        """Tell whether others wait for their turn: who is in then does not linger."""
        return self._crowd.asked > AT_ONCE

    async def take(self) -> None:
        """Wait for the turn."""
        await self._crowd.places.acquire()
        self._taken = True
        with suppress(TimeoutError):
            async with asyncio.timeout(STAND_BACK_S):
                await self._crowd.calm.wait()

    def leave(self) -> None:
        """Let the next in; once is enough."""
        if not self._here:
            return
        self._here = False
        self._crowd.asked -= 1
        if self._taken:
            self._crowd.places.release()

    def step_aside(self) -> None:
        """Let the next in while this page only waits for an answer; from any thread."""
        self._loop.call_soon_threadsafe(self.leave)
