"""The JSON interface."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from panelwright import fit
from panelwright.fit.published import as_json
from panelwright.web.desk import Desk
from tests.web.conftest import planned
from tests.web.test_live import fact
from tests.web.test_photos import picture

HERON = "/api/repairs/heron-114"


def sent(number: int, **changed: Any) -> dict[str, Any]:
    one = fact(number)
    return {
        "id": str(one.id),
        "kind": "vehicle",
        "body": {"label": str(number)},
        "observed_at": "2026-11-25T12:00:00+01:00",
        "person": "Anna",
        **changed,
    }


def test_repairs_are_listed(heron: TestClient, desk: Desk) -> None:
    (one,) = heron.get("/api/repairs").json()["repairs"]
    assert one["name"] == "heron-114"
    assert one["facts"] == len(desk.store.log("heron-114").entries)


def test_a_repair_is_started_once(client: TestClient) -> None:
    start = {"name": "van-7", "facts": [sent(1)]}
    first = client.post("/api/repairs", json=start)
    assert (first.status_code, first.json()["added"]) == (201, 1)
    again = client.post("/api/repairs", json=start)
    assert (again.status_code, again.json()["added"]) == (201, 0)
    other = client.post("/api/repairs", json={"name": "van-7", "facts": [sent(2)]})
    assert other.status_code == 409


def test_a_fact_sent_twice_is_stored_once(heron: TestClient, desk: Desk) -> None:
    before = len(desk.store.log("heron-114").entries)
    facts = {"facts": [sent(1), sent(2)]}
    first = heron.post(f"{HERON}/facts", json=facts).json()
    again = heron.post(f"{HERON}/facts", json=facts).json()
    assert first["numbers"] == again["numbers"] == [before, before + 1]
    assert (first["added"], again["added"]) == (2, 0)
    assert first["log_head"] == again["log_head"] == desk.store.log("heron-114").head


def test_the_recorder_stamps_a_fact_itself(heron: TestClient, desk: Desk) -> None:
    one = sent(1, clock_offset_s=-3.5)
    heron.post(f"{HERON}/facts", json={"facts": [one]})
    stored = desk.store.log("heron-114").facts[-1]
    assert stored.recorded_at == desk.settings.clock()
    assert stored.clock_offset_s == -3.5
    assert (
        heron.post(f"{HERON}/facts", json={"facts": [{**one, "recorded_at": "x"}]}).status_code
        == 422
    )


def test_an_id_that_stands_for_another_fact_is_refused(heron: TestClient) -> None:
    heron.post(f"{HERON}/facts", json={"facts": [sent(1)]})
    other = sent(1, body={"label": "something else"})
    answer = heron.post(f"{HERON}/facts", json={"facts": [other]})
    assert answer.status_code == 409
    assert "stands for another fact" in answer.json()["problems"][0]["what"]


@pytest.mark.parametrize(
    "changed",
    [
        {"id": "no"},
        {"id": "6ba7b810-9dad-11d1-80b4-00c04fd430c8"},
        {"kind": "joke"},
        {"kind": "Vehicle"},
        {"body": {"wheels": 4}},
        {"body": {"label": 10**30}},
        {"body": []},
        {"body": {"label": "\ud800"}},
        {"observed_at": "2026-11-25T12:00:00"},
        {"observed_at": "2026-11-25T12:00:00+01:00:30"},
        {"clock_offset_s": 1e300},
        {"person": ""},
        {"version": 0},
        {"version": 7},
        {"extra": 1},
    ],
)
def test_a_fact_that_does_not_fit_is_refused_with_its_place(
    heron: TestClient, desk: Desk, changed: dict[str, Any]
) -> None:
    before = desk.store.log("heron-114")
    body = json.dumps({"facts": [sent(1), sent(2, **changed)]})
    headers = {"content-type": "application/json"}
    answer = heron.post(f"{HERON}/facts", content=body, headers=headers)
    assert answer.status_code in (400, 422)
    assert answer.json()["problems"]
    assert desk.store.log("heron-114") == before


@pytest.mark.parametrize("body", ["", "{", "[]", "null", '{"facts": []}', "[" * 100_000, "NaN"])
def test_no_json_is_no_defect(heron: TestClient, body: str) -> None:
    headers = {"content-type": "application/json"}
    assert heron.post(f"{HERON}/facts", content=body, headers=headers).status_code in (400, 422)


def test_a_repair_is_given_with_its_tables(heron: TestClient, desk: Desk) -> None:
    found = heron.get(HERON).json()
    assert found["name"] == "heron-114"
    assert found["document"]["vehicle"]["drive"] == "battery"
    assert found["head"] == desk.store.log("heron-114").head


def test_a_log_is_given_from_a_number_on(heron: TestClient, desk: Desk) -> None:
    total = len(desk.store.log("heron-114").entries)
    whole = heron.get(f"{HERON}/log").json()
    assert [entry["number"] for entry in whole["entries"]] == list(range(total))
    rest = heron.get(f"{HERON}/log?after={total - 3}").json()
    assert rest["entries"] == whole["entries"][-2:]
    for one, two in zip(whole["entries"], whole["entries"][1:], strict=False):
        assert two["previous"] == one["hash"]


def test_an_answer_has_the_published_keys(heron: TestClient, desk: Desk) -> None:
    found = heron.get(f"{HERON}/answers/fit").json()
    expected = as_json(fit.answer(desk.answers.known("heron-114").repair))
    assert found == json.loads(json.dumps(expected))


@pytest.mark.parametrize("room", ["teardown", "joints", "fit", "bond", "quiet"])
def test_each_room_answers(heron: TestClient, room: str) -> None:
    assert heron.get(f"{HERON}/answers/{room}").status_code == 200


def test_the_plan_is_made_meanwhile(heron: TestClient, desk: Desk) -> None:
    first = heron.get(f"{HERON}/answers/plan")
    assert first.status_code in (200, 202)
    planned(desk)
    found = heron.get(f"{HERON}/answers/plan")
    assert found.status_code == 200
    assert {"steps", "kit", "ready_for_paint", "critical", "status", "gap"} <= set(found.json())


def test_what_cannot_be_answered_says_what_is_missing(client: TestClient) -> None:
    client.post("/api/repairs", json={"name": "van-7", "facts": [sent(1)]})
    answer = client.get("/api/repairs/van-7/answers/bond")
    assert answer.status_code == 422
    assert "no bonded joint" in answer.json()["unanswered"][0]


@pytest.mark.parametrize("path", ["", "/log", "/answers/fit", "/answers/plan"])
def test_an_unknown_repair_is_not_found(client: TestClient, path: str) -> None:
    answer = client.get(f"/api/repairs/nothing{path}")
    assert answer.status_code == 404
    assert "nothing" in answer.json()["problems"][0]["what"]
    assert client.post("/api/repairs/nothing/facts", json={"facts": [sent(1)]}).status_code == 404


def test_an_unknown_room_is_refused(heron: TestClient) -> None:
    assert heron.get(f"{HERON}/answers/mood").status_code == 422


def test_a_photo_is_stored_and_given(client: TestClient) -> None:
    answer = client.post("/api/photos", files={"file": ("../x", picture(), "image/jpeg")})
    assert answer.status_code == 201
    told = answer.json()
    assert client.get(f"/api/photos/{told['sha256']}").json() == told
    file = client.get(f"/api/photos/{told['sha256']}/file")
    assert len(file.content) == told["size"]


@pytest.mark.parametrize("data", [b"", b"text", picture("PNG", (9000, 9000))])
def test_no_photo_is_refused(client: TestClient, data: bytes) -> None:
    answer = client.post("/api/photos", files={"file": ("x.jpg", data, "image/jpeg")})
    assert answer.status_code == 422


@pytest.mark.parametrize("path", ["/api/photos/" + "0" * 64, "/api/photos/" + "0" * 64 + "/file"])
def test_an_unknown_photo_is_not_found(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_the_interface_describes_itself(client: TestClient) -> None:
    told = client.get("/api/openapi.json").json()
    assert set(told["paths"]) == {
        "/api/repairs",
        "/api/repairs/{name}",
        "/api/repairs/{name}/log",
        "/api/repairs/{name}/facts",
        "/api/repairs/{name}/answers/{room}",
        "/api/photos",
        "/api/photos/{sha256}",
        "/api/photos/{sha256}/file",
    }


def test_pages_and_interface_see_the_same(heron: TestClient, examples: Path) -> None:
    heron.post(f"{HERON}/facts", json={"facts": [sent(5)]})
    assert "label 5" in heron.get("/repairs/heron-114/log").text
