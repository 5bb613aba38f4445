"""Files that are there whole or not at all, and stay there when the power fails."""

from __future__ import annotations

import os
import secrets
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

if TYPE_CHECKING:
    from collections.abc import Iterator

UNFINISHED = ".part"


def sync_folder(folder: Path) -> None:
    """Force a folder's names to the disk, where the system can."""
    if os.name == "nt":  # it cannot open a folder, and needs no sync of it
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """Make a folder with those above it; its own rights are the user's alone."""
    if folder.is_dir():
        return
    folder.parent.mkdir(parents=True, exist_ok=True)
    folder.mkdir(mode=0o700, exist_ok=True)
    sync_folder(folder.parent)


@contextmanager
def written(target: Path) -> Iterator[BinaryIO]:
    """Give a file to write; it takes its name once all of it is on the disk.

    Where the writing fails, the target is what it was before.
    """
    unfinished = target.with_name(f".{target.name}.{secrets.token_hex(4)}{UNFINISHED}")
    try:
        with unfinished.open("xb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(target)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
    sync_folder(target.parent)
