"""Fit: adjusters, target positions, sister vehicle and tools, entered without a file."""

from __future__ import annotations

from html import unescape
from typing import TYPE_CHECKING

import pytest

from panelwright.fit.answer import Answer as FitAnswer
from panelwright.quantities import Units, show_length
from panelwright.store import Person
from tests.web.saying import NAME, REPAIR, repair, said, send

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from panelwright.web.desk import Desk
    from tests.web.conftest import Watch

ADJUSTERS = f"{REPAIR}/fit/adjusters"
SLOT = {
    "name": "upper bracket",
    "kind": "slot",
    "part": "outer",
    "against": "body",
    "side": "rear top corner",
    "way": "to the right",
    "low": "-4",
    "high": "4",
}


def answered(desk: Desk) -> FitAnswer:
    found = desk.answers.fit(desk.answers.known(NAME))
    assert isinstance(found, FitAnswer)
    return found


def shown(client: TestClient, page: str) -> str:
    answer = client.get(f"{REPAIR}/{page}")
    assert answer.status_code == 200
    return unescape(answer.text)


# ---------------------------------------------------------------- adjusters


def test_an_adjuster_is_added_by_words(heron: TestClient, desk: Desk) -> None:
    before = len(said(desk, "adjuster"))
    assert send(heron, "fit/adjusters", **SLOT) == (303, ADJUSTERS)
    body = said(desk, "adjuster")[-1]
    assert len(said(desk, "adjuster")) == before + 1
    assert body["along"] == (0, 1, 0)
    assert body["range"] == ("-4 mm", "4 mm")
    assert "step" not in body
    known = repair(desk)
    added = known.adjusters[-1]
    own = [point for point in answered(desk).points if known.point_by_id[point.id].on == "outer"]
    assert added.xyz[0].mm >= max(point.xyz_mm[0] for point in own if point.xyz_mm)
    assert added.xyz[2].mm >= max(point.xyz_mm[2] for point in own if point.xyz_mm)
    assert not known.problems
    page = shown(heron, "fit/adjusters")
    assert "Slot or slotted hole at the rear top corner of the left rear outer panel" in page
    assert "takes it to the right, -4.0 mm to 4.0 mm" in page


def test_what_is_added_is_set_by_the_fit(heron: TestClient, desk: Desk) -> None:
    for one in said(desk, "adjuster"):
        assert one["name"]
    items = [str(fact.id) for fact in desk.store.log(NAME).facts if fact.kind == "adjuster"]
    for item in items:
        assert send(heron, "fit/adjusters/away", item=item) == (303, ADJUSTERS)
    assert not answered(desk).reach
    shims = {"name": "arch shims", "kind": "shim", "way": "down", "step": "0.5", "side": ""}
    fields = {**SLOT, **shims, "near": "contact:c1", "low": "0", "high": "6", "at": "4"}
    assert send(heron, "fit/adjusters", **fields)[0] == 303
    part = next(one for one in answered(desk).parts if one.id == "outer")
    assert [setting.name for setting in part.settings] == ["arch shims"]
    assert part.settings[0].from_mm == 4.0
    contact = next(one for one in repair(desk).contacts if one.id == "c1")
    assert repair(desk).adjusters[0].xyz[0].mm == pytest.approx(contact.xyz[0].mm, abs=0.051)


WRONG: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"low": "4", "high": "-4"}, "low", "The least is more than the most"),
    ({"at": "9"}, "at", "It stands outside its range"),
    ({"step": "20"}, "step", "A step as large as this"),
    ({"kind": "shim"}, "step", "How thick is one shim?"),
    ({"step": "0"}, "step", "more than zero"),
    ({"low": "wide"}, "low", "wide"),
    ({"side": ""}, "side", "Choose a side of the part"),
    ({"near": "point:L5"}, "near", "not both"),
    ({"against": "outer"}, "against", "cannot stand on itself"),
    ({"name": ""}, "name", "Say what you call it"),
    ({"name": "shims on the side-wall flange"}, "name", "Another one is called that"),
    ({"way": "sideways"}, "way", "is not one of the choices"),
)


def test_a_wrong_adjuster_comes_back_with_the_field_named(heron: TestClient, desk: Desk) -> None:
    before = said(desk, "adjuster")
    for wrong, field, words in WRONG:
        status, page = send(heron, "fit/adjusters", **{**SLOT, **wrong})
        assert status == 422, wrong
        page = unescape(page)
        new = page.index('id="new-adjuster"')
        assert page.index(words) > new, "said at the form that was sent"
        assert f'id="{field}-problem"' in page
        kept = {**SLOT, **wrong}["high"]
        assert f'value="{kept}"' in page[new:]
    assert said(desk, "adjuster") == before


def test_two_adjusters_are_not_in_one_place_and_way(heron: TestClient) -> None:
    assert send(heron, "fit/adjusters", **SLOT)[0] == 303
    status, page = send(heron, "fit/adjusters", **{**SLOT, "name": "the same again"})
    assert status == 422
    assert "upper bracket is at this place and goes this way already." in page


def test_a_corrected_adjuster_keeps_place_way_and_name_of_old(
    heron: TestClient, desk: Desk
) -> None:
    old = repair(desk).adjusters[1]
    fact = [one for one in desk.store.log(NAME).facts if one.kind == "adjuster"][1]
    stays = {"side": "as it is", "way": "as it is", "kind": "shim", "part": "outer"}
    fields = {"item": str(fact.id), "name": "side-wall shims", "against": "body", **stays}
    ends = {"low": "-3", "high": "4.5", "step": "0.5", "at": "1"}
    assert send(heron, "fit/adjusters", **fields, **ends) == (303, ADJUSTERS)
    new = repair(desk).adjusters[-1]
    assert (new.xyz, new.along, new.range[0]) == (old.xyz, old.along, old.range[0])
    assert (new.range[1].mm, new.at.mm, new.name) == (4.5, 1.0, "side-wall shims")
    assert new.is_called(old.label)
    assert len(repair(desk).adjusters) == 2
    assert send(heron, "fit/adjusters", **fields, **ends)[0] == 422  # it is not there any more


# ---------------------------------------------------------------- target positions

HOMES = f"{REPAIR}/fit/homes"


def test_a_target_position_has_several_sources(heron: TestClient, desk: Desk, watch: Watch) -> None:
    page = shown(heron, "fit/homes")
    assert "mirror image of the other side" in page
    fields = {"point": "L5", "tolerance": "3", "from-twin": "yes", "from-sister": "yes"}
    assert send(heron, "fit/homes", **fields) == (303, HOMES)
    point = repair(desk).point_by_id["L5"]
    assert point.homes == ("twin", "sister")
    assert not [problem for problem in repair(desk).problems if problem.hard]
    fields.pop("from-sister")
    watch.go(minutes=1)
    assert send(heron, "fit/homes", **fields)[0] == 303
    assert repair(desk).point_by_id["L5"].home == "twin"


WRONG_HOMES: tuple[tuple[dict[str, str], str], ...] = (
    ({"tolerance": "2.5"}, "Choose at least one"),
    ({"from-twin": "yes", "tolerance": "2.5 s"}, "2.5 s"),
    ({"from-twin": "yes", "tolerance": "0"}, "more than zero"),
    ({"from-twin": "yes", "tolerance": ""}, "Say by how much it may be off"),
    ({"from-xyz": "yes", "from-twin": "yes", "tolerance": "2.5"}, "not there any more"),
)


def test_a_wrong_target_position_comes_back(heron: TestClient, desk: Desk) -> None:
    before = said(desk, "point")
    for fields, words in WRONG_HOMES:
        status, page = send(heron, "fit/homes", point="L5", **fields)
        assert status == 422
        assert words in unescape(page)
        assert f'value="{fields["tolerance"]}"' in page
    assert said(desk, "point") == before


def test_a_home_that_is_not_there_cannot_be_chosen(heron: TestClient) -> None:
    page = shown(heron, "fit/homes")
    assert "Not to choose: dimension sheet (no coordinates of a sheet are known); old" in page
    assert send(heron, "fit/homes", point="nowhere", tolerance="1")[0] == 422


# ---------------------------------------------------------------- sister vehicle

SISTER = f"{REPAIR}/fit/sister"


def test_sources_that_do_not_agree_are_named_and_chosen_between(
    heron: TestClient, desk: Desk
) -> None:
    place = next(one for one in answered(desk).points if one.id == "L5").xyz_mm
    assert place is not None
    rows = f"point,x,y,z,u\nL5,{place[0]:.1f},{place[1]:.1f},{place[2] + 60:.1f},0.5 mm\n"
    assert send(heron, "fit/sister", rows=rows) == (303, SISTER)
    assert said(desk, "sister")[-1]["point"] == "L5"
    page = shown(heron, "fit/sister")
    assert f"{-place[1]:.1f} mm to the left, {place[2] + 60:.1f} mm up" in page
    fields = {"point": "L5", "tolerance": "3", "from-twin": "yes", "from-sister": "yes"}
    assert send(heron, "fit/homes", **fields)[0] == 303
    page = shown(heron, "fit/homes")
    assert "Two sources do not agree: L5." in page
    assert page.index("L5") < page.index("do not agree</span>") < page.index('id="home-2"')
    assert 'href="/repairs/heron-114/fit/homes"' in shown(heron, "fit")
    item = [str(fact.id) for fact in desk.store.log(NAME).facts if fact.kind == "sister"][-1]
    assert send(heron, "fit/sister/away", item=item) == (303, SISTER)
    assert not repair(desk).sisters


WRONG_ROWS = (
    ("", "Paste a table or choose a file."),
    ("point,x,y\nL5,1,2\n", "Row 2:"),
    ("nobody,1,2,3\n", "point 'nobody' is not there"),
    ("L5,1,2,high\n", "z: "),
    ("L5,1,2,3\nL5,1,2,3\n", "has coordinates already"),
    ("point,x,y,z,u\nL5,1,2,3,-1\n", "not less than zero"),
    ("L5,1,2,3,4\n", "5 cells, and there are 4 columns"),
)


def test_wrong_coordinates_come_back(heron: TestClient, desk: Desk) -> None:
    for rows, words in WRONG_ROWS:
        status, page = send(heron, "fit/sister", rows=rows)
        assert status == 422
        assert words in unescape(page)
        assert rows.strip() in unescape(page)
    assert not said(desk, "sister")


def test_a_span_is_read_on_the_sister_vehicle(heron: TestClient, desk: Desk) -> None:
    fields = {"point": "L5", "tolerance": "3", "from-twin": "yes", "from-sister": "yes"}
    assert "Sister vehicle</a>" not in shown(heron, "fit/read?of=span:L5:R2").split("<nav")[-1]
    none = shown(heron, "fit/take?stage=sister&at=end")
    assert "No point takes its target position from a sister vehicle yet." in none
    assert send(heron, "fit/homes", **fields)[0] == 303
    page = shown(heron, "fit/take?stage=sister&at=end")
    assert "4 readings are left to take." in page
    assert "the part goes where it is there" in page
    given = {"of": "span:L5:R2", "stage": "sister", "mode": "one", "with": "tape"}
    assert send(heron, "fit/reading", value="2436", **given)[0] == 303
    assert said(desk, "reading")[-1] == {
        "from": "L5",
        "to": "R2",
        "value": "2436 mm",
        "with": "tape",
        "when": "sister",
    }
    assert "Sister vehicle" in shown(heron, "fit/readings")
    again = len(repair(desk).readings) - 1
    assert "stage=sister" in heron.get(f"{REPAIR}/fit/read?again={again}").headers["location"]
    assert "1 reading on it" in shown(heron, "fit/sister")


def test_gaps_are_not_read_on_a_sister_vehicle(heron: TestClient, desk: Desk) -> None:
    given = {"of": "contact:c1", "stage": "sister", "mode": "one", "state": "seated"}
    assert send(heron, "fit/reading", **given)[0] == 303
    assert "when" not in said(desk, "reading")[-1]


def test_rows_say_that_they_are_of_the_sister_vehicle(heron: TestClient, desk: Desk) -> None:
    rows = "from,to,value,when\nL5,R2,2436,sister\n"
    assert send(heron, "fit/rows", rows=rows, stage="1")[0] == 303
    assert said(desk, "reading")[-1]["when"] == "sister"
    status, page = send(heron, "fit/rows", rows=rows, stage="1")
    assert status == 422
    assert "there already" in page


# ---------------------------------------------------------------- tools

TOOLS = f"{REPAIR}/fit/tools"


def test_a_level_counts_once_it_is_said_what_the_vehicle_stands_on(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    given = {"of": "height:L5", "stage": "1", "mode": "one", "with": "level"}
    assert send(heron, "fit/reading", height="1600", **given)[0] == 303
    assert any("bays slope" in problem.what for problem in answered(desk).problems)
    for page in ("fit", "fit/readings"):
        told = shown(heron, page)
        assert "Say what the vehicle stands on: page Fit, Tools" in told
        assert "[[tool]]" not in told
    assert send(heron, "fit/tools", tool="level", floor="sloping") == (303, TOOLS)
    assert said(desk, "tool")[-1] == {"id": "level", "floor": "sloping"}
    assert not any("bays slope" in problem.what for problem in answered(desk).problems)
    watch.go(minutes=1)
    assert send(heron, "fit/tools", tool="level", floor="-")[0] == 303
    assert "floor" not in said(desk, "tool")[-1]


def test_a_tape_says_its_class_and_hook(heron: TestClient, desk: Desk) -> None:
    fields = {"tool": "tape", "class": "II", "hook": "hook"}
    assert send(heron, "fit/tools", **fields) == (303, TOOLS)
    assert said(desk, "tool")[-1] == {"id": "tape", "class": "II", "hook": True}
    status, page = send(heron, "fit/tools", tool="tape", hook="hook", **{"class": "-"})
    assert status == 422
    assert "choose the class, too" in page


def test_a_wrong_tool_comes_back(heron: TestClient, desk: Desk) -> None:
    before = said(desk, "tool")
    for tool, floor in (("level", ""), ("level", "soft"), ("laser", "level"), ("tape", "level")):
        status, page = send(heron, "fit/tools", tool=tool, floor=floor)
        assert status == 422
        assert "<h1>" in page
    assert said(desk, "tool") == before


def test_one_tap_takes_over_what_repeats_say(heron: TestClient, desk: Desk) -> None:
    given = {"of": "span:R1:R2", "stage": "1", "mode": "one", "with": "tape"}
    assert "Take over" not in shown(heron, "fit/tools")
    for value in ("2604", "2600", "2608", "2597", "2606"):
        assert send(heron, "fit/reading", value=value, sure="yes", **given)[0] == 303
    learnt = next(one for one in answered(desk).learnt if one.id == "tape")
    assert learnt.proposal
    assert "How well you read with the tape shows in your repeats" in shown(heron, "fit")
    page = shown(heron, "fit/tools")
    assert f"Take over ± {show_length(learnt.u_mm, Units.MM, 0.1)}" in page
    assert send(heron, "fit/tools", tool="tape", do="take-over") == (303, TOOLS)
    body = said(desk, "tool")[-1]
    assert body["u"] == dict(learnt.proposal)["u"]
    assert isinstance(body.get("scale_u", 0.0), float)
    assert send(heron, "fit/tools", tool="gauge", do="take-over")[0] == 422


# ---------------------------------------------------------------- fields


def test_a_small_correction_is_not_taken_for_rounding(client: TestClient, desk: Desk) -> None:
    fields = {"name": NAME, "zone": "van-rear-corner", "side": "left", "drive": "battery"}
    key = client.get("/start").text.split('name="key" value="')[1].split('"')[0]
    assert client.post("/start", data={"key": key, **fields}).status_code == 303
    desk.store.remember(Person("Anna", units=Units.MM))
    first = next(
        fact
        for fact in desk.answers.known(NAME).folded.facts
        if fact.kind == "locator" and fact.body.get("assumed")
    )
    before = first.body.get("clearance")
    assert before is not None
    fields = {"item": str(first.id), "clearance": "0.4"}
    assert send(client, "fit/confirm", **fields)[0] == 303
    assert said(desk, "locator")[-1]["clearance"] == "0.4 mm"
