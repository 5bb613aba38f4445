"""A full disk, a locked database, a lost connection: a sentence each, and nothing is lost."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.errors import (
    StoreBusyError,
    StoreDamagedError,
    StoreError,
    StoreFullError,
    StoreLostError,
)
from panelwright.web import Settings
from panelwright.web.desk import Desk
from tests.web.conftest import key_of

REPAIR = "/repairs/heron-114"

TROUBLES = [
    (StoreFullError("the disk of here is full: make room and send it again"), 507),
    (StoreBusyError("another program holds here: wait, then send it again"), 503),
    (StoreLostError("the connection to here is lost: send the rest again"), 503),
    (StoreDamagedError("the database of here is damaged"), 500),
]


def failing(error: StoreError) -> Callable[..., None]:
    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


@pytest.mark.parametrize(("error", "status"), TROUBLES)
def test_a_form_that_cannot_be_stored_comes_back_whole(
    heron: TestClient, desk: Desk, error: StoreError, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    fact = str(desk.store.log("heron-114").facts[-1].id)
    key = key_of(heron.get("/start").text)
    form = {"key": key, "fact": fact, "reason": "the wrong tape"}
    with monkeypatch.context() as broken:
        broken.setattr(desk.store, "append", failing(error))
        answer = heron.post(f"{REPAIR}/log/withdraw", data=form)
    assert answer.status_code == status
    assert "the wrong tape" in answer.text
    assert str(error)[1:] in answer.text
    assert heron.post(f"{REPAIR}/log/withdraw", data=form).status_code == 303


@pytest.mark.parametrize(("error", "status"), TROUBLES)
def test_a_page_that_cannot_be_read_says_why(
    heron: TestClient, desk: Desk, error: StoreError, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(desk.store, "log", failing(error))
    page = heron.get(REPAIR)
    assert page.status_code == status
    assert str(error)[1:] in page.text
    answer = heron.get(f"/api{REPAIR}")
    assert answer.status_code == status
    assert str(error)[1:] in answer.json()["problems"][0]["what"]


def test_a_database_that_another_program_holds_is_waited_for_and_told(
    heron: TestClient, desk: Desk, settings: Settings
) -> None:
    other = sqlite3.connect(settings.place.database, isolation_level=None)
    desk.store._writer.dispose()
    desk.store._writer = __import__("panelwright.store.engines", fromlist=["writer"]).writer(
        settings.place, wait_s=0.05
    )
    try:
        other.execute("BEGIN IMMEDIATE")
        body = json.dumps({"kind": "done", "step": "pin-outer"})
        form = {"key": key_of(heron.get("/start").text), "kind": "event", "body": body}
        answer = heron.post(f"{REPAIR}/say", data=form)
        assert answer.status_code == 503
        assert "Another program holds" in answer.text
        assert heron.get(REPAIR).status_code == 200
    finally:
        other.close()
    assert heron.post(f"{REPAIR}/say", data=form).status_code == 303


def test_a_photo_whose_file_is_gone_is_told(
    heron: TestClient, desk: Desk, settings: Settings
) -> None:
    from tests.web.test_photos import picture  # noqa: PLC0415

    stored = desk.store.add_photo(picture())
    Path(settings.place.photos / f"{stored.sha256}.jpg").unlink()
    answer = heron.get(f"/photos/{stored.sha256}.jpg")
    assert answer.status_code == 500
    assert "is gone" in answer.text
