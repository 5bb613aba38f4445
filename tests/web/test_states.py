"""A state is told by shape and word as well as colour, and nothing moves for who wants that."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from starlette.testclient import TestClient

from panelwright.store import place_of
from panelwright.web.desk import Desk
from panelwright.web.shown import SHAPES, Sign
from tests.web import screens
from tests.web.browser import Served, put, soon, started, window
from tests.web.conftest import planned
from tests.web.test_live import fact

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CSS = files("panelwright.web").joinpath("static/app.css").read_text("utf-8")
MARK = re.compile(
    r'<(?P<tag>span|p|div) class="(?P<kind>(?:badge|caution|trouble|fit-verdict|clock)[^"]*)"'
    r"[^>]*>(?P<inside>.*?)</(?P=tag)>",
    re.DOTALL,
)
SHAPE = re.compile(r'<span class="shape" aria-hidden="true">([^<]+)</span>')


def test_every_state_has_its_shape() -> None:
    assert set(SHAPES) == set(Sign)
    alike = {Sign.GOOD, Sign.DONE}  # both are well, in one colour; their words differ
    others = [shape for sign, shape in SHAPES.items() if sign not in alike]
    assert len({*others, SHAPES[Sign.GOOD]}) == len(others) + 1
    assert all(len(shape) == 1 for shape in SHAPES.values())


def test_every_mark_of_a_state_has_a_shape_and_a_word(moved: TestClient, desk: Desk) -> None:
    text = desk.store.log("heron-114")
    assert text.entries
    desk.store.import_text('[repair]\nname = "bare"', person="Berta")
    planned(desk)
    kinds: set[str] = set()
    for address in screens.PAGES.values():
        answer = moved.get(address, follow_redirects=True).text
        for mark in MARK.finditer(answer):
            inside = mark["inside"]
            if mark["tag"] == "span":  # the shape's own element ends first
                inside = answer[mark.start("inside") : mark.end() + 200].split("</span>")
                inside = "</span>".join(inside[:2]) + "</span>"
            kinds.add(mark["kind"].split()[0])
            shape = SHAPE.search(inside)
            assert shape is not None, (address, mark[0])
            assert shape[1].strip(), (address, mark[0])
            words = re.sub(r"<[^>]+>", "", SHAPE.sub("", inside)).strip()
            assert len(words) > 2, (address, mark[0])
    assert kinds >= {"badge", "caution", "fit-verdict"}


def test_a_wrong_field_is_marked_by_a_shape_and_words(moved: TestClient) -> None:
    key = re.search(r'name="key" value="([0-9a-f]+)"', moved.get("/start").text)
    assert key is not None
    answer = moved.post("/start", data={"key": key[1], "name": "two words"})
    assert answer.status_code == 422
    problems = re.findall(r'<p class="problem"[^>]*>(.*?)</p>', answer.text)
    assert len(problems) >= 3
    assert all('<span aria-hidden="true">✗</span>' in one for one in problems)
    assert 'aria-invalid="true"' in answer.text


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as browser:
        yield browser


def test_a_clock_that_is_over_says_so(browser: Browser, tmp_path: Path, examples: Path) -> None:
    begun = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=3)
    with Served(place_of(tmp_path)) as served:
        put(served, examples / "heron-moved.toml")
        body = {"kind": "bead-begun", "joint": "arch", "at": begun.isoformat()}
        one = fact(77).model_copy(update={"kind": "event", "body": body})
        served.desk.store.append("heron-114", [one])
        with window(browser, served) as (_, page):
            page.goto(f"{served.address}{screens.BEGUN}/bond")
            page.locator(".clock.limit .digits.over").first.wait_for()
            said = page.evaluate(
                "getComputedStyle(document.querySelector('.limit .over'), '::before').content"
            )
            assert said == '"too late"'


def test_styles_move_nothing() -> None:
    still = re.sub(r"@media \(prefers-reduced-motion: reduce\) \{.*?\n\}", "", CSS, flags=re.DOTALL)
    assert still != CSS
    for word in ("animation", "transition", "@keyframes", "scroll-behavior"):
        assert word not in still, f"{word}: only where motion is not reduced"


def test_progress_stands_still_where_motion_is_reduced(
    browser: Browser, tmp_path: Path, examples: Path
) -> None:
    with Served(place_of(tmp_path)) as served:
        put(served, examples / "heron-moved.toml")
        with window(browser, served) as (_, page):
            moves = "getComputedStyle(document.querySelector('progress')).appearance"
            for wish, found in (("reduce", "none"), ("no-preference", "auto")):
                page.emulate_media(reduced_motion=wish)  # type: ignore[arg-type]
                screens.STATES["now-planning"](page, served)
                soon(page, f"() => {moves} === '{found}'")
                if wish == "reduce":
                    assert page.evaluate("document.getAnimations().length") == 0
