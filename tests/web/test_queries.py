"""How often a page asks the database: as often for much as for little."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event

import pytest
from sqlalchemy import event
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import planned
from tests.web.test_live import fact


@contextmanager
def counted(desk: Desk) -> Iterator[list[str]]:
    """The statements that the readers run meanwhile."""
    said: list[str] = []

    def note(_: object, __: object, statement: str, *___: object) -> None:
        if statement != "BEGIN":
            said.append(statement)

    engine = desk.store._reader
    event.listen(engine, "before_cursor_execute", note)
    try:
        yield said
    finally:
        event.remove(engine, "before_cursor_execute", note)


def asked(client: TestClient, desk: Desk, path: str) -> int:
    with counted(desk) as said:
        assert client.get(path).status_code == 200
    return len(said)


def quiet(desk: Desk) -> None:
    """Stop what asks the database beside the requests."""
    desk.summaries.close()
    assert desk.live._loop is not None
    assert desk.live._task is not None
    task, ended = desk.live._task, Event()
    task.add_done_callback(lambda _: ended.set())
    desk.live._loop.call_soon_threadsafe(task.cancel)
    assert ended.wait(10.0)


@pytest.mark.parametrize("path", ["/repairs", "/start", "/people"])
def test_a_list_asks_as_often_for_fifty_repairs_as_for_one(
    client: TestClient, desk: Desk, path: str
) -> None:
    quiet(desk)
    desk.store.start("first", [fact(0)])
    one = asked(client, desk, path)
    for number in range(1, 50):
        desk.store.start(f"r-{number}", [fact(1000 * number + n) for n in range(20)])
    assert asked(client, desk, path) == one


@pytest.mark.parametrize("page", ["", "/log", "/photos"])
def test_a_page_asks_as_often_for_many_facts_as_for_few(
    heron: TestClient, desk: Desk, page: str
) -> None:
    quiet(desk)
    path = f"/repairs/heron-114{page}"
    heron.get(path)
    few = asked(heron, desk, path)
    desk.store.append("heron-114", [fact(n) for n in range(500)])
    heron.get(path)
    assert asked(heron, desk, path) == few


def test_the_list_is_filled_from_memory(moved: TestClient, desk: Desk, examples: Path) -> None:
    text = (examples / "heron.toml").read_text("utf-8")
    desk.store.import_text(text, person="Berta", name="other")
    moved.get("/repairs")
    planned(desk)
    planned(desk, "other")
    desk.summaries.settle(60.0)
    quiet(desk)
    with counted(desk) as said:
        page = moved.get("/repairs").text
    assert page.count("Ready for paint <strong>") == 2
    assert len(said) == 3  # who asks, the last number, the list
