"""Questions to the rooms that a page does not wait for: of each room and repair the newest."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from dataclasses import dataclass, field
from threading import Condition, Thread


@dataclass
class Turn:
    """One question that waits or is answered.

    Attributes
    ----------
    make : callable
        Has the question answered; what it returns is kept elsewhere.
    ahead : int
        Questions before it when it was put.
    """

    key: Hashable
    make: Callable[[], object]
    ahead: int
    done: Future[None] = field(default_factory=Future)


class Turns:
    """Has questions answered one after the other, in as many threads as there are processes.

    Parameters
    ----------
    count : int
        How many are answered at once.
    answered : callable
        Is told the slot of each question that was answered.
    """

    def __init__(self, count: int, answered: Callable[[Hashable], None]) -> None:
        self._answered = answered
        self._changed = Condition()
        self._waiting: OrderedDict[Hashable, Turn] = OrderedDict()
        self._running: dict[Hashable, Turn] = {}
        self._closing = False
        self._threads = [
            Thread(target=self._run, name=f"turns {n}", daemon=True) for n in range(count)
        ]

    def start(self) -> None:
        """Begin."""
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """End; what waits is not answered."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()

    def put(self, slot: Hashable, key: Hashable, make: Callable[[], object]) -> Turn:
        """Have a question answered; an older one of its slot that still waits gives way to it.

        Parameters
        ----------
        slot : hashable
            Room and repair.
        key : hashable
            All that the answer depends on: the same question is not put twice.
        make : callable
            Has it answered.
        """
        with self._changed:
            running, waiting = self._running.get(slot), self._waiting.get(slot)
            for same in (running, waiting):
                if same is not None and same.key == key:
                    return same
            turn = Turn(key, make, len(self._running) + len(self._waiting))
            if waiting is not None:  # keeps its place; who waited for it takes what there is
                turn.ahead = waiting.ahead
                waiting.done.cancel()
            self._waiting[slot] = turn
            self._changed.notify()
            return turn

    def _next(self) -> tuple[Hashable, Turn] | None:
        """Wait for a slot that no other thread is at; None at the end."""
        with self._changed:
            while not self._closing:
                for slot in self._waiting:
                    if slot not in self._running:
                        turn = self._running[slot] = self._waiting.pop(slot)
                        turn.done.set_running_or_notify_cancel()
                        return slot, turn
                self._changed.wait()
        return None

    def _run(self) -> None:
        while (taken := self._next()) is not None:
            slot, turn = taken
            try:
                turn.make()
            except Exception as error:  # who asks for the page is told, by asking without a turn
                turn.done.set_exception(error)
            else:
                turn.done.set_result(None)
            with self._changed:
                del self._running[slot]
                self._changed.notify_all()
            self._answered(slot)
