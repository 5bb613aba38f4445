"""Counting and the job file once work has begun, in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import place_of
from tests.web.browser import Served, put, soon, started, window
from tests.web.conftest import planned
from tests.web.screens import begin

if TYPE_CHECKING:
    from playwright.sync_api import Browser

REPAIR = "/repairs/heron-114"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture(scope="module")
def begun(
    browser: Browser, tmp_path_factory: pytest.TempPathFactory, examples: Path
) -> Iterator[Served]:
    """A repair whose outer panel is on, with hidden damage, counts and a temperature."""
    with Served(place_of(tmp_path_factory.mktemp("rooms"))) as served:
        put(served, examples / "heron-moved.toml")
        with window(browser, served) as (_, page):
            begin(page, served.address)
        planned(served.desk)
        yield served


def test_plus_is_tapped_as_fast_as_the_page_answers_and_another_window_sees_it(
    browser: Browser, begun: Served
) -> None:
    seam = f"{begun.address}{REPAIR}/joint?id=seam"
    digits = "n => document.querySelector('#count-drilled .digits').innerText.startsWith(n + ' ')"
    with (
        window(browser, begun) as (_, anna),
        window(browser, begun, name="Berta") as (_, berta),
    ):
        anna.goto(seam)
        berta.goto(seam)
        for number in range(1, 5):
            anna.locator("#count-drilled").get_by_role("button", name="One more").click()
            soon(anna, digits, str(number))
        soon(berta, digits, "4")
        berta.locator("#count-drilled").get_by_role("button", name="Undo the last tap").click()
        soon(anna, digits, "3")


def test_a_joint_is_counted_by_keys_alone(browser: Browser, begun: Served) -> None:
    with window(browser, begun) as (_, page):
        page.goto(f"{begun.address}{REPAIR}/joint?id=sill-flange")
        page.locator("#count-set").get_by_role("button", name="One more").focus()
        page.keyboard.press("Enter")
        soon(page, "document.querySelector('#count-set .digits').innerText.startsWith('1 ')")


def test_the_job_file_opens_once_it_is_made(browser: Browser, begun: Served) -> None:
    with window(browser, begun) as (_, page):
        page.goto(f"{begun.address}{REPAIR}/job-file")
        page.get_by_role("button", name="Make the job file").click()
        link = page.get_by_role("link", name="Open the job file (PDF)")
        link.wait_for(timeout=60_000)
        with page.expect_download() as download:
            link.click()
        assert download.value.suggested_filename.startswith("heron-114-")
