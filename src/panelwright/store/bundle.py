"""One repair as a file: its log as it stands, and the photos that its facts show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

from panelwright.errors import InvalidFile, PhotoError
from panelwright.facts.log import Log, log_bytes, log_from
from panelwright.store import archive, photos
from panelwright.store.archive import LOG, Content, Kind, LogEnd, Manifest, photo_name
from panelwright.store.pictures import Picture, as_stored

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from panelwright.store.photos import Photo
    from panelwright.store.place import Place


@dataclass(frozen=True)
class Bundle:
    """What an exported repair holds."""

    name: str
    log: Log
    pictures: tuple[Picture, ...]


def write_bundle(
    file: BinaryIO, name: str, log: Log, *, shown: Iterable[Photo], place: Place
) -> None:
    """Write a repair's log and the photos shown in it; the same bytes every time."""
    contents = {LOG: Content(log_bytes(log)), **photo_contents(place, shown)}
    manifest = Manifest(
        kind=Kind.REPAIR,
        repairs=(LogEnd(name=name, facts=len(log.entries), head=log.head),),
        files=archive.measured(contents),
    )
    archive.write_archive(file, manifest, contents)


def photo_contents(place: Place, shown: Iterable[Photo]) -> Mapping[str, Content]:
    """Give the files of photos by their names in an archive.

    Raises
    ------
    StoreDamagedError
        Where a file is gone or is not what was stored.
    """
    return {
        photo_name(photo.sha256): Content(photos.checked_file(place, photo.sha256))
        for photo in shown
    }


def read_bundle(source: Path | BinaryIO) -> Bundle:
    """Read and check a repair that `write_bundle` wrote.

    Raises
    ------
    InvalidFile
        Where the archive, the chain of its log, or a photo is not what was written.
    """
    with archive.opened(source, Kind.REPAIR) as opened:
        if LOG not in opened.manifest.files or len(opened.manifest.repairs) != 1:
            raise InvalidFile([("archive", "holds no log of one repair")])
        meant = opened.manifest.repairs[0]
        log = log_from(opened.read(LOG))
        if (len(log.entries), log.head) != (meant.facts, meant.head):
            raise InvalidFile([(LOG, f"does not end as listed: {meant.facts} facts were written")])
        return Bundle(meant.name, log, tuple(_pictures(opened)))


def _pictures(opened: archive.Archive) -> Iterator[Picture]:
    for sha256 in opened.photos:
        name = photo_name(sha256)
        try:
            picture = as_stored(opened.read(name))
        except PhotoError as error:
            raise InvalidFile([(name, str(error))]) from error
        if picture.sha256 != sha256:
            raise InvalidFile([(name, "is not the photo of that hash")])
        yield picture


def rest_of(there: Log, coming: Log, name: str) -> Log:
    """Give what to append so that a stored log becomes the one that comes in.

    Raises
    ------
    InvalidFile
        Where the two part: both were written to since they were one.
    """
    common = min(len(there.entries), len(coming.entries))
    for number in range(common):
        if there.entries[number].hash != coming.entries[number].hash:
            what = (
                f"{name} is stored already and says something else from entry {number} on; "
                "import it under another name: --as NAME"
            )
            raise InvalidFile([(f"entry {number}", what)])
    return Log(coming.entries[common:])
