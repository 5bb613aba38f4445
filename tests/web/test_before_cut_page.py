"""Fit: what is worth reading while the old part is still on, and what would decide a verdict."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING

from panelwright.facts.file import read
from panelwright.fit.before_cut import before_cut

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from panelwright.web.desk import Desk

OLD_PANEL = (
    """
format = 1
[repair]
name = "old-panel"
[[part]]
id = "outer"
name = "outer panel"
state = "replace"
"""
    + "".join(
        f'[[point]]\nid = "{name}"\nxyz = {xyz}\nu = 0\n'
        for name, xyz in {
            "B1": [2000, 700, 500],
            "B2": [4200, -500, 600],
            "B3": [2200, -300, 1700],
            "B4": [4000, 720, 1600],
        }.items()
    )
    + "".join(
        f'[[point]]\nid = "{name}"\non = "outer"\nxyz = {xyz}\nhome = "before"\ntolerance = 4\n'
        for name, xyz in {
            "P1": [2600, -850, 500],
            "P2": [4100, -850, 550],
            "P3": [3300, -800, 1500],
        }.items()
    )
)


def test_before_cutting_the_page_says_which_readings_are_lost_once_it_is_cut(
    client: TestClient, desk: Desk
) -> None:
    desk.store.import_text(OLD_PANEL, person="Berta")
    planned = before_cut(read(OLD_PANEL))
    assert planned is not None
    assert planned.readings
    page = unescape(client.get("/repairs/old-panel/fit").text)
    assert planned.words in page
    for one in planned.readings:
        assert one.loses in page
    first = unescape(client.get("/repairs/old-panel/fit/take?stage=before").text)
    assert f"{planned.readings[0].from_} to {planned.readings[0].to}, with the tape" in first


def test_an_open_verdict_says_what_would_decide_it(heron: TestClient) -> None:
    page = unescape(heron.get("/repairs/heron-114/fit").text)
    assert "What would decide each open verdict (1)" in page
    assert "L7: near its limit" in page
