"""Joints and joint: what each takes, and counting while it is drilled and riveted."""

from __future__ import annotations

from html import unescape

import pytest
from starlette.testclient import TestClient

from panelwright.web.desk import Desk
from tests.web.conftest import Watch
from tests.web.saying import REPAIR, repair, said, send, tap

JOINTS = f"{REPAIR}/joints"
SEAM = f"{REPAIR}/joint?id=seam"


def count(client: TestClient, kind: str, by: str, joint: str = "seam") -> tuple[int, str]:
    return send(client, "joint/count", joint=joint, kind=kind, by=by)


def counts(desk: Desk) -> list[object]:
    return [event["count"] for event in said(desk, "event") if "count" in event]


def shown(client: TestClient, kind: str, joint: str = "seam") -> str:
    page = client.get(f"{REPAIR}/joint?id={joint}").text
    part = page.split(f'id="count-{kind}"', 1)[1].split("</section>", 1)[0]
    return part.split("<strong>", 1)[1].split("</strong>", 1)[0]


def test_every_joint_says_what_it_takes_and_on_whose_word(heron: TestClient) -> None:
    page = unescape(heron.get(JOINTS).text)
    assert "<h1>Ask the maker about roof rail flange first.</h1>" in page
    assert "16 × blind rivet HR 4.8 × 10 (invented); 10.3 ml of HA-20" in page
    for word in ("proposal", "by the procedure", "ask the maker"):
        assert f"</span> {word}</span>" in page


def test_a_joint_says_drill_set_and_bead_first(heron: TestClient) -> None:
    page = unescape(heron.get(SEAM).text)
    first = "Side-wall seam: drill 16 holes of 4.9 mm, deburr both sides; set 16 × blind rivet"
    assert f"<h1>{first}" in page
    assert "<svg" in page
    assert "<li>41</li><li>101</li>" in page
    assert "never water on burning aluminium" in page


def test_inches_are_shown_to_who_reads_inches(heron: TestClient) -> None:
    form = {"name": "Anna", "units": "in", "theme": "system", "then": "/"}
    assert heron.post("/people", data=form).status_code == 303
    page = unescape(heron.get(SEAM).text)
    assert "drill 16 holes of 0.193 in" in page
    assert "From the joint’s start, in:" in page


def test_a_structural_joint_with_a_silent_procedure_offers_nothing_to_do(
    heron: TestClient,
) -> None:
    page = unescape(heron.get(f"{REPAIR}/joint?id=roof-rail").text)
    assert "<h1>Roof rail flange: ask the maker.</h1>" in page
    assert "Holes drilled" not in page
    assert "Rivets set" not in page
    assert count(heron, "drilled", "plus", "roof-rail")[0] == 422


def test_plus_minus_and_undo_count_holes(heron: TestClient, desk: Desk, watch: Watch) -> None:
    for by, total in (("plus", "1"), ("plus", "2"), ("minus", "1"), ("undo", "2"), ("undo", "1")):
        watch.go(seconds=1)
        assert count(heron, "drilled", by) == (303, SEAM)
        assert shown(heron, "drilled") == total
    assert counts(desk) == [1, 1, -1]
    assert len(said(desk, "withdrawn")) == 2
    assert shown(heron, "set") == "0"


def test_counting_asks_no_room_again(heron: TestClient, desk: Desk) -> None:
    heron.get(SEAM)
    known = desk.answers.known("heron-114")
    before, key = desk.answers.bond(known), desk.answers.plan_key(known)
    assert count(heron, "drilled", "plus")[0] == 303
    known = desk.answers.known("heron-114")
    assert desk.answers.bond(known) is before
    assert desk.answers.plan_key(known) == key


def test_all_at_once_counts_what_is_left(heron: TestClient, desk: Desk, watch: Watch) -> None:
    assert count(heron, "set", "plus")[0] == 303
    watch.go(seconds=1)
    assert "stop the clock of the work time" not in heron.get(SEAM).text
    assert count(heron, "set", "all")[0] == 303
    assert counts(desk) == [1, 15]
    assert "All 16 are set: stop the clock of the work time." in heron.get(SEAM).text


def test_rivets_set_is_offered_at_the_joints_count_and_stops_its_clock(
    heron: TestClient, watch: Watch
) -> None:
    for kind in ("bead-begun", "closed"):
        assert tap(heron, "event", f'{{"kind": "{kind}", "joint": "seam"}}', SEAM) == 303
    assert "Panel on and last rivet of side-wall seam" in heron.get(f"{REPAIR}/bond").text
    assert count(heron, "set", "all")[0] == 303
    watch.go(minutes=5)
    assert tap(heron, "event", '{"kind": "rivets-set", "joint": "seam"}', SEAM) == 303
    assert "stop the clock" not in heron.get(SEAM).text
    assert "Wed 25 Nov 13:05, Anna" in heron.get(SEAM).text
    assert "Panel on and last rivet of side-wall seam" not in heron.get(f"{REPAIR}/bond").text


def test_one_too_many_is_said(heron: TestClient, watch: Watch) -> None:
    assert count(heron, "drilled", "all")[0] == 303
    watch.go(seconds=1)
    assert count(heron, "drilled", "plus")[0] == 303
    assert "1 more than the joint takes" in heron.get(SEAM).text


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ("minus", "Nothing is counted that could be taken off."),
        ("undo", "Nothing is counted that could be taken back."),
        ("twice", "'twice' is not one of the choices here."),
        ("", "Tap plus or minus."),
    ],
)
def test_a_count_that_cannot_be_is_told(heron: TestClient, desk: Desk, by: str, words: str) -> None:
    status, page = count(heron, "drilled", by)
    assert status == 422
    assert words in unescape(page) or by not in ("minus", "undo")
    assert counts(desk) == []


def test_all_of_what_is_all_already_is_told(heron: TestClient) -> None:
    assert count(heron, "drilled", "all")[0] == 303
    status, page = count(heron, "drilled", "all")
    assert status == 422
    assert "All 16 are counted already." in page


def test_a_joint_that_nobody_entered_is_not_found(heron: TestClient) -> None:
    assert heron.get(f"{REPAIR}/joint?id=hinge").status_code == 404
    assert heron.get(f"{REPAIR}/joint/template/1?id=hinge").status_code == 404
    assert count(heron, "drilled", "plus", "hinge")[0] == 404
    assert send(heron, "joint/table", joint="hinge")[0] == 404
    assert heron.get("/repairs/no-such/joints").status_code == 404


def test_the_template_is_given_to_scale_sheet_by_sheet(heron: TestClient) -> None:
    answer = heron.get(f"{REPAIR}/joint/template/1?id=seam")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "scale 1:1" in answer.text
    assert heron.get(f"{REPAIR}/joint/template/99?id=seam").status_code == 404
    assert heron.get(f"{REPAIR}/joint/template/0?id=seam").status_code == 404


def test_the_procedures_word_turns_a_question_into_an_answer(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    fields = {"name": "roof rail flange", "kind": "rivet-bond", "length": "1100", "flange": "26"}
    new = {"new_rivet": "HR-64-14", "new_count": "18", "new_adhesive": "HA-20", "new_edge": "13"}
    old = {"old_fastener": "self-piercing rivet", "old_diameter": "5.3 mm", "old_count": "18"}
    status, where = send(heron, "joint/table", joint="roof-rail", **fields, **new, **old)
    assert (status, where) == (303, f"{REPAIR}/joint?id=roof-rail")
    joint = repair(desk).joint_by_id["roof-rail"]
    assert joint.remake is not None
    assert (joint.remake.rivet, joint.remake.count) == ("HR-64-14", 18)
    assert joint.old is not None
    assert len(joint.old.at) == 18
    assert "set 18 × blind rivet HR 6.4" in heron.get(f"{REPAIR}/joint?id=roof-rail").text


def test_another_number_of_old_fasteners_drops_their_places(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    fields = {"name": "seam", "kind": "rivet-bond", "length": "960 mm", "flange": "24 mm"}
    assert send(heron, "joint/table", joint="seam", old_count="15", **fields)[0] == 303
    old = repair(desk).joint_by_id["seam"].old
    assert old is not None
    assert (old.count, old.at) == (15, ())


def test_half_a_rivet_comes_back_with_its_value(heron: TestClient) -> None:
    fields = {"name": "seam", "kind": "rivet-bond", "old_count": "7.5", "length": "9 feet long"}
    status, page = send(heron, "joint/table", form="table", joint="seam", **fields)
    assert status == 422
    assert "7.5: expected a whole number." in page
    assert 'value="9 feet long"' in page


def test_a_joint_and_a_rivet_are_added(heron: TestClient, desk: Desk, watch: Watch) -> None:
    fields = {"label": "Hinge plate", "outer": "outer", "inner": "post", "kind": "bolt"}
    assert send(heron, "joints/joint", **fields) == (303, JOINTS)
    assert repair(desk).joint_by_id["hinge-plate"].layers == ("outer", "post")
    watch.go(minutes=1)
    rivet = {"rivet": "HR-48-10", "diameter": "4.8", "grip_low": "1.5", "grip_high": "3.5"}
    assert send(heron, "joints/rivet", on_hand="80", shear="4.2", **rivet) == (303, JOINTS)
    found = [one for one in repair(desk).rivets if one.id == "HR-48-10"]
    assert [one.on_hand for one in found] == [80]
    assert found[0].name == "blind rivet HR 4.8 × 10 (invented)"


@pytest.mark.parametrize(
    ("action", "fields", "words"),
    [
        (
            "joints/joint",
            {"outer": "outer", "inner": "outer"},
            "A joint holds two different parts.",
        ),
        ("joints/joint", {"label": ""}, "Say what people call it."),
        ("joints/rivet", {"rivet": ""}, "Give its name or number."),
        ("joints/rivet", {"rivet": "X", "diameter": ""}, "Give the diameter."),
        (
            "joints/rivet",
            {"rivet": "X", "diameter": "5", "grip_low": "1"},
            "Give both ends of the grip.",
        ),
        ("joints/rivet", {"rivet": "X", "diameter": "0"}, "is not more than zero"),
    ],
)
def test_what_is_missing_is_asked_for(
    heron: TestClient, action: str, fields: dict[str, str], words: str
) -> None:
    form = action.rpartition("/")[2]
    status, page = send(heron, action, form=form, **fields)
    assert status == 422
    assert words in unescape(page)


TABLE = {"name": "roof rail flange", "kind": "rivet-bond", "length": "1100", "flange": "26"}


def test_places_stretches_and_the_old_adhesive_are_entered(
    heron: TestClient, desk: Desk, watch: Watch
) -> None:
    watch.go(minutes=1)
    old = {"old_count": "4", "old_at": "30; 80;130", "old_adhesive": "yes", "old_strength": "3.5"}
    new = {"new_count": "3", "new_at": "40, 140, 240 mm", "new_bond_line": "0.4"}
    told = {**TABLE, **old, **new, "avoid": "310 to 345; 500-520"}
    assert send(heron, "joint/table", joint="roof-rail", **told)[0] == 303
    joint = repair(desk).joint_by_id["roof-rail"]
    assert joint.old is not None
    assert joint.remake is not None
    assert [at.mm for at in joint.old.at] == [30.0, 80.0, 130.0]
    assert joint.old.adhesive
    assert joint.old.strength is not None
    assert joint.old.strength.typed == "3.5 kN"
    assert [at.mm for at in joint.remake.at] == [40.0, 140.0, 240.0]
    assert [(low.mm, high.mm) for low, high in joint.avoid] == [(310.0, 345.0), (500.0, 520.0)]
    page = heron.get(f"{REPAIR}/joint?id=roof-rail").text
    for value in ("30 mm; 80 mm; 130 mm", "310 mm to 345 mm; 500 mm to 520 mm", "3.5"):
        assert f'value="{value}"' in page


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"old_count": "2", "old_at": "30; 80; 130"}, "3 places for 2: count again."),
        ({"new_count": "4", "new_at": "30; 80; 130"}, "3 places for 4: count again."),
        ({"old_at": "30; here"}, "here"),
        ({"avoid": "310"}, "write from and to, such as 310 to 345."),
        ({"avoid": "310 to there"}, "there"),
        ({"old_strength": "strong"}, "expected a number from 0.01 to 100"),
    ],
)
def test_places_that_cannot_be_taken_are_said_at_their_field(
    heron: TestClient, wrong: dict[str, str], words: str
) -> None:
    status, page = send(heron, "joint/table", form="table", joint="roof-rail", **{**TABLE, **wrong})
    assert status == 422
    assert words in page
    assert 'class="problem"' in page
