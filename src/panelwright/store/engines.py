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
import time
from typing import TYPE_CHECKING

from sqlalchemy import create_engine, event
from sqlalchemy.pool import QueuePool

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from sqlalchemy import Connection, Engine
    from sqlalchemy.engine import URL

    from panelwright.store.place import Place

WRITE_LOCK = 0x50_57_53_54
"""Key of PostgreSQL's advisory lock: who holds it is the only writer."""

READERS = 8
"""Connections that read at the same time."""

_CONNECT_S = 5
_SERVER_READER = {
    "default_transaction_read_only": "on",
    "default_transaction_isolation": r"repeatable\ read",
}
_ASK_AGAIN_S = 0.02


def writer(place: Place, *, wait_s: float) -> Engine:
    """Give the engine with the one connection that writes; nothing is opened yet."""
    if place.server is None:
        says = ("PRAGMA synchronous=FULL", "PRAGMA foreign_keys=ON")
        opened = _sqlite_opener(place, "rwc", says, wait_s)
        return _sqlite_engine(opened, "BEGIN IMMEDIATE", size=1, wait_s=wait_s)
    engine = _server_engine(place.server, {"synchronous_commit": "on"}, size=1, wait_s=wait_s)
    event.listen(engine, "begin", _says(f"SELECT pg_advisory_xact_lock({WRITE_LOCK})"))
    return engine


def reader(place: Place, *, wait_s: float) -> Engine:
    """Give the engine whose connections cannot write; nothing is opened yet."""
    if place.server is None:
        opened = _sqlite_opener(place, "ro", ("PRAGMA query_only=ON",), wait_s)
        return _sqlite_engine(opened, "BEGIN", size=READERS, wait_s=wait_s)
    return _server_engine(place.server, _SERVER_READER, size=READERS, wait_s=wait_s)


def _sqlite_opener(
    place: Place, mode: str, says: Sequence[str], wait_s: float
) -> Callable[[], sqlite3.Connection]:
    def opened() -> sqlite3.Connection:
        connection = sqlite3.connect(
            f"{place.database.as_uri()}?mode={mode}",
            uri=True,
            timeout=wait_s,
            isolation_level=None,  # so that a transaction begins where we say so, and how
            check_same_thread=False,  # the pool lends a connection to one thread at a time
        )
        try:
            if mode != "ro":
                _write_ahead(connection, wait_s)
            for statement in says:
                connection.execute(statement)
        except BaseException:
            connection.close()
            raise
        return connection

    return opened


def _write_ahead(connection: sqlite3.Connection, wait_s: float) -> None:
    """Turn the write-ahead log on; where two do so at once, SQLite refuses one without waiting."""
    until = time.monotonic() + wait_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(_ASK_AGAIN_S)
        else:
            return


def _sqlite_engine(
    opened: Callable[[], sqlite3.Connection], begin: str, *, size: int, wait_s: float
) -> Engine:
    engine = create_engine(
        "sqlite://",
        creator=opened,
        poolclass=QueuePool,
        pool_size=size,
        max_overflow=0,
        pool_timeout=wait_s,
    )
    event.listen(engine, "begin", _says(begin))
    return engine


def _server_engine(server: URL, settings: Mapping[str, str], *, size: int, wait_s: float) -> Engine:
    """Give an engine whose sessions have these settings, beside those that the address names."""
    ours = {**settings, "lock_timeout": str(round(wait_s * 1000))}
    said = [*server.normalized_query.get("options", ())]
    said += [f"-c {name}={value}" for name, value in ours.items()]
    return create_engine(
        server.update_query_dict({"options": " ".join(said)}),
        poolclass=QueuePool,
        pool_size=size,
        max_overflow=0,
        pool_timeout=wait_s,
        pool_pre_ping=True,  # a server that was started anew is found before a fact is sent to it
        connect_args={"connect_timeout": _CONNECT_S, "application_name": "panelwright"},
    )


def _says(statement: str) -> Callable[[Connection], None]:
    def begin(connection: Connection) -> None:
        connection.exec_driver_sql(statement)

    return begin
