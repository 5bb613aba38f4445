"""Rooms asked in processes of their own, so that taking a fact never waits for an answer.

Python runs one thread at a time: a room that thinks for a quarter of a second in this process
would hold up every acknowledgement meanwhile. These processes also stand back for this one.
"""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import signal
from collections.abc import Callable
from dataclasses import dataclass
from threading import Condition, Thread
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

T = TypeVar("T")
log = logging.getLogger(__name__)

STAND_BACK = 15
"""How far working processes stand back for the one that serves (nice)."""
MOST_PROCESSES = 3
_STOP_S = 2.0
_START_S = 60.0
"""How long to wait for a process to be up; then its questions are answered by who asks."""


def stand_back() -> None:
    """Let all others go first, and let the end of the process that serves end this one too."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "SCHED_IDLE"):  # Linux: works where nothing else wants to
        os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
    else:
        lower(STAND_BACK)


def lower(steps: int) -> None:
    """Let other processes go before this one."""
    if hasattr(os, "nice"):  # Windows has none
        os.nice(steps)


def _serve(connection: Connection[Any, Any]) -> None:
    """Answer until the other end is gone; say once that this process is ready."""
    stand_back()
    from panelwright import bond, fit, joints, quiet, teardown  # noqa: F401, PLC0415 - loaded before

    with contextlib.suppress(EOFError, OSError):
        connection.send(True)
        while True:
            function, arguments = connection.recv()
            answer: tuple[object, ...] = ()
            try:
                answer = (function(*arguments),)
            except Exception:  # it is asked again in the process that serves, which tells
                log.exception("a room failed in its process")
            connection.send(answer)


@dataclass
class _Helper:
    process: SpawnProcess
    connection: Connection[Any, Any]
    ready: bool = False


class Asking:
    """Processes that answer one question each at a time; where none is up the caller does.

    Parameters
    ----------
    count : int
        How many; 0 asks in the thread that asks.
    """

    def __init__(self, count: int) -> None:
        self._count = count
        self._context = multiprocessing.get_context("spawn")
        self._changed = Condition()
        self._idle: list[_Helper] = []
        self._all: list[_Helper] = []
        self._closing = False

    @staticmethod
    def processes() -> int:
        """Give how many this machine should have: one less than it has cores."""
        return max(1, min(MOST_PROCESSES, (os.cpu_count() or 1) - 1))

    def start(self) -> None:
        """Begin to start the processes."""
        for _ in range(self._count):
            self._hire()

    def _hire(self) -> None:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs,), daemon=True)
        process.start()
        theirs.close()
        helper = _Helper(process, ours)
        with self._changed:
            self._all.append(helper)
        Thread(target=self._welcome, args=(helper,), name="asking", daemon=True).start()

    def _welcome(self, helper: _Helper) -> None:
        try:
            helper.ready = bool(helper.connection.recv())
        except (EOFError, OSError):
            self._part(helper)
        else:
            self._back(helper)

    def _back(self, helper: _Helper) -> None:
        with self._changed:
            self._idle.append(helper)
            self._changed.notify()

    def _part(self, helper: _Helper) -> None:
        with self._changed:
            if helper in self._all:
                self._all.remove(helper)
            self._changed.notify_all()
        helper.process.kill()
        helper.connection.close()

    def _taken(self) -> _Helper | None:
        """Wait for a process that is idle; None where none is or comes up."""
        with self._changed:
            while not self._idle and self._all and not self._closing:
                came = self._changed.wait(_START_S)
                if not came and not any(helper.ready for helper in self._all):
                    return None
            return self._idle.pop() if self._idle and not self._closing else None

    def ask(self, function: Callable[..., T], *arguments: object) -> T:
        """Give what a function returns; it and what it is given must be such as can be pickled."""
        helper = self._taken()
        if helper is not None:
            try:
                helper.connection.send((function, arguments))
                answer: tuple[T, ...] = helper.connection.recv()
            except (EOFError, OSError):
                self._part(helper)
                if not self._closing:
                    log.warning("a process that answers has ended; another is started")
                    self._hire()
            else:
                self._back(helper)
                if answer:
                    return answer[0]
        return function(*arguments)

    def close(self) -> None:
        """End all processes."""
        with self._changed:
            self._closing = True
            helpers = list(self._all)
        for helper in helpers:
            self._part(helper)
        for helper in helpers:
            helper.process.join(_STOP_S)
