"""The page on which vehicle, order and shop are entered; and what a new repair takes over."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch, key_of
from tests.web.saying import NAME, REPAIR, repair, said, send

SHOP = {
    "form_": "shop",
    "zone": "Europe/Lisbon",
    "shift": "7:00 – 12:00; 13:00-17:30",
    "day-Mon": "yes",
    "day-Sat": "yes",
    "technicians": "2",
    "lamps": "3",
    "sure": "99",
    "alike": "1.5",
}


def test_the_shop_is_entered_and_its_clock_follows(heron: TestClient, desk: Desk) -> None:
    assert send(heron, "shop/shop", **SHOP) == (303, f"{REPAIR}/shop")
    shop = repair(desk).shop
    assert shop.zone == "Europe/Lisbon"
    assert shop.shift == ("7:00-12:00", "13:00-17:30")
    assert shop.days == ("Mon", "Sat")
    assert (shop.technicians, shop.lamps, shop.confidence) == (2, 3, 0.99)
    assert repair(desk).symmetry.u.mm == 1.5
    assert "it is now <strong>12:00</strong>" in heron.get(f"{REPAIR}/shop").text


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"zone": "Mars/Olympus"}, "is not one of the choices"),
        ({"shift": ""}, "Say the hours"),
        ({"shift": "12:00-07:30"}, "ends before it starts"),
        ({"shift": "07:30-12:00, 11:00-16:00"}, "starts before the one above it ends"),
        ({"shift": "mornings"}, "is no stretch of hours"),
        ({"day-Mon": "", "day-Sat": ""}, "no working days"),
        ({"technicians": "0"}, "expected a number from 1 to 50"),
        ({"technicians": "1.5"}, "expected a whole number"),
        ({"lamps": "-1"}, "expected a number from 0 to 50"),
        ({"sure": "50"}, "expected a number from 51 to 99.9"),
        ({"alike": "two"}, "two"),
    ],
)
def test_what_a_plan_cannot_use_is_said_at_its_field(
    heron: TestClient, desk: Desk, wrong: dict[str, str], words: str
) -> None:
    before = repair(desk).shop
    status, text = send(heron, "shop/shop", **{**SHOP, **wrong})
    assert status == 422
    assert words in text
    assert 'class="problem"' in text
    assert wrong.get("shift", SHOP["shift"]) in text
    assert repair(desk).shop == before


def test_vehicle_procedure_and_promise_are_entered(heron: TestClient, desk: Desk) -> None:
    told = {
        "label": "box van, grey",
        "drive": "hybrid",
        "reference": "Body manual 4-11",
        "revision": "C",
        "read_on": "2026-11-24",
        "promised": "2026-11-30T16:00",
        "note": "customer calls at noon",
    }
    assert send(heron, "shop/vehicle", form_="vehicle", **told)[0] == 303
    now = repair(desk)
    assert (now.vehicle.label, now.vehicle.drive) == ("box van, grey", "hybrid")
    assert (now.procedure.reference, now.procedure.revision) == ("Body manual 4-11", "C")
    assert now.repair.promised is not None
    assert now.repair.promised.isoformat() == "2026-11-30T16:00:00+01:00"
    assert now.repair.opened is not None
    assert now.repair.note == "customer calls at noon"
    count = len(desk.store.log(NAME).facts)
    assert send(heron, "shop/vehicle", form_="vehicle", **told)[0] == 303
    assert len(desk.store.log(NAME).facts) == count, "nothing new was said"


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"drive": "steam"}, "is not one of the choices"),
        ({"promised": "soon"}, "is no date and time"),
        ({"revision": "C"}, "Which procedure?"),
        ({"reference": "M", "read_on": "soon"}, "read_on"),
    ],
)
def test_a_vehicle_that_cannot_be_taken_is_said(
    heron: TestClient, wrong: dict[str, str], words: str
) -> None:
    status, text = send(
        heron, "shop/vehicle", **{"form_": "vehicle", "drive": "hybrid", "label": "mine", **wrong}
    )
    assert status == 422
    assert words in text or "Input should be a valid date" in text
    assert 'value="mine"' in text


def begun(client: TestClient, name: str, **more: str) -> None:
    form = {"zone": "empty", "drive": "battery", "name": name, **more}
    answer = client.post("/start", data={"key": key_of(client.get("/start").text), **form})
    assert answer.status_code == 303, answer.text


def test_a_new_repair_takes_over_the_shop_of_the_last(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    send(heron, "shop/shop", **SHOP)
    begun(heron, "next-1", clock="Asia/Tokyo")
    assert desk.answers.known("next-1").repair.shop == repair(desk).shop


def test_the_first_repair_takes_the_browser_s_time_zone(client: TestClient, desk: Desk) -> None:
    begun(client, "first", clock="Asia/Tokyo")
    assert desk.answers.known("first").repair.shop.zone == "Asia/Tokyo"


def test_a_browser_without_a_clock_of_this_world_takes_none(client: TestClient, desk: Desk) -> None:
    begun(client, "first", clock="Mars/Olympus")
    assert desk.answers.known("first").repair.shop.zone == "UTC"
    assert [fact.kind for fact in desk.store.log("first").facts] == ["repair", "vehicle"]


def test_what_is_still_to_be_entered_is_said_first(client: TestClient, desk: Desk) -> None:
    begun(client, NAME)
    page = client.get(f"{REPAIR}/shop").text
    assert "Name the maker’s procedure" in page
    send(client, "shop/vehicle", form_="vehicle", drive="battery", reference="M")
    assert "Say when the shop works" in client.get(f"{REPAIR}/shop").text
    send(client, "shop/shop", **SHOP)
    assert "are entered" in client.get(f"{REPAIR}/shop").text
    assert len(said(desk, "shop")) == 1


def test_a_form_sent_twice_begins_one_repair_and_goes_on(client: TestClient, desk: Desk) -> None:
    form = {"key": key_of(client.get("/start").text), "zone": "empty", "drive": "battery"}
    first = client.post("/start", data={**form, "name": "twice"})
    second = client.post("/start", data={**form, "name": "twice"})
    assert (first.status_code, second.status_code) == (303, 303)
    assert second.headers["location"] == "/repairs/twice"
    other = {**form, "key": key_of(client.get("/start").text), "name": "twice"}
    assert client.post("/start", data=other).status_code == 422


def test_the_page_on_which_a_repair_is_started_is_left_alone(client: TestClient) -> None:
    page = client.get("/start").text
    assert 'hx-trigger="repairs' not in page
    assert 'hx-trigger="repairs' in client.get("/repairs").text
