"""Answers that are kept as long as they are used: each is made once, however many ask."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from threading import Lock
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Kept(Generic[K, V]):
    """The values used last, by key; safe among threads."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.made = 0
        self._lock = Lock()
        self._values: OrderedDict[K, Future[V]] = OrderedDict()

    def get(self, key: K, make: Callable[[], V]) -> V:
        """Give the value of a key; the first who asks makes it, others wait for that."""
        with self._lock:
            known = self._values.get(key)
            if known is None:
                mine: Future[V] = Future()
                self._values[key] = mine
                self._forget()
            else:
                self._values.move_to_end(key)
        return known.result() if known is not None else self._made(key, mine, make)

    def _made(self, key: K, future: Future[V], make: Callable[[], V]) -> V:
        try:
            value = make()
        except BaseException as error:
            with self._lock:
                if self._values.get(key) is future:
                    del self._values[key]
            future.set_exception(error)
            raise
        with self._lock:
            self.made += 1
        future.set_result(value)
        return value

    def peek(self, key: K) -> V | None:
        """Give the value of a key if it is there and finished."""
        with self._lock:
            known = self._values.get(key)
            if known is None or not known.done() or known.exception() is not None:
                return None
            self._values.move_to_end(key)
        return known.result()

    def put(self, key: K, value: V) -> None:
        """Keep a value that was made elsewhere."""
        done: Future[V] = Future()
        done.set_result(value)
        with self._lock:
            self._values[key] = done
            self._values.move_to_end(key)
            self.made += 1
            self._forget()

    def _forget(self) -> None:
        while len(self._values) > self.most:
            self._values.popitem(last=False)
