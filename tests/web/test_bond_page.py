"""Bond and cure: a tap for each moment, clocks, air and panel, temperatures, lamp, chart."""

from __future__ import annotations

from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch
from tests.web.saying import NAME, REPAIR, repair, said, send
from tests.web.test_findings_page import waited

BOND = f"{REPAIR}/bond"
ARCH = f"{REPAIR}/cure?id=arch"
ABLE = ("seam", "arch", "corner-post", "sill-flange", "lamp-pocket")
"""Joints that the outer panel closes and that the maker need not be asked about."""


def moment(client: TestClient, kind: str, **fields: str) -> tuple[int, str]:
    return send(client, "bond/moment", kind=kind, **(fields or {"panel": "outer"}))


def test_the_first_line_says_what_is_next(moved: TestClient) -> None:
    page = unescape(moved.get(BOND).text)
    assert "<h1>Prepare the surfaces of" in page
    assert "Bond only while the panel reads 9.8 °C or more." in page
    assert "Dew point 7 °C" in page


def test_one_tap_says_a_moment_of_every_joint_of_a_panel_but_not_where_the_maker_is_asked(
    moved: TestClient, desk: Desk
) -> None:
    assert moment(moved, "bead-begun") == (303, BOND)
    events = [event for event in said(desk, "event") if event["kind"] == "bead-begun"]
    assert tuple(event["joint"] for event in events) == ABLE
    page = unescape(moved.get(BOND).text)
    assert "A tap here leaves it out" in page
    assert "Close left rear outer panel once" in page
    assert "Panel on and last rivet of 5 joints by" in page


def test_a_tap_moves_the_clocks_and_the_next_tap_follows(moved: TestClient, watch: Watch) -> None:
    assert moment(moved, "bead-begun")[0] == 303
    watch.go(minutes=12)
    assert moment(moved, "closed")[0] == 303
    page = unescape(moved.get(BOND).text)
    assert "Leave 5 joints clamped until" in page
    assert ">Rivets set</button>" in page
    watch.go(minutes=20)
    assert moment(moved, "rivets-set")[0] == 303
    page = unescape(moved.get(BOND).text)
    assert "Panel on and last rivet" not in page
    assert ">Released</button>" in page


def test_a_tap_sent_twice_says_it_once(moved: TestClient, desk: Desk) -> None:
    key = f"{0x19A:012x}{'ab' * 10}"
    for _ in range(2):
        assert send(moved, "bond/moment", key=key, kind="closed", panel="outer")[0] == 303
    assert len([e for e in said(desk, "event") if e["kind"] == "closed"]) == len(ABLE)


def test_the_last_tap_is_taken_back_whole(moved: TestClient, desk: Desk, watch: Watch) -> None:
    assert moment(moved, "bead-begun")[0] == 303
    watch.go(minutes=1)
    assert moment(moved, "closed")[0] == 303
    page = moved.get(BOND).text
    facts = page.split('name="facts" value="', 1)[1].split('"', 1)[0]
    assert "Take back: Panel on, 13:01" in page
    assert send(moved, "bond/undo", facts=facts) == (303, BOND)
    assert len(said(desk, "withdrawn")) == len(ABLE)
    assert "Close left rear outer panel once" in moved.get(BOND).text
    status, page = send(moved, "bond/undo", facts=facts)
    assert status == 422
    assert "There is nothing to take back" in page
    assert send(moved, "bond/undo", facts="")[0] == 422


def test_what_happened_earlier_on_one_joint_is_said_with_its_time(
    moved: TestClient, desk: Desk
) -> None:
    fields = {"joint": "roof-rail", "at": "2026-11-25T12:40"}
    assert moment(moved, "closed", **fields) == (303, BOND)
    event = repair(desk).events[-1]
    assert (event.joint, event.at and event.at.isoformat()) == (
        "roof-rail",
        "2026-11-25T12:40:00+01:00",
    )


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"joint": ""}, "Choose the joint."),
        ({"joint": "arch", "at": "noon"}, "'noon' is no date and time"),
        ({"joint": "arch", "at": "2026-11-26T08:00"}, "This is still to come"),
        ({"joint": "hinge"}, "'hinge' is not one of the choices here."),
    ],
)
def test_a_moment_that_does_not_fit_comes_back(
    moved: TestClient, desk: Desk, fields: dict[str, str], words: str
) -> None:
    before = len(said(desk, "event"))
    status, page = moment(moved, "closed", form="late", **fields)
    assert status == 422
    assert words in unescape(page)
    assert len(said(desk, "event")) == before


def test_air_and_panel_are_read_and_damp_air_stops_the_bonding(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    fields = {"air": "19", "humidity": "70", "panel": "12"}
    assert send(moved, "bond/air", **fields) == (303, BOND)
    assert said(desk, "conditions")[-1] == {"air": "19 °C", "humidity": 70, "panel": "12 °C"}
    page = unescape(moved.get(BOND).text)
    assert 'class="say bad"' in page
    assert "Do not bond: the panel at 12 °C is below" in page


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"air": "", "humidity": "45"}, "Read the air’s temperature."),
        ({"air": "19", "humidity": "450"}, "'450': expected a number from 0 to 100."),
        ({"air": "warm", "humidity": "45"}, "expected a temperature with unit"),
    ],
)
def test_air_that_cannot_be_comes_back_with_its_value(
    moved: TestClient, fields: dict[str, str], words: str
) -> None:
    status, page = send(moved, "bond/air", form="air", **fields)
    assert status == 422
    assert words in unescape(page)
    assert f'value="{fields["humidity"]}"' in page


def test_a_temperature_counts_from_when_the_panel_was_on(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    status, page = send(moved, "cure/temperature", joint="arch", along="0", value="40")
    assert status == 422
    assert "Tap “Panel on” first" in page
    assert moment(moved, "closed")[0] == 303
    assert moment(moved, "lamp-on", joint="arch", from_="cure") == (303, ARCH)
    likely = desk.answers.bond(desk.answers.known(NAME)).joints[1].handle_min  # type: ignore[union-attr]
    watch.go(minutes=15, seconds=30)
    fields = {"along": "200", "value": "48"}
    assert send(moved, "cure/temperature", joint="arch", **fields) == (303, ARCH)
    reading = said(desk, "temperature")[-1]
    assert reading == {"joint": "arch", "along": "200 mm", "minute": 15.5, "value": "48 °C"}
    page = moved.get(ARCH).text
    assert "<td>16</td>" in page
    assert "48 °C" in page
    answer = desk.answers.bond(desk.answers.known(NAME))
    assert answer.joints[1].handle_min != likely  # type: ignore[union-attr]


def test_a_temperature_that_is_none_comes_back(moved: TestClient) -> None:
    assert moment(moved, "closed")[0] == 303
    fields = {"along": "", "value": "hot"}
    status, page = send(moved, "cure/temperature", form="temperature", joint="arch", **fields)
    assert status == 422
    assert 'value="hot"' in page
    assert "How far from the joint’s start?" in page


def test_lamp_on_and_off_follow_each_other(moved: TestClient, watch: Watch) -> None:
    assert ">Lamp on</button>" not in moved.get(ARCH).text
    assert moment(moved, "closed")[0] == 303
    assert ">Lamp on</button>" in moved.get(ARCH).text
    assert moment(moved, "lamp-on", joint="arch", from_="cure") == (303, ARCH)
    watch.go(minutes=30)
    page = moved.get(ARCH).text
    assert ">Lamp off</button>" in page
    assert "Lamp at wheel arch flange off at" in page
    assert moment(moved, "lamp-off", joint="arch", from_="cure") == (303, ARCH)
    assert ">Lamp off</button>" not in moved.get(ARCH).text


def test_the_lamp_is_planned_anew_in_place_of_the_old_plan(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    fields = {"lamp": "lamp 1", "distance": "600", "from": "5", "to": "65", "surface": "painted"}
    assert send(moved, "cure/lamp", joint="arch", **fields) == (303, ARCH)
    heating = [one for one in repair(desk).heatings if one.joint == "arch"]
    assert len(heating) == 1
    assert heating[0].distance.mm == 600
    assert (heating[0].stays[0].from_.minutes, heating[0].stays[0].to.minutes) == (5, 65)
    assert len([lamp for lamp in repair(desk).lamps if lamp.id == "lamp 1"]) == 1
    status, page = send(moved, "cure/lamp", form="lamp", joint="arch", **{**fields, "to": "3"})
    assert status == 422
    assert "The lamp would be off before it is on." in page


def test_the_chart_is_drawn_aside_and_arrives(moved: TestClient, desk: Desk) -> None:
    assert "The chart is being drawn." in moved.get(ARCH).text
    page = waited(moved, desk, ARCH, "Open large")
    assert "<svg" in page
    assert "The chart is being drawn." not in page
    assert "style=" not in page.split("<svg", 1)[1]


def test_a_joint_that_is_not_bonded_says_so_and_one_that_is_not_there_is_not_found(
    moved: TestClient,
) -> None:
    assert "nothing to time" in moved.get(f"{REPAIR}/cure?id=bumper-bolts").text
    assert moved.get(f"{REPAIR}/cure?id=hinge").status_code == 404
    assert send(moved, "cure/temperature", joint="hinge")[0] == 404
    assert send(moved, "cure/lamp", joint="hinge")[0] == 404
    assert moved.get("/repairs/no-such/bond").status_code == 404


def test_an_adhesive_is_entered_by_its_data_sheet(client: TestClient, desk: Desk) -> None:
    text = (
        f'[repair]\nname = "{NAME}"\n[[part]]\nid = "a"\nstate = "replace"\n[[part]]\nid = "b"\n'
        '[[joint]]\nid = "j"\nlayers = ["a", "b"]\nlength = "500 mm"\nflange = "20 mm"\n'
        '[conditions]\nair = "20 °C"\nhumidity = 45\n'
    )
    desk.store.import_text(text, person="Berta")
    assert "None named" in client.get(BOND).text
    times = {
        "work_time": "60", "work_at": "23", "handle_time": "360", "handle_at": "23",
        "full_time": "1440", "full_at": "23",
    }  # fmt: skip
    fields = {"adhesive": "A-1", "kind": "two-part epoxy", "cartridge": "200", "limit": "80"}
    assert send(client, "bond/adhesive", **fields, **times) == (303, BOND)
    glue = repair(desk).adhesives[0]
    assert glue.cartridge is not None
    assert (glue.id, glue.cartridge.ml, len(glue.time)) == ("A-1", 200, 3)
    assert "1 h" in client.get(BOND).text.split("When it holds", 1)[1]


def test_a_time_without_its_temperature_is_asked_for(moved: TestClient) -> None:
    fields = {"adhesive": "A-1", "work_time": "60", "work_at": ""}
    status, page = send(moved, "bond/adhesive", form="adhesive", **fields)
    assert status == 422
    assert "At which temperature? A time counts only with it." in page
    assert 'value="60"' in page


def test_the_sheets_own_limits_are_entered_and_judged(moved: TestClient, desk: Desk) -> None:
    fields = {"adhesive": "HA-20", "apply_low": "20", "apply_high": "30", "most_humidity": "40"}
    assert send(moved, "bond/adhesive", **fields) == (303, BOND)
    glue = repair(desk).adhesive_by_id["HA-20"]
    assert glue.apply is not None
    assert [end.celsius for end in glue.apply] == [20, 30]
    page = moved.get(BOND).text.split('id="limits"', 1)[1].split("</ul>", 1)[0]
    assert "20 to 30 °C" in page
    assert "at most 40 %" in page
    assert "Warm the panel." in page


def test_one_end_of_a_range_is_not_taken(moved: TestClient) -> None:
    fields = {"adhesive": "HA-20", "apply_low": "20", "apply_high": ""}
    status, page = send(moved, "bond/adhesive", form="adhesive", **fields)
    assert status == 422
    assert "Give both ends, or none." in page


def test_a_repair_without_joints_says_what_is_missing(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n[[part]]\nid = "wing"\n', person="Berta")
    page = client.get(BOND).text
    assert "When it holds cannot be said yet." in page
    assert "This cannot be answered yet." in page


def test_one_more_time_of_the_data_sheet_joins_the_others(
    client: TestClient, desk: Desk, watch: Watch
) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n', person="Berta")
    sheet = {"work_time": "60", "work_at": "23", "handle_time": "600", "handle_at": "23"}
    send(client, "bond/adhesive", adhesive="A-1", **sheet)
    for minutes, at, event in (("300", "40", "handle"), ("55", "23.2", "work")):
        watch.go(minutes=1)
        told = {"event": event, "time": minutes, "at": at, "strength": "1"}
        assert send(client, "bond/figure", of="A-1", **told) == (303, BOND)
    rows = repair(desk).adhesives[0].time
    found = {(row.event, row.at.celsius, row.time.minutes) for row in rows}
    assert found == {("handle", 23.0, 600.0), ("handle", 40.0, 300.0), ("work", 23.2, 55.0)}
    page = client.get(BOND).text
    assert "handling strength after 5 h at 40 °C, 1.0 MPa by then" in page
    watch.go(minutes=1)
    send(client, "bond/adhesive", adhesive="A-1", work_time="70", work_at="20")
    rows = repair(desk).adhesives[0].time
    assert {(row.event, row.time.minutes) for row in rows} == {
        ("work", 70.0),
        ("handle", 600.0),
        ("handle", 300.0),
    }


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"of": "B-9"}, "is not one of the choices"),
        ({"event": ""}, "Choose which time it is."),
        ({"time": "soon"}, "expected a number"),
        ({"at": ""}, "At which temperature?"),
        ({"strength": "much"}, "expected a number"),
    ],
)
def test_a_time_that_cannot_be_taken_comes_back(
    client: TestClient, desk: Desk, wrong: dict[str, str], words: str
) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n', person="Berta")
    send(client, "bond/adhesive", adhesive="A-1", work_time="60", work_at="23")
    told = {"of": "A-1", "event": "full", "time": "1440", "at": "21", **wrong}
    status, page = send(client, "bond/figure", form="figure", **told)
    assert status == 422
    assert words in page
    assert 'value="21"' in page or wrong.get("at") == ""
