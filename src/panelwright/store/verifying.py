"""Walk every log and every photo, and say what is not as it was written."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sqlalchemy import func, select, text

from panelwright.errors import InvalidFile, StoreDamagedError, StoreError
from panelwright.facts.entry import BEFORE_THE_FIRST, Entry, entry_from, hash_of
from panelwright.store import photos
from panelwright.store.reading import raw
from panelwright.store.tables import GUARDS, fact, photo
from panelwright.store.trouble import in_words
from panelwright.store.writing import row_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection, Row

    from panelwright.store.place import Place

_ROWS_AT_ONCE = 500


@dataclass(frozen=True)
class Broken:
    """Something that is not as it was written.

    Attributes
    ----------
    where : str
        Such as ``heron-114, entry 4`` (counted from 0), ``photo 3f…`` or ``database``.
    what : str
    repair, number, id : str, int, str, or None
        The entry, where it is one.
    """

    where: str
    what: str
    repair: str | None = None
    number: int | None = None
    id: str | None = None

    def __str__(self) -> str:
        """Say it in one line."""
        return f"{self.where}: {self.what}"


@dataclass(frozen=True)
class Head:
    """How a repair's log ends: only a head kept elsewhere shows that the end was cut off."""

    repair: str
    facts: int
    head: str


@dataclass(frozen=True)
class Verified:
    """What was looked at, and what broke: nothing, where `broken` is empty.

    Attributes
    ----------
    heads : tuple of Head
        By repair.
    photos : tuple of str
        Hashes of those whose files are as they were written.
    broken : tuple of Broken
    """

    heads: tuple[Head, ...]
    photos: tuple[str, ...]
    broken: tuple[Broken, ...]

    @property
    def facts(self) -> int:
        """Give the number of facts of all repairs."""
        return sum(head.facts for head in self.heads)


@dataclass
class _Walk:
    """Where the walk stands."""

    repair: str | None = None
    number: int = -1
    seq: int = 0
    head: str = BEFORE_THE_FIRST
    heads: list[Head] = field(default_factory=list)
    broken: list[Broken] = field(default_factory=list)

    def turn_to(self, repair: str | None) -> None:
        """Begin with another repair."""
        if self.repair is not None:
            self.heads.append(Head(self.repair, self.number + 1, self.head))
        self.repair, self.number, self.seq, self.head = repair, -1, 0, BEFORE_THE_FIRST


def verify(place: Place, connection: Connection) -> Verified:
    """Look at everything that is stored; what cannot be read counts as broken."""
    walk = _Walk()
    whole: tuple[str, ...] = ()
    try:
        with in_words(place):
            walk.broken += _of_database(connection)
            for row in _rows(connection):
                if row.repair != walk.repair:
                    walk.turn_to(row.repair)
                walk.broken += _of_row(row, walk)
            walk.turn_to(None)
            whole = _photos(place, connection, walk)
    except StoreDamagedError as error:
        walk.broken.append(Broken("database", str(error)))
    return Verified(tuple(walk.heads), whole, tuple(walk.broken))


def _rows(connection: Connection) -> Iterator[Row[tuple[object, ...]]]:
    rows = select(fact).order_by(fact.c.repair, fact.c.number)
    yield from connection.execute(rows, execution_options={"yield_per": _ROWS_AT_ONCE})


_TRIGGERS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": (
        "SELECT tgname FROM pg_trigger JOIN pg_class ON tgrelid = pg_class.oid "
        "WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') AND pg_table_is_visible(tgrelid)"
    ),
}


def _of_database(connection: Connection) -> Iterator[Broken]:
    dialect = connection.dialect.name
    if dialect == "sqlite":
        said = connection.execute(text("PRAGMA integrity_check")).scalars().all()
        yield from (Broken("database", what) for what in said if what != "ok")
    there = set(connection.execute(text(_TRIGGERS[dialect])).scalars())
    for table, guards in GUARDS[dialect]:
        if not there.issuperset(guards):
            yield Broken(f"table {table}", "a trigger that lets rows only be added is gone")
    count, last = connection.execute(select(func.count(), func.max(fact.c.seq))).one()
    if count != (last or 0):
        yield Broken("table fact", f"{count} facts are there, {last} were numbered")


def _of_row(row: Row[tuple[object, ...]], walk: _Walk) -> Iterator[Broken]:
    """Compare a row with the one before and with its own entry; move on to it."""
    number = row.number if isinstance(row.number, int) else None
    for what in _faults(row, number, walk):
        where = f"{row.repair}, entry {row.number}"
        yield Broken(where, what, row.repair, number, str(row.id))
    walk.number = walk.number + 1 if number is None else number
    walk.seq, walk.head = row.seq, str(row.hash)


def _faults(row: Row[tuple[object, ...]], number: int | None, walk: _Walk) -> Iterator[str]:
    if number is None:
        yield "its number is none"
    elif number != walk.number + 1:
        yield f"the entries from {walk.number + 1} to {number - 1} before it are gone"
    elif row.previous != walk.head:
        yield "it does not follow the entry before it"
    if row.seq <= walk.seq:
        yield f"its global number {row.seq} is not behind {walk.seq}, the one before"
    try:
        entry = entry_from(raw(row.entry))
    except InvalidFile as error:
        yield "; ".join(what for _, what in error.problems)
        return
    if entry.hash != hash_of(entry.fact, entry.previous):
        yield "its fact is not the one that was hashed"
    yield from _different_columns(row, entry)


def _different_columns(row: Row[tuple[object, ...]], entry: Entry) -> Iterator[str]:
    meant = row_of(entry, row.repair, number=0, seq=0)
    told = row._mapping  # noqa: SLF001 - the row's public way to be read by name
    for name in ("id", "kind", "previous", "hash", "recorded_at"):
        if told[name] != meant[name]:
            yield f"its row says {name} {told[name]!r}, the entry itself {meant[name]!r}"


def _photos(place: Place, connection: Connection, walk: _Walk) -> tuple[str, ...]:
    whole = []
    for sha256 in connection.execute(select(photo.c.sha256).order_by(photo.c.sha256)).scalars():
        try:
            photos.checked_file(place, str(sha256))
            whole.append(sha256)
        except StoreError as error:
            walk.broken.append(Broken(f"photo {str(sha256)[:12]}", str(error)))
    return tuple(whole)
