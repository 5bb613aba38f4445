"""Simulated tablets: each posts a fact a second, follows the stream, and asks for its page anew."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from datetime import UTC, datetime

from panelwright.facts.identity import uuid7

COOKIE = "panelwright-person=Kim"
PAUSE_S = 0.5
"""As app.js has it: a page is asked for at once, and then not sooner than this again."""
SAID: tuple[tuple[str, dict[str, object]], ...] = (
    ("reading", {"from": "C3", "to": "L11", "value": "1834 mm", "with": "tape"}),
    ("event", {"kind": "drilled", "joint": "arch", "count": 1}),
    ("temperature", {"joint": "arch", "along": "200 mm", "minute": 15, "value": "48 °C"}),
    ("conditions", {"air": "21 °C", "humidity": 50}),
)
"""What a tablet says in turn: a tape reading, a hole drilled, the panel's and the air's warmth."""


class Wire:
    """One kept connection that speaks as much HTTP/1.1 as is needed here."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.reader: asyncio.StreamReader
        self.writer: asyncio.StreamWriter

    async def open(self) -> None:
        """Connect."""
        self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port)

    async def ask(self, method: str, path: str, body: bytes = b"", more: str = "") -> int:
        """Send a request and read the head of its answer; give its length, -1 if untold."""
        head = f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {COOKIE}\r\n"
        head += f"{more}Content-Length: {len(body)}\r\n\r\n"
        self.writer.write(head.encode() + body)
        answer = (await self.reader.readuntil(b"\r\n\r\n")).decode().lower()
        if " 200 " not in answer.partition("\r\n")[0]:
            raise RuntimeError(answer)
        lines = dict(one.split(": ", 1) for one in answer.split("\r\n")[1:] if ": " in one)
        return int(lines.get("content-length", -1))

    async def whole(self, method: str, path: str, body: bytes = b"", more: str = "") -> bytes:
        """Give the body of an answer."""
        length = await self.ask(method, path, body, more)
        return await self.reader.readexactly(length)

    async def events(self, path: str) -> AsyncIterator[tuple[str, dict[str, object]]]:
        """Give kind and data of what the stream tells."""
        await self.ask("GET", path)
        kind = ""
        while data := await self.reader.readline():
            text = data.decode().strip()
            if text.startswith("event: "):
                kind = text[7:]
            elif text.startswith("data: "):
                yield kind, json.loads(text[6:])


@dataclass
class Sent:
    """A fact: its tablet and repair, when it was sent and acknowledged, and by which number."""

    tablet: int
    repair: str
    id: str
    sent: float
    done: float = 0.0
    seq: int = 0


@dataclass
class Tablet:
    """One tablet at one repair.

    Attributes
    ----------
    told : list
        When the stream told of which repair up to which number.
    pages : list of float
        How long the page took, each time it was asked for.
    """

    number: int
    repair: str
    port: int
    facts: list[Sent] = field(default_factory=list)
    told: list[tuple[float, str, int]] = field(default_factory=list)
    shows: bool = True
    pages: list[float] = field(default_factory=list)
    stale: asyncio.Event = field(default_factory=asyncio.Event)

    async def run(self, begin: float, end: float) -> None:
        """Work from one moment to another."""
        listening, showing = Wire(self.port), Wire(self.port)
        await listening.open()
        await showing.open()
        beside = [
            asyncio.create_task(self.listen(listening)),
            *([asyncio.create_task(self.show(showing))] if self.shows else []),
        ]
        try:
            await self.say(begin, end)
            await asyncio.sleep(1.5)
        finally:
            for task in beside:
                if task.done():
                    task.result()
                task.cancel()
            listening.writer.close()
            showing.writer.close()

    async def say(self, begin: float, end: float) -> None:
        """Post a fact each second; one that comes late is sent at once."""
        wire = Wire(self.port)
        await wire.open()
        turn = begin + self.number / 30
        count = 0
        while turn < end:
            await asyncio.sleep(max(0.0, turn - time.perf_counter()))
            await self.fact(wire, count)
            turn, count = turn + 1.0, count + 1
        wire.writer.close()

    async def fact(self, wire: Wire, count: int) -> None:
        """Post one fact and note when."""
        kind, body = SAID[(count + self.number) % len(SAID)]
        now = datetime.now(UTC)
        if kind in ("reading", "event"):
            body = {**body, "at": now.isoformat(), "by": "Kim"}
        told = {
            "id": str(uuid7(now, (self.number * 10**6 + count).to_bytes(10, "big"))),
            "kind": kind,
            "body": body,
            "observed_at": now.isoformat(),
            "person": "Kim",
        }
        data = json.dumps({"facts": [told]}).encode()
        one = Sent(self.number, self.repair, told["id"], time.perf_counter())
        self.facts.append(one)
        more = "Content-Type: application/json\r\n"
        answer = await wire.whole("POST", f"/api/repairs/{self.repair}/facts", data, more)
        one.done = time.perf_counter()
        one.seq = json.loads(answer)["seq"]

    async def listen(self, wire: Wire) -> None:
        """Follow the stream."""
        async for kind, data in wire.events("/events"):
            moment = time.perf_counter()
            if kind == "fact":
                self.told.append((moment, str(data["repair"]), int(str(data["seq"]))))
            if kind in ("fact", "answer") and data["repair"] == self.repair:
                self.stale.set()

    async def show(self, wire: Wire) -> None:
        """Ask for the page where the stream says that it is old, as app.js does."""
        while True:
            await self.stale.wait()
            self.stale.clear()
            begin = time.perf_counter()
            await wire.whole("GET", f"/repairs/{self.repair}", more="HX-Request: true\r\n")
            self.pages.append(time.perf_counter() - begin)
            await asyncio.sleep(PAUSE_S)
