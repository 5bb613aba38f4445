"""Long work in a process of its own: one job at a time, cancelled by a newer one of its slot."""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import traceback
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from multiprocessing.reduction import ForkingPickler
from threading import Condition, Thread
from typing import TYPE_CHECKING, Any, Protocol

from panelwright.errors import Unanswerable
from panelwright.record import Unanswered
from panelwright.web.asking import stand_back

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

log = logging.getLogger(__name__)

MOST_CANCELS = 3
"""Jobs of one slot that are cancelled in a row; the next is let finish, or none ever would."""
_LOOK_S = 0.05
_STOP_S = 2.0


@dataclass(frozen=True)
class Failed:
    """Work that broke: a defect of the program, with where it broke."""

    trace: str


@dataclass(frozen=True)
class Job:
    """One piece of work; `slot` says what it replaces, `key` what it is.

    Attributes
    ----------
    arguments : tuple or callable
        Of the function; a callable gives them when the work's turn has come.
    """

    slot: Hashable
    key: Hashable
    function: Callable[..., object]
    arguments: tuple[object, ...] | Callable[[], tuple[object, ...]]

    def given(self) -> tuple[object, ...]:
        """Give the arguments."""
        return self.arguments() if callable(self.arguments) else self.arguments


class Hands(Protocol):
    """Where a job is done."""

    def begin(self, job: Job) -> None:
        """Begin a job."""

    def outcome(self, wait_s: float) -> tuple[object, ...]:
        """Give a tuple with the outcome; empty where it is not there yet."""

    def drop(self) -> None:
        """Cancel the job that was begun."""

    def close(self) -> None:
        """End."""


def done_by(function: Callable[..., object], arguments: tuple[object, ...]) -> object:
    """Give what a function returns, or in words why it has no answer."""
    try:
        return function(*arguments)
    except Unanswerable as error:
        return Unanswered(error.why)
    except Exception:  # a defect is told where it was asked for
        return Failed(traceback.format_exc())


def _serve(connection: Connection[Any, Any]) -> None:
    """Do jobs until the other end is gone."""
    stand_back()
    import panelwright.plan  # noqa: F401, PLC0415 - loaded before the first job arrives

    with contextlib.suppress(EOFError, OSError):
        while True:
            function, arguments = connection.recv()
            connection.send(done_by(function, arguments))


class ProcessHands:
    """A spawned process, and a second one ready for when the first is stopped."""

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._ready = self._spawned()
        self._busy: tuple[SpawnProcess, Connection[Any, Any]] | None = None

    def _spawned(self) -> tuple[SpawnProcess, Connection[Any, Any]]:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(theirs,), daemon=True)
        process.start()
        theirs.close()
        return process, ours

    def begin(self, job: Job) -> None:
        """Send the job to the process that waits."""
        packed = ForkingPickler.dumps((job.function, job.given()))
        self._busy = self._ready
        self._busy[1].send_bytes(packed)

    def outcome(self, wait_s: float) -> tuple[object, ...]:
        """Look whether the process has answered; one that died is replaced."""
        if self._busy is None:
            return ()
        process, connection = self._busy
        try:
            if not connection.poll(wait_s):
                return () if process.is_alive() else self._died()
            value = connection.recv()
        except (EOFError, OSError):
            return self._died()
        self._busy = None
        return (value,)

    def _died(self) -> tuple[object, ...]:
        self.drop()
        return (Failed("the working process ended before it had answered"),)

    def drop(self) -> None:
        """Stop the process and start another."""
        if self._busy is not None:
            self._stop(self._busy)
            self._busy = None
            self._ready = self._spawned()

    @staticmethod
    def _stop(pair: tuple[SpawnProcess, Connection[Any, Any]]) -> None:
        process, connection = pair
        process.kill()
        process.join(_STOP_S)
        connection.close()

    def close(self) -> None:
        """Stop the process."""
        self._stop(self._ready)


class ThreadHands:
    """The same in this thread, for tests: nothing can be cancelled."""

    def __init__(self) -> None:
        self._job: Job | None = None

    def begin(self, job: Job) -> None:
        """Keep the job."""
        self._job = job

    def outcome(self, wait_s: float) -> tuple[object, ...]:  # noqa: ARG002 - done at once
        """Do it."""
        job, self._job = self._job, None
        return () if job is None else (done_by(job.function, job.given()),)

    def drop(self) -> None:
        """Forget the job."""
        self._job = None

    def close(self) -> None:
        """Nothing to end."""


class Work:
    """The queue of long work; results are told to who asked for that."""

    def __init__(self, hands: Callable[[], Hands], done: Callable[[Job, object], None]) -> None:
        self._make = hands
        self._done = done
        self._changed = Condition()
        self._waiting: OrderedDict[Hashable, Job] = OrderedDict()
        self._running: Job | None = None
        self._cancels: dict[Hashable, int] = {}
        self._closing = False
        self._thread = Thread(target=self._run, name="long work", daemon=True)

    def start(self) -> None:
        """Begin to work."""
        self._thread.start()

    def close(self) -> None:
        """Stop; what runs is cancelled."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        if self._thread.is_alive():
            self._thread.join(2 * _STOP_S)

    def ask(self, job: Job) -> None:
        """Put a job in the queue; an older one of its slot is dropped or cancelled."""
        with self._changed:
            if self._running is not None and self._running.key == job.key:
                self._waiting.pop(job.slot, None)
                return
            self._waiting[job.slot] = job
            self._changed.notify_all()

    def is_asked(self, key: Hashable) -> bool:
        """Tell whether a job is waiting or running."""
        with self._changed:
            running = self._running is not None and self._running.key == key
            return running or any(job.key == key for job in self._waiting.values())

    def idle(self, wait_s: float) -> bool:
        """Wait until nothing is left to do, so long at most; tell whether it is so."""
        with self._changed:
            return self._changed.wait_for(
                lambda: self._running is None and not self._waiting, wait_s
            )

    def _run(self) -> None:
        hands = self._make()
        try:
            while (job := self._next()) is not None:
                if value := self._outcome(hands, job):
                    self._told(job, value[0])
                with self._changed:
                    self._running = None
                    self._changed.notify_all()
        finally:
            hands.close()

    def _outcome(self, hands: Hands, job: Job) -> tuple[object, ...]:
        """Have a job done; one that cannot even be begun must not stop those after it."""
        try:
            hands.begin(job)
        except Exception:
            return (Failed(traceback.format_exc()),)
        return self._watched(hands, job)

    def _next(self) -> Job | None:
        with self._changed:
            while not self._waiting and not self._closing:
                self._changed.wait()
            if self._closing:
                return None
            _, self._running = self._waiting.popitem(last=False)
            return self._running

    def _watched(self, hands: Hands, job: Job) -> tuple[object, ...]:
        """Wait for the outcome; empty where the job was cancelled."""
        while True:
            if value := hands.outcome(_LOOK_S):
                self._cancels.pop(job.slot, None)
                return value
            if self._overtaken(job):
                hands.drop()
                return ()

    def _overtaken(self, job: Job) -> bool:
        with self._changed:
            if self._closing:
                return True
            if job.slot not in self._waiting:
                return False
            cancels = self._cancels.get(job.slot, 0)
            if cancels >= MOST_CANCELS:
                return False
            self._cancels[job.slot] = cancels + 1
            return True

    def _told(self, job: Job, value: object) -> None:
        if isinstance(value, Failed):
            log.error("long work %s failed:\n%s", job.slot, value.trace)
        try:
            self._done(job, value)
        except Exception:
            log.exception("the outcome of long work %s could not be told", job.slot)
