"""Quiet: pads, their cutting layout as a drawing, how they are laid, the tap test."""

from __future__ import annotations

from html import unescape
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from panelwright.quantities import Units
from panelwright.quiet.answer import Placement
from panelwright.web.desk import Desk
from panelwright.web.quiet_view import layout
from tests.web.saying import NAME, REPAIR, repair, said, send

QUIET = f"{REPAIR}/quiet"
PAD = {"part": "outer", "label": "extra pad", "width": "300", "height": "200"}


def test_the_first_line_says_what_to_cut(heron: TestClient) -> None:
    page = unescape(heron.get(QUIET).text)
    assert "<h1>Cut 3 pads from 2 sheets, warm them, roll them down" in page
    assert "1 sheet still to get." in page
    assert "Hot pads and hot-air guns burn skin" in page
    assert "Tap test against the other side when cold" in page
    assert "a quarter turn" in page


def test_each_sheet_is_drawn_with_its_pads(heron: TestClient) -> None:
    page = heron.get(QUIET).text
    assert page.count("<polygon") == 3
    assert 'id="cut-1"' in page
    assert 'id="cut-2"' in page


def test_the_layout_keeps_pads_inside_the_sheet_with_its_corner_below() -> None:
    put = Placement(1, "s", "p", 10.0, 20.0, False, ((10.0, 20.0), (110.0, 20.0), (110.0, 80.0)))
    root = ET.fromstring(layout((500.0, 300.0), [put], Units.MM))  # noqa: S314 - made here
    polygon = next(one for one in root.iter() if one.tag.endswith("polygon"))
    corners = [tuple(map(float, pair.split(","))) for pair in polygon.attrib["points"].split()]
    assert corners == [(10.0, 280.0), (110.0, 280.0), (110.0, 220.0)]
    assert "500.0 mm" in [one.text for one in root.iter()]


def test_a_name_with_signs_of_markup_stays_a_name() -> None:
    put = Placement(1, "s", "<b>&", 0.0, 0.0, True, ((0.0, 0.0), (90.0, 0.0), (90.0, 50.0)))
    root = ET.fromstring(layout((500.0, 300.0), [put], Units.MM))  # noqa: S314 - made here
    assert "<b>& ↻" in [one.text for one in root.iter()]


def test_a_pad_is_added_by_width_and_height_and_the_cutting_follows(
    heron: TestClient, desk: Desk
) -> None:
    sheet = {"thickness": "2", "mass": "3.6", "sheet_width": "1000", "sheet_height": "500"}
    assert send(heron, "quiet/pad", **PAD, **sheet) == (303, QUIET)
    pad = said(desk, "pad")[-1]
    assert list(map(tuple, pad["outline"])) == [(0, 0), (300, 0), (300, 200), (0, 200)]  # type: ignore[call-overload]
    page = heron.get(QUIET).text
    assert "Cut 4 pads" in page
    assert page.count("<polygon") == 4


def test_a_pad_in_inches_is_as_large(heron: TestClient, desk: Desk) -> None:
    form = {"name": "Anna", "units": "in", "theme": "system", "then": "/"}
    assert heron.post("/people", data=form).status_code == 303
    assert send(heron, "quiet/pad", **{**PAD, "width": "12 1/2", "height": "4"}) == (303, QUIET)
    corner = repair(desk).pads[-1].outline[2]
    assert (corner[0].mm, corner[1].mm) == pytest.approx((317.5, 101.6))


def test_a_pad_is_taken_out_again(heron: TestClient, desk: Desk) -> None:
    assert send(heron, "quiet/pad", **PAD)[0] == 303
    fact = str(desk.store.log(NAME).facts[-1].id)
    assert send(heron, "quiet/remove", fact=fact) == (303, QUIET)
    assert len(repair(desk).pads) == 3
    assert send(heron, "quiet/remove", fact=fact)[0] == 422


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"part": ""}, "Choose the panel."),
        ({"width": ""}, "Measure the old pad’s width."),
        ({"width": "0"}, "0 mm is no pad."),
        ({"height": "tall"}, 'value="tall"'),
        ({"sheet_width": "1000"}, "Give both sides."),
        ({"mass": "heavy"}, "'heavy': expected a number"),
    ],
)
def test_a_pad_that_cannot_be_comes_back(
    heron: TestClient, desk: Desk, fields: dict[str, str], words: str
) -> None:
    status, page = send(heron, "quiet/pad", form="pad", **{**PAD, **fields})
    assert status == 422
    assert words in unescape(page)
    assert 'value="extra pad"' in page
    assert len(repair(desk).pads) == 3


def test_a_repair_without_pads_says_what_to_do(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n[[part]]\nid = "wing"\n', person="Berta")
    page = client.get(QUIET).text
    assert "<h1>Trace the old sound pads.</h1>" in page
    assert client.get("/repairs/no-such/quiet").status_code == 404
