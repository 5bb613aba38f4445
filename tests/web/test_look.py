"""How every page looks: it fits, can be read and tapped, in both themes and three sizes."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.store import Theme, place_of
from panelwright.web.page import all_pages
from tests.web.browser import SIZES, Served, fits, put, started, window
from tests.web.conftest import planned

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

AXE = Path(__file__).parent / "vendor" / "axe.min.js"
PAGES = {
    "repairs": "/repairs",
    "start": "/start",
    "people": "/people",
    "unknown": "/repairs/nothing",
    "empty": "/repairs/empty",
    **{page.key or "now": page.path("heron-114") for page in all_pages() if page.title},
}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

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
def served(tmp_path_factory: pytest.TempPathFactory, examples: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path_factory.mktemp("look"))) as served:
        put(served, examples / "heron-moved.toml")
        served.desk.store.import_text('[repair]\nname = "empty"', person="Berta")
        planned(served.desk)
        served.desk.summaries.renew(["heron-114", "empty"])
        served.desk.summaries.settle(60.0)
        yield served


@pytest.mark.parametrize("theme", [Theme.LIGHT, Theme.DARK])
@pytest.mark.parametrize("size", list(SIZES))
def test_pages_fit_and_can_be_read_tapped_and_told_apart(
    browser: Browser, served: Served, size: str, theme: Theme
) -> None:
    with window(browser, served, size=size, theme=theme) as (_, page):
        for name, path in PAGES.items():
            page.goto(served.address + path)
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            _kept(page, f"{name}-{size}-{theme}")
            assert fits(page), f"{name} is wider than the window"
            assert page.evaluate(SMALL) == [], name
            assert page.locator("h1").count() == 1, name
            assert violations(page) == [], name


def violations(page: Page) -> list[str]:
    """What axe-core finds against WCAG 2.2 AA."""
    page.evaluate(AXE.read_text("utf-8"))
    found = page.evaluate(
        "rules => axe.run(document, { runOnly: rules })"
        ".then(r => r.violations.map(v => `${v.id}: ${v.nodes.map(n => n.target).join(' ')}`))",
        RULES,
    )
    return [str(one) for one in found]


def _kept(page: Page, name: str) -> None:
    """Keep a picture where one is asked for: PANELWRIGHT_SHOTS names the folder."""
    if folder := os.environ.get("PANELWRIGHT_SHOTS"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)
