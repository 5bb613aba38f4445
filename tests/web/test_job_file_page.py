"""Job file: made as long work, downloaded, the same for the same address; what is not signed."""

from __future__ import annotations

import hashlib
from html import unescape
from urllib.parse import urlsplit

import pytest
from starlette.testclient import TestClient

from panelwright.plan.answer import PlanAnswer
from panelwright.web.desk import Desk
from panelwright.web.job_file_view import at_head
from tests.web.conftest import Watch, planned
from tests.web.saying import NAME, REPAIR, send, tap
from tests.web.test_findings_page import waited

FILE = f"{REPAIR}/job-file"


def wished(client: TestClient, query: str) -> str:
    """The address of the job file of now."""
    answer = client.get(f"{FILE}?{query}")
    assert answer.status_code == 303
    return answer.headers["location"]


def test_the_page_asks_for_nothing_but_the_paper(moved: TestClient, desk: Desk) -> None:
    planned(desk)
    page = unescape(moved.get(FILE).text)
    assert "signed, then make the job file.</h1>" in page
    assert "<progress" not in page
    assert "Supplement for the office" not in page


def test_it_is_made_aside_and_downloaded(moved: TestClient, desk: Desk) -> None:
    address = wished(moved, "paper=letter")
    first = unescape(moved.get(address).text)
    assert "One moment: the job file is being made." in first or "is ready" in first
    page = waited(moved, desk, address, "The job file is ready")
    assert "Letter" in page
    href = unescape(page).split('class="big main whole" href="', 1)[1].split('"', 1)[0]
    answer = moved.get(href)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    digest = hashlib.sha256(answer.content).hexdigest()
    assert f'filename="{NAME}-{digest[:8]}.pdf"' in answer.headers["content-disposition"]
    assert digest in page
    assert answer.content.startswith(b"%PDF-")
    assert desk.store.log(NAME).head in page


def test_before_it_is_made_the_download_leads_to_the_page_that_waits(
    moved: TestClient,
) -> None:
    address = wished(moved, "paper=a4")
    pdf = f"{FILE}/pdf?{urlsplit(address).query}"
    answer = moved.get(pdf)
    assert answer.status_code in {200, 303}
    assert answer.status_code == 200 or answer.headers["location"] == address


def test_an_address_stands_for_one_state_of_the_log(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    address = wished(moved, "paper=a4")
    pdf = f"{FILE}/pdf?{urlsplit(address).query}"
    waited(moved, desk, address, "The job file is ready")
    before = moved.get(pdf).content
    watch.go(minutes=20)
    assert tap(moved, "event", '{"kind": "released", "joint": "seam"}', FILE) == 303
    page = moved.get(address).text
    assert "Facts have come since" in page
    assert moved.get(pdf).content == before
    assert wished(moved, "paper=a4") != address


def test_a_state_of_the_log_is_found_by_its_hash(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    before = desk.answers.known(NAME)
    watch.go(minutes=1)
    assert tap(moved, "event", '{"kind": "released", "joint": "seam"}', FILE) == 303
    after = desk.answers.known(NAME)
    found = at_head(after, before.log.head)
    assert found is not None
    assert found.repair == before.repair != after.repair
    assert at_head(after, after.log.head) is after
    assert at_head(after, before.log.head[:4]) is None


def test_the_supplement_compares_with_the_log_before_the_latest_finding(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=2)
    fields = {"part": "wheelhouse", "state": "replace", "what": "folded", "after": "outer"}
    assert send(moved, "part/finding", **fields)[0] == 303
    assert "left wheelhouse outer: folded" in moved.get(FILE).text
    plain = waited(moved, desk, wished(moved, "paper=a4"), "The job file is ready")
    with_it = waited(moved, desk, wished(moved, "supplement=yes"), "The job file is ready")
    pages = [
        int(page.split("<dt>Pages</dt><dd>", 1)[1].split("<", 1)[0]) for page in (plain, with_it)
    ]
    assert pages[1] > pages[0]
    assert "with it" in with_it


def test_a_hold_point_that_is_done_without_a_name_is_signed_by_tap(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    planned(desk)
    page = unescape(moved.get(FILE).text)
    assert "to sign</span> " in page
    assert "done, nobody signed" not in page
    plan = desk.answers.plan(desk.answers.known(NAME)).answer
    assert isinstance(plan, PlanAnswer)
    step = next(one.id for one in plan.steps if one.hold and not one.done)
    for by in (', "by": null', ""):
        watch.go(minutes=1)
        body = f'{{"kind": "done", "step": "{step}"{by}}}'
        assert tap(moved, "event", body, FILE) == 303
        planned(desk)
        page = moved.get(FILE).text
        assert ("done, nobody signed" in page) is bool(by)
        assert (f'id="sign-{step}"' in page) is bool(by)


@pytest.mark.parametrize(
    "query",
    [
        "paper=a3",
        "head=0000000000000000&at=2026-11-25T12:00:00Z",
        "head=abc&at=2026-11-25T12:00:00Z",
        "head=0000000000000000&at=noon",
        "head=0000000000000000&at=2026-11-25T12:00:00Z&paper=a3",
    ],
)
def test_an_address_that_names_no_job_file_is_not_found(moved: TestClient, query: str) -> None:
    assert moved.get(f"{FILE}?{query}").status_code == 404
    assert moved.get(f"{FILE}/pdf?{query}").status_code == 404
    assert moved.get("/repairs/no-such/job-file").status_code == 404


def test_a_repair_that_answers_nothing_has_a_job_file_that_says_so(
    client: TestClient, desk: Desk
) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n', person="Berta")
    page = waited(client, desk, wished(client, "paper=a4"), "The job file is ready")
    assert "nobody yet" in page
