"""A store on each database; PostgreSQL's is in a database of this test run, dropped afterwards."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import LiteralString, cast

import pytest

from panelwright.store import Place, Store, open_store, place_of

DEFAULT_SERVER = "postgresql+psycopg://postgres@127.0.0.1:5432/test"
MOMENT = datetime(2026, 11, 20, 9, 0, tzinfo=UTC)


def clock() -> datetime:
    return MOMENT


def said(server: str, *statements: str) -> None:
    """Say something to a PostgreSQL server, each by itself."""
    import psycopg  # noqa: PLC0415 - the library is an extra

    plain = server.replace("+psycopg", "")
    with psycopg.connect(plain, autocommit=True, connect_timeout=5) as connection:
        for statement in statements:
            connection.execute(cast("LiteralString", statement))


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str]:
    """The address of an empty database of this run."""
    named = os.environ.get("PANELWRIGHT_TEST_POSTGRES")
    server = named or DEFAULT_SERVER
    name = f"panelwright_test_{os.getpid()}_{secrets.token_hex(4)}"
    try:
        said(server, f"CREATE DATABASE {name}")
    except Exception as error:
        if named:  # whoever names a server wants these tests to run
            raise
        pytest.skip(
            f"no PostgreSQL server at {DEFAULT_SERVER} ({str(error).splitlines()[0]}); "
            "name one in PANELWRIGHT_TEST_POSTGRES"
        )
    yield f"{server.rpartition('/')[0]}/{name}"
    said(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[..., Place]]:
    """Makes places: of one kind of database or the other, each empty."""
    schemas: list[str] = []

    def make(kind: str, folder: str | None = None) -> Place:
        data = tmp_path / (folder or f"data-{secrets.token_hex(3)}")
        if kind == "sqlite":
            return place_of(data)
        server = request.getfixturevalue("postgresql")
        schemas.append(f"s{secrets.token_hex(6)}")
        said(server, f"CREATE SCHEMA {schemas[-1]}")
        return place_of(data, f"{server}?options=-csearch_path%3D{schemas[-1]}")

    yield make
    for schema in schemas:
        said(request.getfixturevalue("postgresql"), f"DROP SCHEMA {schema} CASCADE")


@pytest.fixture(params=["sqlite", "postgresql"])
def kind(request: pytest.FixtureRequest) -> str:
    """The kind of database."""
    return str(request.param)


@pytest.fixture
def place(kind: str, new_place: Callable[..., Place]) -> Place:
    """An empty place."""
    return new_place(kind)


@pytest.fixture
def store(place: Place) -> Iterator[Store]:
    """An empty store."""
    with open_store(place, clock=clock, wait_s=5) as opened:
        yield opened
