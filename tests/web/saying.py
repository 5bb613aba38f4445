"""What tests of pages share: send a form, read the facts it made."""

from __future__ import annotations

from starlette.testclient import TestClient

from panelwright.facts.entry import Fact
from panelwright.facts.repair import Repair
from panelwright.web.desk import Desk
from tests.web.conftest import key_of

NAME = "heron-114"
REPAIR = f"/repairs/{NAME}"


def send(client: TestClient, action: str, key: str = "", **fields: str) -> tuple[int, str]:
    """The status of a form sent to a page of the repair, and where it goes or what it shows."""
    key = key or key_of(client.get("/start").text)
    names = {"form": "form-name"}
    told = {names.get(name, name.removesuffix("_")): value for name, value in fields.items()}
    answer = client.post(f"{REPAIR}/{action}", data={"key": key, **told})
    return answer.status_code, answer.headers.get("location", answer.text)


def tap(client: TestClient, kind: str, body: str, then: str) -> int:
    """The status of a tap of a button that says one fact."""
    return send(client, "say", kind=kind, body=body, then=then)[0]


def said(desk: Desk, kind: str) -> list[dict[str, object]]:
    """The tables of a kind in the order of the log, without who and when."""
    facts: tuple[Fact, ...] = desk.store.log(NAME).facts
    hidden = {"by", "at"}
    return [
        {key: value for key, value in fact.body.items() if key not in hidden}
        for fact in facts
        if fact.kind == kind
    ]


def repair(desk: Desk) -> Repair:
    """The repair as it is known now."""
    return desk.answers.known(NAME).repair
