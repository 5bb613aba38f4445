"""What pages say of what is missing: in words for somebody who has no file, with the way there."""

from __future__ import annotations

import re
from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.facts import layouts
from panelwright.facts.problem import Problem
from panelwright.web.desk import Desk
from panelwright.web.worded import doubts, on_pages, reasons
from tests.web.conftest import Watch, key_of, planned

PAGES = ("", "/findings", "/parts", "/joints", "/fit", "/bond", "/quiet", "/plan", "/job-file")
FILE_WORDS = re.compile(r"\[\[|\[\w+\]|\b(?:part|joint|station|point)\[\d|\w+ = [\"{\[]")
"""How a repair file is written; nobody writes one on a page."""


def started(client: TestClient, zone: str) -> str:
    """Start a repair from a zone; give its address."""
    form = {
        "key": key_of(client.get("/start").text),
        "zone": zone,
        "side": "left",
        "drive": "battery",
        "name": f"x-{zone}",
    }
    answer = client.post("/start", data=form)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def shown(text: str) -> str:
    """Give what a page shows, without its marks."""
    main = text[text.index("<main") : text.index("</main>")]
    return unescape(re.sub(r"<[^>]+>", " ", main))


@pytest.mark.parametrize("zone", [*(layout.id for layout in layouts.layouts()), "empty"])
def test_no_page_of_a_new_repair_speaks_of_the_file(
    client: TestClient, desk: Desk, zone: str
) -> None:
    repair = started(client, zone)
    planned(desk, repair.rpartition("/")[2])
    for page in PAGES:
        words = shown(client.get(repair + page).text)
        found = FILE_WORDS.search(words)
        assert found is None, (page, words[max(0, found.start() - 200) : found.end() + 100])


def test_what_is_missing_leads_to_the_screen_where_it_is_entered(
    client: TestClient, desk: Desk
) -> None:
    repair = started(client, "van-rear-corner")
    page = client.get(f"{repair}/joints").text
    card = page[page.index('id="doubts"') :]
    assert f'href="{repair}/part?id=outer"' in card
    assert f'href="{repair}/joint?id=seam"' in card
    for link in set(re.findall(r'href="([^"]+)"', card[: card.index("</section>")])):
        assert client.get(unescape(link)).status_code == 200


def test_what_several_joints_lack_is_said_once(client: TestClient, desk: Desk) -> None:
    started(client, "van-rear-corner")
    repair = desk.answers.known("x-van-rear-corner").repair
    lacking = "no adhesive for this joint; add [[adhesive]] with its time rows"
    both = "side-wall seam, wheel arch flange"
    said = reasons(repair, [f"joint seam: {lacking}", f"joint arch: {lacking}", "Something else."])
    assert said == (
        f"No adhesive for these 2 joints: enter it on the page Bond ({both})",
        "Something else.",
    )


def test_the_places_of_problems_are_called_by_their_names(client: TestClient, desk: Desk) -> None:
    started(client, "van-rear-corner")
    repair = desk.answers.known("x-van-rear-corner").repair
    problems = [
        Problem("part[0].thickness", "'left load-space lining' has no thickness; it matters"),
        Problem("joint arch", "ask"),
        Problem("shop.technicians", "is 1"),
        Problem("part[99].thickness", "there is none"),
        Problem("joint[1].length", "ask too"),
    ]
    first, second, third, last = doubts(repair, problems, "/r")
    assert (first.label, first.href) == ("left load-space lining", "/r/part?id=lining")
    assert first.words == ("It has no thickness; it matters",)
    assert (second.label, second.words) == ("wheel arch flange", ("Ask", "Ask too"))
    assert (third.label, third.href) == ("Shop", "/r/shop")
    assert (last.label, last.href) == ("part[99].thickness", "")


def test_a_sentence_without_keys_stays_as_it_is() -> None:
    assert on_pages("Leave it clamped until 14:05.") == "Leave it clamped until 14:05."


@pytest.mark.parametrize(("page", "kind"), [("findings", "part"), ("joints", "joint")])
def test_what_is_only_assumed_is_confirmed_at_once(
    client: TestClient, desk: Desk, watch: Watch, page: str, kind: str
) -> None:
    address = f"{started(client, 'van-rear-corner')}/{page}"
    before = client.get(address).text
    count = len(desk.answers.known("x-van-rear-corner").repair.assumed.ids(kind))
    assert f"All {count} are right as they stand" in before
    watch.go(minutes=1)
    answer = client.post(f"{address}/confirm", data={"key": key_of(before)})
    assert answer.status_code == 303
    assert not desk.answers.known("x-van-rear-corner").repair.assumed.ids(kind)
    after = client.get(address).text
    assert "right as they stand" not in after
    assert "assumed, confirm" not in after


def test_a_repair_without_a_plan_yet_begins_with_making_safe(
    client: TestClient, desk: Desk
) -> None:
    desk.work.ask = lambda _: None  # type: ignore[method-assign]
    started(client, "van-rear-corner")
    page = client.get("/repairs/x-van-rear-corner").text
    assert "<h1>Make the vehicle safe by the maker&#39;s procedure.</h1>" in page
