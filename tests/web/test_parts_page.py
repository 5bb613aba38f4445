"""Parts list: shortages first, here or not by tap, arrival, stock and dates."""

from __future__ import annotations

from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch, planned
from tests.web.saying import NAME, REPAIR, repair, send

PARTS = f"{REPAIR}/parts"


def section(page: str, title: str) -> str:
    return page.split(f'aria-label="{title}"', 1)[1].split("</section>", 1)[0]


@pytest.fixture
def listed(moved: TestClient, desk: Desk) -> TestClient:
    """With the plan made, from which the list follows."""
    planned(desk)
    return moved


def test_the_list_says_that_it_follows_from_the_plan(moved: TestClient) -> None:
    page = moved.get(PARTS).text
    assert "<progress" in page or "Short (" in page


def test_shortages_come_first(listed: TestClient) -> None:
    page = unescape(listed.get(PARTS).text)
    assert "<h1>Get blind rivet HR 6.4 × 14 (invented).</h1>" in page
    assert page.index(">Short (") < page.index(">Have at hand (") < page.index(">There (")
    short = section(page, "Short")
    assert "Left tail lamp" in short
    assert "on its way" in short
    assert "Blind rivet HR 6.4 × 14" in short
    assert "Left rear outer panel" in section(page, "There")


def test_it_is_here_by_one_tap_and_the_list_follows_at_once(
    listed: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    assert send(listed, "parts/here", part="lamp", here="yes") == (303, PARTS)
    lamp = repair(desk).part_by_id["lamp"]
    assert (lamp.on_hand, lamp.arrives, lamp.hides) == (True, None, ("closing", "outer"))
    page = unescape(listed.get(PARTS).text)
    assert "Left tail lamp" not in section(page, "Short")
    assert "Left tail lamp" in section(page, "There")
    watch.go(minutes=1)
    assert send(listed, "parts/here", part="outer", here="no") == (303, PARTS)
    assert "Left rear outer panel" in section(listed.get(PARTS).text, "Short")


def test_when_a_part_arrives_moves_the_plan(listed: TestClient, desk: Desk, watch: Watch) -> None:
    before = desk.answers.plan(desk.answers.known(NAME)).answer
    watch.go(minutes=1)
    fields = {"part": "lamp", "arrives": "2026-12-03T09:30"}
    assert send(listed, "parts/arrives", **fields) == (303, PARTS)
    lamp = repair(desk).part_by_id["lamp"]
    assert lamp.arrives is not None
    assert lamp.arrives.isoformat() == "2026-12-03T09:30:00+01:00"
    planned(desk)
    after = desk.answers.plan(desk.answers.known(NAME)).answer
    assert after.ready_for_paint[0].p50 > before.ready_for_paint[0].p50  # type: ignore[union-attr]
    assert "arrives Thu 03 Dec 09:30" in listed.get(PARTS).text


def test_counted_rivets_are_enough(listed: TestClient, desk: Desk, watch: Watch) -> None:
    watch.go(minutes=1)
    fields = {"kind": "rivet", "thing": "HR-64-14", "on_hand": "200"}
    assert send(listed, "parts/count", **fields) == (303, PARTS)
    assert [one.on_hand for one in repair(desk).rivets if one.id == "HR-64-14"] == [200]
    assert "HR 6.4 × 14" not in section(listed.get(PARTS).text, "Short")


def test_old_adhesive_is_told_before_everything_else(
    listed: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    fields = {"adhesive": "HA-20", "batch": "HA20-5001", "use_by": "2026-10-31"}
    assert send(listed, "parts/batch", **fields) == (303, PARTS)
    assert repair(desk).adhesives[0].batch == "HA20-5001"
    page = listed.get(PARTS).text
    assert "<h1>Get fresh adhesive: this batch is too old.</h1>" in page
    assert "too old" in page


@pytest.mark.parametrize(
    ("action", "fields", "words"),
    [
        ("here", {"part": "lamp", "here": "perhaps"}, "is not one of the choices"),
        ("here", {"part": "wing", "here": "yes"}, "is not one of the choices"),
        ("arrives", {"part": "lamp", "arrives": ""}, "Say on which day and at what time."),
        ("arrives", {"part": "lamp", "arrives": "soon"}, "'soon' is no date and time"),
        ("count", {"kind": "rivet", "thing": "HR-64-14", "on_hand": "7.5"}, "a whole number"),
        ("count", {"kind": "rivet", "thing": "HR-64-14", "on_hand": "some"}, "'some': expected"),
        ("count", {"kind": "pad", "thing": "x", "on_hand": "1"}, "is not one of the choices"),
        ("batch", {"adhesive": "HA-20", "batch": "", "use_by": ""}, "Copy the batch"),
        ("batch", {"adhesive": "HA-20", "batch": "X", "use_by": "soon"}, "use_by"),
    ],
)
def test_what_does_not_fit_comes_back(
    listed: TestClient, desk: Desk, action: str, fields: dict[str, str], words: str
) -> None:
    before = desk.store.log(NAME).head
    form = {
        "arrives": f"arrives-{fields.get('part')}",
        "count": f"count-{fields.get('kind')}-{fields.get('thing')}",
        "batch": "batch-HA-20",
    }.get(action, "")
    status, page = send(listed, f"parts/{action}", form=form, **fields)
    assert status == 422
    hidden = action == "here" or fields.get("kind") == "pad"
    assert words in unescape(page) or hidden
    assert desk.store.log(NAME).head == before


def test_no_repair_no_list(client: TestClient) -> None:
    assert client.get("/repairs/no-such/parts").status_code == 404


def test_a_repair_without_parts_says_where_to_begin(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n', person="Berta")
    assert "<h1>Say what is damaged first.</h1>" in client.get(PARTS).text


def test_a_list_that_cannot_be_made_says_what_to_mend(client: TestClient, desk: Desk) -> None:
    text = f'[repair]\nname = "{NAME}"\n[[part]]\nid = "a"\n[[joint]]\nid = "j"\n'
    desk.store.import_text(text + 'layers = ["a", "b"]\n', person="Berta")
    page = client.get(PARTS).text
    assert "What is needed cannot be said yet." in page
    assert "Mend first:" in page
