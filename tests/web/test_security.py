"""Who may call, from where, with how much; and the headers of every answer."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.web import Settings, create_app
from panelwright.web.desk import Desk
from panelwright.web.security import CSP, HEADERS, MOST_BYTES
from tests.web.conftest import ORIGIN

WEB = Path(__file__).parents[2] / "src" / "panelwright" / "web"
EVERYWHERE = (
    "/repairs",
    "/start",
    "/people",
    "/nowhere",
    "/repairs/none",
    "/static/app.css",
    "/static/fonts/NotoSans-Regular.ttf",
    "/api/repairs",
    "/api/repairs/none",
    "/api/openapi.json",
)


@pytest.mark.parametrize("path", EVERYWHERE)
def test_every_answer_carries_the_headers(client: TestClient, path: str) -> None:
    answer = client.get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


def test_the_policy_allows_nothing_written_within_a_page() -> None:
    assert "default-src 'self'" in CSP
    assert "unsafe" not in CSP
    assert "data:" not in CSP
    assert "*" not in CSP


def test_a_defect_carries_the_headers_too(settings: Settings, client: TestClient) -> None:
    app = create_app(settings)

    def broken() -> None:
        raise ZeroDivisionError

    app.add_api_route("/broken", broken)
    with TestClient(app, base_url=ORIGIN, raise_server_exceptions=False) as browser:
        answer = browser.get("/broken")
    assert answer.status_code == 500
    assert "This is a fault of the program." in answer.text
    assert "ZeroDivisionError at /broken" in answer.text
    assert answer.headers["content-security-policy"] == CSP


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8420.evil.example", ""]
)
def test_another_host_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/repairs", headers={"host": host})
    assert answer.status_code == 403
    assert answer.headers["content-security-policy"] == CSP


@pytest.mark.parametrize(
    "host", ["127.0.0.1:8420", "localhost:8420", "LOCALHOST:8420", "[::1]:8420"]
)
def test_this_machine_is_answered_under_its_names(client: TestClient, host: str) -> None:
    assert client.get("/repairs", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "http://127.0.0.1:9999", "null", "http://localhost", ""]
)
@pytest.mark.parametrize("path", ["/people", "/start", "/api/repairs"])
def test_a_form_of_another_origin_is_refused(client: TestClient, path: str, origin: str) -> None:
    answer = client.post(path, headers={"origin": origin}, data={"name": "Anna"})
    assert answer.status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_form_of_another_site_is_refused(client: TestClient, site: str) -> None:
    answer = client.post("/people", headers={"sec-fetch-site": site}, data={"name": "Anna"})
    assert answer.status_code == 403


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_other_methods_of_another_origin_are_refused(client: TestClient, method: str) -> None:
    answer = client.request(method, "/repairs", headers={"origin": "http://evil.example"})
    assert answer.status_code == 403


def test_a_program_without_origin_may_send(client: TestClient) -> None:
    del client.headers["origin"]
    assert client.post("/people", data={"name": "Anna", "then": "/"}).status_code == 303


def test_a_name_can_be_added_to_those_that_are_answered(settings: Settings) -> None:
    app = create_app(replace(settings, hosts=("bay-2.example",)))
    with TestClient(app, base_url="http://bay-2.example:8420") as browser:
        assert browser.get("/people").status_code == 200
        assert browser.get("/people", headers={"host": "127.0.0.1:8420"}).status_code == 403


def test_more_than_is_taken_is_refused_before_it_is_read(client: TestClient) -> None:
    answer = client.post("/start/file", headers={"content-length": str(MOST_BYTES + 1)})
    assert answer.status_code == 413
    assert answer.headers["content-security-policy"] == CSP


def test_more_than_is_taken_is_refused_while_it_is_read(client: TestClient) -> None:
    def endless() -> Iterator[bytes]:
        yield b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.toml"\r\n\r\n'
        for _ in range(30):
            yield bytes(1_000_000)

    answer = client.post(
        "/start/file",
        content=endless(),
        headers={"content-type": "multipart/form-data; boundary=x"},
    )
    assert answer.status_code == 413
    assert "At most 26 MB" in answer.text


def test_what_a_browser_reports_is_kept(client: TestClient, desk: Desk) -> None:
    report = json.dumps({"csp-report": {"blocked-uri": "inline"}})
    headers = {"content-type": "application/csp-report", "origin": "null"}
    assert client.post("/csp-reports", content=report, headers=headers).status_code == 204
    assert desk.reports == [report.encode()]


def test_reports_do_not_fill_the_memory(client: TestClient, desk: Desk) -> None:
    for _ in range(120):
        client.post("/csp-reports", content=b"x" * 50_000)
    assert len(desk.reports) == 100
    assert max(map(len, desk.reports)) == 20_000


@pytest.mark.parametrize(
    "path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static/fonts/../x"]
)
def test_nothing_beside_the_static_files_is_served(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_no_template_has_styles_or_scripts_of_its_own() -> None:
    for template in (WEB / "templates").glob("*.html"):
        text = template.read_text("utf-8")
        assert not re.search(r"\sstyle\s*=", text), template.name
        assert not re.search(r"<script(?![^>]*\ssrc=)", text), template.name
        assert not re.search(r"\son[a-z]+\s*=", text), template.name
        assert not re.search(r"hx-(on|vals|headers)|js:|javascript:", text), template.name
        assert "|safe" not in text, template.name


def test_the_scripts_are_the_pinned_ones() -> None:
    import hashlib  # noqa: PLC0415

    pinned = {
        "htmx-4.0.1.min.js": "a0abb04f2f45a1f89d1d4844023245537e5e6014c87b144553e0607b4cc32130",
        "hx-sse-4.0.1.min.js": "18ef2761356ec1fe0bb6d92612315b37517a7c1e9856b661c5ae81fef239d103",
    }
    for name, sha256 in pinned.items():
        data = (WEB / "static" / name).read_bytes()
        assert hashlib.sha256(data).hexdigest() == sha256
    assert "Zero-Clause BSD" in (WEB / "static" / "htmx-LICENSE.txt").read_text("utf-8")
