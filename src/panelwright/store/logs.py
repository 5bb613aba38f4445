"""Logs that were read before, so that only what is new in them is read again."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import TYPE_CHECKING

from panelwright.facts.log import Log
from panelwright.store import reading

if TYPE_CHECKING:
    from sqlalchemy import Connection

MOST_LOGS = 64


class LogCache:
    """Logs by repair, the least used ones forgotten; a log only grows, unless it was restored."""

    def __init__(self) -> None:
        self._logs: OrderedDict[str, Log] = OrderedDict()
        self._lock = Lock()

    def read(self, connection: Connection, name: str) -> Log:
        """Give the log as it is in the database."""
        with self._lock:
            known = self._logs.get(name, Log())
        log = _grown(connection, name, known)
        with self._lock:
            self._logs[name] = log
            self._logs.move_to_end(name)
            while len(self._logs) > MOST_LOGS:
                self._logs.popitem(last=False)
        return log


def _grown(connection: Connection, name: str, known: Log) -> Log:
    if not known.entries:
        return Log(reading.entries(connection, name))
    last = len(known.entries) - 1
    found = reading.entries(connection, name, start=last)
    if not found or found[0] != known.entries[-1]:  # another backup was restored meanwhile
        return Log(reading.entries(connection, name))
    return Log(known.entries + found[1:]) if found[1:] else known
