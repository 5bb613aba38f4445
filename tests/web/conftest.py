"""A server without a network, signed in; and what forms need."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from unittest.mock import patch

import pytest
from starlette.testclient import TestClient

from panelwright.store import Person, place_of
from panelwright.web import Settings, Worker, create_app
from panelwright.web.desk import Desk
from panelwright.web.kept import Kept
from panelwright.web.visit import COOKIE
from panelwright.web.work import done_by

ORIGIN = "http://127.0.0.1:8420"
PERSON = "Anna"
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@dataclass
class Watch:
    """A clock that stands until a test moves it."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now

    def go(self, **by: float) -> None:
        """Move it on."""
        self.now += timedelta(**by)


@dataclass
class Chance:
    """Bytes that look like chance and come in the same order each time."""

    count: int = field(default=0)

    def __call__(self, size: int) -> bytes:
        self.count += 1
        return self.count.to_bytes(size, "big")


@pytest.fixture(scope="session", autouse=True)
def long_work_is_shared() -> Iterator[None]:
    """Let tests share plans, charts and job files of the same input, where a thread makes them."""
    made: Kept[Hashable, object] = Kept(64)

    def shared(function: Callable[..., object], arguments: tuple[object, ...]) -> object:
        if not function.__module__.startswith("panelwright."):
            return done_by(function, arguments)
        frozen = tuple(tuple(one) if isinstance(one, list) else one for one in arguments)
        try:
            hash(frozen)
        except TypeError:
            return done_by(function, arguments)
        return made.get((function, frozen), lambda: done_by(function, arguments))

    with patch("panelwright.web.work.done_by", shared):
        yield


@pytest.fixture
def watch() -> Watch:
    """The clock of the server."""
    return Watch()


@pytest.fixture
def settings(tmp_path: Path, watch: Watch) -> Settings:
    """Of a server whose long work is done in a thread."""
    return Settings(
        place_of(tmp_path / "data"),
        worker=Worker.THREAD,
        clock=watch,
        random=Chance(),
        poll_s=0.02,
    )


@pytest.fixture
def nobody(settings: Settings) -> Iterator[TestClient]:
    """A browser that has not said who uses it."""
    app = create_app(settings)
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as client:
        client.headers["origin"] = ORIGIN
        yield client


@pytest.fixture
def client(nobody: TestClient) -> TestClient:
    """A browser that Anna uses."""
    desk_of(nobody).store.remember(Person(PERSON))
    nobody.cookies.set(COOKIE, PERSON)
    return nobody


def desk_of(client: TestClient) -> Desk:
    """What the server behind a client is made of."""
    found = client.app.state.desk  # type: ignore[attr-defined]
    assert isinstance(found, Desk)
    return found


@pytest.fixture
def desk(client: TestClient) -> Desk:
    """What the server is made of."""
    return desk_of(client)


@pytest.fixture
def heron(client: TestClient, desk: Desk, examples: Path) -> TestClient:
    """With the repair heron-114 up to its first dry fit."""
    desk.store.import_text((examples / "heron.toml").read_text("utf-8"), person="Berta")
    return client


@pytest.fixture
def moved(client: TestClient, desk: Desk, examples: Path) -> TestClient:
    """With the repair heron-114 up to the second dry fit."""
    desk.store.import_text((examples / "heron-moved.toml").read_text("utf-8"), person="Berta")
    return client


def key_of(page: str) -> str:
    """The hidden key of a page's forms."""
    found = re.search(r'name="key" value="([0-9a-f]+)"', page)
    assert found is not None, page
    return found[1]


Post = Callable[..., object]


def planned(desk: Desk, name: str = "heron-114") -> None:
    """Wait until the plan of a repair is made."""
    answers = desk.answers
    for _ in range(600):
        if answers.plan(answers.known(name)).current:
            return
        desk.work.idle(0.1)
    raise AssertionError("no plan after a minute")
