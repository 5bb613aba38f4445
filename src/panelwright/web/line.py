"""A line between two processes: what is said goes in order, and nobody waits for the other."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from queue import SimpleQueue
from threading import Thread
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

Said = tuple[object, ...]


class Line:
    """One end of the line; it speaks and hears in threads of its own.

    Parameters
    ----------
    connection : Connection
        Open until this process ends or forgets it.
    heard : callable
        Is given what the other end says, in the thread that hears.
    lost : callable
        Is called once where the other end is gone.
    """

    def __init__(
        self,
        connection: Connection[Any, Any],
        heard: Callable[[Said], None],
        lost: Callable[[], None],
    ) -> None:
        self._connection = connection
        self._heard = heard
        self._lost = lost
        self._to_say: SimpleQueue[Said | None] = SimpleQueue()
        for work in (self._speak, self._hear):
            Thread(target=work, name=f"line {work.__name__}", daemon=True).start()

    def say(self, *words: object) -> None:
        """Send something that can be pickled; from any thread, at once."""
        self._to_say.put(words)

    def _speak(self) -> None:
        with suppress(OSError):  # the other end is gone: who hears tells of it
            while (words := self._to_say.get()) is not None:
                self._connection.send(words)

    def _hear(self) -> None:
        with suppress(EOFError, OSError):
            while True:
                self._heard(self._connection.recv())
        self._to_say.put(None)
        self._lost()
