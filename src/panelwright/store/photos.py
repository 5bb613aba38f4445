"""Photos in the folder beside the database: one file each, named by the hash of its bytes."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import insert, select

from panelwright.errors import StoreDamagedError, StoreError
from panelwright.store.durable import make_folder, written
from panelwright.store.pictures import MEDIA
from panelwright.store.tables import photo as table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from sqlalchemy import Connection, Row

    from panelwright.facts.entry import Fact
    from panelwright.store.pictures import Picture
    from panelwright.store.place import Place

HASH = re.compile(r"[0-9a-f]{64}")
_AT_ONCE = 500


@dataclass(frozen=True)
class Photo:
    """A stored photo; a fact shows it by naming its `sha256` anywhere in its body."""

    sha256: str
    media: str
    width: int
    height: int
    size: int
    added_at: datetime


def file_of(place: Place, sha256: str) -> Path:
    """Give the file of a photo, whether it is there or not."""
    if HASH.fullmatch(sha256) is None:
        raise StoreError(f"{sha256[:80]!r} names no photo; expected 64 hexadecimal digits")
    return place.photos / f"{sha256}.jpg"


def keep_file(place: Place, sha256: str, data: bytes) -> None:
    """Write a photo's file, unless it is there already as it should be."""
    target = file_of(place, sha256)
    if target.is_file() and hash_of_file(target) == sha256:
        return
    make_folder(place.photos)
    with written(target) as file:
        file.write(data)


def hash_of_file(path: Path) -> str:
    """Give the SHA-256 of a file, in hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def add(connection: Connection, picture: Picture, added_at: datetime) -> Photo:
    """Add the row of a photo whose file is there; one that is there already stays."""
    known = find(connection, picture.sha256)
    if known is not None:
        return known
    size = len(picture.data)
    photo = Photo(picture.sha256, MEDIA, picture.width, picture.height, size, added_at)
    connection.execute(insert(table).values({**vars(photo), "added_at": added_at.isoformat()}))
    return photo


def find(connection: Connection, sha256: str) -> Photo | None:
    """Give the row of a photo, or None."""
    row = connection.execute(select(table).where(table.c.sha256 == sha256)).first()
    return None if row is None else _photo(row)


def rows(connection: Connection) -> tuple[Photo, ...]:
    """Give all photos."""
    ordered = select(table).order_by(table.c.sha256)
    return tuple(_photo(row) for row in connection.execute(ordered))


def _photo(row: Row[tuple[object, ...]]) -> Photo:
    told = dict(row._mapping)  # noqa: SLF001 - the row's public way to be read by name
    return Photo(**{**told, "added_at": datetime.fromisoformat(told["added_at"])})


def checked_file(place: Place, sha256: str) -> Path:
    """Give the file of a photo after its hash was compared.

    Raises
    ------
    StoreDamagedError
        Where it is gone or is not what was stored.
    """
    path = file_of(place, sha256)
    try:
        found = hash_of_file(path)
    except FileNotFoundError as error:
        raise StoreDamagedError(f"the file of photo {sha256} is gone") from error
    if found != sha256:
        raise StoreDamagedError(f"the file of photo {sha256} is not what was stored")
    return path


def shown_in(connection: Connection, facts: Iterable[Fact]) -> tuple[Photo, ...]:
    """Give the stored photos that facts name, in the order of their hashes."""
    texts = {text for fact in facts for text in _texts(fact.body)}
    named = sorted(text for text in texts if HASH.fullmatch(text))
    found: list[Photo] = []
    for start in range(0, len(named), _AT_ONCE):
        some = table.c.sha256.in_(named[start : start + _AT_ONCE])
        ordered = select(table).where(some).order_by(table.c.sha256)
        found += [_photo(row) for row in connection.execute(ordered)]
    return tuple(found)


def _texts(value: object) -> Iterator[str]:
    """Give every text inside a value of JSON's kinds."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _texts(item)
