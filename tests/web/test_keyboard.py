"""The main ways by keys alone: Tab, Shift+Tab, arrows within a choice, Enter, Space, typing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from panelwright.facts import layouts
from panelwright.store import place_of
from tests.web.browser import Served, put, soon, started, window
from tests.web.conftest import NOON, planned

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

REPAIR = "/repairs/heron-114"
FIELDS = "Open by|It shows|or in numbers|By how much|Height"
EXPECTED = """field => {
  const about = field.closest(".field").querySelector(".hint")?.innerText.match(/about ([\\d.]+)/);
  return about ? about[1] : "0.4";
}"""
"""What somebody reads: a span is about as long as the other readings say."""
MOST_TABS = 250
LEAST_CONTRAST = 3.0
"""Of what shows the focus against what it lies on (WCAG 2.2, 1.4.11; seen)."""

FOCUS = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const shown = e.closest("label.choice") ?? e;
  const words = e.getAttribute("aria-label") ?? (e.labels?.[0]?.innerText || e.innerText || "");
  const box = shown.getBoundingClientRect();
  const behind = (of) => {
    for (let at = of.parentElement; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!colour.endsWith(", 0)") && colour !== "transparent") return colour;
    }
    return "rgb(255, 255, 255)";
  };
  const colours = {}, root = document.documentElement, theme = root.dataset.theme;
  for (const one of ["light", "dark"]) {
    root.dataset.theme = one;
    const style = getComputedStyle(shown);
    colours[one] = [style.outlineStyle, style.outlineWidth, style.outlineColor, behind(shown)];
  }
  root.dataset.theme = theme;
  const last = window.lastFocus;
  const after = !last || !last.isConnected
    || !!(last.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING);
  window.lastFocus = e;
  return {
    words: words.trim().replace(/\\s+/g, " "), name: e.name ?? "", value: e.value ?? "",
    tag: e.tagName, inside: !!e.closest("#live"), colours, after,
    top: box.top + scrollY, bottom: box.bottom + scrollY, left: box.left, right: box.right,
  };
}"""


def luminance(colour: str) -> float:
    """Relative luminance of "rgb(r, g, b)" (WCAG 2.2, definition; from memory)."""
    parts = [int(part) / 255.0 for part in re.findall(r"\d+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_known_colours() -> None:
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21.0)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.01)


class Keys:
    """Hands that have no mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def focus(self) -> dict[str, object]:
        """What has the focus; nothing is a failure, and so is a focus that nobody sees."""
        self.page.wait_for_load_state("load")  # before its styles are there nothing has an outline
        found = self.page.evaluate(FOCUS)
        assert found is not None, "the focus is lost"
        for theme, (style, width, colour, behind) in found["colours"].items():
            where = f"{found['tag']} {found['words']} in {theme}"
            assert style != "none", f"no outline: {where}"
            assert float(str(width).removesuffix("px")) >= 2.0, f"thin outline: {where}"
            assert contrast(colour, behind) >= LEAST_CONTRAST, f"faint outline: {where}"
        assert isinstance(found, dict)
        return found

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def to(self, words: str, *, name: str = "", back: bool = False) -> None:
        """Tab to what is so called, a link, button or field."""
        passed = []
        for _ in range(MOST_TABS):
            self.press("Shift+Tab" if back else "Tab")
            if self.page.evaluate("document.activeElement === document.body"):
                continue  # beyond the last one, before the first
            found = self.focus()
            passed.append(found["words"])
            if re.match(words, str(found["words"])) and name in ("", found["name"]):
                return
        raise AssertionError(f"no way to {words!r} by Tab: {passed}")

    def held(self, words: str) -> None:
        """The focus is there still."""
        assert re.match(words, str(self.focus()["words"])), self.focus()["words"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, examples: Path) -> Iterator[Served]:
    with Served(place_of(tmp_path_factory.mktemp("keys"))) as served:
        put(served, examples / "heron-moved.toml")
        given = layouts.facts_of_layout(
            "van-rear-corner", side=layouts.Side.LEFT, name="zone", opened=NOON, person="Berta"
        )
        served.desk.store.start("zone", given)
        yield served


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    with window(browser, served) as (_, page):
        yield page


@pytest.fixture
def keys(page: Page) -> Keys:
    return Keys(page)


def test_a_person_says_who_works_and_starts_from_a_zone(browser: Browser, served: Served) -> None:
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    page.goto(served.address)
    keys = Keys(page)
    keys.to("Name")
    page.keyboard.type("Dora")
    keys.press("Enter")
    page.get_by_role("link", name="Start a repair").wait_for()
    keys.to("Start a repair")
    keys.press("Enter")
    page.wait_for_url("**/start")
    keys.to("Van, rear corner", name="zone")
    keys.press("Space")
    keys.to("left", name="side")
    keys.press("Space", "ArrowRight", "ArrowLeft")
    keys.to("battery", name="drive")
    keys.press("Space")
    keys.to("Name of the repair")
    page.keyboard.type("keys 1")
    keys.press("Enter")
    page.get_by_text("only a to z, digits and dashes").wait_for()
    keys.held("Name of the repair")
    keys.press("Backspace", "Backspace")
    page.keyboard.type("-1")
    keys.press("Enter")
    page.wait_for_url("**/repairs/keys-1")
    context.close()


def test_the_skip_link_goes_past_the_menu(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}{REPAIR}/bond")
    keys.press("Tab")
    keys.held("To the page")
    keys.press("Enter")
    soon(page, "document.activeElement.id === 'live'")
    keys.press("Tab")
    assert keys.focus()["inside"]


def test_the_state_of_a_part_is_changed(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}/repairs/zone/part?id=outer")
    keys.to("What did you find")
    page.keyboard.type("torn at the seam")
    keys.to("Replace")
    keys.press("Space")
    page.get_by_text("torn at the seam – replace").wait_for()
    keys.held("Replace")
    keys.to("‹ Findings", back=True)


def test_three_readings_one_after_the_other(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}{REPAIR}/fit/take?stage=2")
    line, numbers = page.locator(".where-line"), []
    for _ in range(3):
        told = re.search(r"reading (\d+) of", line.inner_text())
        assert told is not None
        numbers.append(int(told[1]))
        keys.held(FIELDS)
        page.keyboard.type(page.locator("input:focus").evaluate(EXPECTED))
        with page.expect_navigation():
            keys.press("Enter")
        page.get_by_role("status").filter(has_text="Stored").wait_for()
    assert numbers == sorted(set(numbers))
    keys.held(FIELDS)


def test_holes_are_counted_and_taken_back(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}{REPAIR}/joint?id=seam")
    digits = "n => document.querySelector('#count-drilled .digits').innerText.startsWith(n + ' ')"
    keys.to("One more")
    for number in range(1, 4):
        keys.press("Space")
        soon(page, digits, str(number))
        keys.held("One more")
    keys.to("Undo the last tap")
    for number in (2, 1):
        keys.press("Enter")
        soon(page, digits, str(number))
        keys.held("Undo the last tap")
    keys.press("Enter")
    soon(page, digits, "0")
    keys.held("One more")  # there is nothing left to undo
    keys.to("All")
    keys.press("Enter")
    soon(page, "() => !document.querySelector('#count-form-drilled [value=all]')")
    keys.focus()


def test_the_adhesive_is_started(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}{REPAIR}/bond")
    keys.to("Surfaces prepared")
    keys.press("Space")
    page.get_by_role("button", name="Take back: Surfaces prepared").first.wait_for()
    keys.focus()
    page.goto(f"{served.address}{REPAIR}/bond")
    keys.to("Adhesive started")
    keys.press("Space")
    page.get_by_role("button", name="Take back: Adhesive started").first.wait_for()
    keys.focus()


def test_a_step_is_signed_off(page: Page, served: Served, keys: Keys) -> None:
    planned(served.desk)
    page.goto(f"{served.address}{REPAIR}/plan")
    before = page.locator("main .tap").first.get_attribute("id") or ""
    keys.to("Sign|Done")
    keys.press("Enter")
    page.locator(f"#{before}").wait_for(state="detached", timeout=120_000)
    keys.focus()
    assert served.desk.store.log("heron-114").facts[-1].body["kind"] == "done"


def test_an_entry_is_withdrawn_with_its_reason(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}/repairs/zone/log")
    keys.to("Withdraw")
    keys.press("Enter")
    keys.to("Why is it wrong")
    page.keyboard.type("the wrong vehicle")
    keys.press("Enter")
    page.get_by_text("takes back").wait_for()
    keys.focus()


def test_the_job_file_is_made_and_opened(page: Page, served: Served, keys: Keys) -> None:
    page.goto(f"{served.address}{REPAIR}/job-file")
    keys.to("Make the job file")
    keys.press("Enter")
    page.get_by_role("link", name="Open the job file (PDF)").wait_for(timeout=120_000)
    keys.to(r"Open the job file \(PDF\)")
    with page.expect_download() as download:
        keys.press("Enter")
    assert download.value.suggested_filename.startswith("heron-114-")


@pytest.mark.parametrize(
    "path",
    ["/start", "/people", REPAIR, f"{REPAIR}/part?id=outer", f"{REPAIR}/joint?id=roof-rail"]
    + [f"{REPAIR}/{name}" for name in ("bond", "quiet", "photos", "fit/read?of=locator:p1")],
)
def test_the_focus_goes_down_the_page_as_one_reads(
    page: Page, served: Served, keys: Keys, path: str
) -> None:
    page.goto(served.address + path)
    seen: list[dict[str, object]] = []
    for _ in range(MOST_TABS):
        keys.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
        seen.append(keys.focus())
    else:
        raise AssertionError("a way by Tab that does not end")
    assert len(seen) > 4
    assert all(one["after"] for one in seen), [one["words"] for one in seen if not one["after"]]
    inside = [one for one in seen if one["inside"]]
    for one, two in pairwise(inside):
        below = float(str(two["bottom"])) > float(str(one["top"]))
        beside = float(str(two["left"])) >= float(str(one["right"])) - 1.0
        assert below or beside, (one["words"], two["words"])
