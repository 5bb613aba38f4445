"""Where to put the lamp, on the screen of a joint's cure."""

from __future__ import annotations

from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import key_of

CURE = "/repairs/heron-114/cure?id=arch"


def shown(client: TestClient, desk: Desk) -> str:
    """The page once the places are compared."""
    client.get(CURE)
    assert desk.work.idle(120.0)
    return client.get(CURE).text


def test_the_page_says_where_the_lamp_stands_and_what_that_brings(
    heron: TestClient, desk: Desk
) -> None:
    assert "Several hundred places are being compared." in heron.get(CURE).text
    page = shown(heron, desk)
    assert "% sooner than with the lamp fixed before the middle." in page
    assert "1. lamp before " in page
    assert "judge gaps and flushes again once the panel is cold" in page
    assert "high-voltage battery and its cooling (stands 50 °C)" in page


def test_a_tap_plans_it_and_the_joint_holds_sooner(heron: TestClient, desk: Desk) -> None:
    page = shown(heron, desk)
    before = desk.answers.bond(desk.answers.known("heron-114"))
    sent = {"key": key_of(page), "joint": "arch"}
    answer = heron.post("/repairs/heron-114/cure/place", data=sent)
    assert answer.status_code == 303
    known = desk.answers.known("heron-114")
    placed = [one for one in known.repair.heatings if one.joint == "arch"]
    assert len(placed) >= 2
    assert {one.surface for one in placed} == {"primed"}
    after = desk.answers.bond(known)
    times = [
        next(one for one in found.joints if one.joint == "arch").handle_min.late  # type: ignore[union-attr]
        for found in (before, after)
    ]
    assert times[1] < 0.6 * times[0]


def test_a_tap_before_it_is_worked_out_changes_nothing(heron: TestClient, desk: Desk) -> None:
    sent = {"key": key_of(heron.get("/repairs/heron-114/log").text), "joint": "arch"}
    desk.work.close()
    answer = heron.post("/repairs/heron-114/cure/place", data=sent)
    assert answer.status_code == 422
    assert "worked out anew" in answer.text
