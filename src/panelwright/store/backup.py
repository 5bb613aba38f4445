"""Back up a whole store while it serves, and put a backup in its place."""

from __future__ import annotations

import secrets
import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.errors import InvalidFile, StoreDamagedError, StoreError
from panelwright.store import archive, engines, photos, snapshot
from panelwright.store.archive import SNAPSHOT, Content, Kind, LogEnd, Manifest, photo_name
from panelwright.store.durable import make_folder, sync_folder, written
from panelwright.store.migrate import migrate, schema_of
from panelwright.store.place import Place
from panelwright.store.trouble import in_words
from panelwright.store.verifying import Broken, Head, Verified, verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Engine

_BROKEN_SHOWN = 5


@dataclass(frozen=True)
class BackedUp:
    """A backup that was written: what is in it, and what was broken already."""

    path: Path
    verified: Verified


@dataclass(frozen=True)
class Restored:
    """What a store holds now, and the files that keep what it held before."""

    verified: Verified
    kept: tuple[Path, ...]


def back_up(place: Place, reader: Engine, target: Path, *, moment: datetime) -> BackedUp:
    """Write a backup of the store as it is now; a file that is there is not written over.

    Raises
    ------
    StoreError
        Where the target is there already.
    StoreDamagedError
        Where a photo is gone or changed, or the database cannot be read.
    """
    if target.exists():
        raise StoreError(f"{target} is there already; name a new file for the backup")
    with in_words(place), _workroom(place) as room:
        snapshot.take(place, reader, room)
        with _reading(Place(room)) as engine, engine.connect() as connection:
            schema = schema_of(connection)
            # photos are written before their rows: all those of the snapshot are there
            verified = verify(Place(place.folder), connection)
        contents = {SNAPSHOT: Content(Place(room).database)}
        for sha256 in verified.photos:
            contents[photo_name(sha256)] = Content(photos.file_of(place, sha256))
        manifest = Manifest(
            kind=Kind.BACKUP,
            tables=schema,
            made_at=moment.isoformat(),
            repairs=tuple(_end(head) for head in verified.heads),
            files=archive.measured(contents),
            broken=tuple(str(one) for one in verified.broken),
        )
        with in_words(target.parent), written(target) as file:
            archive.write_archive(file, manifest, contents)
    return BackedUp(target, verified)


def restore(place: Place, source: Path, *, moment: datetime, wait_s: float = 10.0) -> Restored:
    """Put a backup in the place of what a store holds, after all of it was verified.

    What the store held is kept: as a backup beside it, or, where it is too damaged for that, its
    files under another name. Photos are only added.

    Raises
    ------
    InvalidFile
        Where the archive is not what was written.
    StoreDamagedError
        Where a log or a photo in it is not; nothing was replaced.
    """
    with archive.opened(source, Kind.BACKUP) as opened, in_words(place):
        make_folder(place.folder)
        with _workroom(place) as room:
            _unpack(opened, room)
            verified = _verified(Place(room), opened.manifest)
            kept = _keep(place, moment, wait_s)
            for sha256 in verified.photos:
                photos.keep_file(place, sha256, photos.file_of(Place(room), sha256).read_bytes())
            _put(place, room, wait_s)
    return Restored(verified, kept)


def _put(place: Place, room: Path, wait_s: float) -> None:
    writer = engines.writer(place, wait_s=wait_s)
    try:
        snapshot.put(place, writer, room, wait_s=wait_s)
    finally:
        writer.dispose()
    sync_folder(place.folder)


@contextmanager
def _workroom(place: Place) -> Iterator[Path]:
    """Give a folder on the store's own disk that is gone afterwards."""
    with tempfile.TemporaryDirectory(prefix=".work-", dir=place.folder) as name:
        yield Path(name)


@contextmanager
def _reading(place: Place) -> Iterator[Engine]:
    engine = engines.reader(place, wait_s=1.0)
    try:
        yield engine
    finally:
        engine.dispose()


def _end(head: Head) -> LogEnd:
    return LogEnd(name=head.repair, facts=head.facts, head=head.head)


def _unpack(opened: archive.Archive, room: Path) -> None:
    if SNAPSHOT not in opened.manifest.files:
        raise InvalidFile([("archive", f"holds no {SNAPSHOT}")])
    opened.extract(SNAPSHOT, Place(room).database)
    Place(room).photos.mkdir()
    for sha256 in opened.photos:
        opened.extract(photo_name(sha256), Place(room).photos / f"{sha256}.jpg")


def _verified(place: Place, manifest: Manifest) -> Verified:
    """Bring an unpacked backup to the newest tables and look at all of it."""
    with in_words(place):
        writer = engines.writer(place, wait_s=1.0)
        try:
            migrate(writer)
        finally:
            writer.dispose()
    with _reading(place) as engine, engine.connect() as connection:
        verified = verify(place, connection)
    found = [str(one) for one in (*verified.broken, *_ends(verified, manifest))]
    if broken := [what for what in found if what not in manifest.broken]:
        more = f" and {len(broken) - _BROKEN_SHOWN} more" if len(broken) > _BROKEN_SHOWN else ""
        raise StoreDamagedError(
            "this backup is not what was written, nothing was replaced: "
            f"{'; '.join(broken[:_BROKEN_SHOWN])}{more}"
        )
    return verified


def _ends(verified: Verified, manifest: Manifest) -> Iterator[Broken]:
    there = {head.repair: head for head in verified.heads}
    for meant in manifest.repairs:
        found = there.get(meant.name)
        if found is None or (found.facts, found.head) != (meant.facts, meant.head):
            yield Broken(meant.name, f"its log does not end as listed, with {meant.facts} facts")


def _keep(place: Place, moment: datetime, wait_s: float) -> tuple[Path, ...]:
    """Keep what the store holds now, in whatever state it is; bring its tables to the newest."""
    stamp = f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}-{secrets.token_hex(2)}"
    target = place.folder / f"before-restore-{stamp}.zip"
    writer, reader = engines.writer(place, wait_s=wait_s), engines.reader(place, wait_s=wait_s)
    try:
        with in_words(place):
            migrate(writer)
            with reader.connect() as connection:
                if snapshot.is_empty(connection):
                    return ()
            return (back_up(place, reader, target, moment=moment).path,)
    except StoreDamagedError:
        writer.dispose()
        return _set_aside(place, stamp)
    finally:
        reader.dispose()
        writer.dispose()


def _set_aside(place: Place, stamp: str) -> tuple[Path, ...]:
    """Move the files of a database that cannot be read out of the way."""
    if place.server is not None:
        raise StoreDamagedError(
            f"{place} is too damaged to be kept as a backup; restore to a new, empty database"
        )
    kept = []
    for ending in ("", "-wal", "-shm"):
        file = place.database.with_name(place.database.name + ending)
        if file.exists():
            kept.append(file.with_name(f"damaged-{stamp}-{file.name}"))
            shutil.move(file, kept[-1])
    return tuple(kept)
