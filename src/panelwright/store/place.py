"""Where a store lies: a folder with photos, and a database in it or on a server."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import cached_property
from importlib.util import find_spec
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from panelwright.errors import StoreError

DATABASE = "panelwright.sqlite"
PHOTOS = "photos"
_POSTGRESQL = "postgresql+psycopg"


@dataclass(frozen=True)
class Place:
    """Folder of the photos; the database is a file in it, or what `url` names.

    Attributes
    ----------
    folder : Path
        Absolute.
    url : str or None
        ``postgresql+psycopg://user@host:port/name``; None for the file in the folder.
    """

    folder: Path
    url: str | None = None

    @property
    def database(self) -> Path:
        """Give the database file; it is used where there is no `url`."""
        return self.folder / DATABASE

    @property
    def photos(self) -> Path:
        """Give the folder of the photos."""
        return self.folder / PHOTOS

    @cached_property
    def server(self) -> URL | None:
        """Give the address of the database server, or None."""
        return None if self.url is None else make_url(self.url)

    def __str__(self) -> str:
        """Say where it is, without a password."""
        if self.server is None:
            return str(self.folder)
        return self.server.render_as_string(hide_password=True)


def place_of(data: str | Path | None = None, database: str | None = None) -> Place:
    """Give the place that a folder and a database's address name.

    Parameters
    ----------
    data : str, Path or None
        Folder; None for the platform's data folder.
    database : str or None
        Address of a PostgreSQL database.

    Raises
    ------
    StoreError
        For an address that is no PostgreSQL database's.
    """
    if data is None:
        import platformdirs  # noqa: PLC0415 - not needed where a folder is named

        data = platformdirs.user_data_dir("panelwright", appauthor=False)
    url = None if database is None else _checked(database)
    return Place(Path(data).expanduser().absolute(), url)


def _checked(database: str) -> str:
    expected = f"expected {_POSTGRESQL}://user@host:5432/name, or no address for a file"
    try:
        url = make_url(database)
    except (ArgumentError, ValueError):
        raise StoreError(f"this is no address of a database; {expected}") from None
    if url.drivername not in {_POSTGRESQL, "postgresql", "postgres"}:
        raise StoreError(f"{url.drivername!r} is no database that is known here; {expected}")
    if find_spec("psycopg") is None:
        raise StoreError(
            "the library for PostgreSQL is not installed; install panelwright[postgres] "
            f"for {Path(sys.executable).name}"
        )
    return url.set(drivername=_POSTGRESQL).render_as_string(hide_password=False)
