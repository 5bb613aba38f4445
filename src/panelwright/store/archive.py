"""A .zip with a list of what is in it and the hash of each; the form of exports and backups.

Reading trusts nothing: only the names we write, only what the list announces, no more bytes than
announced, every hash compared. The same content gives the same bytes.
"""

from __future__ import annotations

import hashlib
import shutil
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, BinaryIO, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from panelwright import __version__
from panelwright.errors import InvalidFile
from panelwright.store.pictures import MOST_BYTES

if TYPE_CHECKING:
    from collections.abc import Mapping

MANIFEST = "manifest.json"
LOG = "log.jsonl"
SNAPSHOT = "panelwright.sqlite"

_MOST_MANIFEST_BYTES = 32_000_000
_MOST_MEMBERS = 100_000
_MOST_LOG_BYTES = 64_000_000
_CHUNK = 1 << 20
_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The first moment that a .zip can name."""


class Kind(StrEnum):
    """What an archive holds."""

    REPAIR = "repair"
    BACKUP = "backup"


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Member(_Strict):
    """Hash and size of a file in the archive."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    size: Annotated[int, Field(ge=0)]


class LogEnd(_Strict):
    """A repair of the archive, how many facts its log holds, and the hash of the last."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9-]{0,79}$")]
    facts: Annotated[int, Field(ge=0)]
    head: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


_MemberName = Annotated[
    str, Field(pattern=r"^(log\.jsonl|panelwright\.sqlite|photos/[0-9a-f]{64}\.jpg)$")
]


class Manifest(_Strict):
    """What is in an archive."""

    format: Literal[1] = 1
    kind: Kind
    program: str = __version__
    tables: str | None = None
    """Number of the last migration, of a backup."""
    made_at: str | None = None
    """When a backup was made, RFC 3339."""
    repairs: tuple[LogEnd, ...]
    files: dict[_MemberName, Member]
    broken: tuple[str, ...] = ()
    """What was broken already when a backup was made."""


def photo_name(sha256: str) -> str:
    """Give the name of a photo inside an archive."""
    return f"photos/{sha256}.jpg"


@dataclass(frozen=True)
class Content:
    """What goes into an archive: bytes, or a file."""

    source: bytes | Path

    def measured(self) -> Member:
        """Give hash and size."""
        if isinstance(self.source, bytes):
            return Member(sha256=hashlib.sha256(self.source).hexdigest(), size=len(self.source))
        with self.source.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return Member(sha256=digest, size=file.tell())

    def copy_to(self, target: BinaryIO) -> None:
        """Write it."""
        if isinstance(self.source, bytes):
            target.write(self.source)
            return
        with self.source.open("rb") as file:
            shutil.copyfileobj(file, target, _CHUNK)


def measured(contents: Mapping[str, Content]) -> dict[str, Member]:
    """Give hash and size of each content."""
    return {name: content.measured() for name, content in contents.items()}


def write_archive(file: BinaryIO, manifest: Manifest, contents: Mapping[str, Content]) -> None:
    """Write an archive; `manifest.files` are the contents measured."""
    listed = manifest.model_dump_json(indent=1, exclude_none=True).encode()
    with zipfile.ZipFile(file, "w") as archive:
        for name, content in {MANIFEST: Content(listed), **contents}.items():
            info = zipfile.ZipInfo(name, _EPOCH)
            info.external_attr = 0o644 << 16
            photo = name.endswith(".jpg")  # packed already
            info.compress_type = zipfile.ZIP_STORED if photo else zipfile.ZIP_DEFLATED
            with archive.open(info, "w", force_zip64=True) as member:
                content.copy_to(member)  # type: ignore[arg-type]  # it writes, and no more is asked


@dataclass(frozen=True)
class Archive:
    """An archive that is open for reading."""

    manifest: Manifest
    _file: zipfile.ZipFile

    def read(self, name: str) -> bytes:
        """Give the bytes of a file in it; InvalidFile where they are not what is listed."""
        return b"".join(self._chunks(name))

    def extract(self, name: str, target: Path) -> None:
        """Write a file of it to a path; InvalidFile where it is not what is listed."""
        with target.open("xb") as file:
            for chunk in self._chunks(name):
                file.write(chunk)

    @property
    def photos(self) -> Iterator[str]:
        """Give the hashes of the photos in it."""
        for name in self.manifest.files:
            if name.startswith("photos/"):
                yield name.removeprefix("photos/").removesuffix(".jpg")

    def _chunks(self, name: str) -> Iterator[bytes]:
        meant = self.manifest.files.get(name)
        if meant is None:
            raise InvalidFile([(name, "is not in this archive")])
        digest = hashlib.sha256()
        size = 0
        with _told(name), self._file.open(name) as member:
            while chunk := member.read(_CHUNK):
                size += len(chunk)
                if size > meant.size:
                    raise InvalidFile([(name, f"is larger than the {meant.size} bytes listed")])
                digest.update(chunk)
                yield chunk
        if size != meant.size or digest.hexdigest() != meant.sha256:
            raise InvalidFile([(name, "is not what was written: its hash differs from the list")])


@contextmanager
def opened(source: Path | BinaryIO, kind: Kind) -> Iterator[Archive]:
    """Open an archive and compare its list with what is there.

    Raises
    ------
    InvalidFile
        Where it is no archive of ours, or holds something else than it lists.
    """
    with _file(source) as data:
        with _told("archive"):
            file = zipfile.ZipFile(data)
            manifest = _manifest(file, kind)
        yield Archive(manifest, file)


def _file(source: Path | BinaryIO) -> AbstractContextManager[BinaryIO]:
    if not isinstance(source, Path):
        return nullcontext(source)
    try:
        return source.open("rb")
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise InvalidFile([(str(source), f"cannot be read: {reason}")]) from error


@contextmanager
def _told(where: str) -> Iterator[None]:
    """Turn what a .zip that is none can raise into words."""
    try:
        yield
    except (
        zipfile.BadZipFile,
        zlib.error,
        struct.error,
        EOFError,
        IndexError,
        OSError,
        OverflowError,
        RuntimeError,
        ValueError,
    ) as error:
        raise InvalidFile([(where, f"is no archive of ours, or broken: {error}")]) from error


def _manifest(file: zipfile.ZipFile, kind: Kind) -> Manifest:
    infos = file.infolist()
    if len(infos) > _MOST_MEMBERS:
        raise InvalidFile([("archive", f"holds {len(infos)} files; at most {_MOST_MEMBERS}")])
    manifest = _listed(file)
    if manifest.kind is not kind:
        raise InvalidFile([("archive", _OTHER_KIND[manifest.kind])])
    there = [info.filename for info in infos]
    problems = [(name, "is listed and not there") for name in set(manifest.files) - set(there)]
    problems += [
        (name[:80], "is there and not listed; nothing was taken from this archive")
        for name in sorted({*there} - {MANIFEST, *manifest.files})
    ]
    if len(there) != len(set(there)):
        problems.append(("archive", "holds two files of one name"))
    problems += [problem for info in infos for problem in _refused(info, manifest)]
    if problems:
        raise InvalidFile(sorted(problems))
    return manifest


_OTHER_KIND = {
    Kind.BACKUP: "is the backup of a whole store: use panelwright restore",
    Kind.REPAIR: "is the export of one repair: use panelwright import",
}


def _listed(file: zipfile.ZipFile) -> Manifest:
    try:
        info = file.getinfo(MANIFEST)
    except KeyError:
        raise InvalidFile([("archive", f"has no {MANIFEST}: not an archive of ours")]) from None
    if info.file_size > _MOST_MANIFEST_BYTES or info.flag_bits & 1:
        raise InvalidFile([(MANIFEST, "is too large or encrypted")])
    try:
        return Manifest.model_validate_json(file.read(info))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(step) for step in first["loc"])
        raise InvalidFile([(f"{MANIFEST} {where}".rstrip(), first["msg"])]) from error


def _refused(info: zipfile.ZipInfo, manifest: Manifest) -> Iterator[tuple[str, str]]:
    """Say what is wrong with a member before a byte of it is read."""
    name = info.filename
    if info.flag_bits & 1:
        yield name[:80], "is encrypted"
    photo = name.endswith(".jpg")  # stored as it is: a small archive cannot swell by its photos
    ways = {zipfile.ZIP_STORED} if photo else {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
    if info.compress_type not in ways:
        yield name[:80], "is packed in a way that we do not write"
    listed = manifest.files.get(name)
    if listed is None:
        return
    if listed.size != info.file_size:
        yield name, f"has {info.file_size} bytes, {listed.size} are listed"
    most = MOST_BYTES if photo else _MOST_LOG_BYTES
    if listed.size > most and name != SNAPSHOT:
        yield name, f"has {listed.size / 1e6:.0f} MB; at most {most / 1e6:.0f}"
