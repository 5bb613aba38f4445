from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from panelwright.facts.assumed import KINDS, confirmed, to_confirm, waiting
from panelwright.facts.entry import Fact
from panelwright.facts.file import document_from, read
from panelwright.facts.fold import fold
from panelwright.facts.identity import uuid7
from panelwright.facts.kinds import kinds
from panelwright.facts.log import Log
from panelwright.facts.models.document import Document
from panelwright.facts.repair import repair_of

START = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)

FULL = """
[[part]]
id = "outer"
name = "rear corner panel"
state = "replace"
structural = true
flex = "box"
hides = ["inner"]
carries = ["radar"]
material = "EN AW-6016-T4"
thickness = "1.2 mm"
area = "1.6 m2"
mass = 5.2
on_hand = true
arrives = 2026-11-20T08:00:00Z
section = [{ joint = "arch", from = "10 mm", to = "20 mm" }]
assumed = true
[[part]]
id = "inner"
thickness = "1.5 mm"
[[joint]]
id = "arch"
name = "wheel arch"
layers = ["outer", "inner"]
kind = "bond"
length = "620 mm"
flange = "20 mm"
old = { count = 12 }
avoid = [["300 mm", "335 mm"]]
remake = { count = 12 }
assumed = true
[[point]]
id = "L1"
name = "left corner"
on = "outer"
xyz = [10, -20, 30]
u = 0
twin = "R1"
home = "twin"
tolerance = "3 mm"
damaged = true
assumed = true
[[point]]
id = "R1"
xyz = [10, 20, 30]
u = 1
twin = "L1"
[[station]]
id = "d1"
part = "outer"
xyz = [10, -20, 30]
gap_towards = [1, 0, 0]
gap = { want = "5 mm", tolerance = "1 mm" }
assumed = true
[[contact]]
id = "c1"
part = "outer"
xyz = [10, -20, 30]
normal = [0, -1, 0]
assumed = true
[[locator]]
id = "p1"
part = "outer"
xyz = [10, -20, 30]
axis = [0, 1, 0]
assumed = true
"""


@pytest.mark.exact
def test_of_an_assumed_table_the_rooms_see_what_it_is_and_where_it_starts() -> None:
    repair = read(FULL).part_by_id["outer"]
    assert repair.model_dump(exclude_defaults=True) == {
        "assumed": True,
        "id": "outer",
        "name": "rear corner panel",
        "state": "replace",
        "structural": True,
        "flex": "box",
        "hides": ("inner",),
        "carries": ("radar",),
    }
    joint = read(FULL).joint_by_id["arch"]
    assert joint.model_dump(exclude_defaults=True) == {
        "assumed": True,
        "id": "arch",
        "name": "wheel arch",
        "layers": ("outer", "inner"),
        "kind": "bond",
    }
    point = read(FULL).point_by_id["L1"]
    assert point.model_dump(exclude_defaults=True, exclude={"xyz"}) == {
        "assumed": True,
        "id": "L1",
        "name": "left corner",
        "on": "outer",
        "twin": "R1",
        "damaged": True,
    }
    assert point.xyz is not None


@pytest.mark.exact
def test_assumed_places_where_parts_meet_are_no_places_yet() -> None:
    repair = read(FULL)
    assert (repair.stations, repair.contacts, repair.locators) == ((), (), ())
    assert [repair.assumed.ids(kind) for kind in KINDS] == [
        ("outer",),
        ("arch",),
        ("L1",),
        ("d1",),
        ("c1",),
        ("p1",),
    ]
    assert repair.assumed.points[0].home == "twin"


@pytest.mark.exact
def test_what_nobody_marked_is_seen_in_full() -> None:
    repair = read(FULL.replace("assumed = true\n", ""))
    document = document_from({"repair": {}})
    assert repair.assumed == repair_of(document).assumed
    assert repair.part_by_id["outer"].thickness is not None
    assert repair.joint_by_id["arch"].flange is not None
    assert repair.point_by_id["L1"].home == "twin"
    assert len(repair.stations) == len(repair.contacts) == len(repair.locators) == 1
    assert to_confirm(repair.assumed) == ()


@pytest.mark.exact
def test_what_waits_is_told_a_line_a_table_and_stops_no_question() -> None:
    told = to_confirm(read(FULL).assumed)
    assert [problem.where for problem in told] == list(KINDS)
    assert all(problem.what.startswith("assumed, confirm: ") for problem in told)
    assert {problem.blocks for problem in told} == {frozenset()}
    assert [problem.where for problem in to_confirm(read(FULL).assumed, "point")] == ["point"]


@pytest.mark.exact
def test_many_ids_are_told_as_six_and_a_count() -> None:
    points = [{"id": f"P{n}", "assumed": True} for n in range(9)]
    (told,) = to_confirm(repair_of(document_from({"point": points})).assumed)
    assert "P0, P1, P2, P3, P4, P5 and 3 more." in told.what


@pytest.mark.exact
def test_the_kinds_that_can_be_assumed_are_those_whose_tables_have_the_mark() -> None:
    definitions = Document.model_json_schema()["$defs"]
    marked = {name for name, schema in definitions.items() if "assumed" in schema["properties"]}
    assert marked == {kind.capitalize() for kind in KINDS}
    assert all(kinds()[kind].named for kind in KINDS)


def said(number: int, kind: str, body: dict[str, object]) -> Fact:
    moment = START + timedelta(minutes=number)
    return Fact(
        id=uuid7(START, (number << 6).to_bytes(10)),
        kind=kind,
        body=body,
        observed_at=moment,
        recorded_at=moment,
        person="Kim",
    )


@pytest.mark.exact
def test_saying_a_table_without_the_mark_confirms_it_and_withdrawing_that_takes_it_back() -> None:
    part = said(1, "part", {"id": "outer", "state": "replace"})
    guess = said(2, "contact", {"id": "c1", "part": "outer", "xyz": [1, 2, 3], "normal": [0, 1, 0]})
    guess = guess.model_copy(update={"body": {**guess.body, "assumed": True}})
    log = Log().extend([part, guess])
    assert waiting(fold(log)) == (guess,)
    sure = said(3, "contact", confirmed(guess.body))
    folded = fold(log.append(sure))
    assert [contact.id for contact in folded.repair.contacts] == ["c1"]
    assert waiting(folded) == ()
    assert folded.repair.assumed.contacts == ()
    back = fold(log.extend([sure, said(4, "withdrawn", {"id": str(sure.id), "reason": "other"})]))
    assert back.repair.contacts == ()
    assert waiting(back) == (guess,)
