"""Findings and part: what comes off, part states by tap, and what hidden damage changes."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch, planned
from tests.web.saying import NAME, REPAIR, repair, said, send

FINDINGS = f"{REPAIR}/findings"
WHEELHOUSE = f"{REPAIR}/part?id=wheelhouse"


def waited(client: TestClient, desk: Desk, path: str, words: str) -> str:
    """The page once its long work is done."""
    for _ in range(600):
        page = unescape(client.get(path).text)
        if words in page:
            return page
        desk.work.idle(0.1)
    raise AssertionError(page)


def state_of(desk: Desk, part: str) -> str:
    return repair(desk).part_by_id[part].state


def test_the_first_line_says_what_comes_off_first(
    client: TestClient, desk: Desk, examples: Path
) -> None:
    text = (examples / "heron.toml").read_text("utf-8").partition("[[reading]]")[0]
    desk.store.import_text(text, person="Berta")
    page = client.get(FINDINGS).text
    assert "<h1>Make the vehicle safe, then take off left load-space lining first.</h1>" in page
    assert page.index("Before anything comes off") < page.index("Take off, in this order")
    assert page.index("1.</span> left load-space lining") < page.index("2.</span> rear bumper")
    assert "Inspect left roof rail as soon as left rear outer panel is off" in page


def test_what_is_off_is_marked_and_the_first_line_goes_on(moved: TestClient, desk: Desk) -> None:
    planned(desk)
    page = moved.get(FINDINGS).text
    assert "<h1>Everything is off: say what you find.</h1>" in page
    assert page.count("</span> off</span>") == 5
    assert "Support it before the last joint opens." not in page
    assert "Before anything comes off" not in page


def test_cautions_stand_at_the_part_and_at_its_joints(heron: TestClient) -> None:
    page = unescape(heron.get(FINDINGS).text)
    assert "cut-proof gloves" in page
    assert "Structural (left roof rail): open it only as the maker's procedure says" in page
    assert page.count("never water on burning aluminium") == 1


def test_a_tap_says_what_becomes_of_a_part_and_the_order_follows(
    heron: TestClient, desk: Desk
) -> None:
    assert "left wheelhouse outer comes off too" not in heron.get(FINDINGS).text
    status, where = send(heron, "part/finding", part="wheelhouse", state="replace", what="")
    assert (status, where) == (303, WHEELHOUSE)
    assert said(desk, "finding") == [
        {"part": "wheelhouse", "what": "to be replaced", "state": "replace"}
    ]
    assert state_of(desk, "wheelhouse") == "replace"
    assert ".</span> left wheelhouse outer" in heron.get(FINDINGS).text


def test_words_alone_leave_the_state_as_it_is(heron: TestClient, desk: Desk) -> None:
    fields = {"part": "wheelhouse", "state": "note", "what": "paint cracked at the seam"}
    assert send(heron, "part/finding", after="outer", **fields)[0] == 303
    assert said(desk, "finding") == [
        {"part": "wheelhouse", "what": "paint cracked at the seam", "after": "outer"}
    ]
    assert state_of(desk, "wheelhouse") == "inspect"
    assert "paint cracked at the seam" in heron.get(WHEELHOUSE).text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"state": "note", "what": ""}, "Say what you found, in a few words."),
        ({"state": "", "what": "bent"}, "Tap what becomes of it."),
        ({"state": "paint", "what": "bent"}, "'paint' is not one of the choices here."),
        (
            {"state": "replace", "what": "bent", "after": "lamp"},
            "'lamp' is not one of the choices here.",
        ),
    ],
)
def test_what_does_not_fit_comes_back_with_the_words_kept(
    heron: TestClient, desk: Desk, fields: dict[str, str], words: str
) -> None:
    status, page = send(heron, "part/finding", form="finding", part="wheelhouse", **fields)
    assert status == 422
    assert words in unescape(page) or "lamp" in fields.get("after", "")
    assert f">{fields['what']}</textarea>" in page
    assert said(desk, "finding") == []


def test_a_part_that_nobody_entered_is_not_found(heron: TestClient) -> None:
    assert heron.get(f"{REPAIR}/part?id=wing").status_code == 404
    assert heron.get(f"{REPAIR}/part").status_code == 404
    assert send(heron, "part/finding", part="wing", state="keep")[0] == 404
    assert send(heron, "part/table", part="wing", name="wing", structural="no")[0] == 404
    assert heron.get("/repairs/no-such/findings").status_code == 404


def test_damage_found_before_the_work_began_changes_no_plan(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n[[part]]\nid = "wing"\n', person="Berta")
    assert send(client, "part/finding", part="wing", state="replace")[0] == 303
    assert "what it changes" not in client.get(FINDINGS).text


def test_hidden_damage_says_at_once_what_changes_and_then_all_of_it(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=3)
    fields = {"state": "replace", "what": "folded over behind the baffle", "after": "outer"}
    assert send(moved, "part/finding", part="wheelhouse", **fields)[0] == 303
    at_once = unescape(moved.get(FINDINGS).text)
    assert "left wheelhouse outer: folded over behind the baffle" in at_once
    assert "left wheelhouse outer: replace, was: inspect" in at_once
    assert "left wheelhouse outer comes off too" in at_once
    page = waited(moved, desk, FINDINGS, "Tell the office:")
    assert "1 part" in page
    assert "h of work; ready for paint" in page
    assert "Supplement as a job file" in page


def test_a_finding_taken_back_takes_its_change_with_it(
    moved: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=3)
    assert send(moved, "part/finding", part="wheelhouse", state="replace", what="torn")[0] == 303
    assert "what it changes" in moved.get(FINDINGS).text
    fact = str(desk.store.log(NAME).facts[-1].id)
    assert send(moved, "log/withdraw", fact=fact, reason="wrong part")[0] == 303
    assert "what it changes" not in moved.get(FINDINGS).text
    assert state_of(desk, "wheelhouse") == "inspect"


def test_a_photo_of_a_finding_stands_beside_it(heron: TestClient, desk: Desk) -> None:
    assert send(heron, "part/finding", part="outer", state="replace", what="torn")[0] == 303
    fact = str(desk.store.log(NAME).facts[-1].id)
    assert f"{REPAIR}/photos?of=finding:{fact}" in heron.get(FINDINGS).text
    body = f'{{"sha256": "{"a" * 64}", "finding": "{fact}"}}'
    assert send(heron, "say", kind="photo", body=body, then=FINDINGS)[0] == 303
    assert f'src="/photos/{"a" * 64}.jpg"' in heron.get(FINDINGS).text


def test_the_table_of_a_part_is_said_anew_and_confirms_what_was_assumed(
    client: TestClient, desk: Desk, watch: Watch
) -> None:
    text = f'[repair]\nname = "{NAME}"\n[[part]]\nid = "wing"\nassumed = true\nhides = ["post"]\n'
    desk.store.import_text(text + '[[part]]\nid = "post"\n', person="Berta")
    assert "Confirm wing" in client.get(f"{REPAIR}/part?id=wing").text
    watch.go(minutes=1)
    fields = {"name": "left wing", "material": "EN AW-6016-T4", "thickness": "1.2", "area": "0.8"}
    status, where = send(client, "part/table", part="wing", structural="yes", **fields)
    assert (status, where) == (303, f"{REPAIR}/part?id=wing")
    wing = repair(desk).part_by_id["wing"]
    assert (wing.label, wing.structural, wing.hides) == ("left wing", True, ("post",))
    assert wing.thickness is not None
    assert wing.thickness.mm == pytest.approx(1.2)
    assert wing.area is not None
    assert wing.area.m2 == pytest.approx(0.8)
    assert repair(desk).assumed.ids("part") == ()


def test_a_measure_that_is_none_comes_back_on_its_field(heron: TestClient) -> None:
    fields = {"name": "outer", "thickness": "thin", "structural": "no"}
    status, page = send(heron, "part/table", form="table", part="outer", **fields)
    assert status == 422
    assert 'value="thin"' in page
    assert 'id="f-thickness-problem"' in page


def test_a_part_is_added_behind_another(heron: TestClient, desk: Desk, watch: Watch) -> None:
    watch.go(minutes=1)
    fields = {"label": "Arch liner bracket", "new_state": "inspect", "behind": "outer"}
    assert send(heron, "findings/part", **fields) == (303, FINDINGS)
    parts = repair(desk).part_by_id
    assert parts["arch-liner-bracket"].state == "inspect"
    assert "arch-liner-bracket" in parts["outer"].hides
    assert send(heron, "findings/part", **fields) == (303, FINDINGS)
    assert "arch-liner-bracket-2" in repair(desk).part_by_id


def test_a_part_without_name_or_state_is_not_added(heron: TestClient, desk: Desk) -> None:
    status, page = send(heron, "findings/part", form="part", label="", new_state="", behind="")
    assert status == 422
    assert "Say what people call it." in page
    assert "Choose what becomes of it." in page
    assert len(repair(desk).parts) == 12


def test_the_procedure_is_named(client: TestClient, desk: Desk) -> None:
    desk.store.import_text(f'[repair]\nname = "{NAME}"\n[[part]]\nid = "wing"\n', person="Berta")
    assert "Not named" in client.get(FINDINGS).text
    status, page = send(client, "findings/procedure", form="procedure", reference="", revision="D")
    assert status == 422
    assert 'value="D"' in page
    fields = {"reference": "51-20", "revision": "D", "read_on": "2026-11-25"}
    assert send(client, "findings/procedure", **fields) == (303, FINDINGS)
    assert repair(desk).procedure.reference == "51-20"
    status, page = send(client, "findings/procedure", **{**fields, "read_on": "today"})
    assert status == 422


def test_what_hides_behind_a_part_is_said_on_its_own_screen(heron: TestClient) -> None:
    page = heron.get(f"{REPAIR}/findings").text
    links = re.findall(r'href="([^"]+)">What is behind: ([^<]+)<', page)
    assert links
    for href, label in links:
        answer = heron.get(unescape(href))
        assert answer.status_code == 200
        assert unescape(label) in unescape(answer.text)
        assert "Seen with this off" in answer.text
