"""How every page looks: it fits, can be read and tapped, in both themes and three sizes."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from fastapi.routing import APIRoute
from jinja2 import Environment
from starlette.testclient import TestClient

from panelwright.facts import layouts
from panelwright.facts.entry import Fact
from panelwright.facts.identity import uuid7
from panelwright.store import Person, Theme, place_of
from panelwright.web import stream
from panelwright.web.desk import Desk
from panelwright.web.page import all_pages
from panelwright.web.render import environment
from tests.web import screens
from tests.web.browser import SIZES, Served, fits, listened, put, started, window
from tests.web.conftest import NOON, planned
from tests.web.uncut import MEASURED

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
ASKED_OF_AXE = {("tablet", "dark"), ("phone", "light")}
"""Each layout and each theme once: a tablet has the layout of the desk, which a test holds."""
IN_ALL = ("begun-fit", "zone-now", "cure", "repairs")
"""Screens that axe sees in every size and theme, with the frame that all screens share."""
CSS = Path(str(screens.__file__)).parents[2] / "src/panelwright/web/static/app.css"

SMALL = """() => {
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length;
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const text = walk.currentNode.textContent.trim(), e = walk.currentNode.parentElement;
    if (!text || !seen(e) || e.closest("svg, .shape")) continue;
    if (parseFloat(getComputedStyle(e).fontSize) < 17.5) found.push(`text ${e.tagName} ${text}`);
  }
  const targets = "a[href], button, summary, input:not([type=hidden]), select, textarea";
  for (const e of document.querySelectorAll(targets)) {
    if (!seen(e) || e.matches(".skip")) continue;
    if (e.closest("p, li > span") && e.tagName === "A" && !e.matches(".big")) continue;
    const box = (e.closest("label.choice") ?? e).getBoundingClientRect();
    if (box.height < 47.5) found.push(`target ${e.tagName} ${e.innerText || e.name} ${box.height}`);
  }
  return found;
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture(scope="module")
def served(
    browser: Browser, tmp_path_factory: pytest.TempPathFactory, examples: Path
) -> Iterator[Served]:
    """Repairs at work, before the panel is on, just started, and empty."""
    with Served(place_of(tmp_path_factory.mktemp("look"))) as served:
        put(served, examples / "heron-moved.toml")
        moved = (examples / "heron-moved.toml").read_text("utf-8")
        store = served.desk.store
        store.import_text(moved, person="Anna", name="before")
        store.import_text('[repair]\nname = "bare"', person="Berta")
        store.import_text(MEASURED, person="Berta", name="uncut")
        side = layouts.Side.LEFT
        given = layouts.facts_of_layout(
            "van-rear-corner", side=side, name="zone", opened=NOON, person="Berta"
        )
        store.start("zone", given)
        store.append("before", [_reading_of_now()])
        with window(browser, served) as (_, page):
            screens.begin(page, served.address)
        for name in ("heron-114", "before", "zone", "bare", "uncut"):
            planned(served.desk, name)
        served.desk.summaries.renew(["heron-114", "before", "zone", "bare", "uncut"])
        served.desk.summaries.settle(60.0)
        yield served


def _reading_of_now() -> Fact:
    """What Anna stored just now: the screens of readings say so and let her take it back."""
    now = datetime.now(UTC)
    return Fact(
        id=uuid7(now, bytes(10)),
        kind="reading",
        body={"contact": "c1", "state": "seated", "setting": 2},
        observed_at=now,
        recorded_at=now,
        person="Anna",
    )


@pytest.fixture(scope="module")
def page(browser: Browser, served: Served) -> Iterator[Page]:
    """Anna's window, in which one screen after the other is looked at."""
    with window(browser, served, theme=Theme.LIGHT) as (_, page):
        yield page


@pytest.mark.parametrize("name", [*screens.PAGES, *screens.STATES])
def test_it_fits_and_can_be_read_tapped_and_told_apart(
    page: Page, served: Served, name: str
) -> None:
    if name in screens.PAGES:
        page.goto(served.address + screens.PAGES[name])
        _settled(page)
    else:
        screens.STATES[name](page, served)
    page.wait_for_load_state("load")  # a form that leads elsewhere: its styles are there, too
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(AXE.read_text("utf-8"))
    assert page.locator("h1").count() == 1
    for size, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        assert fits(page), f"wider than the window: {size}"
        assert page.evaluate(SMALL) == [], size
        for theme in ("light", "dark"):
            page.evaluate("one => document.documentElement.dataset.theme = one", theme)
            _kept(page, f"{name}-{size}-{theme}")
            if name in IN_ALL or (size, theme) in ASKED_OF_AXE:
                assert violations(page) == [], (size, theme)


def violations(page: Page) -> list[str]:
    """What axe-core, which is in the page already, finds against WCAG 2.2 AA."""
    found = page.evaluate(
        "runOnly => axe.run(document, { runOnly, resultTypes: ['violations'] })"
        ".then(r => r.violations.map(v => `${v.id}: ${v.nodes.map(n => n.target).join(' ')}`))",
        {"type": "tag", "values": RULES},
    )
    return [str(one) for one in found]


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


# ---------------------------------------------------------------- nothing escapes


def pages_asked_for() -> set[str]:
    """The routes that a browser asks for by address."""
    routers = [*(page.router for page in all_pages()), stream.router]
    return {
        route.path
        for router in routers
        for route in router.routes
        if isinstance(route, APIRoute) and "GET" in (route.methods or ())
    }


def test_some_screens_are_seen_in_every_size_and_theme() -> None:
    assert set(IN_ALL) <= set(screens.PAGES)


def test_every_page_is_looked_at() -> None:
    known = screens.FILES | {"/events"}
    asked = pages_asked_for()
    assert known <= asked
    seen = {address.partition("?")[0] for address in screens.PAGES.values()}
    never = {
        route
        for route in asked - known
        if not any(re.fullmatch(re.sub(r"{[^}]*}", "[^/]+", route), one) for one in seen)
    }
    assert never == set(), "name these in tests/web/screens.py"


def test_every_template_is_looked_at(
    client: TestClient, desk: Desk, examples: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    given = Environment.get_template

    def noted(self: Environment, name: str, *more: object) -> object:
        asked.append(name)
        return given(self, name, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(Environment, "get_template", noted)
    text = (examples / "heron-moved.toml").read_text("utf-8")
    for name in ("heron-114", "before", "zone"):
        desk.store.import_text(text, person="Berta", name=name)
    desk.store.import_text('[repair]\nname = "bare"', person="Berta")
    desk.store.import_text(MEASURED, person="Berta", name="uncut")
    for address in screens.PAGES.values():
        client.get(address, follow_redirects=True)
    pages = {
        name for name in environment().list_templates() if "{% extends layout %}" in _text_of(name)
    }
    assert pages
    assert pages <= set(asked), "name a page that shows it in tests/web/screens.py"


def _text_of(template: str) -> str:
    loader = environment().loader
    assert loader is not None
    return loader.get_source(environment(), template)[0]


# ---------------------------------------------------------------- themes


def test_the_theme_is_the_persons(browser: Browser, served: Served) -> None:
    for theme in Theme:
        with window(browser, served, name="Carl", theme=theme) as (_, page):
            page.goto(f"{served.address}/repairs")
            assert page.evaluate("document.documentElement.dataset.theme") == theme.value


def test_as_the_device_is_either_theme_wholly(browser: Browser, served: Served) -> None:
    colours = (
        "() => [...document.styleSheets].flatMap(s => [...s.cssRules])"
        ".filter(r => r.selectorText === ':root').flatMap(r => [...r.style])"
        ".map(name => [name, getComputedStyle(document.documentElement).getPropertyValue(name)])"
    )
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        page = context.new_page()
        complaints = listened(page)
        page.goto(f"{served.address}/people")
        assert page.evaluate("document.documentElement.dataset.theme") == "system"
        system = page.evaluate(colours)
        page.evaluate("one => document.documentElement.dataset.theme = one", scheme)
        assert page.evaluate(colours) == system
        assert len(system) > 10
        assert complaints == []
        context.close()


def test_a_tablet_has_the_layout_of_the_desk() -> None:
    widths = re.findall(r"@media \((min|max)-width: (\d+)rem\)", CSS.read_text("utf-8"))
    assert widths
    desk, tablet = SIZES["desk"][0], SIZES["tablet"][0]
    for way, rem in widths:
        limit = 16 * int(rem)  # in a media query a rem is the browser's own 16 px
        assert (desk >= limit, tablet >= limit) in {(True, True), (False, False)}, (way, rem)


def test_themes_differ_by_their_colours_alone() -> None:
    rules = re.findall(r'data-theme="[a-z]+"\] \{([^}]*)\}', CSS.read_text("utf-8"))
    assert len(rules) == 2
    for rule in rules:
        names = {line.partition(":")[0].strip() for line in rule.split(";") if line.strip()}
        assert all(name.startswith("--") or name == "color-scheme" for name in names)
    assert Person("Anna").theme is Theme.SYSTEM
