"""Does closing fit in the work time, what may be done now, and clocks that are odd."""

from __future__ import annotations

from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.small import TIMES_AT_23
from tests.web.conftest import Watch
from tests.web.saying import NAME, REPAIR, repair, said, send

BOND = f"{REPAIR}/bond"
EDGE = f"{REPAIR}/cure?id=edge"
SMALL = (
    f"""
[repair]
name = "{NAME}"
[shop]
zone = "Europe/Berlin"
[conditions]
air = "20 °C"
humidity = 40
[[part]]
id = "skin"
state = "replace"
on_hand = true
[[part]]
id = "inner"
[[joint]]
id = "edge"
layers = ["skin", "inner"]
length = "600 mm"
flange = "20 mm"
remake = {{ count = 10, adhesive = "G1" }}
[[joint]]
id = "rim"
layers = ["skin", "inner"]
length = "600 mm"
flange = "20 mm"
remake = {{ count = 10, adhesive = "G1" }}
[[adhesive]]
id = "G1"
use_by = 2027-03-01
limit = "80 °C"
bake_limit = "90 °C"
lap_shear = "20 MPa"
"""
    + TIMES_AT_23
)


@pytest.fixture
def small(client: TestClient, desk: Desk) -> TestClient:
    """With a repair of one panel and two joints, without a lamp."""
    desk.store.import_text(SMALL, person="Berta")
    return client


def moment(client: TestClient, kind: str, **fields: str) -> tuple[int, str]:
    return send(client, "bond/moment", kind=kind, **(fields or {"panel": "skin"}))


def told(client: TestClient, address: str = BOND) -> str:
    return unescape(client.get(address).text)


def test_before_the_adhesive_it_says_whether_closing_fits(small: TestClient) -> None:
    fits = told(small).split("In the work time?")[1]
    assert "fits" in fits.split("</h3>")[0]
    for words in (
        "Needed by one person",
        "early bound",
        "To spare",
        "First bead at the latest",
        "the shift ends at 16:30",
        "Pause with the same nozzle",
        "3.5 min for a metre of bead (common practice, no source)",
    ):
        assert words in fits, words
    assert moment(small, "bead-begun")[0] == 303
    assert "In the work time?" not in told(small)


def test_what_may_hurt_stands_at_its_step(small: TestClient) -> None:
    assert "Solvents burn and harm lungs and skin" in told(small)
    assert moment(small, "prepared")[0] == 303
    page = told(small)
    assert "Uncured adhesive sensitises skin and eyes: nitrile gloves" in page
    assert "Solvents burn" not in page
    assert moment(small, "bead-begun")[0] == 303
    assert moment(small, "closed")[0] == 303
    assert moment(small, "rivets-set")[0] == 303
    assert "The joint carries nothing yet" in told(small)


def test_where_it_does_not_fit_the_page_stops_and_says_what_helps(
    client: TestClient, desk: Desk
) -> None:
    desk.store.import_text(f'{SMALL}[[step]]\nid = "rivet-skin"\nhours = 1.1\n', person="Berta")
    page = told(client)
    assert 'class="say bad"' in page
    assert "Do not start the adhesive of skin like this." in page
    fits = page.split("In the work time?")[1]
    assert "does not fit" in fits.split("</h3>")[0]
    assert "people at beads and rivets (the shop has 1)" in fits
    assert "Cool bay and panel to" in fits
    assert "Two mixes: first" in fits


def test_minutes_for_a_rivet_come_from_the_logs_of_all_repairs(
    small: TestClient, desk: Desk
) -> None:
    other = (
        '[repair]\nname = "van-2"\n[[part]]\nid = "a"\nstate = "replace"\n[[part]]\nid = "b"\n'
        '[[joint]]\nid = "j"\nlayers = ["a", "b"]\nlength = "500 mm"\nremake = { count = 20 }\n'
        '[[event]]\nkind = "closed"\njoint = "j"\nat = 2026-11-02T09:00:00+01:00\n'
        '[[event]]\nkind = "rivets-set"\njoint = "j"\nat = 2026-11-02T09:23:00+01:00\n'
    )
    assert "0.35 min for a rivet (common practice, no source)" in told(small)
    desk.store.import_text(other, person="Berta")
    # 23 min less 2 and 0.5 × 2 for the squeeze-out
    assert "1 min for a rivet (from this shop's own logs: 1 time, 20 rivets)" in told(small)


@pytest.mark.parametrize(
    ("done", "words"),
    [(("bead-begun",), "Close it no more"), (("bead-begun", "closed"), "Set no more rivets")],
)
def test_once_the_work_time_is_over_the_page_says_stop(
    small: TestClient, watch: Watch, done: tuple[str, ...], words: str
) -> None:
    for kind in done:
        assert moment(small, kind)[0] == 303
    watch.go(minutes=30)
    assert "Stop:" not in told(small)
    watch.go(minutes=60)
    page = told(small)
    assert "Stop: the work time of skin is over." in page
    assert words in page
    assert moment(small, "rivets-set")[0] == 303
    assert "Stop:" not in told(small)


def test_a_cartridge_past_its_date_stops_the_start(small: TestClient, watch: Watch) -> None:
    watch.go(days=120)
    page = told(small)
    assert "is past its date (2027-03-01): do not start with it" in page
    assert "Do not start the adhesive of" in page


def test_what_may_be_done_now_turns_at_the_late_bound(
    small: TestClient, desk: Desk, watch: Watch
) -> None:
    assert "What may I do now?" not in told(small, EDGE)
    assert moment(small, "bead-begun")[0] == 303
    assert "min after the panel is on" in told(small, EDGE).split("What may I do now?")[1]
    assert moment(small, "closed")[0] == 303
    listed = told(small, EDGE).split('id="may-pins"')[1].split("</li>")[0]
    assert 'data-turns="' in listed
    assert "not before Wed 25 Nov" in listed
    assert "What may I do now?" in told(small, REPAIR)
    watch.go(hours=12)
    page = told(small, EDGE)
    assert "</span> yes" in page.split('id="may-pins"')[1].split("</li>")[0]
    assert "not before" in page.split('id="may-load"')[1].split("</li>")[0]
    bake = page.split('id="may-bake"')[1].split("</li>")[0]
    assert "ask first" in bake
    assert "enter it on the page Vehicle, shop" in bake


def test_the_oven_is_entered_with_the_shop_and_checked(small: TestClient, desk: Desk) -> None:
    fields = {
        "zone": "Europe/Berlin", "shift": "07:30-12:00, 12:30-16:30", "day-Wed": "yes",
        "technicians": "1", "lamps": "1", "sure": "95", "alike": "1", "bake": "95",
    }  # fmt: skip
    assert send(small, "shop/shop", **fields)[0] == 303
    assert said(desk, "shop")[-1]["bake"] == "95 °C"
    assert moment(small, "closed")[0] == 303
    bake = told(small, EDGE).split('id="may-bake"')[1].split("</li>")[0]
    assert "</span> no" in bake
    assert "95 °C in the oven is above its 90 °C" in bake


def test_each_clock_carries_what_its_alarm_says(small: TestClient) -> None:
    assert moment(small, "bead-begun")[0] == 303
    page = told(small)
    assert 'data-alarm="The time is over: Panel on and last rivet of edge and rim by 14:' in page
    assert 'data-soon="10 min left or less: Panel on and last rivet' in page
    assert "a page cannot wake it" in page


def test_the_cure_page_shows_the_clocks_of_its_own_joint(small: TestClient) -> None:
    assert moment(small, "closed")[0] == 303
    assert "Leave edge and rim clamped until" in told(small)
    assert "Leave edge clamped until" in told(small, EDGE)


def test_a_clock_runs_on_where_no_adhesive_is_known(
    client: TestClient, desk: Desk, watch: Watch
) -> None:
    text = (
        f'[repair]\nname = "{NAME}"\n[[part]]\nid = "a"\nstate = "replace"\n[[part]]\nid = "b"\n'
        '[[joint]]\nid = "j"\nlayers = ["a", "b"]\nlength = "500 mm"\n'
    )
    desk.store.import_text(text, person="Berta")
    assert "This cannot be answered yet." in told(client)
    body = '{"kind": "bead-begun", "joint": "j"}'
    assert send(client, "say", kind="event", body=body, then=BOND)[0] == 303
    watch.go(minutes=7)
    page = told(client)
    assert "Adhesive on j; its work time is not known" in page
    assert 'data-since="2026-11-25T12:00:00+00:00">7:00</p>' in page
    assert "enter the adhesive’s data sheet" in page


def test_a_moment_still_to_come_by_a_clock_that_was_set_back_is_said(
    small: TestClient, watch: Watch
) -> None:
    assert moment(small, "closed")[0] == 303
    watch.go(minutes=-30)
    page = told(small)
    assert "panel on stands at 2026-11-25 13:00, which is still to come" in page
    assert "Leave edge and rim clamped until" in page


@pytest.mark.parametrize(
    ("kind", "at", "offset", "note"),
    [
        ("bead-begun", "2026-10-25T02:30", "+02:00", "the first is taken"),
        ("closed", "2026-10-25T02:30", "+01:00", "the second is taken"),
        ("closed", "2026-10-25T01:30", "+02:00", ""),
    ],
)
def test_a_time_that_the_clock_showed_twice_counts_to_the_safe_side(
    small: TestClient, desk: Desk, kind: str, at: str, offset: str, note: str
) -> None:
    assert moment(small, kind, joint="edge", at=at) == (303, BOND)
    event = repair(desk).events[-1]
    assert event.at is not None
    assert event.at.isoformat() == f"{at}:00{offset}"
    assert (event.note or "").endswith(note)
    assert bool(event.note) == bool(note)


def test_a_second_time_that_is_still_to_come_is_the_first(
    small: TestClient, desk: Desk, watch: Watch
) -> None:
    """At 02:40 of the first round, 02:30 can only be ten minutes ago."""
    watch.now = watch.now.replace(month=10, day=25, hour=0, minute=40)
    assert moment(small, "closed", joint="edge", at="2026-10-25T02:30") == (303, BOND)
    event = repair(desk).events[-1]
    assert event.at is not None
    assert event.at.isoformat() == "2026-10-25T02:30:00+02:00"


def test_a_time_that_the_clock_jumped_over_comes_back(small: TestClient, watch: Watch) -> None:
    watch.go(days=150)
    fields = {"joint": "edge", "at": "2027-03-28T02:30"}
    status, page = moment(small, "closed", form="late", **fields)
    assert status == 422
    assert "02:30 was never on the clock that night" in unescape(page)
