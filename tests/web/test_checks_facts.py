"""Facts that fit their table and are odd all the same: no page and no answer breaks on them."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.facts.document import facts_of_text
from panelwright.facts.entry import Fact, written
from panelwright.facts.identity import uuid7
from panelwright.store import Person, open_store, place_of
from panelwright.web import Settings, Worker, create_app
from panelwright.web.page import all_pages
from panelwright.web.visit import COOKIE
from tests.web.conftest import NOON, ORIGIN, PERSON

ROUNDS = 12
"""Repairs that are made odd, each by a few facts."""
CHANGES = 4

ODD = [
    "", "0", "-1", "1", "0 mm", "1e9 mm", "-5 mm", "1e-9 mm", "12 3/8 in", "0 s", "1e9 h", "20 °C",
    "-60 °C", "1e4 °C", 0, 1, -1, 7, 1e6, -1e6, True, False, [], ["outer"], ["a", "a"],
    "outer", "arch", "nothing", "L3", "R3", "RA", "x" * 300, "<b>&\"'</b>", "ä/ö #?%20 ..",
    "2026-11-20T13:05:00+01:00", "1970-01-01T00:00:00Z", "9999-12-31T23:59:59+14:00", "2026-11-20",
    "replace", "keep", "inspect", "rivet-bond", "done", "closed", "bead-begun",
]  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    place = place_of(tmp_path_factory.mktemp("odd"))
    with open_store(place) as store:
        store.remember(Person(PERSON))
    app = create_app(Settings(place, worker=Worker.THREAD, clock=lambda: NOON))
    with TestClient(app, base_url=ORIGIN, follow_redirects=False) as client:
        client.cookies.set(COOKIE, PERSON)
        client.headers["origin"] = ORIGIN
        yield client


def odd(fact: Fact, chosen: random.Random, number: int) -> dict[str, object]:
    """A fact as a client would send it, like another one with a value that is odd."""
    body = copy.deepcopy(dict(written(fact)["body"]))  # type: ignore[call-overload]
    change = chosen.randrange(4)
    key = chosen.choice(sorted(body))
    if change == 0:
        del body[key]
    else:
        body[key] = chosen.choice(ODD)
    moment = NOON + timedelta(seconds=number)
    return {
        "id": str(uuid7(moment, chosen.randbytes(10))),
        "kind": fact.kind,
        "version": fact.version,
        "body": body,
        "observed_at": moment.isoformat(),
        "person": PERSON,
    }


def test_no_page_breaks_on_odd_facts(client: TestClient, examples: Path) -> None:
    seed = random.randrange(2**32)  # noqa: S311
    chosen = random.Random(seed)  # noqa: S311
    facts = facts_of_text((examples / "heron-moved.toml").read_text("utf-8"), person=PERSON)
    for number in range(ROUNDS):
        name = f"odd-{number}"
        client.app.state.desk.store.start(name, facts)  # type: ignore[attr-defined]
        made_odd(client, name, facts, chosen)
        said = [fault for path in paths(name) if (fault := broken(client, path))]
        assert not said, f"seed {seed}: {said}"


def made_odd(client: TestClient, name: str, facts: list[Fact], chosen: random.Random) -> None:
    """Let a repair take a few odd facts; most that are tried are refused."""
    taken = 0
    for number in range(200):
        sent = odd(chosen.choice(facts), chosen, number)
        answer = client.post(f"/api/repairs/{name}/facts", json={"facts": [sent]})
        assert answer.status_code in (200, 409, 422), answer.text
        taken += answer.status_code == 200
        if taken == CHANGES:
            return
    raise AssertionError("none was taken")


def paths(name: str) -> list[str]:
    pages = [page.path(name) for page in all_pages() if page.title]
    rooms = ("teardown", "joints", "fit", "bond", "quiet", "plan")
    answers = [f"/api/repairs/{name}/answers/{room}" for room in rooms]
    return [f"/api/repairs/{name}", *answers, *pages, f"/repairs/{name}/fit/take"]


def broken(client: TestClient, path: str) -> str:
    try:
        answer = client.get(path)
    except Exception as error:
        return f"{path}: {type(error).__name__}: {error}"
    return f"{path}: {answer.status_code}" if answer.status_code >= 500 else ""
