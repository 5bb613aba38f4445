"""What bench_web.py measures against: a bare Starlette app that appends the same rows as durably.

It checks nothing, derives nothing and makes no hash; it has one page without content and tells
each row to every stream. Run: bare_app.py FOLDER PORT.
"""

from __future__ import annotations

import asyncio
import json
import sqlite3
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

TABLE = """
PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;
CREATE TABLE fact (seq INTEGER PRIMARY KEY, repair TEXT, number INTEGER, id TEXT, kind TEXT,
  previous TEXT, hash TEXT, entry BLOB, recorded_at TEXT, UNIQUE (repair, number),
  UNIQUE (repair, id));
"""
HASH = "0" * 64


class Bare:
    """The app: one connection, one lock, a queue for each stream."""

    def __init__(self, folder: Path) -> None:
        self.connection = sqlite3.connect(
            folder / "bare.sqlite", isolation_level=None, check_same_thread=False
        )
        self.connection.executescript(TABLE)
        self.lock = asyncio.Lock()
        self.streams: set[asyncio.Queue[str]] = set()
        self.seq = 0

    def insert(self, repair: str, fact: dict[str, str]) -> int:
        """Append a row; it is on the disk when this returns."""
        self.seq += 1
        self.connection.execute("BEGIN IMMEDIATE")
        self.connection.execute(
            "INSERT INTO fact VALUES (?,?,?,?,?,?,?,?,?)",
            (
                *(self.seq, repair, self.seq, fact["id"], fact["kind"], HASH, HASH),
                *(json.dumps(fact).encode(), fact["observed_at"]),
            ),
        )
        self.connection.execute("COMMIT")
        return self.seq

    async def append(self, request: Request) -> Response:
        """Append what is sent and tell every stream."""
        repair = request.path_params["name"]
        facts = (await request.json())["facts"]
        async with self.lock:
            for fact in facts:
                seq = await asyncio.to_thread(self.insert, repair, fact)
        text = f"id: {seq}\nevent: fact\ndata: " + json.dumps({"seq": seq, "repair": repair})
        for stream in self.streams:
            stream.put_nowait(text + "\n\n")
        return JSONResponse({"added": len(facts), "seq": seq})

    async def events(self, _: Request) -> Response:
        """Give the stream."""
        return StreamingResponse(self.told(), media_type="text/event-stream")

    async def told(self) -> AsyncIterator[str]:
        """Give what is new, row by row."""
        stream: asyncio.Queue[str] = asyncio.Queue()
        self.streams.add(stream)
        try:
            yield "event: hello\ndata: {}\n\n"
            while True:
                yield await stream.get()
        finally:
            self.streams.discard(stream)

    async def page(self, _: Request) -> Response:
        """Give an empty page."""
        return Response("")


def main() -> None:
    bare = Bare(Path(sys.argv[1]))
    app = Starlette(
        routes=[
            Route("/api/repairs/{name}/facts", bare.append, methods=["POST"]),
            Route("/events", bare.events),
            Route("/repairs/{name}", bare.page),
        ]
    )
    # As panelwright.web.server has it.
    uvicorn.run(
        app,
        host="127.0.0.1",
        port=int(sys.argv[2]),
        log_level="warning",
        lifespan="on",
        ws="none",
        server_header=False,
        timeout_graceful_shutdown=5,
    )


if __name__ == "__main__":
    main()
