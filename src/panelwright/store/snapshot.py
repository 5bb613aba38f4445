"""The whole database as one SQLite file, as of one moment, while others go on writing.

A store on PostgreSQL gives the same kind of file, so that a backup of either can be restored to
either.
"""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select

from panelwright.errors import StoreBusyError
from panelwright.store import engines
from panelwright.store.migrate import migrate
from panelwright.store.place import Place
from panelwright.store.tables import GUARDED, metadata

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from sqlalchemy import Connection, Engine

_ROWS_AT_ONCE = 500


def take(place: Place, reader: Engine, folder: Path) -> Path:
    """Write the database into a folder, under the name that it has in a store's folder."""
    target = Place(folder)
    if place.server is None:
        with closing(_opened(place, "ro")) as source, closing(_opened(target, "rwc")) as file:
            source.backup(file)
            file.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        return target.database
    writer = engines.writer(target, wait_s=1.0)
    try:
        migrate(writer)
        with reader.connect() as source, writer.begin() as file:
            copy_rows(source, file)
    finally:
        writer.dispose()
    with closing(_opened(target, "rw")) as file:
        file.execute("PRAGMA journal_mode=DELETE")
    return target.database


def put(place: Place, writer: Engine, folder: Path, *, wait_s: float) -> None:
    """Replace what a store holds by a snapshot in a folder, all of it or nothing.

    Others may have the store open: they see the one or the other. Its tables must be the newest.
    """
    source = Place(folder)
    if place.server is None:
        with closing(_opened(source, "ro")) as file, closing(_opened(place, "rwc")) as target:
            # `wait_s` bounds the wait for the lock: the backup itself would ask for ever
            file.backup(target, progress=_patience(wait_s), sleep=0.05)
            target.execute("PRAGMA journal_mode=WAL")
        return
    reader = engines.reader(source, wait_s=wait_s)
    try:
        with reader.connect() as rows, writer.begin() as target_rows:
            _empty(target_rows)
            copy_rows(rows, target_rows)
    finally:
        reader.dispose()


def _opened(place: Place, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(
        f"{place.database.as_uri()}?mode={mode}", uri=True, timeout=1.0, isolation_level=None
    )


def _patience(wait_s: float) -> Callable[[int, int, int], None]:
    until = time.monotonic() + wait_s

    def look(status: int, _remaining: int, _total: int) -> None:
        if status in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED} and time.monotonic() > until:
            raise StoreBusyError(
                "another program writes to the store: nothing was replaced; stop it and restore "
                "again"
            )

    return look


def is_empty(connection: Connection) -> bool:
    """Tell whether there is no row in any table."""
    tables = metadata.sorted_tables
    return all(connection.execute(select(table).limit(1)).first() is None for table in tables)


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy all rows, facts in the order of their global numbers."""
    for table in metadata.sorted_tables:
        for rows in _batches(source.execute(select(table).order_by(*table.primary_key))):
            target.execute(insert(table), rows)


def _batches(result: object) -> Iterator[list[dict[str, object]]]:
    for rows in result.mappings().partitions(_ROWS_AT_ONCE):  # type: ignore[attr-defined]
        yield [dict(row) for row in rows]


def _empty(target: Connection) -> None:
    """Take all rows out; the triggers that forbid it are off until the transaction's end."""
    for table in GUARDED:
        target.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")
    for table in reversed(metadata.sorted_tables):
        target.execute(delete(table))
    for table in GUARDED:
        target.exec_driver_sql(f"ALTER TABLE {table} ENABLE TRIGGER USER")
