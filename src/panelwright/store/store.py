"""The store: one writer, several readers, photos beside them.

A store may be used by several threads, and several processes may have the same one open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, BinaryIO

from panelwright.errors import StoreLostError, UnknownRepairError
from panelwright.facts.document import document_of, facts_of_text
from panelwright.facts.fold import Folded, fold
from panelwright.facts.log import Log
from panelwright.facts.toml_text import toml_text
from panelwright.store import backup, engines, people, photos, pictures, reading, writing
from panelwright.store.bundle import read_bundle, rest_of, write_bundle
from panelwright.store.durable import make_folder, written
from panelwright.store.logs import LogCache
from panelwright.store.migrate import migrate, schema_of
from panelwright.store.tables import SCHEMA
from panelwright.store.trouble import in_words
from panelwright.store.verifying import Verified, verify

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy import Connection

    from panelwright.facts.entry import Fact
    from panelwright.facts.repair import Repair
    from panelwright.store.backup import BackedUp
    from panelwright.store.people import Person
    from panelwright.store.photos import Photo
    from panelwright.store.place import Place
    from panelwright.store.reading import Event, Listed
    from panelwright.store.writing import Appended

EVENTS_AT_ONCE = 1000
_REHEARSED = "never-stored"


@dataclass(frozen=True)
class Stored:
    """A stored repair, and what its log says now."""

    name: str
    log: Log
    folded: Folded

    @property
    def repair(self) -> Repair:
        """Give the repair that the log tells of, under the name that it is stored by."""
        repair = self.folded.repair
        header = repair.repair.model_copy(update={"name": self.name})
        return replace(repair, repair=header)

    @property
    def text(self) -> str:
        """Give the repair file that the log stands for, as TOML text, under that name too."""
        document = document_of(self.folded)
        header = document.get("repair")
        told = header if isinstance(header, dict) else {}
        return toml_text({**document, "repair": {**told, "name": self.name}})


@dataclass(frozen=True)
class Imported:
    """An import: the repair's name, how many facts came in anew, and how many photos it shows."""

    name: str
    appended: Appended
    photos: int


class Store:
    """An open store; see `open_store`."""

    def __init__(self, place: Place, *, wait_s: float, clock: Callable[[], datetime]) -> None:
        self.place = place
        self._clock = clock
        self._writer = engines.writer(place, wait_s=wait_s)
        self._reader = engines.reader(place, wait_s=wait_s)
        self._logs = LogCache()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close all connections; what was acknowledged is on the disk already."""
        self._reader.dispose()
        self._writer.dispose()

    def prepare(self, *, make: bool) -> None:
        """Bring the tables to the newest migration."""
        if self._schema() == SCHEMA:
            return
        if self._schema() is None and not make:
            raise StoreLostError(
                f"nothing is stored in {self.place} yet; `panelwright import FILE` begins"
            )
        make_folder(self.place.folder)
        migrate(self._writer)

    def _schema(self) -> str | None:
        if self.place.server is None and not self.place.database.exists():
            return None
        with self._reader.connect() as connection:
            return schema_of(connection)

    def _stamp(self) -> str:
        return self._clock().isoformat()

    @contextmanager
    def _reads(self) -> Iterator[Connection]:
        with in_words(self.place), self._reader.connect() as connection:
            yield connection

    @contextmanager
    def _writes(self) -> Iterator[Connection]:
        with in_words(self.place), self._writer.begin() as connection:
            yield connection

    # ------------------------------------------------------------------ facts

    def start(self, name: str, facts: Sequence[Fact]) -> Appended:
        """Store a new repair with its first facts; sending the same again changes nothing.

        Raises
        ------
        StoreError
            Where the name is taken by a repair that does not hold these facts, or is no name.
        """
        with self._writes() as connection:
            return writing.start(connection, name, facts, self._stamp())

    def rehearse(self, fact: Fact) -> None:
        """Store a fact and take it back unseen, so that the first real one waits for nothing."""
        with in_words(self.place), self._writer.connect() as connection:
            never = connection.begin()
            writing.make_repair(connection, _REHEARSED, self._stamp())
            writing.append(connection, _REHEARSED, [fact])
            never.rollback()
        self.last_seq()

    def append(self, name: str, facts: Sequence[Fact]) -> Appended:
        """Store facts of a repair; they are on the disk when this returns.

        A fact that is stored already, told by its id, is not stored twice.

        Raises
        ------
        UnknownRepairError
            Where there is no such repair.
        InvalidFile
            Where an id stands for another fact already; none of the facts is stored.
        """
        with self._writes() as connection:
            if not writing.is_stored(connection, name):
                raise self._unknown(name, connection)
            return writing.append(connection, name, facts)

    def repairs(self) -> tuple[Listed, ...]:
        """Give all repairs by name, in one question to the database."""
        with self._reads() as connection:
            return reading.listed(connection)

    def log(self, name: str) -> Log:
        """Give the log of a repair; only entries that are new since the last time are read."""
        with self._reads() as connection:
            log = self._logs.read(connection, name)
            if not log.entries and not writing.is_stored(connection, name):
                raise self._unknown(name, connection)
            return log

    def resolve(self, name: str) -> Stored:
        """Give a stored repair by its name, and what its log says now."""
        log = self.log(name)
        return Stored(name, log, fold(log))

    def since(self, seq: int, *, most: int = EVENTS_AT_ONCE) -> tuple[Event, ...]:
        """Give what was stored after a global number, oldest first, `most` at most."""
        with self._reads() as connection:
            return reading.since(connection, seq, most=most)

    def last_seq(self) -> int:
        """Give the global number of the last fact; 0 where there is none."""
        with self._reads() as connection:
            return writing.last_seq(connection)

    def _unknown(self, name: str, connection: Connection) -> UnknownRepairError:
        there = reading.names(connection)
        which = f"there are {', '.join(there)}" if there else "none is stored yet"
        return UnknownRepairError(f"no repair {name[:80]!r} is stored in {self.place}; {which}")

    # ---------------------------------------------------------- photos, people

    def add_photo(self, data: bytes) -> Photo:
        """Store an uploaded picture, written anew without what the camera added.

        Raises
        ------
        PhotoError
            Where it is too large, no picture, or broken.
        """
        return self._keep(pictures.prepared(data))

    def _keep(self, picture: pictures.Picture) -> Photo:
        with in_words(self.place):
            photos.keep_file(self.place, picture.sha256, picture.data)
        with self._writes() as connection:
            return photos.add(connection, picture, self._clock())

    def photo(self, sha256: str) -> Photo | None:
        """Give a photo's size and kind; None where it is not stored."""
        with self._reads() as connection:
            return photos.find(connection, sha256)

    def photo_file(self, sha256: str) -> Path:
        """Give a photo's file after its hash was compared; see `StoreDamagedError`."""
        with in_words(self.place):
            return photos.checked_file(self.place, sha256)

    def people(self) -> tuple[Person, ...]:
        """Give everybody by name."""
        with self._reads() as connection:
            return people.people(connection)

    def remember(self, person: Person) -> None:
        """Keep a person, or what that person has changed."""
        with self._writes() as connection:
            people.remember(connection, person)

    # ------------------------------------------------------ in and out, backup

    def import_text(self, text: str, *, person: str, name: str | None = None) -> Imported:
        """Store a repair file under its own name or another; twice is once.

        Raises
        ------
        InvalidFile
            With all problems of the file.
        StoreError
            Where the name is taken by a repair that does not hold these facts.
        """
        facts = facts_of_text(text, person=person)
        name = name or fold(Log().extend(facts)).repair.repair.name
        return Imported(name, self.start(name, facts), 0)

    def import_repair(self, source: Path | BinaryIO, *, name: str | None = None) -> Imported:
        """Store an exported repair with its photos and hashes, or what is new in it.

        Raises
        ------
        InvalidFile
            Where it is not what was exported, or the stored log says something else.
        """
        bundle = read_bundle(source)
        name = name or bundle.name
        writing.check_name(name)
        for picture in bundle.pictures:
            self._keep(picture)
        done = self.import_log(bundle.log, name=name)
        return replace(done, photos=len(bundle.pictures))

    def import_log(self, log: Log, *, name: str | None = None) -> Imported:
        """Store a log with its hashes, or what is new in it.

        Raises
        ------
        InvalidFile
            Where the stored log of that name says something else.
        """
        name = name or fold(log).repair.repair.name
        with self._writes() as connection:
            if not writing.is_stored(connection, name):
                writing.make_repair(connection, name, self._stamp())
            there = Log(reading.entries(connection, name))
            facts = rest_of(there, log, name).facts
            return Imported(name, writing.append(connection, name, facts), 0)

    def export_repair(self, name: str, target: Path) -> Log:
        """Write a repair with its photos and hashes to a .zip; the same bytes every time."""
        with in_words(target.parent), written(target) as file:
            return self.write_bundle(name, file)

    def write_bundle(self, name: str, file: BinaryIO) -> Log:
        """Write what `export_repair` writes to an open file."""
        log = self.log(name)
        with self._reads() as connection:
            shown = photos.shown_in(connection, log.facts)
        write_bundle(file, name, log, shown=shown, place=self.place)
        return log

    def verify(self) -> Verified:
        """Look at all logs and photos, and say what is not as it was written."""
        with self._reads() as connection:
            return verify(self.place, connection)

    def back_up(self, target: Path) -> BackedUp:
        """Write a backup of everything as it is now, while others go on writing."""
        return backup.back_up(self.place, self._reader, target, moment=self._clock())
