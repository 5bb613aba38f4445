"""The screens of one part, joint and cure, and the pages once work has begun, in a browser."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import Theme, place_of
from tests.web.browser import SIZES, Served, fits, put, soon, started, window
from tests.web.conftest import planned
from tests.web.test_look import SMALL, violations

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

REPAIR = "/repairs/heron-114"
SCREENS = {
    "findings": f"{REPAIR}/findings",
    "part": f"{REPAIR}/part?id=wheelhouse",
    "joints": f"{REPAIR}/joints",
    "joint": f"{REPAIR}/joint?id=arch",
    "joint-ask": f"{REPAIR}/joint?id=roof-rail",
    "joint-bolt": f"{REPAIR}/joint?id=bumper-bolts",
    "bond": f"{REPAIR}/bond",
    "cure": f"{REPAIR}/cure?id=arch",
    "cure-none": f"{REPAIR}/cure?id=bumper-bolts",
    "parts": f"{REPAIR}/parts",
    "quiet": f"{REPAIR}/quiet",
    "plan": f"{REPAIR}/plan",
    "job-file": f"{REPAIR}/job-file?supplement=yes",
}


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
            _work(page, served.address)
        planned(served.desk)
        yield served


def _work(page: Page, address: str) -> None:
    page.goto(address + SCREENS["part"])
    page.get_by_label("What did you find?").fill("folded over behind the baffle")
    page.get_by_label("left rear outer panel").check()
    page.get_by_role("button", name="Replace").click()
    page.get_by_text("folded over behind the baffle – replace").wait_for()
    page.goto(address + SCREENS["joint"])
    page.locator("#count-drilled").get_by_role("button", name="All 12").click()
    soon(page, "document.querySelector('#count-drilled .digits').innerText.startsWith('12')")
    page.goto(address + SCREENS["bond"])
    for word in ("Surfaces prepared", "Adhesive started", "Panel on"):
        group = page.locator("section.card", has=page.get_by_role("heading", name="outer panel"))
        group.get_by_role("button", name=word, exact=True).click()
        group.get_by_role("button", name=f"Take back: {word}").wait_for()
    page.goto(address + SCREENS["cure"])
    page.get_by_role("button", name="Lamp on").click()
    page.get_by_label("How far from the joint’s start (mm)").fill("200")
    page.get_by_label("Thermometer").fill("21")
    page.get_by_role("button", name="Keep this reading").click()
    page.get_by_role("heading", name="Readings").wait_for()


@pytest.mark.parametrize("theme", [Theme.LIGHT, Theme.DARK])
@pytest.mark.parametrize("size", list(SIZES))
def test_screens_fit_and_can_be_read_tapped_and_told_apart(
    browser: Browser, begun: Served, size: str, theme: Theme
) -> None:
    with window(browser, begun, size=size, theme=theme) as (_, page):
        for name, path in SCREENS.items():
            page.goto(begun.address + path)
            _settled(page)
            _kept(page, f"{name}-{size}-{theme}")
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            assert fits(page), f"{name} is wider than the window"
            assert page.evaluate(SMALL) == [], name
            assert page.locator("h1").count() == 1, name
            assert violations(page) == [], name


def _settled(page: Page) -> None:
    """Wait until plan, charts and job file are there, which the first window waits for."""
    for _ in range(1200):
        if page.locator("progress").count() == 0:
            return
        page.wait_for_timeout(50)
    raise AssertionError("still at work after a minute")


def _kept(page: Page, name: str) -> None:
    """Keep a picture where one is asked for: PANELWRIGHT_SHOTS names the folder."""
    if folder := os.environ.get("PANELWRIGHT_SHOTS"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


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
