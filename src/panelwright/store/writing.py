"""Add facts behind a repair's log, inside the writer's transaction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError
from sqlalchemy import func, insert, select

from panelwright.errors import InvalidFile, StoreError
from panelwright.facts.entry import BEFORE_THE_FIRST, Entry, Fact, entry_after, entry_bytes
from panelwright.facts.models.base import RepairName
from panelwright.store.reading import entry_of
from panelwright.store.tables import fact as facts_table
from panelwright.store.tables import repair as repairs_table

if TYPE_CHECKING:
    from collections.abc import Sequence
    from uuid import UUID

    from sqlalchemy import Connection

_IDS_AT_ONCE = 500
_NAME = TypeAdapter[str](RepairName)


@dataclass(frozen=True)
class Appended:
    """What an append did; by the time it is returned it is on the disk.

    Attributes
    ----------
    log_head : str
        Hash of the repair's last entry.
    numbers : tuple of int
        Place in the log of each fact given, from 0, those that were there already included.
    added : int
        How many were not there already.
    seq : int
        The global number of the last fact stored, of whatever repair.
    """

    log_head: str
    numbers: tuple[int, ...]
    added: int
    seq: int


def start(connection: Connection, name: str, facts: Sequence[Fact], created_at: str) -> Appended:
    """Add a repair with its first facts; the same again changes nothing.

    Raises
    ------
    StoreError
        Where the name is no name, or taken by a repair that does not hold these facts.
    """
    if not is_stored(connection, name):
        make_repair(connection, name, created_at)
    elif len(known_places(connection, name, facts)) < len({fact.id for fact in facts}):
        raise StoreError(f"there is a repair {name!r} already; give the new one another name")
    return append(connection, name, facts)


def check_name(repair: str) -> None:
    """Refuse what is no name for a repair."""
    try:
        _NAME.validate_python(repair, strict=True)
    except ValidationError:
        raise StoreError(
            f"{repair[:80]!r} is no name for a repair; expected letters, digits and dashes, "
            "80 at most, a letter or digit first"
        ) from None


def is_stored(connection: Connection, repair: str) -> bool:
    """Tell whether there is a repair of that name."""
    found = select(repairs_table.c.name).where(repairs_table.c.name == repair)
    return connection.execute(found).first() is not None


def make_repair(connection: Connection, repair: str, created_at: str) -> None:
    """Add a repair without facts; StoreError where the name is none."""
    check_name(repair)
    connection.execute(insert(repairs_table).values(name=repair, created_at=created_at))


def append(connection: Connection, repair: str, facts: Sequence[Fact]) -> Appended:
    """Add facts behind the log of a repair; one that is there already adds nothing.

    Raises
    ------
    InvalidFile
        Where an id stands for another fact already.
    """
    places = known_places(connection, repair, facts)
    number, head = _end(connection, repair)
    seq = last_seq(connection)
    rows: list[dict[str, object]] = []
    numbers: list[int] = []
    for fact in facts:
        known = places.get(fact.id)
        if known is None:
            entry = entry_after(head, fact)
            number, seq, head = number + 1, seq + 1, entry.hash
            rows.append(row_of(entry, repair, number=number, seq=seq))
            places[fact.id] = known = (number, fact)
        elif not known[1].says_the_same(fact):
            what = f"this id stands for another fact ({known[1].kind}) already; give it a new id"
            raise InvalidFile([(f"{fact.kind} {fact.id}", what)])
        numbers.append(known[0])
    if rows:
        connection.execute(insert(facts_table), rows)
    return Appended(head, tuple(numbers), len(rows), seq)


def known_places(
    connection: Connection, repair: str, facts: Sequence[Fact]
) -> dict[UUID, tuple[int, Fact]]:
    """Give number and stored fact of those whose ids are in the log already."""
    ids = [str(fact.id) for fact in facts]
    found: dict[UUID, tuple[int, Fact]] = {}
    table = facts_table.c
    for start in range(0, len(ids), _IDS_AT_ONCE):
        some = ids[start : start + _IDS_AT_ONCE]
        rows = select(table.number, table.entry).where(table.repair == repair, table.id.in_(some))
        for number, data in connection.execute(rows):
            stored = entry_of(repair, number, data).fact
            found[stored.id] = (number, stored)
    return found


def _end(connection: Connection, repair: str) -> tuple[int, str]:
    """Give number and hash of the last entry; -1 where there is none."""
    table = facts_table.c
    last = (
        select(table.number, table.hash)
        .where(table.repair == repair)
        .order_by(table.number.desc())
        .limit(1)
    )
    row = connection.execute(last).first()
    return (-1, BEFORE_THE_FIRST) if row is None else (row.number, row.hash)


def last_seq(connection: Connection) -> int:
    """Give the global number of the last fact; 0 where there is none."""
    last: int | None = connection.execute(select(func.max(facts_table.c.seq))).scalar_one()
    return last or 0


def row_of(entry: Entry, repair: str, *, number: int, seq: int) -> dict[str, object]:
    """Give the row of an entry."""
    return {
        "seq": seq,
        "repair": repair,
        "number": number,
        "id": str(entry.fact.id),
        "kind": entry.fact.kind,
        "previous": entry.previous,
        "hash": entry.hash,
        "entry": entry_bytes(entry),
        "recorded_at": entry.fact.recorded_at.isoformat(),
    }
