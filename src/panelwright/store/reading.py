"""What the store holds, asked in a number of questions that does not grow with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import and_, func, select

from panelwright.errors import InvalidFile, StoreDamagedError
from panelwright.facts.entry import Entry, entry_from
from panelwright.store.tables import fact, repair

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True)
class Listed:
    """A stored repair in a list.

    Attributes
    ----------
    name : str
    created_at : datetime
        When it was stored here first.
    facts : int
        How many facts its log holds, withdrawn ones included.
    head : str or None
        Hash of its last entry; None without facts.
    last_seq : int
        Global number of its last fact; 0 without facts.
    recorded_at : datetime or None
        Of its last fact.
    """

    name: str
    created_at: datetime
    facts: int
    head: str | None
    last_seq: int
    recorded_at: datetime | None


@dataclass(frozen=True)
class Event:
    """A fact was stored: its global number, its repair and kind, its place in the log."""

    seq: int
    repair: str
    number: int
    kind: str
    id: str


def listed(connection: Connection) -> tuple[Listed, ...]:
    """Give all repairs by name."""
    ends = (
        select(fact.c.repair, func.max(fact.c.number).label("number"))
        .group_by(fact.c.repair)
        .subquery()
    )
    last = and_(fact.c.repair == ends.c.repair, fact.c.number == ends.c.number)
    rows = (
        select(repair.c.name, repair.c.created_at, fact.c.number, fact.c.hash)
        .add_columns(fact.c.seq, fact.c.recorded_at)
        .select_from(repair.outerjoin(ends, repair.c.name == ends.c.repair).outerjoin(fact, last))
        .order_by(repair.c.name)
    )
    return tuple(
        Listed(
            name=row.name,
            created_at=datetime.fromisoformat(row.created_at),
            facts=0 if row.number is None else row.number + 1,
            head=row.hash,
            last_seq=row.seq or 0,
            recorded_at=row.recorded_at and datetime.fromisoformat(row.recorded_at),
        )
        for row in connection.execute(rows)
    )


def names(connection: Connection) -> tuple[str, ...]:
    """Give the names of all repairs."""
    return tuple(connection.execute(select(repair.c.name).order_by(repair.c.name)).scalars())


def entries(connection: Connection, name: str, *, start: int = 0) -> tuple[Entry, ...]:
    """Give a repair's entries from a number on.

    Raises
    ------
    StoreDamagedError
        Where an entry is not what was written.
    """
    rows = (
        select(fact.c.number, fact.c.entry)
        .where(fact.c.repair == name, fact.c.number >= start)
        .order_by(fact.c.number)
    )
    return tuple(entry_of(name, row.number, row.entry) for row in connection.execute(rows))


def raw(data: object) -> bytes:
    """Give the bytes of an entry; none where somebody put another kind of value there."""
    return bytes(data) if isinstance(data, bytes | memoryview) else b""


def entry_of(name: str, number: int, data: object) -> Entry:
    """Read an entry from its row."""
    try:
        return entry_from(raw(data))
    except InvalidFile as error:
        what = "; ".join(what for _, what in error.problems)
        raise StoreDamagedError(
            f"{name}, entry {number}: {what}; `panelwright verify` says all that broke, "
            "a backup has it as it was"
        ) from error


def since(connection: Connection, seq: int, *, most: int) -> tuple[Event, ...]:
    """Give what was stored after a global number, oldest first."""
    rows = (
        select(fact.c.seq, fact.c.repair, fact.c.number, fact.c.kind, fact.c.id)
        .where(fact.c.seq > seq)
        .order_by(fact.c.seq)
        .limit(most)
    )
    return tuple(Event(*row) for row in connection.execute(rows))
