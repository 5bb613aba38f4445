"""Before you cut: few readings by which every point can be judged later, and what they save."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.fit.build import repair

from panelwright.errors import Unanswerable
from panelwright.fit import question
from panelwright.fit.before_cut import before_cut, smallest, wanted_of
from panelwright.fit.published import as_json

if TYPE_CHECKING:
    from panelwright.fit.before_cut import Wanted
    from panelwright.fit.next_answer import BeforeCut

CONFIDENCE = 0.95
BODY = {
    "B1": (2000.0, 700.0, 500.0),
    "B2": (4200.0, -500.0, 600.0),
    "B3": (2200.0, -300.0, 1700.0),
    "B4": (4000.0, 720.0, 1600.0),
}
OLD = {
    "P1": (2600.0, -850.0, 500.0),
    "P2": (4100.0, -850.0, 550.0),
    "P3": (3300.0, -800.0, 1500.0),
}


def old_panel(tolerance: object = 4, **changes: Any) -> dict[str, Any]:
    """A panel that goes where the old one was, over known points of the body; nothing read."""
    return {
        "part": [{"id": "outer", "name": "outer panel", "state": "replace"}],
        "point": [
            *({"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()),
            *(
                {
                    "id": name,
                    "on": "outer",
                    "xyz": list(xyz),
                    "home": "before",
                    "tolerance": tolerance,
                }
                for name, xyz in OLD.items()
            ),
        ],
        **changes,
    }


def mirrored(tolerance: object = 4) -> dict[str, Any]:
    """A panel that goes where its twin is, on a body of which nothing is known but rough places."""
    right = {name.replace("P", "Q"): (x, -y, z) for name, (x, y, z) in OLD.items()}
    body = {"L1": (2100.0, -700.0, 480.0), "L2": (4150.0, -690.0, 1600.0)}
    tables = old_panel(tolerance)
    tables["point"] = [
        {"id": "C1", "xyz": [3000, 0, 300]},
        {"id": "C2", "xyz": [4300, 0, 1700]},
        *({"id": name, "xyz": list(xyz)} for name, xyz in right.items()),
        *(
            point
            for name, (x, y, z) in body.items()
            for point in (
                {"id": name, "xyz": [x, y, z], "twin": name.replace("L", "R")},
                {"id": name.replace("L", "R"), "xyz": [x, -y, z], "twin": name},
            )
        ),
        *(
            {
                "id": name,
                "on": "outer",
                "twin": name.replace("P", "Q"),
                "home": "twin",
                "tolerance": tolerance,
            }
            for name in OLD
        ),
    ]
    return tables


def asked(tables: dict[str, Any]) -> BeforeCut:
    found = before_cut(repair(**tables))
    assert found is not None
    return found


def wanted(tables: dict[str, Any]) -> Wanted:
    found = wanted_of(repair(**tables), ("outer",))
    assert found is not None
    return found


@pytest.mark.second_route
@pytest.mark.parametrize("tolerance", [4, 5, 8, {"x": 4, "z": 4}, {"y": 3}])
def test_the_set_is_the_quickest_by_trying_every_set(tolerance: object) -> None:
    """Twelve spans to choose from, 4096 sets."""
    problem = wanted(old_panel(tolerance))
    assert len(problem.plan.what) == 12 + 6
    spans = tuple(k for k, w in enumerate(problem.plan.what) if set(w.names) & OLD.keys())
    assert len(spans) == 12
    chosen = smallest(problem)
    assert problem.judged(chosen).all()
    assert problem.minutes(chosen) == pytest.approx(least_minutes_among(problem, spans))


def least_minutes_among(problem: Wanted, some: tuple[int, ...]) -> float:
    for size in range(len(some) + 1):
        for chosen in combinations(some, size):
            if problem.judged(chosen).all():
                return problem.minutes(chosen)
    raise AssertionError("no set is enough")


@pytest.mark.second_route
def test_with_these_readings_the_fit_can_judge_every_point() -> None:
    """They are taken, the panel is fitted at home, everything is read: `p_best` of the answer."""
    for tables in (old_panel(4), mirrored(6)):
        found = asked(tables)
        assert found.readings
        assert found.cannot == ()
        assert best_after(tables, found) >= CONFIDENCE - 0.01
        for left_out in range(len(found.readings)):
            assert best_after(tables, found, left_out) < CONFIDENCE + 0.005


def best_after(tables: dict[str, Any], found: BeforeCut, left_out: int | None = None) -> float:
    """Least `p_best` of all points once the proposed readings and a whole dry fit are taken."""
    places = {p["id"]: p.get("xyz") for p in tables["point"]}
    for point in tables["point"]:
        if places[point["id"]] is None:
            x, y, z = places[point["twin"]]
            places[point["id"]] = [x, -y, z]
    body = [p["id"] for p in tables["point"] if p.get("on") is None]

    def span(a: str, b: str) -> dict[str, Any]:
        length = float(np.linalg.norm(np.subtract(places[a], places[b])))
        return {"from": a, "to": b, "value": length, "with": "tape"}

    before = [
        {**span(str(one.from_), str(one.to)), "when": "before"}
        for k, one in enumerate(found.readings)
        if k != left_out
    ]
    now = [{**span(a, b), "setting": 1} for a in OLD for b in body]
    reach = [one for one in now if 50 < one["value"] < 3000]
    given = question.answer(repair(**{**tables, "reading": [*before, *reach]}))
    points = given.parts[0].points if given.parts else ()
    best = [point.p_best or 0.0 for point in points]
    return min(best) if len(best) == len(OLD) else 0.0


def test_what_is_lost_without_each_is_said() -> None:
    found = asked(old_panel(4))
    for one in found.readings:
        assert one.points
        assert one.loses.startswith("without ")
        assert set(one.points) <= OLD.keys()
    assert found.minutes == pytest.approx(0.6 * len(found.readings))
    assert "outer panel is still on" in found.words


def test_a_home_needs_at_least_one_reading_of_the_old_point() -> None:
    """Gaps and pins alone hold the panel, but nobody would know where the old points were."""
    tables = old_panel(4)
    tables["station"] = [
        {
            "id": f"s{k}",
            "part": "outer",
            "xyz": list(xyz),
            "gap_towards": gap,
            "flush_towards": flush,
            "gap": {"want": 5, "tolerance": 1},
            "flush": {"want": 0, "tolerance": 1},
        }
        for k, (xyz, gap, flush) in enumerate(
            [
                (OLD["P1"], [1, 0, 0], [0, -1, 0]),
                (OLD["P2"], [0, 0, 1], [0, -1, 0]),
                (OLD["P3"], [0, 0, 1], [0, -1, 0]),
                ((2700.0, -800.0, 1450.0), [1, 0, 0], [0, -1, 0]),
            ]
        )
    ]
    found = asked(tables)
    assert len(found.readings) == len(OLD)
    assert {"P1", "P2", "P3"} == {point for one in found.readings for point in one.points}
    assert all("nobody knows where" in one.loses for one in found.readings)


def test_what_was_read_already_is_not_asked_again() -> None:
    tables = old_panel(4)
    first = asked(tables)
    one = first.readings[0]
    tables["reading"] = [
        {"from": one.to, "to": one.from_, "value": one.length_mm, "with": "tape", "when": "before"}
    ]
    second = asked(tables)
    assert len(second.readings) < len(first.readings)
    assert {one.from_, one.to} not in [{r.from_, r.to} for r in second.readings]


@pytest.mark.parametrize(
    "came_off",
    [
        {"event": [{"kind": "done", "step": "lift-off-outer", "at": "2026-11-20T10:00:00+01:00"}]},
        {"event": [{"kind": "done", "step": "separate-seam", "at": "2026-11-20T10:00:00+01:00"}]},
        {"event": [{"kind": "moved", "part": "outer", "setting": 2}]},
        {"reading": [{"from": "P1", "to": "B1", "value": 1662}]},
        {"part": [{"id": "outer", "state": "keep"}]},
    ],
)
def test_nothing_is_asked_once_the_part_is_off_or_stays(came_off: dict[str, Any]) -> None:
    tables = old_panel(4, joint=[{"id": "seam", "layers": ["outer"], "kind": "bond"}])
    assert before_cut(repair(**tables)) is not None
    assert before_cut(repair(**{**tables, **came_off})) is None


def test_what_no_reading_can_prove_is_said_with_the_tool_that_would() -> None:
    found = asked(old_panel(1.6))
    assert [one.point for one in found.cannot] == list(OLD)
    assert all(one.p_best < CONFIDENCE for one in found.cannot)
    assert any("a trammel would" in one.words for one in found.cannot)
    hopeless = asked(old_panel(0.1))
    assert all("declare more points" in one.words for one in hopeless.cannot)
    assert hopeless.readings == ()


def test_blocked_spans_are_not_asked() -> None:
    tables = old_panel(4)
    one = asked(tables).readings[0]
    tables["blocked"] = [{"from": one.to, "to": one.from_}]
    assert {one.from_, one.to} not in [{r.from_, r.to} for r in asked(tables).readings]


def test_before_anything_is_read_the_room_says_what_to_read() -> None:
    tables = old_panel(4)
    for point in tables["point"]:
        point.pop("u", None)
    with pytest.raises(Unanswerable, match="is still on"):
        question.answer(repair(**tables))


def test_the_published_keys() -> None:
    tables = old_panel(4)
    content: Any = as_json(question.answer(repair(**tables)))["before_cut"]
    assert {"minutes", "readings", "cannot", "words", "parts"} <= content.keys()
    for one in content["readings"]:
        assert {"from", "to", "with", "minutes", "loses", "points", "words"} <= one.keys()
