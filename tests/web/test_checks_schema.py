"""The JSON interface under what its own description allows, and much that it does not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.testclient import TestClient

from panelwright.store import open_store, place_of
from panelwright.web import Settings, Worker, create_app
from tests.web.conftest import ORIGIN

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
"""No 500, and no answer that the description does not announce."""

ADDRESSES = [
    ("GET", "/api/repairs"),
    ("POST", "/api/repairs"),
    ("GET", "/api/repairs/{name}"),
    ("GET", "/api/repairs/{name}/log"),
    ("POST", "/api/repairs/{name}/facts"),
    ("GET", "/api/repairs/{name}/answers/{room}"),
    ("POST", "/api/photos"),
    ("GET", "/api/photos/{sha256}"),
    ("GET", "/api/photos/{sha256}/file"),
]
EXAMPLES = 60


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory, examples: Path) -> Iterator[TestClient]:
    place = place_of(tmp_path_factory.mktemp("schema"))
    with open_store(place) as store:
        store.import_text((examples / "heron.toml").read_text("utf-8"), person="Berta")
    app = create_app(Settings(place, worker=Worker.THREAD))
    with TestClient(app, base_url=ORIGIN) as client:
        yield client


def described(client: TestClient) -> schemathesis.BaseSchema:
    return schemathesis.openapi.from_dict(client.get("/api/openapi.json").json())


def asked(client: TestClient, method: str, path: str, **known: str) -> None:
    """Ask an address often for what its description allows and for what it does not."""
    operation = described(client)[path][method]
    modes = schemathesis.GenerationMode
    cases = st.one_of(*(operation.as_strategy(generation_mode=mode) for mode in modes))

    @settings(
        max_examples=EXAMPLES,
        derandomize=True,  # the same questions each time, so that a failure comes back
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
        phases=[Phase.generate],
    )
    @given(cases)
    def ask(case: schemathesis.Case) -> None:
        case.path_parameters.update(known)
        sent = requests.Request(**case.as_transport_kwargs(base_url=ORIGIN)).prepare()
        answer = client.request(
            str(sent.method), str(sent.url), content=sent.body, headers=dict(sent.headers)
        )
        case.validate_response(answer, checks=CHECKS)

    ask()


def test_every_address_is_asked(client: TestClient) -> None:
    paths = client.get("/api/openapi.json").json()["paths"]
    found = {(method.upper(), path) for path, methods in paths.items() for method in methods}
    assert found == set(ADDRESSES)


@pytest.mark.parametrize(("method", "path"), ADDRESSES)
def test_every_address_answers_as_it_is_described(
    client: TestClient, method: str, path: str
) -> None:
    asked(client, method, path)


@pytest.mark.parametrize(("method", "path"), [one for one in ADDRESSES if "{name}" in one[1]])
def test_a_repair_that_is_there_answers_as_it_is_described(
    client: TestClient, method: str, path: str
) -> None:
    asked(client, method, path, name="heron-114")
