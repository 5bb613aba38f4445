"""The alarm of running clocks: a notice, a sound by wish, and a tablet whose clock is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.bond import answer
from panelwright.facts.file import read
from panelwright.store import place_of
from tests.web.browser import Served, soon, started, window
from tests.web.saying import NAME, REPAIR
from tests.web.test_bond_now import SMALL

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.alone

LEFT = timedelta(seconds=12)
"""Of the work time, when the page is opened."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path)) as served:
        yield served


def begin(served: Served, left: timedelta) -> None:
    """Adhesive was started so long ago that this much of its work time is left."""
    work = answer(read(SMALL)).joints[0].work_until_min
    assert work is not None
    begun = datetime.now(UTC) + left - timedelta(minutes=work)
    event = f'[[event]]\nkind = "bead-begun"\njoint = "edge"\nat = {begun.isoformat()}\n'
    served.desk.store.import_text(SMALL + event, person="Berta")


def test_a_notice_before_the_limit_and_at_it_and_a_sound_once_it_is_switched_on(
    browser: Browser, served: Served
) -> None:
    with window(browser, served) as (_, page):
        begin(served, LEFT)
        page.goto(f"{served.address}{REPAIR}/bond")
        notice, switch = page.locator("#alarm"), page.locator("#alarm-switch")
        assert "10 min left or less: Panel on and last rivet of edge by" in notice.inner_text()
        assert page.evaluate("document.body.dataset.rung") is None
        page.locator("#alarm-state", has_text="The alarm is off").wait_for()
        switch.click()
        assert switch.get_attribute("aria-pressed") == "true"
        page.locator("#alarm-state", has_text="Sound is on").wait_for()
        soon(page, "Number(document.body.dataset.rung) >= 1")
        page.get_by_role("button", name="Seen").click()
        notice.wait_for(state="hidden")
        rung = int(page.evaluate("document.body.dataset.rung"))
        page.locator("#alarm", has_text="The time is over: Panel on and last rivet").wait_for()
        soon(page, "was => Number(document.body.dataset.rung) > was", rung)
        page.get_by_role("button", name="Seen").click()
        page.goto(f"{served.address}{REPAIR}")
        page.locator(".clock .digits").first.wait_for()
        assert page.locator("#alarm-switch").get_attribute("aria-pressed") == "true"
        page.locator("#alarm-state", has_text="Sound waits for a touch").wait_for()
        assert notice.is_hidden()


def test_a_tablet_with_a_wrong_clock_counts_by_the_server_s_and_says_so(
    browser: Browser, served: Served
) -> None:
    with window(browser, served) as (context, page):
        begin(served, timedelta(minutes=30))
        wrong = "const now = Date.now.bind(Date); Date.now = () => now() - 7 * 60_000;"
        context.add_init_script(wrong)
        page.goto(f"{served.address}/repairs/{NAME}/bond")
        words = "This tablet’s clock is 7 min behind the server’s."
        page.locator("#skew", has_text=words).wait_for()
        minutes = page.locator(".clock .digits").first.inner_text().split(":")[0]
        assert int(minutes) in (29, 30)
        assert page.locator("#alarm").is_hidden()
        page.evaluate("const is = Date.now.bind(Date); Date.now = () => is() + 17 * 60_000;")
        words = "This tablet’s clock is 10 min ahead of the server’s."
        page.locator("#skew", has_text=words).wait_for()
        soon(page, "document.querySelector('.clock .digits').innerText.match(/^(29|30):/) !== null")
