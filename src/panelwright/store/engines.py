"""Connections: one that writes, and others that can only read.

SQLite: the log is written ahead (WAL), every commit is forced to the disk before it returns
(``synchronous=FULL``), and a writing transaction takes the write lock when it begins, so that what
it has read is still so when it writes. PostgreSQL: ``synchronous_commit`` likewise, and the lock is
an advisory one on the whole store. A lock for each repair would let a fact with a lower `seq`
appear after one with a higher, and whoever follows the numbers would miss it.

References
----------
SQLite, "PRAGMA synchronous" and "Write-Ahead Logging"; PostgreSQL 15 manual, 13.3.5 and 20.5.1.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING, Protocol

from sqlalchemy import create_engine, event
from sqlalchemy.pool import QueuePool

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from sqlalchemy import Connection, Engine
    from sqlalchemy.engine import URL

    from panelwright.store.place import Place

WRITE_LOCK = 0x50_57_53_54
"""Key of PostgreSQL's advisory lock: who holds it is the only writer."""

READERS = 8
"""Connections that read at the same time."""

_CONNECT_S = 5
_SQLITE_WRITER = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",
    "PRAGMA foreign_keys=ON",
)


class _Cursor(Protocol):
    def execute(self, statement: str, /) -> object: ...

    def close(self) -> None: ...


class _Connected(Protocol):
    """What the drivers of both databases have in common."""

    def cursor(self) -> _Cursor: ...

    def commit(self) -> None: ...


def writer(place: Place, *, wait_s: float) -> Engine:
    """Give the engine with the one connection that writes; nothing is opened yet."""
    if place.server is None:
        opened = _sqlite_opener(place, "rwc", wait_s)
        engine = _sqlite_engine(opened, _SQLITE_WRITER, size=1, wait_s=wait_s)
        event.listen(engine, "begin", _says("BEGIN IMMEDIATE"))
        return engine
    says = ("SET synchronous_commit = on", f"SET lock_timeout = {round(wait_s * 1000)}")
    engine = _server_engine(place.server, says, size=1, wait_s=wait_s)
    event.listen(engine, "begin", _says(f"SELECT pg_advisory_xact_lock({WRITE_LOCK})"))
    return engine


def reader(place: Place, *, wait_s: float) -> Engine:
    """Give the engine whose connections cannot write; nothing is opened yet."""
    if place.server is None:
        opened = _sqlite_opener(place, "ro", wait_s)
        engine = _sqlite_engine(opened, ("PRAGMA query_only=ON",), size=READERS, wait_s=wait_s)
        event.listen(engine, "begin", _says("BEGIN"))
        return engine
    says = (
        "SET default_transaction_read_only = on",
        "SET default_transaction_isolation = 'repeatable read'",
        f"SET lock_timeout = {round(wait_s * 1000)}",
    )
    return _server_engine(place.server, says, size=READERS, wait_s=wait_s)


def _sqlite_opener(place: Place, mode: str, wait_s: float) -> Callable[[], sqlite3.Connection]:
    def opened() -> sqlite3.Connection:
        return sqlite3.connect(
            f"{place.database.as_uri()}?mode={mode}",
            uri=True,
            timeout=wait_s,
            isolation_level=None,  # so that a transaction begins where we say so, and how
            check_same_thread=False,  # the pool lends a connection to one thread at a time
        )

    return opened


def _sqlite_engine(
    opened: Callable[[], sqlite3.Connection], says: Sequence[str], *, size: int, wait_s: float
) -> Engine:
    engine = create_engine(
        "sqlite://",
        creator=opened,
        poolclass=QueuePool,
        pool_size=size,
        max_overflow=0,
        pool_timeout=wait_s,
    )
    event.listen(engine, "connect", _set_up(says))
    return engine


def _server_engine(server: URL, says: Sequence[str], *, size: int, wait_s: float) -> Engine:
    engine = create_engine(
        server,
        poolclass=QueuePool,
        pool_size=size,
        max_overflow=0,
        pool_timeout=wait_s,
        pool_pre_ping=True,  # a server that was started anew is found before a fact is sent to it
        connect_args={"connect_timeout": _CONNECT_S, "application_name": "panelwright"},
    )
    event.listen(engine, "connect", _set_up(says))
    return engine


def _set_up(says: Sequence[str]) -> Callable[[_Connected, object], None]:
    def set_up(connection: _Connected, _: object) -> None:
        cursor = connection.cursor()
        for statement in says:
            cursor.execute(statement)
        cursor.close()
        connection.commit()

    return set_up


def _says(statement: str) -> Callable[[Connection], None]:
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql(statement)

    return begin
