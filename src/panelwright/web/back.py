"""The pages in a process of their own, so that taking a fact never waits for a page.

Python runs one thread at a time: while the process that takes facts makes a page or unpacks an
answer, nobody's fact is acknowledged. So all that thinks is asked here, over a line, request by
request, and stands back a little. A process that ends is followed by another; the facts are in
the store and lose nothing by it.
"""

from __future__ import annotations

import asyncio
import itertools
import logging
import multiprocessing
import signal
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from threading import Lock, Thread
from typing import TYPE_CHECKING, Any, cast

from panelwright.web.asking import lower
from panelwright.web.line import Line, Said
from panelwright.web.live import Message

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

    from starlette.types import ASGIApp, Scope
    from starlette.types import Message as Event

    from panelwright.web.settings import Settings

log = logging.getLogger(__name__)

STAND_BACK = 3
"""How far this process stands back for the one that takes facts (nice)."""
AGAIN_S = 1.0
"""How long after one process ended the next begins."""
_STOP_S = 8.0
_SCOPE = (
    *("type", "http_version", "method", "scheme", "path", "raw_path", "query_string"),
    *("root_path", "headers", "client", "server"),
)


class BackGoneError(Exception):
    """The process with the pages ended before it had answered."""


@dataclass(frozen=True)
class Answered:
    """A whole answer to a request."""

    status: int
    headers: tuple[tuple[bytes, bytes], ...]
    body: bytes


class Back:
    """The process with the pages, seen from the one that takes facts.

    Parameters
    ----------
    settings : Settings
        Can be pickled.

    Attributes
    ----------
    told : callable
        Is given each message for the browsers.
    stirred : callable
        Is called where a fact was stored over there.
    """

    def __init__(self, settings: Settings) -> None:
        self.told: Callable[[Message], None] = lambda _: None
        self.stirred: Callable[[], None] = lambda: None
        self._settings = settings
        self._numbers = itertools.count()
        self._waiting: dict[int, asyncio.Future[Answered]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self._lock = Lock()
        self._closing = False
        self._process: SpawnProcess
        self._line: Line
        self._there = asyncio.Event()

    def start(self) -> None:
        """Begin; the store must be open, so that its tables are made once."""
        self._loop = asyncio.get_running_loop()
        self._spawn()

    @property
    def process(self) -> int:
        """Give the number of the process with the pages."""
        return self._process.pid or 0

    def _spawn(self) -> None:
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        with self._lock:
            if self._closing:
                return
            # not a daemon: it has processes of its own, and ends where this line does
            self._process = context.Process(target=serve, args=(theirs, self._settings))
            self._process.start()
            theirs.close()
            self._line = Line(ours, self._heard, self._lost)
        self._soon(self._there.set)

    async def ask(self, scope: Scope, body: bytes) -> Answered:
        """Have a request answered; where the process is being started, once it is.

        Raises
        ------
        BackGoneError
            Where the process ended meanwhile; whether it had stored something is not known.
        """
        assert self._loop is not None  # noqa: S101 - started
        await self._there.wait()
        number = next(self._numbers)
        future: asyncio.Future[Answered] = self._loop.create_future()
        self._waiting[number] = future
        try:
            self._line.say("ask", number, {name: scope.get(name) for name in _SCOPE}, body)
            return await future
        finally:
            self._waiting.pop(number, None)

    def stir(self) -> None:
        """Say that there are new facts."""
        self._line.say("stir")

    def _heard(self, said: Said) -> None:
        """Take what the process says; in the thread that hears."""
        match said:
            case ("answer", int(number), int(status), tuple(headers), bytes(body)):
                self._soon(self._answer, number, Answered(status, headers, body))
            case ("tell", Message() as message):
                self.told(message)
            case ("stir",):
                self.stirred()

    def _soon(self, work: Callable[..., None], *arguments: object) -> None:
        assert self._loop is not None  # noqa: S101 - started
        with suppress(RuntimeError):  # the loop is closing
            self._loop.call_soon_threadsafe(work, *arguments)

    def _answer(self, number: int, answered: Answered) -> None:
        future = self._waiting.get(number)
        if future is not None and not future.done():
            future.set_result(answered)

    def _lost(self) -> None:
        """Let those who wait know, and begin anew."""
        self._soon(self._fail)
        if self._closing:
            return
        log.error("the process with the pages has ended; another is started")
        Thread(target=self._again, name="pages anew", daemon=True).start()

    def _fail(self) -> None:
        self._there.clear()
        for future in self._waiting.values():
            if not future.done():
                future.set_exception(BackGoneError())

    def _again(self) -> None:
        time.sleep(AGAIN_S)
        self._process.join(_STOP_S)
        self._spawn()

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._closing = True
        self._line.say("end")
        self._process.join(_STOP_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join(_STOP_S)


def serve(connection: Connection[Any, Any], settings: Settings) -> None:
    """Answer requests until the line is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    lower(STAND_BACK)
    from panelwright.web.app import create_app  # noqa: PLC0415 - only there, not on the way here
    from panelwright.web.desk import Desk  # noqa: PLC0415

    app = create_app(settings)
    desk = cast("Desk", app.state.desk)

    async def served() -> None:
        async with app.router.lifespan_context(app):
            there = There(app, connection)
            desk.live.on_tell.append(there.tell)
            desk.live.on_stir.append(there.stir)
            there.stirred = desk.live.look
            await there.ended.wait()

    asyncio.run(served())


class There:
    """The far end: has each request answered by the application.

    Attributes
    ----------
    stirred : callable
        Is called where new facts were stored by the other process.
    ended : asyncio.Event
        Set where the line is gone.
    """

    def __init__(self, app: ASGIApp, connection: Connection[Any, Any]) -> None:
        self.stirred: Callable[[], None] = lambda: None
        self.ended = asyncio.Event()
        self._app = app
        self._loop = asyncio.get_running_loop()
        self._tasks: set[asyncio.Task[None]] = set()
        self._line = Line(connection, self._heard, self._lost)

    def tell(self, message: Message) -> None:
        """Pass on a message for the browsers."""
        self._line.say("tell", message)

    def stir(self) -> None:
        """Say that a fact was stored here."""
        self._line.say("stir")

    def _heard(self, said: Said) -> None:
        match said:
            case ("ask", int(number), dict(scope), bytes(body)):
                self._loop.call_soon_threadsafe(self._begin, number, scope, body)
            case ("stir",):
                self.stirred()
            case ("end",):
                self._lost()

    def _lost(self) -> None:
        with suppress(RuntimeError):
            self._loop.call_soon_threadsafe(self.ended.set)

    def _begin(self, number: int, scope: Mapping[str, object], body: bytes) -> None:
        task = self._loop.create_task(self._asked(number, scope, body))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _asked(self, number: int, scope: Mapping[str, object], body: bytes) -> None:
        try:
            found = await whole(self._app, scope, body)
        except Exception:
            log.exception("a request broke: %s", scope.get("path"))
            found = Answered(500, (), b"")
        self._line.say("answer", number, found.status, found.headers, found.body)


async def whole(app: ASGIApp, scope: Mapping[str, object], body: bytes) -> Answered:
    """Give an application's whole answer to a request that is here as a whole."""
    sent = False
    status = 500
    headers: tuple[tuple[bytes, bytes], ...] = ()
    parts: list[bytes] = []

    async def receive() -> Event:
        nonlocal sent
        if sent:  # the browser stays until it has its answer
            await asyncio.Event().wait()
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Event) -> None:
        nonlocal status, headers
        if message["type"] == "http.response.start":
            status = message["status"]
            headers = tuple((name, value) for name, value in message["headers"])
        elif message["type"] == "http.response.body":
            parts.append(message.get("body", b""))

    await app({"asgi": {"version": "3.0"}, **scope}, receive, send)
    return Answered(status, headers, b"".join(parts))
