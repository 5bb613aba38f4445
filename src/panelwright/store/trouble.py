"""What the database and the disk complain of, in sentences.

A fact is acknowledged only after it was forced to the disk, so none of these loses one.
"""

from __future__ import annotations

import errno
import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from panelwright.errors import (
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreFullError,
    StoreLostError,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from panelwright.store.place import Place

_FULL = (
    StoreFullError,
    (
        "the disk of {place} is full: this was not stored, everything stored before is intact; "
        "make room and send it again"
    ),
)
_BUSY = (
    StoreBusyError,
    (
        "another program holds {place}: this was not stored, everything stored before is intact; "
        "close that program or wait, then send it again"
    ),
)
_LOST = (
    StoreLostError,
    (
        "the connection to {place} is lost: what was acknowledged is stored; send the rest again "
        "once it is back (what is stored already is not stored twice)"
    ),
)
_SHUT = (StoreLostError, "{place} cannot be opened ({why}); look whether it is there and yours")
_DAMAGED = (
    StoreDamagedError,
    (
        "the database of {place} is damaged ({why}); do not write to it, restore a backup: "
        "panelwright restore BACKUP.zip"
    ),
)
_REFUSED = (StoreError, "{place} refused this ({why}); nothing was stored")

_Sentence = tuple[type[StoreError], str]

_BY_SQLITE = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_IOERR: _LOST,
    sqlite3.SQLITE_CANTOPEN: _SHUT,
    sqlite3.SQLITE_READONLY: _SHUT,
    sqlite3.SQLITE_PERM: _SHUT,
    sqlite3.SQLITE_CORRUPT: _DAMAGED,
    sqlite3.SQLITE_NOTADB: _DAMAGED,
}
_BY_SQLSTATE = {
    "53100": _FULL,
    "53200": _FULL,
    "53300": _BUSY,
    "55P03": _BUSY,
    "40001": _BUSY,
    "40P01": _BUSY,
    "57014": _BUSY,
    "57P01": _LOST,
    "57P02": _LOST,
    "57P03": _LOST,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
}
"""PostgreSQL 15 manual, appendix A."""
_BY_CLASS = {"08": _LOST, "25": _SHUT, "28": _SHUT, "3D": _SHUT, "42": _REFUSED, "58": _LOST}
_BY_ERRNO = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EFBIG: _FULL,
    errno.EIO: _LOST,
    errno.ENODEV: _LOST,
    errno.ESTALE: _LOST,
}


@contextmanager
def in_words(place: Place | Path) -> Iterator[None]:
    """Turn what the database and the disk raise inside into a StoreError."""
    try:
        yield
    except DBAPIError as error:
        raise _said(place, *_of_database(error)) from error
    except PoolTimeoutError as error:
        raise _said(place, _BUSY, "") from error
    except sqlite3.Error as error:
        raise _said(place, _of_sqlite(error), _first_line(error)) from error
    except OSError as error:
        sentence = _BY_ERRNO.get(error.errno or 0, _SHUT)
        raise _said(place, sentence, (error.strerror or str(error)).lower()) from error


def _said(place: Place | Path, sentence: _Sentence, why: str) -> StoreError:
    kind, text = sentence
    return kind(text.format(place=place, why=why or "no reason given"))


def _of_database(error: DBAPIError) -> tuple[_Sentence, str]:
    cause = error.orig
    if isinstance(cause, sqlite3.Error):
        return _of_sqlite(cause), _first_line(cause)
    state = getattr(cause, "sqlstate", None)
    if isinstance(state, str):
        found = _BY_SQLSTATE.get(state) or _BY_CLASS.get(state[:2], _REFUSED)
        return found, _first_line(cause)
    lost = error.connection_invalidated or type(cause).__name__ == "OperationalError"
    return (_LOST if lost else _REFUSED), _first_line(cause)


def _of_sqlite(error: sqlite3.Error) -> _Sentence:
    code: int = getattr(error, "sqlite_errorcode", 0)
    return _BY_SQLITE.get(code & 0xFF, _REFUSED)


def _first_line(error: BaseException | None) -> str:
    return str(error).splitlines()[0] if str(error or "") else ""
