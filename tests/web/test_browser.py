"""What only a browser shows: two windows at once, clocks, keys, no scripts, no stream."""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import Person, place_of
from panelwright.web import Worker
from tests.web.browser import Served, put, soon, started, window

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.alone


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path)) as served:
        yield served


@pytest.fixture
def heron(served: Served, examples: Path) -> Served:
    put(served, examples / "heron-moved.toml")
    return served


def streams(page: Page) -> bool:
    """Whether this window holds the stream of its browser."""
    return page.locator("#stream[hx-sse\\:connect]").count() == 1


def test_the_way_from_start_to_now_to_log_in_two_windows(browser: Browser, served: Served) -> None:
    with window(browser, served) as (_, anna), window(browser, served, name="Berta") as (_, berta):
        anna.goto(f"{served.address}/start")
        anna.locator("input[value=van-rear-corner]").check()
        anna.get_by_label("left").check()
        anna.get_by_label("battery").check()
        anna.get_by_label("Name of the repair").fill("van-7")
        anna.get_by_role("button", name="Start the repair").click()
        anna.wait_for_url("**/repairs/van-7")

        berta.get_by_role("link", name="van-7").click()
        berta.get_by_role("link", name="Log").first.click()
        berta.get_by_text("entries, the newest first").wait_for()

        anna.get_by_role("button", name="Done", exact=True).wait_for()
        before = anna.locator("h1").inner_text()
        anna.get_by_role("button", name="Done", exact=True).click()
        berta.get_by_text("kind done").wait_for()
        soon(anna, "was => document.querySelector('h1').innerText !== was", before)

        entry = berta.locator(".entry", has_text="kind done").first
        entry.get_by_text("Withdraw", exact=True).click()
        entry.get_by_label("Why is it wrong?").fill("not done yet")
        entry.get_by_role("button", name="Withdraw this entry").click()
        berta.get_by_text("takes back").wait_for()
        soon(anna, "was => document.querySelector('h1').innerText === was", before)


def test_windows_of_one_browser_share_one_stream(browser: Browser, heron: Served) -> None:
    with window(browser, heron) as (context, first):
        first.goto(f"{heron.address}/repairs/heron-114/log")
        second = context.new_page()
        second.goto(f"{heron.address}/repairs/heron-114/log")
        soon(first, "() => !!document.querySelector('#stream')._htmx?.sse")
        assert (streams(first), streams(second)) == (True, False)
        heron.desk.store.append("heron-114", [said(1)])
        for page in (first, second):
            page.get_by_text("label said 1").wait_for()
        first.close()
        soon(second, "() => !!document.querySelector('#stream')._htmx?.sse")
        heron.desk.store.append("heron-114", [said(2)])
        second.get_by_text("label said 2").wait_for()


def said(number: int) -> object:
    from tests.web.test_live import fact  # noqa: PLC0415

    return fact(number).model_copy(update={"body": {"label": f"said {number}"}})


def air(number: int, typed: str) -> object:
    from tests.web.test_live import fact  # noqa: PLC0415

    body = {"air": typed, "humidity": 50}
    return fact(number).model_copy(update={"kind": "conditions", "body": body})


def test_a_page_with_clocks_and_trouble_follows_and_a_refused_form_stays(
    browser: Browser, heron: Served
) -> None:
    long_ago = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=6)
    say_event(heron, "bead-begun", long_ago)
    with window(browser, heron) as (_, page):
        page.goto(f"{heron.address}/repairs/heron-114/bond")
        page.locator(".clock .digits").first.wait_for()
        heron.desk.store.append("heron-114", [air(11, "27 °C")])
        page.get_by_text("27 °C").first.wait_for()
        page.locator("#air-form [name=air]").fill("warm")
        page.get_by_role("button", name="Keep these readings").click()
        page.locator("#air-form .wrong").first.wait_for()
        heron.desk.store.append("heron-114", [air(12, "28 °C")])
        page.wait_for_timeout(1500)
        assert page.locator("#air-form [name=air]").input_value() == "warm"
        assert page.locator("#air-form .wrong").count()


def test_two_browsers_see_a_fact_and_the_same_clocks_within_a_second(
    browser: Browser, heron: Served
) -> None:
    say_event(heron, "bead-begun", datetime.now(UTC).replace(microsecond=0))
    with (
        window(browser, heron) as (_, anna),
        window(browser, heron, name="Berta") as (_, berta),
        window(browser, heron, name="Cem") as (_, cem),
    ):
        anna.goto(f"{heron.address}/repairs/heron-114/log")
        for other in (berta, cem):
            other.goto(f"{heron.address}/repairs/heron-114")
            other.locator(".clock .digits").first.wait_for()
        left = [seconds(page.locator(".clock .digits").first.inner_text()) for page in (berta, cem)]
        assert abs(left[0] - left[1]) <= 1
        took = []
        for number in range(5):
            begun = time.perf_counter()
            heron.desk.store.append("heron-114", [said(100 + number)])
            anna.get_by_text(f"label said {100 + number}").wait_for()
            took.append(time.perf_counter() - begun)
        assert statistics.median(took) < 1.0, took


def seconds(digits: str) -> int:
    """What a clock shows, in seconds."""
    total = 0
    for one in digits.removeprefix("−").split(":"):
        total = 60 * total + int(one)
    return total


def test_what_is_typed_survives_what_others_say(browser: Browser, heron: Served) -> None:
    with window(browser, heron) as (_, page):
        page.goto(f"{heron.address}/repairs/heron-114/log")
        entry = page.locator("#entry-3")
        page.goto(f"{heron.address}/repairs/heron-114/log?before=5")
        entry.get_by_text("Withdraw", exact=True).click()
        entry.get_by_label("Why is it wrong?").press_sequentially("half a sen")
        heron.desk.store.append("heron-114", [said(1)])
        soon(page, "() => !document.querySelector('main').innerText.includes('140 entries')")
        assert entry.get_by_label("Why is it wrong?").input_value() == "half a sen"
        assert page.evaluate("document.activeElement.name") == "reason"


def test_a_form_that_is_not_taken_comes_back_with_its_words(
    browser: Browser, served: Served
) -> None:
    with window(browser, served) as (_, page):
        page.goto(f"{served.address}/start")
        page.get_by_label("Name of the repair").fill("two words")
        page.get_by_role("button", name="Start the repair").click()
        page.get_by_text("only a to z, digits and dashes").wait_for()
        assert page.get_by_label("Name of the repair").input_value() == "two words"
        assert page.url.endswith("/start")


def test_clocks_count_without_the_stream(browser: Browser, heron: Served) -> None:
    begun = datetime.now(UTC).replace(microsecond=0)  # the browser's clock cannot be given
    say_event(heron, "bead-begun", begun)
    with window(browser, heron, lost=True) as (context, page):
        page.goto(f"{heron.address}/repairs/heron-114")
        page.locator(".clock .digits").first.wait_for()
        context.set_offline(True)
        heron.desk.live.stir()
        first = page.locator(".clock .digits").first.inner_text()
        soon(page, "was => document.querySelector('.clock .digits').innerText !== was", first)
        context.set_offline(False)


def say_event(served: Served, kind: str, at: datetime) -> None:
    from tests.web.test_live import fact  # noqa: PLC0415

    body = {"kind": kind, "joint": "arch", "at": (at - timedelta(minutes=1)).isoformat()}
    one = fact(77).model_copy(update={"kind": "event", "body": body})
    served.desk.store.append("heron-114", [one])


def test_a_lost_connection_is_said_and_nothing_typed_is_lost(
    browser: Browser, heron: Served
) -> None:
    with window(browser, heron, lost=True) as (context, page):
        page.goto(f"{heron.address}/repairs/heron-114/log")
        entry = page.locator("#entry-139")
        entry.get_by_text("Withdraw", exact=True).click()
        entry.get_by_label("Why is it wrong?").fill("wrong tape")
        context.set_offline(True)
        entry.get_by_role("button", name="Withdraw this entry").click()
        page.get_by_text("No connection to the server").wait_for()
        assert entry.get_by_label("Why is it wrong?").input_value() == "wrong tape"
        context.set_offline(False)
        entry.get_by_role("button", name="Withdraw this entry").click()
        page.get_by_text("takes back").wait_for()
        page.get_by_text("No connection to the server").wait_for(state="hidden")


def test_the_main_way_works_without_scripts(browser: Browser, served: Served) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(served.address)
    page.get_by_label("Name").fill("Carl")
    page.get_by_role("button", name="Work as this person").click()
    page.get_by_role("link", name="Start a repair").click()
    page.locator("input[name=zone][value=empty]").check()
    page.locator("input[name=drive][value=hybrid]").check()
    page.get_by_label("Name of the repair").fill("x 1")
    page.get_by_role("button", name="Start the repair").click()
    page.get_by_text("only a to z, digits and dashes").wait_for()
    page.get_by_label("Name of the repair").fill("x-1")
    page.get_by_role("button", name="Start the repair").click()
    page.wait_for_url("**/repairs/x-1")
    page.goto(f"{served.address}/repairs/x-1/log")
    entry = page.locator("#entry-1")
    entry.get_by_text("Withdraw", exact=True).click()
    entry.get_by_label("Why is it wrong?").fill("a test")
    entry.get_by_role("button", name="Withdraw this entry").click()
    page.get_by_text("takes back").wait_for()
    context.close()


def test_the_main_way_works_by_keys_alone(browser: Browser, served: Served) -> None:
    served.desk.store.remember(Person("Anna"))
    with window(browser, served) as (_, page):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.get_by_role("link", name="Start a repair").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/start")
        page.locator("input[name=zone]").first.focus()
        page.keyboard.press("Space")
        for name, value in (("side", "left"), ("drive", "battery")):
            page.locator(f"input[name={name}]").first.focus()
            page.keyboard.press("Space")
            assert page.locator(f"input[name={name}][value={value}]").is_checked()
        page.get_by_label("Name of the repair").focus()
        page.keyboard.type("keys-1")
        page.keyboard.press("Enter")
        page.wait_for_url("**/repairs/keys-1")


def test_the_plan_arrives_by_itself_from_its_process(
    browser: Browser, tmp_path: Path, examples: Path
) -> None:
    with Served(place_of(tmp_path), Worker.PROCESS, apart=True) as served:
        put(served, examples / "heron-moved.toml")
        with window(browser, served) as (_, page):
            page.goto(f"{served.address}/repairs/heron-114")
            page.get_by_role("heading", name="After that").wait_for(timeout=60_000)
            assert page.locator("progress").count() == 0
