"""What the room says of panels, readings, settings and bad input."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tests.fit.build import BODY, PANEL, panel, repair

from panelwright.errors import Unanswerable
from panelwright.fit import answer, as_json
from panelwright.fit.answer import Answer
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.part_answer import PartFit, Verdict


def ask(tables: dict[str, Any]) -> Answer:
    return answer(repair(**tables))


def outer(tables: dict[str, Any]) -> PartFit:
    return ask(tables).parts[0]


def said(found: Answer) -> str:
    return "\n".join(f"{problem.where}: {problem.what}" for problem in found.problems)


@pytest.mark.exact
def test_a_panel_at_home_is_inside_and_nothing_is_to_be_moved() -> None:
    found = ask(panel())
    part = found.parts[0]
    assert {point.verdict for point in part.points} == {Verdict.INSIDE}
    assert {station.verdict for station in part.stations} == {Verdict.INSIDE}
    assert part.moves == ()
    assert found.next == ()


@pytest.mark.exact
def test_a_panel_that_is_off_is_outside_and_its_moves_bring_it_home() -> None:
    part = outer(panel((6.0, 0.0, -4.0), (0.0, 4.0, 0.0)))
    assert {point.verdict for point in part.points} == {Verdict.OUTSIDE}
    assert 1 <= len(part.moves) <= 3
    by_place = {point.id: np.array(point.off_mm) for point in part.points}
    for move in part.moves:
        name = min(PANEL, key=lambda k: float(np.linalg.norm(np.array(PANEL[k]) - move.xyz)))
        np.testing.assert_allclose(move.by_mm * np.array(move.along), -by_place[name], atol=1e-9)
        assert np.linalg.norm(move.along) == pytest.approx(1.0)
        assert move.words.startswith("push the ")
    assert "forward" in part.moves[0].words


@pytest.mark.exact
def test_stampings_that_differ_leave_the_verdict_on_the_place_alone() -> None:
    """Spans that say a point is 3.5 mm off, against gaps that say the panel is home."""
    tables = panel()
    for name in ("B1", "B3", "B4", "B6"):
        at = np.add(PANEL["L4"], (0.0, -4.2, 0.0))
        tables["reading"].append(
            {
                "from": "L4",
                "to": name,
                "value": float(np.linalg.norm(at - BODY[name])),
                "u": 0.3,
            }
        )
    point = next(p for p in outer(tables).points if p.id == "L4")
    assert point.shape_finding
    assert point.shape_mm[1] < -3.0
    assert abs(point.off_mm[1]) < 0.5


def test_readings_that_disagree_call_nothing_inside() -> None:
    tables = panel()
    tables["reading"][0]["gap"] = 9.0
    found = ask(tables)
    assert found.global_test.ok is False
    verdicts = [place.verdict for place in found.parts[0].points]
    assert Verdict.INSIDE not in verdicts
    assert any("disagree" in place.note for place in found.parts[0].points)


def test_a_misread_gap_is_the_suspect() -> None:
    tables = panel()
    tables["reading"].append({"station": "s2", "gap": 5.0, "flush": 0.0, "u": 0.2})
    tables["reading"].append({"station": "s1", "gap": 5.0, "flush": 0.0, "u": 0.2})
    tables["reading"][0]["gap"] = 9.0
    suspects = [(row.index, row.component) for row in ask(tables).readings if row.suspect]
    assert suspects == [(0, "gap")]


@pytest.mark.exact
def test_words_stand_for_two_tolerances_beyond() -> None:
    """ "tight" is want − 2 tolerances with u = hypot(tolerance/√3, reading's u)."""
    tables = panel()
    tables["reading"].append({"station": "s1", "gap": "tight", "flush": "high"})
    rows = [row for row in ask(tables).readings if row.index == 4]
    gap, flush = rows
    assert gap.residual_mm == pytest.approx(2.0, abs=0.2)
    assert flush.residual_mm == pytest.approx(-2.0, abs=0.2)


def test_a_reading_that_says_ok_proves_less_than_a_number() -> None:
    numbers, words = panel(), panel()
    for reading in words["reading"]:
        reading["gap"] = reading["flush"] = "ok"
    sure, vague = outer(numbers).points[0].u_mm, outer(words).points[0].u_mm
    assert all(
        a is not None and b is not None and b > 2 * a for a, b in zip(sure, vague, strict=True)
    )


@pytest.mark.exact
def test_without_flush_and_height_the_unseen_motions_are_told() -> None:
    """Two gaps along x show a shift and one turn; four motions are left."""
    tables = panel(stations=("s1", "s2"))
    for reading in tables["reading"]:
        del reading["flush"]
    part = outer(tables)
    nothing = [unseen for unseen in part.unseen if unseen.u_mm is None]
    assert len(nothing) == 4
    assert all("these readings do not show" in unseen.words for unseen in nothing)
    assert part.covariance is None
    assert {point.p_inside for point in part.points} == {None}
    assert {point.verdict for point in part.points} == {Verdict.UNDECIDED}
    assert all(None in point.u_mm for point in part.points)


@pytest.mark.exact
def test_a_weak_motion_is_told_with_its_reach() -> None:
    """Spans to one side hold the turn about their axis weakly."""
    tables = panel(
        tolerance=1,
        stations=(),
        spans=tuple((a, b) for a in PANEL for b in ("B1", "B2", "B3", "B4")),
    )
    part = outer(tables)
    weak = [unseen for unseen in part.unseen if unseen.u_mm is not None]
    assert weak
    assert all("could sit up to" in unseen.words for unseen in weak)
    assert weak[0].u_mm == max(unseen.u_mm or 0.0 for unseen in weak)


@pytest.mark.exact
def test_a_motion_has_one_u_at_its_worst_place() -> None:
    tables = panel(
        tolerance=1,
        stations=(),
        spans=tuple((a, b) for a in PANEL for b in ("B1", "B2", "B3", "B4")),
    )
    part = outer(tables)
    weak = next(unseen for unseen in part.unseen if unseen.u_mm is not None)
    c = np.mean(list(PANEL.values()), axis=0)
    arms = np.array(list(PANEL.values())) - c
    reach = np.array(weak.shift_mm) + np.cross(1e-3 * np.array(weak.turn_mrad), arms)
    assert np.linalg.norm(reach, axis=1).max() == pytest.approx(weak.u_mm, rel=1e-6)


@pytest.mark.exact
def test_what_these_readings_can_never_prove_is_said() -> None:
    part = outer(panel(tolerance=0.3))
    assert all(p.p_best is not None and p.p_best < 0.95 for p in part.points)
    assert all("could not prove" in p.note for p in part.points)


def test_readings_are_proposed_best_first_and_none_twice() -> None:
    spans = tuple((a, b) for a in PANEL for b in ("B1", "B2", "B4"))
    found = ask(panel(tolerance=1, stations=(), spans=spans))
    gains = [reading.gain for reading in found.next]
    assert gains == sorted(gains, reverse=True)
    assert 0.0 < gains[-1] <= gains[0] <= 1.0
    taken = {frozenset(pair) for pair in spans}
    assert not {frozenset((reading.from_, reading.to)) for reading in found.next} & taken


@pytest.mark.exact
def test_the_gain_is_the_share_of_the_doubt_that_goes() -> None:
    """No station is declared, so that the doubt is the sum of the points' variances."""
    spans = tuple((a, b) for a in PANEL for b in ("B1", "B2", "B4"))
    tables = panel(tolerance=1, stations=(), spans=spans)
    tables["station"] = []
    tables["tool"] = [{"id": "tape", "u": 1}]

    def doubt(part: PartFit) -> float:
        assert {point.verdict for point in part.points} == {Verdict.UNDECIDED}
        return sum(u * u for point in part.points for u in point.u_mm if u is not None)

    before = ask(tables)
    best = before.next[0]
    assert best.from_ is not None
    assert best.to is not None
    value = float(np.linalg.norm(np.array(PANEL[best.from_]) - np.array(BODY[best.to])))
    tables["reading"].append({"from": best.from_, "to": best.to, "value": value})
    share = 1.0 - doubt(ask(tables).parts[0]) / doubt(before.parts[0])
    assert best.gain == pytest.approx(share, rel=1e-3)


@pytest.mark.exact
def test_a_reading_that_opens_an_unseen_direction_leads() -> None:
    """Only heights are unseen: a station whose gap opens upward must come first."""
    tables = panel(stations=("s1", "s2", "s3", "s4"))
    for reading in tables["reading"]:
        if reading["station"] in {"s3", "s4"}:
            del reading["gap"]
    tables["station"].append(
        {
            "id": "up",
            "part": "outer",
            "xyz": [3300, -800, 1530],
            "gap_towards": [0, 0, -1],
            "gap": {"want": 5, "tolerance": 1},
        }
    )
    found = ask(tables)
    assert found.parts[0].unseen[0].u_mm is None
    assert "high or low" in found.parts[0].unseen[0].words
    assert found.next[0].gain > 0.5
    assert found.next[0].station == "up" or found.next[0].from_ is not None


def test_a_blocked_span_is_never_proposed() -> None:
    spans = tuple((a, b) for a in PANEL for b in ("B1", "B2", "B4"))
    tables = panel(tolerance=1, stations=(), spans=spans)
    first = next(r for r in ask(tables).next if r.from_ is not None)
    tables["blocked"] = [{"from": first.to, "to": first.from_}]
    proposed = {frozenset((r.from_, r.to)) for r in ask(tables).next}
    assert frozenset((first.from_, first.to)) not in proposed


@pytest.mark.exact
def test_a_new_dry_fit_starts_anew() -> None:
    first, second = panel((6.0, 0.0, 0.0)), panel((0.0, 0.0, 0.0))
    for reading in second["reading"]:
        reading["setting"] = 2
    first["reading"] += second["reading"]
    first["event"] = [{"kind": "moved", "part": "outer", "setting": 2}]
    for reading in first["reading"][:4]:
        reading["setting"] = 1
    part = outer(first)
    assert part.setting == 2
    assert part.shift_mm == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
    assert {point.verdict for point in part.points} == {Verdict.INSIDE}


def test_a_part_that_was_moved_and_not_read_since_is_not_seen() -> None:
    tables = panel()
    tables["event"] = [
        {"kind": "moved", "part": "outer", "setting": 2, "at": "2026-11-20T12:00:00+01:00"}
    ]
    for reading in tables["reading"]:
        reading["at"] = "2026-11-20T10:00:00+01:00"
    part = outer(tables)
    assert part.setting == 2
    assert sum(unseen.u_mm is None for unseen in part.unseen) == 6


def test_a_reading_of_no_setting_after_a_move_is_told() -> None:
    tables = panel()
    tables["event"] = [{"kind": "moved", "part": "outer", "setting": 2}]
    assert "counted in setting 1" in said(ask(tables))


@pytest.mark.exact
def test_a_part_goes_back_to_where_it_was_before_it_came_off() -> None:
    homes = {
        "D1": (2400.0, -820.0, 500.0),
        "D2": (2300.0, -810.0, 1400.0),
        "D3": (1500.0, -800.0, 900.0),
    }
    shift = np.array([0.8, -0.5, 1.1])
    tables = panel()
    tables["part"].append({"id": "door", "state": "remove-and-refit"})
    tables["point"] += [
        {"id": k, "on": "door", "xyz": list(v), "home": "before", "tolerance": 3}
        for k, v in homes.items()
    ]
    for when, moved in (("before", 0.0), ("now", 1.0)):
        for name, home in homes.items():
            at = np.array(home) + moved * shift
            tables["reading"] += [
                {"point": name, "xyz": at.tolist(), "u": 0.2, "when": when},
            ]
    door = next(part for part in ask(tables).parts if part.id == "door")
    assert door.shift_mm == pytest.approx(shift, abs=1e-6)
    assert {point.shape_mm for point in door.points} == {(0.0, 0.0, 0.0)}


def test_a_home_before_that_nobody_read_is_told() -> None:
    tables = panel()
    tables["part"].append({"id": "door", "state": "remove-and-refit"})
    tables["point"].append({"id": "D1", "on": "door", "xyz": [2400, -820, 500], "home": "before"})
    assert "no reading with when" in said(ask(tables))


@pytest.mark.exact
def test_a_part_is_read_against_its_fitted_neighbour() -> None:
    """The door stands 2 mm forward, and the gap between the two is what tells."""
    tables = panel()
    tables["part"].append({"id": "door"})
    tables["contact"] = [
        {"id": "c", "part": "door", "xyz": [2400, -820, 700], "normal": [1, 0, 0]},
    ]
    tables["reading"].append({"contact": "c", "state": "open", "lift": -2, "u": 0.01})
    tables["station"][0]["beside"] = "door"
    station = outer(tables).stations[0]
    assert station.gap_mm == pytest.approx(5.0, abs=0.5)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ({"from": "L1", "to": "B1", "value": 0}, "expected more than 0"),
        ({"from": "L1", "to": "L1", "value": 100}, "both 'L1'"),
        ({"from": "L1", "to": "gone", "value": 100}, "'gone' is not there"),
        ({"compare": [["L1", "B1"], ["B1", "L1"]], "difference": 0}, "with itself"),
        ({"station": "gone", "gap": 5}, "'gone' is not there"),
        ({"station": "s1", "gap": 5, "when": "before"}, "before the part came off"),
        ({"contact": "c1", "state": "forced"}, "forced shut"),
        ({"contact": "c1", "state": "open"}, "measure the lift"),
        ({"locator": "p1", "state": "off"}, "unknown amount"),
        ({"from": "L1", "to": "B1", "value": 1700, "with": "stick"}, "'stick' is not declared"),
    ],
)
def test_bad_input_is_told_and_the_rest_is_answered(reading: dict[str, Any], words: str) -> None:
    tables = panel()
    tables["contact"] = [
        {"id": "c1", "part": "outer", "xyz": [3000, -870, 500], "normal": [0, -1, 0]}
    ]
    tables["locator"] = [{"id": "p1", "part": "outer", "xyz": [3000, -870, 800], "axis": [0, 1, 0]}]
    tables["reading"].append(reading)
    found = ask(tables)
    assert words in said(found)
    assert not any(problem.hard for problem in found.problems)
    assert len(found.parts[0].points) == 4
    assert found.parts[0].points[0].verdict is Verdict.INSIDE or "stick" in words


@pytest.mark.exact
def test_a_round_hole_holds_two_directions_and_a_slot_one() -> None:
    tables = panel(stations=())
    tables["station"] = []
    hole = {"id": "p1", "part": "outer", "xyz": [3000, -870, 800], "axis": [0, 1, 0]}
    slot = {**hole, "id": "p2", "slot_along": [1, 0, 0]}
    tables["locator"] = [hole, slot]
    for name, held, components in (("p1", 2, ["along", "across"]), ("p2", 1, ["across"])):
        tables["reading"] = [{"locator": name, "state": "aligned"}]
        found = ask(tables)
        assert [row.component for row in found.readings] == components
        assert sum(u.u_mm is None for u in found.parts[0].unseen) == 6 - held


def test_parts_that_are_each_others_home_are_told_not_solved() -> None:
    tables: dict[str, Any] = {
        "part": [{"id": "left"}, {"id": "right"}],
        "point": [
            {"id": "L", "on": "left", "xyz": [1, -5, 0], "twin": "R", "home": "twin"},
            {"id": "R", "on": "right", "xyz": [1, 5, 0], "twin": "L", "home": "twin"},
            {"id": "B", "xyz": [500, 0, 0], "u": 0},
        ],
        "reading": [
            {"from": "L", "to": "B", "value": 499},
            {"from": "R", "to": "B", "value": 499},
        ],
    }
    assert "whose own home follows" in said(ask(tables))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"damaged": True}, "is damaged"),
        ({"u": "free"}, "no reading reaches its twin"),
    ],
)
def test_a_twin_that_is_no_home_is_told(change: dict[str, Any], words: str) -> None:
    tables = panel()
    tables["point"].append({"id": "R9", "xyz": [2600, 850, 500], "u": 1, **change})
    tables["point"].append({"id": "L9", "on": "outer", "twin": "R9", "home": "twin"})
    found = ask(tables)
    assert words in said(found)
    assert "L9" not in {point.id for point in found.parts[0].points}


@pytest.mark.exact
def test_a_point_that_nothing_reaches_does_not_blur_the_others() -> None:
    tables = panel()
    tables["point"].append({"id": "far", "xyz": [100, 200, 300]})
    tables["point"].append({"id": "hanging", "xyz": [2000, 100, 900]})
    tables["reading"].append({"from": "hanging", "to": "B1", "value": 770})
    found = ask(tables)
    places = {point.id: point for point in found.points}
    assert places["far"].xyz_mm == (100.0, 200.0, 300.0)
    assert places["far"].u_mm == (None, None, None)
    assert None in places["hanging"].u_mm
    assert None not in places["L1"].u_mm
    assert {point.verdict for point in found.parts[0].points} == {Verdict.INSIDE}


@pytest.mark.exact
def test_a_hanging_point_leaves_the_free_network_its_datum() -> None:
    names = list(BODY)
    spans = [
        {"from": a, "to": b, "value": float(np.linalg.norm(np.subtract(BODY[a], BODY[b])))}
        for i, a in enumerate(names)
        for b in names[:i]
    ]
    points = [{"id": k, "xyz": list(v)} for k, v in BODY.items()]
    alone = ask({"point": points, "reading": spans})
    hung = ask(
        {
            "point": [*points, {"id": "H", "xyz": [3000, 0, 0]}],
            "reading": [*spans, {"from": "H", "to": "B1", "value": 1300}],
        }
    )
    assert alone.datum == hung.datum
    assert alone.datum.endswith("x, y, z, roll, pitch, yaw")
    for one, other in zip(alone.points, hung.points[:6], strict=True):
        assert other.xyz_mm == pytest.approx(one.xyz_mm, abs=1e-6)
        assert other.u_mm == pytest.approx(one.u_mm, rel=1e-6)


def mirrored_body(racked_mm: float) -> dict[str, Any]:
    """Four pairs with all spans between them; one left point is pushed forward."""
    right = {f"R{k}": np.array(v) for k, v in enumerate(list(BODY.values())[:4])}
    left = {f"L{k[1]}": v * [1, -1, 1] for k, v in right.items()}
    left["L0"] = left["L0"] - [racked_mm, 0.0, 0.0]
    places = {**right, **left}
    names = list(places)
    return {
        "point": [
            {"id": k, "xyz": v.tolist(), "twin": ("L" if k[0] == "R" else "R") + k[1]}
            for k, v in places.items()
        ],
        "reading": [
            {"from": a, "to": b, "value": float(np.linalg.norm(places[a] - places[b])), "u": 0.5}
            for i, a in enumerate(names)
            for b in names[:i]
        ],
    }


@pytest.mark.exact
def test_a_true_body_is_called_true_and_a_racked_one_is_not() -> None:
    assert ask(mirrored_body(0.0)).body.status is BodyStatus.TRUE
    racked = ask(mirrored_body(15.0)).body
    assert racked.status is BodyStatus.RACKED
    assert "structure before skin" in racked.words
    worst = max(
        (abs(w), pair.point, axis)
        for pair in racked.pairs
        for axis, w in zip("xyz", pair.w, strict=True)
        if w is not None
    )
    assert worst[1:] == ("R0", "x")


def test_a_body_that_no_pair_reaches_is_not_checked() -> None:
    assert ask(panel()).body.status is BodyStatus.NOT_CHECKED


@pytest.mark.exact
def test_a_body_point_off_its_sheet_shows() -> None:
    tables = mirrored_body(0.0)
    for point in tables["point"]:
        point["u"] = 1
        del point["twin"]
    tables["point"][2]["xyz"][2] += 9.0
    body = ask(tables).body
    assert body.status is BodyStatus.RACKED
    worst = max(body.sheet, key=lambda check: abs(check.w))
    assert (worst.point, worst.axis) == (tables["point"][2]["id"], "z")
    assert worst.difference_mm == pytest.approx(-9.0, abs=1.5)


def test_without_anything_to_measure_the_question_is_refused_in_words() -> None:
    with pytest.raises(Unanswerable, match="nothing to measure yet"):
        ask({"part": [{"id": "outer"}]})


def test_without_readings_everything_is_unseen_and_a_reading_is_proposed() -> None:
    found = ask(panel(stations=()))
    part = found.parts[0]
    assert sum(unseen.u_mm is None for unseen in part.unseen) == 6
    assert len(found.next) == 5
    assert found.variance_factor is None
    assert found.global_test.ok is None


def test_a_tolerance_by_axis_judges_those_axes_alone() -> None:
    off_in_y = panel((0.0, 6.0, 0.0), tolerance={"x": 2, "z": 2})
    assert {point.verdict for point in outer(off_in_y).points} == {Verdict.INSIDE}
    off_in_z = panel((0.0, 0.0, 6.0), tolerance={"x": 2, "z": 2})
    assert {point.verdict for point in outer(off_in_z).points} == {Verdict.OUTSIDE}


def test_without_a_tolerance_there_is_no_verdict_and_it_says_why() -> None:
    tables = panel()
    for point in tables["point"]:
        point.pop("tolerance", None)
    part = outer(tables)
    assert {(p.verdict, p.note) for p in part.points} == {(Verdict.UNDECIDED, "no tolerance given")}


def test_the_published_keys_are_those_of_the_repair_files_page() -> None:
    content = as_json(ask(panel((6.0, 0.0, 0.0))))
    assert {
        "points",
        "parts",
        "readings",
        "next",
        "variance_factor",
        "dof",
        "global_test",
        "datum",
    } <= content.keys()
    part: Any = content["parts"]
    assert {
        "setting",
        "shift_mm",
        "turn_mrad",
        "covariance",
        "points",
        "stations",
        "unseen",
        "moves",
    } <= part["outer"].keys()
    assert {"off_mm", "u_mm", "shape_mm", "p_inside", "p_best", "verdict"} <= part["outer"][
        "points"
    ]["L1"].keys()
    assert {"gap_mm", "flush_mm", "u_mm", "p_inside", "verdict"} <= part["outer"]["stations"][
        "s1"
    ].keys()
    assert np.array(part["outer"]["covariance"]).shape == (6, 6)
    row: Any = content["readings"]
    assert {"index", "component", "residual_mm", "w", "redundancy", "suspect"} <= row[0].keys()
    test: Any = content["global_test"]
    assert {"statistic", "low", "high", "ok"} <= test.keys()


def test_readings_that_no_place_fits_call_nothing_inside_and_say_so() -> None:
    """Spans that are far too short for the body: the search finds no rest, or a bad one."""
    tables = panel(spans=tuple((a, b) for a in PANEL for b in BODY))
    for reading in tables["reading"]:
        if "value" in reading:
            reading["value"] *= 0.05
    found = ask(tables)
    assert Verdict.INSIDE not in {point.verdict for point in found.parts[0].points}
    assert found.global_test.ok is False


@pytest.mark.exact
def test_a_lift_measured_with_a_gauge_is_as_sure_as_the_gauge() -> None:
    """0.2 mm of the gauge instead of 0.3 mm by eye: a panel held by it is held more tightly."""
    tables = panel()
    place = {"part": "outer", "xyz": [1500, -900, 900], "normal": [0, -1, 0]}
    tables["contact"] = [{"id": "c1", **place}]
    open_ = {"contact": "c1", "state": "open", "lift": "0.4 mm"}
    by_eye = outer({**tables, "reading": [*tables["reading"], open_]})
    by_gauge = outer({**tables, "reading": [*tables["reading"], {**open_, "with": "gauge"}]})
    assert by_eye.covariance is not None
    assert by_gauge.covariance is not None
    assert np.trace(by_gauge.covariance) < np.trace(by_eye.covariance)
