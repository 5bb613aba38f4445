"""Taps quicker than the answers: each counts once, whatever happens to its answer."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import place_of
from tests.web.browser import Served, put, soon, started, window

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Route

pytestmark = pytest.mark.alone

REPAIR = "/repairs/heron-114"
QUICKLY = """([name, times]) => {
  const button = document.querySelector(`#count-drilled [value=${name}]`);
  for (let n = 0; n < times; n++) button.click();
}"""
DIGITS = "n => document.querySelector('#count-drilled .digits').innerText.startsWith(n + ' ')"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture
def served(tmp_path: Path, examples: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path)) as served:
        put(served, examples / "heron-moved.toml")
        yield served


def counted(served: Served) -> list[int]:
    """What was counted, tap by tap, without those taken back."""
    known = served.desk.answers.known("heron-114")
    return [one.count or 0 for one in known.repair.counts if one.joint == "seam"]


def opened(page: Page, served: Served) -> None:
    page.goto(f"{served.address}{REPAIR}/joint?id=seam")
    page.locator("#count-drilled").wait_for()


def test_taps_within_one_round_trip_count_each(browser: Browser, served: Served) -> None:
    with window(browser, served) as (_, page):
        opened(page, served)
        page.evaluate(QUICKLY, ["plus", 3])
        soon(page, DIGITS, "3")
        page.evaluate(QUICKLY, ["minus", 2])
        soon(page, DIGITS, "1")
        assert counted(served) == [1, 1, 1, -1, -1]


def test_a_tap_whose_answer_is_lost_is_sent_again_and_counts_once(
    browser: Browser, served: Served
) -> None:
    def stored_but_not_answered(route: Route) -> None:
        route.fetch(max_redirects=0)
        route.abort()

    with window(browser, served, lost=True) as (_, page):
        opened(page, served)
        # Without the stream: it would show the page that the tap was stored after all.
        page.route("**/repairs/heron-114/joint?id=seam", lambda route: route.abort())
        page.route("**/joint/count", stored_but_not_answered)
        page.evaluate(QUICKLY, ["plus", 1])
        page.get_by_text("No connection to the server").wait_for()
        assert counted(served) == [1]
        page.unroute("**/joint/count")
        page.unroute("**/repairs/heron-114/joint?id=seam")
        page.evaluate(QUICKLY, ["plus", 1])
        soon(page, DIGITS, "1")
        assert counted(served) == [1]
        page.evaluate(QUICKLY, ["plus", 1])
        soon(page, DIGITS, "2")


def test_a_page_that_is_told_of_much_is_asked_for_now_and_then(
    browser: Browser, served: Served
) -> None:
    from tests.web.test_live import fact  # noqa: PLC0415

    with window(browser, served) as (_, page):
        page.goto(f"{served.address}{REPAIR}/log")
        soon(page, "() => !!document.querySelector('#stream')._htmx?.sse")
        page.evaluate(
            "() => { window.asked = 0;"
            " document.body.addEventListener('repair-heron-114', () => { window.asked += 1; }); }"
        )
        begun = time.monotonic()
        for number in range(30):
            served.desk.store.append("heron-114", [fact(number)])
            served.desk.live.stir()
            page.wait_for_timeout(50)
        page.get_by_text("label 29").wait_for()
        asked = page.evaluate("window.asked")
        assert 2 <= asked <= 2 + (time.monotonic() - begun) / 0.5
