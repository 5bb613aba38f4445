"""The one place where a store is opened; nothing is opened at import."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from panelwright.store.store import Store, Stored
from panelwright.store.trouble import in_words

if TYPE_CHECKING:
    from panelwright.store.place import Place

WAIT_S = 10.0
"""How long to wait for another writer, [s]."""


def _now() -> datetime:
    return datetime.now(UTC)


def open_store(
    place: Place,
    *,
    make: bool = True,
    wait_s: float = WAIT_S,
    clock: Callable[[], datetime] = _now,
) -> Store:
    """Open a store; where there is none, make it or say so.

    Parameters
    ----------
    place : Place
    make : bool
        False refuses to make one.
    wait_s : float
        How long to wait for another writer, [s].
    clock : callable
        Gives the time for what the store itself stamps: when a repair or a photo was added.

    Raises
    ------
    StoreLostError
        Where there is none and none is made, or it cannot be reached.
    StoreVersionError
        Where a newer version of the program made it.
    """
    store = Store(place, wait_s=wait_s, clock=clock)
    try:
        with in_words(place):
            store.prepare(make=make)
    except BaseException:
        store.close()
        raise
    return store


def resolve(name: str, place: Place) -> Stored:
    """Give a stored repair by its name; the store is opened for reading and closed again.

    Raises
    ------
    UnknownRepairError
        Where there is none of that name.
    """
    with open_store(place, make=False) as store:
        return store.resolve(name)
