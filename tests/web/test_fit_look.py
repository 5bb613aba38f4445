"""The drawing to tap on: verdict of a point, span of two, dry fits beside each other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from panelwright.store import place_of
from panelwright.web.desk import Desk
from tests.web.browser import Served, put, started, window

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LOOK = "/repairs/heron-114/fit/look"


def test_a_tapped_point_says_its_verdict(heron: TestClient) -> None:
    page = heron.get(f"{LOOK}?part=outer&a=L5").text
    assert "<h1>L5, left side-wall seam, top</h1>" in page
    assert "Off its target position: 4.1 mm up, 4.0 mm rearward and 1.4 mm to the left" in page
    assert re.search(r'badge bad">.*outside</span>', page)
    assert 'class="chosen" data-spot="L5"' in page or 'data-spot="L5" class="chosen"' in page


def test_a_point_of_the_body_says_where_it_lies(heron: TestClient) -> None:
    page = heron.get(f"{LOOK}?part=outer&a=R3").text
    assert "not judged" in page
    assert "By all readings it lies at" in page


def test_two_points_say_their_span_and_lead_to_reading_it(heron: TestClient) -> None:
    page = heron.get(f"{LOOK}?part=outer&a=L5&b=R3").text
    assert "<h1>L5 to R3</h1>" in page
    assert re.search(r"\d{4}\.\d ± \d\.\d mm by all readings\.", page)
    assert re.search(r"at the target position: it is \d\.\d mm too long\.", page)
    assert 'href="/repairs/heron-114/fit/read?of=span:L5:R3"' in page


def test_a_second_tap_on_a_point_lets_it_go(heron: TestClient) -> None:
    page = heron.get(f"{LOOK}?part=outer&a=L5").text
    assert f'href="{LOOK}?part=outer" data-of="L5" aria-current="true"' in page
    assert f'href="{LOOK}?part=outer&amp;a=L5&amp;b=R3" data-of="R3"' in page


def test_a_third_tap_begins_anew(heron: TestClient) -> None:
    page = heron.get(f"{LOOK}?part=outer&a=L5&b=R3").text
    assert f'href="{LOOK}?part=outer&amp;a=L6" data-of="L6"' in page


def test_a_span_that_no_tape_reaches_is_not_offered(heron: TestClient, desk: Desk) -> None:
    blocked = desk.answers.known("heron-114").repair.blocked
    one = blocked[0]
    page = heron.get(f"{LOOK}?part=outer&a={one.from_}&b={one.to}").text
    assert "No tape reaches it." in page
    assert "Measure it" not in page


def test_dry_fits_stand_beside_each_other_with_one_exaggeration(moved: TestClient) -> None:
    page = moved.get(f"{LOOK}?part=outer").text
    assert page.index('id="dry-fit-2"') < page.index('id="dry-fit-1"')
    assert "8 of 8 points inside" in page
    assert "2 of 8 points inside" in page
    drawn = set(re.findall(r"1 mm off is drawn [\d.]+ mm long", page))
    assert len(drawn) == 1


def test_odd_addresses_are_answered(heron: TestClient) -> None:
    assert heron.get(LOOK).status_code == 200
    assert heron.get(f"{LOOK}?part=outer&a=Zz&b=<b>").status_code == 200
    assert heron.get(f"{LOOK}?part=nothing").status_code == 404
    assert "too" not in heron.get(f"{LOOK}?part=outer&a=L5&b=L5").text.split("</section>")[0]


def test_a_repair_without_readings_says_what_is_missing(client: TestClient, desk: Desk) -> None:
    desk.store.start("bare", [])
    page = client.get("/repairs/bare/fit/look").text
    assert "Where the panel sits cannot be said yet." in page


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


def test_a_finger_near_a_point_takes_it(browser: Browser, tmp_path: Path, examples: Path) -> None:
    with Served(place_of(tmp_path)) as served:
        put(served, examples / "heron.toml")
        with window(browser, served) as (_, page):
            page.goto(f"{served.address}{LOOK}?part=outer")
            spot = page.locator('[data-spot="L9"]').nth(1)
            spot.scroll_into_view_if_needed()
            box = spot.bounding_box()
            assert box is not None
            page.mouse.click(box["x"] - 8, box["y"] - 8)
            page.get_by_role("heading", name="L9").wait_for()
            page.locator('[data-of="R3"]').click()
            page.get_by_role("heading", name="L9 to R3").wait_for()
            page.get_by_role("link", name="Measure it").click()
            page.wait_for_url("**/fit/read?of=span:L9:R3")
