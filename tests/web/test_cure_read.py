"""A temperature read without touching, on the screen of a joint's cure."""

from __future__ import annotations

from html import unescape

from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch
from tests.web.saying import said, send
from tests.web.test_bond_page import ARCH, moment


def test_an_infrared_reading_on_bright_metal_is_kept_without_weight(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    assert moment(moved, "closed")[0] == 303
    watch.go(minutes=20)
    fields = {"along": "200", "value": "24", "with": "bare", "emissivity": "0.95"}
    assert send(moved, "cure/temperature", joint="arch", **fields) == (303, ARCH)
    reading = said(desk, "temperature")[-1]
    assert (reading["with"], reading["on"], reading["emissivity"]) == ("infrared", "bare", 0.95)
    page = unescape(moved.get(ARCH).text)
    assert "no weight" in page
    assert "Stick black tape on the flange" in page


def test_an_emissivity_that_cannot_be_comes_back(moved: TestClient) -> None:
    assert moment(moved, "closed")[0] == 303
    fields = {"along": "200", "value": "50", "with": "tape", "emissivity": "95"}
    status, page = send(moved, "cure/temperature", form="temperature", joint="arch", **fields)
    assert status == 422
    assert "expected a number from 0.02 to 1" in unescape(page)


def test_the_joint_is_drawn_under_its_lamp(moved: TestClient) -> None:
    page = unescape(moved.get(ARCH).text)
    assert "<h2>The joint under the lamp</h2>" in page
    assert "Minute 40: lamp 1 before 310 mm, 450 mm off." in page
    assert "judge gaps and flushes again once the panel is cold" in page


def test_what_is_behind_the_panel_and_how_it_lies_is_kept(moved: TestClient, desk: Desk) -> None:
    fields = {"lamp": "lamp 1", "distance": "450", "from": "0", "to": "40", "surface": "primed"}
    more = {"back": "closed", "gap": "60", "lies": "level"}
    assert send(moved, "cure/lamp", joint="arch", **fields, **more) == (303, ARCH)
    heating = said(desk, "heating")[-1]
    assert (heating["back"], heating["gap"], heating["lies"]) == ("closed", "60 mm", "level")
    assert '<input type="radio" name="back" value="closed" checked' in moved.get(ARCH).text
