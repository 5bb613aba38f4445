"""What is new, told to every open browser: facts by their global number, and finished answers.

References
----------
WHATWG HTML, 9.2 Server-sent events.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from panelwright.errors import StoreError
from panelwright.store import Event, Store

log = logging.getLogger(__name__)

MOST_WAITING = 1000
"""Messages that a browser may be behind; then its stream is ended and it asks anew."""
BEAT_S = 15.0
GATHER_S = 0.1
"""Facts that come within so long of the last message are told together."""


@dataclass(frozen=True)
class Message:
    """One message of the stream; `seq` None: it is not counted."""

    event: str
    data: dict[str, object]
    seq: int | None = None

    @cached_property
    def encoded(self) -> str:
        """Give the lines of the stream; made once for all browsers."""
        number = "" if self.seq is None else f"id: {self.seq}\n"
        return f"{number}event: {self.event}\ndata: {json.dumps(self.data)}\n\n"


def messages_of(events: Sequence[Event]) -> tuple[Message, ...]:
    """Give one message for each repair, numbered by its last fact, in the order of the numbers."""
    by_repair: dict[str, list[Event]] = {}
    for event in events:
        by_repair.setdefault(event.repair, []).append(event)
    last_first = sorted(by_repair.items(), key=lambda item: item[1][-1].seq)
    return tuple(
        Message(
            "fact",
            {
                "seq": some[-1].seq,
                "repair": repair,
                "kinds": sorted({event.kind for event in some}),
            },
            some[-1].seq,
        )
        for repair, some in last_first
    )


class Live:
    """Follows the store and tells the browsers that listen.

    Attributes
    ----------
    on_facts : list of callable
        Are given the repairs of which new facts were found.
    on_tell : list of callable
        Are given what is told besides facts.
    on_stir : list of callable
        Are called where this process has stored something.
    """

    def __init__(self, store: Store, *, poll_s: float, clock: Callable[[], datetime]) -> None:
        self._store = store
        self._poll_s = poll_s
        self._clock = clock
        self._listeners: set[asyncio.Queue[Message | None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._wake: asyncio.Event | None = None
        self._task: asyncio.Task[None] | None = None
        self._last = 0
        self.on_facts: list[Callable[[frozenset[str]], None]] = []
        self.on_tell: list[Callable[[Message], None]] = []
        self.on_stir: list[Callable[[], None]] = []

    async def start(self) -> None:
        """Begin to follow the store."""
        self._loop = asyncio.get_running_loop()
        self._wake = asyncio.Event()
        self._last = await asyncio.to_thread(self._store.last_seq)
        self._task = asyncio.create_task(self._follow())

    async def close(self) -> None:
        """End all streams."""
        for queue in list(self._listeners):
            self._end(queue)
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task
        self._loop = None

    def stir(self) -> None:
        """Look for new facts now, and have others look; from any thread."""
        self.look()
        for stirred in self.on_stir:
            stirred()

    def look(self) -> None:
        """Look for new facts now; from any thread."""
        if self._loop is not None and self._wake is not None:
            with suppress(RuntimeError):  # the loop is closing
                self._loop.call_soon_threadsafe(self._wake.set)

    def tell(self, message: Message) -> None:
        """Send a message to every browser; from any thread."""
        for told in self.on_tell:
            told(message)
        if self._loop is not None:
            with suppress(RuntimeError):
                self._loop.call_soon_threadsafe(self._spread, (message,))

    def _spread(self, messages: Sequence[Message]) -> None:
        for queue in list(self._listeners):
            for message in messages:
                if queue.qsize() >= MOST_WAITING:
                    self._end(queue)
                    break
                queue.put_nowait(message)

    def _end(self, queue: asyncio.Queue[Message | None]) -> None:
        self._listeners.discard(queue)
        queue.put_nowait(None)

    async def _follow(self) -> None:
        assert self._wake is not None  # noqa: S101 - set by start
        told_at = 0.0
        while True:
            with suppress(TimeoutError):  # wait_for of Python 3.11 can lose a cancellation
                async with asyncio.timeout(self._poll_s):
                    await self._wake.wait()
            await asyncio.sleep(max(0.0, told_at + GATHER_S - time.monotonic()))
            self._wake.clear()
            try:
                events = await asyncio.to_thread(self._store.since, self._last)
            except StoreError as error:
                log.warning("new facts cannot be read: %s", error)
                continue
            if events:
                self._last, told_at = events[-1].seq, time.monotonic()
                self._spread(messages_of(events))
                for told in self.on_facts:
                    told(frozenset(event.repair for event in events))

    async def stream(self, after: int) -> AsyncIterator[str]:
        """Give what is newer than a number: first what was missed, then what comes."""
        queue: asyncio.Queue[Message | None] = asyncio.Queue()
        self._listeners.add(queue)
        try:
            yield Message("hello", {"now": self._clock().isoformat()}).encoded
            while missed := await asyncio.to_thread(self._store.since, after):
                for message in messages_of(missed):
                    yield message.encoded
                after = missed[-1].seq
            while (newest := await self._next(queue)) is not None:
                fresh = [one for one in newest if one.seq is None or one.seq > after]
                after = max((after, *(one.seq or 0 for one in fresh)))
                if fresh:  # at once: each piece that is sent holds up everything else a little
                    yield "".join(one.encoded for one in fresh)
        except StoreError as error:  # the browser asks anew, from its last number
            log.warning("what was missed cannot be read: %s", error)
        finally:
            self._listeners.discard(queue)

    async def _next(self, queue: asyncio.Queue[Message | None]) -> list[Message] | None:
        """Give the messages that wait, a beat where none comes, None at the end."""
        try:
            async with asyncio.timeout(BEAT_S):
                first = await queue.get()
        except TimeoutError:
            return [Message("beat", {"now": self._clock().isoformat()})]
        if first is None:
            return None
        found = [first]
        while not queue.empty():
            one = queue.get_nowait()
            if one is None:
                queue.put_nowait(None)
                break
            found.append(one)
        return found
