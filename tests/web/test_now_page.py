"""The first page: what its instruction says, and the way to where its facts are entered."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from panelwright.plan.library import library
from panelwright.web.desk import Desk
from panelwright.web.page import all_pages
from panelwright.web.step_pages import ROOMS
from tests.web.conftest import Watch, key_of, planned

REPAIR = "/repairs/heron-114"
ALONE = frozenset([
    "identify", "maker-answers", "scan-before", "isolate", "battery-off", "restraints-safe",
    "protect", "release-body", "approval", "dress", "clean-up", "coupons", "fit-under",
    "other-joint", "closing-plates", "foam", "seal", "sealer-skin", "fit-closures", "hold-lead",
    "paint", "cavity-wax", "final-assembly", "re-energise", "restraints-on", "battery-on",
    "leak-test", "scan-after", "calibrate", "road-test",
])  # fmt: skip
"""Steps that are done or signed, and say nothing more."""


def test_every_step_of_the_library_has_its_page_or_needs_none() -> None:
    mapped = {base for _, bases in ROOMS.values() for base in bases.split()}
    steps = {row.id for row in library()}
    assert mapped <= steps
    assert steps - mapped <= ALONE
    assert set(ROOMS) <= {page.key for page in all_pages()}


def test_where_a_panel_is_read_it_says_which_way(heron: TestClient, desk: Desk) -> None:
    planned(desk)
    page = heron.get(REPAIR).text
    fit = heron.get(f"{REPAIR}/fit").text
    first = fit[fit.index("<h1>") : fit.index("</h1>")]
    assert " mm" in first
    assert first in page
    assert f'href="{REPAIR}/fit">Go to Fit' in page
    assert ">Sign</button>" in page


def test_a_step_under_way_takes_its_usual_time(heron: TestClient, desk: Desk) -> None:
    # The readings of 24 November began it; the clock stands at noon of the 25th.
    planned(desk)
    assert "About 43 min." in heron.get(REPAIR).text


def test_a_step_on_one_joint_leads_to_that_joint(heron: TestClient, desk: Desk) -> None:
    planned(desk)
    body = '{"kind": "done", "step": "measure-fit-outer"}'
    key = key_of(heron.get(REPAIR).text)
    said = {"key": key, "kind": "event", "body": body, "then": REPAIR}
    assert heron.post(f"{REPAIR}/say", data=said).status_code == 303
    planned(desk)
    page = heron.get(REPAIR).text
    assert "<h1>Put the question on joint roof rail flange to the maker.</h1>" in page
    assert f'href="{REPAIR}/joint?id=roof-rail">Go to roof rail flange' in page


def test_open_adhesive_comes_before_every_step(heron: TestClient, watch: Watch) -> None:
    for kind in ("prepared", "bead-begun"):
        body = json.dumps({"kind": kind, "joint": "arch"})
        key = key_of(heron.get(f"{REPAIR}/bond").text)
        said = {"key": key, "kind": "event", "body": body, "then": REPAIR}
        assert heron.post(f"{REPAIR}/say", data=said).status_code == 303
    page = heron.get(REPAIR).text
    assert "<h1>Put the panel on and set its rivets.</h1>" in page
    assert f'href="{REPAIR}/bond">Go to Bond' in page
    watch.go(hours=5)
    assert "<h1>Stop: the work time is over.</h1>" in heron.get(REPAIR).text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("panel", "500", "expected -40 °C to 250 °C"),
        ("air", "-60 °C", "expected -40 °C to 250 °C"),
    ],
)
def test_what_no_bay_can_be_is_refused(
    heron: TestClient, field: str, typed: str, words: str
) -> None:
    page = heron.get(f"{REPAIR}/bond").text
    data = {"key": key_of(page), "form-name": "air", "air": "20", "humidity": "50", field: typed}
    answer = heron.post(f"{REPAIR}/bond/air", data=data)
    assert answer.status_code == 422
    assert words in answer.text
    assert f'value="{typed}"' in answer.text
