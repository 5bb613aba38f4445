"""What is only assumed, and repairs of which next to nothing is known."""

from __future__ import annotations

from typing import Any

import pytest
from tests.fit.build import repair

from panelwright.errors import Unanswerable
from panelwright.fit import answer
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.part_answer import Verdict

PART = {"id": "outer", "state": "replace"}
BODY_PAIRS = [
    {"id": f"{side}{n}", "xyz": [x, sign * y, z], "twin": f"{other}{n}"}
    for n, (x, y, z) in enumerate([(0, 700, 200), (1500, 600, 1400), (2600, 500, 400)], start=1)
    for side, other, sign in (("L", "R", -1), ("R", "L", 1))
]
OWN_PAIRS = [
    {"id": f"{side}{n}", "on": on, "xyz": [x, sign * y, z], "twin": f"{other}{n}", **own}
    for n, (x, y, z) in enumerate([(2000, 900, 300), (3000, 880, 500), (2500, 800, 1200)], start=4)
    for side, other, sign, on, own in (
        ("L", "R", -1, "outer", {"home": "twin", "tolerance": 3}),
        ("R", "L", 1, "body", {}),
    )
]
PLACED = [{"point": p["id"], "xyz": p["xyz"], "u": 0.3} for p in (*BODY_PAIRS, *OWN_PAIRS)]


def tables(assumed: set[str]) -> dict[str, Any]:
    """A panel that hangs at home, with all points read; those named are only assumed."""
    points = [
        {**point, "assumed": True} if point["id"] in assumed else point
        for point in (*BODY_PAIRS, *OWN_PAIRS)
    ]
    return {"part": [PART], "point": points, "reading": PLACED}


OWN = {"L4", "L5", "L6"}


def test_a_panel_at_home_is_inside_once_all_is_confirmed() -> None:
    found = answer(repair(**tables(set())))
    assert {point.verdict for point in found.parts[0].points} == {Verdict.INSIDE}
    assert found.body.status is BodyStatus.TRUE
    assert found.problems == ()


def test_an_assumed_home_is_none_and_a_verdict_waits_for_a_word() -> None:
    found = answer(repair(**tables(OWN)))
    assert found.parts == ()
    assert {point.id for point in found.points} >= OWN
    (problem,) = found.problems
    assert problem.where == "point"
    assert "assumed, confirm: L4, L5, L6" in problem.what


def test_an_assumed_twin_is_nobodys_home() -> None:
    found = answer(repair(**tables({"R4"})))
    assert [point.id for point in found.parts[0].points] == ["L5", "L6"]
    assert "its twin 'R4' is only assumed; it has no home: confirm R4" in [
        problem.what for problem in found.problems
    ]


def test_an_assumed_pair_tells_no_symmetry() -> None:
    pairs = answer(repair(**tables({"L1", "R2"}))).body.pairs
    assert [(pair.point, pair.twin) for pair in pairs] == [("L3", "R3")]


@pytest.mark.parametrize(
    ("kind", "table", "reading"),
    [
        (
            "station",
            {"gap_towards": [1, 0, 0], "gap": {"want": 5, "tolerance": 1}},
            {"gap": "wide"},
        ),
        ("contact", {"normal": [0, -1, 0]}, {"state": "seated"}),
        ("locator", {"axis": [0, 1, 0]}, {"state": "aligned"}),
    ],
)
def test_readings_of_assumed_places_wait(
    kind: str, table: dict[str, Any], reading: dict[str, Any]
) -> None:
    place = {"id": "x1", "part": "outer", "xyz": [2500, -900, 400], **table}
    told = {**tables(set()), "reading": [*PLACED, {kind: "x1", **reading}]}
    sure = answer(repair(**told, **{kind: [place]}))
    assert any(row.index == len(PLACED) for row in sure.readings)
    waiting = answer(repair(**told, **{kind: [{**place, "assumed": True}]}))
    assert all(row.index < len(PLACED) for row in waiting.readings)
    assert waiting.parts[0].stations == ()
    assert f"{kind} 'x1' is assumed: confirm it, and the reading counts" in [
        problem.what for problem in waiting.problems
    ]
    assert waiting.parts[0].points == answer(repair(**tables(set()))).parts[0].points


def test_points_that_nothing_is_known_of_are_refused_in_words() -> None:
    with pytest.raises(Unanswerable, match="Nothing is measured yet: read spans"):
        answer(repair(point=[{"id": "A", "xyz": [0, 0, 0]}]))


def test_assumed_places_alone_are_refused_with_what_is_to_be_confirmed() -> None:
    contact = {"id": "c1", "part": "outer", "xyz": [0, 0, 0], "normal": [0, 0, 1], "assumed": True}
    with pytest.raises(Unanswerable) as caught:
        answer(repair(part=[PART], contact=[contact]))
    assert any("assumed, confirm: c1" in why for why in caught.value.why)


def test_points_that_are_all_known_are_simply_where_they_are(
    capfd: pytest.CaptureFixture[str],
) -> None:
    found = answer(repair(point=[{"id": "A", "xyz": [1, 2, 3], "u": 0}]))
    assert found.points[0].xyz_mm == (1.0, 2.0, 3.0)
    assert found.points[0].u_mm == (0.0, 0.0, 0.0)
    assert capfd.readouterr() == ("", "")
