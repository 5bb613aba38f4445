"""What the pages are started with; everything that asks the clock or chance is given here."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from panelwright.store import Place

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
PORT = 8420


class Worker(StrEnum):
    """Where long work is done: in a process of its own, or in a thread (in tests)."""

    PROCESS = "process"
    THREAD = "thread"


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Settings:
    """Settings of the pages.

    Attributes
    ----------
    place : Place
        Where repairs and photos are stored.
    host : str
        Address on which to listen.
    port : int
    hosts : tuple of str
        Names by which a browser may call; any other Host or Origin is refused.
    worker : Worker
    clock : callable
        Gives the time with offset.
    random : callable
        Gives so many random bytes.
    poll_s : float
        How often the store is asked for facts that other programs stored, [s].
    """

    place: Place
    host: str = "127.0.0.1"
    port: int = PORT
    hosts: tuple[str, ...] = LOOPBACK
    worker: Worker = Worker.PROCESS
    clock: Callable[[], datetime] = _now
    random: Callable[[int], bytes] = os.urandom
    poll_s: float = 0.25

    @property
    def allowed_hosts(self) -> frozenset[str]:
        """Give the Host headers that are answered."""
        named = {f"{name}:{self.port}" for name in self.hosts}
        return frozenset(named | set(self.hosts) if self.port in (80, 443) else named)

    @property
    def allowed_origins(self) -> frozenset[str]:
        """Give the origins whose forms are taken."""
        return frozenset(
            f"{scheme}://{host}" for host in self.allowed_hosts for scheme in ("http", "https")
        )
