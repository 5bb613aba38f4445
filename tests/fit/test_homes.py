"""Homes from a sister vehicle, the mean of several sources, and sources that do not agree."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
from tests.fit.build import BODY, PANEL, off_of, repair

from panelwright.cli.pages.fit import page
from panelwright.facts.check import check
from panelwright.facts.file import document_from
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.quantities import Units

SHIFT, TURN = np.array([2.5, -1.0, 3.0]), np.array([0.001, -0.002, 0.0015])
BODY_POINTS = [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()]


def homed(home: object, **keys: Any) -> list[dict[str, Any]]:
    return [
        {"id": name, "on": "outer", "home": home, "tolerance": 3, **keys} | _xyz(name, keys)
        for name in PANEL
    ]


def _xyz(name: str, keys: dict[str, Any]) -> dict[str, Any]:
    return {"xyz": list(PANEL[name])} if "u" in keys else {}


def spans_to_panel() -> list[dict[str, Any]]:
    """Exact spans from every panel point, as it hangs, to every body point."""
    return [
        {"from": a, "to": b, "value": length(np.array(PANEL[a]) + off_of(SHIFT, TURN, PANEL[a]), b)}
        for a in PANEL
        for b in BODY
    ]


def length(at: np.ndarray[Any, Any], body: str) -> float:
    return float(np.linalg.norm(at - np.array(BODY[body])))


def moved(place: object) -> np.ndarray[Any, Any]:
    """Where a sister vehicle has a place, in axes of its own: spans do not mind."""
    return np.array(place) @ np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1.0]]) + [50.0, 7.0, -300.0]


def sister_spans() -> list[dict[str, Any]]:
    places = {**BODY, **PANEL}
    return [
        {
            "from": a,
            "to": b,
            "when": "sister",
            "value": float(np.linalg.norm(moved(places[a]) - moved(places[b]))),
        }
        for a, b in combinations(places, 2)
        if not (a in PANEL and b in PANEL)
    ]


def ask(points: list[dict[str, Any]], readings: list[dict[str, Any]], **more: Any) -> Answer:
    part = [{"id": "outer", "state": "replace"}]
    return answer(repair(part=part, point=[*BODY_POINTS, *points], reading=readings, **more))


def placed(found: Answer) -> tuple[list[float], list[float]]:
    (part,) = found.parts
    return list(part.shift_mm), [1e-3 * turn for turn in part.turn_mrad]


@pytest.mark.exact
def test_a_panel_is_placed_by_spans_of_a_sister_vehicle() -> None:
    """Exact spans in axes of the sister's own give the panel's displacement here."""
    found = ask(homed("sister"), [*spans_to_panel(), *sister_spans()])
    shift, turn = placed(found)
    assert shift == pytest.approx(SHIFT, abs=2e-3)
    assert turn == pytest.approx(TURN, abs=2e-6)
    assert any(row.about == "B1 to L1 (sister vehicle)" for row in found.readings)


@pytest.mark.exact
def test_a_panel_is_placed_by_coordinates_of_a_sister_vehicle() -> None:
    sister = [{"point": name, "xyz": list(xyz), "u": 0.5} for name, xyz in PANEL.items()]
    found = ask(homed("sister"), spans_to_panel(), sister=sister)
    assert placed(found)[0] == pytest.approx(SHIFT, abs=2e-3)


@pytest.mark.exact
def test_a_sisters_build_spread_is_in_the_uncertainty() -> None:
    """Four homes, each u per axis by build: the mean of the shift has at least u/√4."""
    sister = [{"point": name, "xyz": list(xyz), "u": 0} for name, xyz in PANEL.items()]
    for build in (0.5, 2.0):
        found = ask(
            homed("sister"), spans_to_panel(), sister=sister, symmetry={"sister": build}
        ).parts[0]
        assert all(u is not None and u >= build / 2.0 for u in found.shift_u_mm)


def test_a_home_on_a_sister_that_nobody_read_is_told() -> None:
    found = ask(homed("sister"), spans_to_panel())
    assert any('home is "sister" but no reading' in problem.what for problem in found.problems)


@pytest.mark.exact
@pytest.mark.parametrize("u_sister", [0.5, 1.0, 3.0])
def test_two_sources_count_by_their_weights(u_sister: float) -> None:
    """Sheet ± 1 mm at the homes, sister 4 mm further back: home is at 4 w, w = u⁻²/(u⁻² + 1).

    The sister's place is read, so that its weight is of √(u² + 1 mm²).
    """
    sister = [{"point": name, "xyz": [x + 4.0, y, z], "u": 0} for name, (x, y, z) in PANEL.items()]
    found = ask(
        homed(["xyz", "sister"], u=1),
        spans_to_panel(),
        sister=sister,
        symmetry={"sister": u_sister},
    )
    weight = 1.0 / (u_sister**2 + 1.0) / (1.0 / (u_sister**2 + 1.0) + 1.0)
    assert placed(found)[0] == pytest.approx(SHIFT - [4.0 * weight, 0.0, 0.0], abs=3e-3)
    for checked in found.homes:
        assert checked.difference_mm == pytest.approx((4.0, 0.0, 0.0), abs=1e-6)
        assert checked.u_mm == pytest.approx((np.hypot(1.0, u_sister),) * 3, rel=1e-4)
        assert checked.statistic == pytest.approx(16.0 / (1.0 + u_sister**2), rel=1e-4)


@pytest.mark.exact
def test_the_mean_of_two_sources_is_surer_than_either() -> None:
    """Shape of the mean: √(w₁² u₁² + w₂² u₂²)."""
    sister = [{"point": name, "xyz": list(xyz), "u": 0} for name, xyz in PANEL.items()]
    one = ask(homed("xyz", u=1), spans_to_panel()).parts[0]
    both = ask(homed(["xyz", "sister"], u=1), spans_to_panel(), sister=sister).parts[0]
    for alone, together in zip(one.shift_u_mm, both.shift_u_mm, strict=True):
        assert together < alone


def test_sources_that_do_not_agree_are_named_with_both_values() -> None:
    sister = [{"point": name, "xyz": list(xyz), "u": 0} for name, xyz in PANEL.items()]
    sister[0]["xyz"] = [2607.5, -850.0, 500.0]
    found = ask(homed(["xyz", "sister"], u=1), spans_to_panel(), sister=sister)
    wrong = [checked for checked in found.homes if not checked.ok]
    assert [checked.point for checked in wrong] == ["L1"]
    said = wrong[0].words
    assert "L1 belongs at 2600.0, -850.0, 500.0 mm by the dimension sheet" in said.replace("−", "-")
    assert "at 2607.5, -850.0, 500.0 mm by the sister vehicle" in said.replace("−", "-")
    assert "7.5 mm rearward (u 1.4 mm) is more than both allow" in said
    assert "is more than both allow" in " ".join(page(found, Units.MM).split())


def test_sources_that_agree_are_no_conflict() -> None:
    sister = [{"point": name, "xyz": list(xyz), "u": 0} for name, xyz in PANEL.items()]
    found = ask(homed(["xyz", "sister"], u=1), spans_to_panel(), sister=sister)
    assert len(found.homes) == 4
    assert all(checked.ok for checked in found.homes)


def test_one_source_in_a_list_is_that_source() -> None:
    alone = ask(homed("xyz", u=1), spans_to_panel())
    listed = ask(homed(["xyz"], u=1), spans_to_panel())
    assert placed(alone) == placed(listed)
    assert listed.homes == ()


@pytest.mark.exact
def test_twin_and_sheet_together_place_a_panel() -> None:
    """Both sources agree exactly: the panel is where either puts it."""
    points = homed(["twin", "xyz"], u=1)
    twins = []
    for point in points:
        x, y, z = point["xyz"]
        point["twin"] = f"T{point['id']}"
        twins.append({"id": f"T{point['id']}", "xyz": [x, -y, z], "u": 0.5, "twin": point["id"]})
    found = ask([*points, *twins], spans_to_panel())
    assert placed(found)[0] == pytest.approx(SHIFT, abs=2e-3)
    assert {(c.one.home, c.other.home) for c in found.homes} == {("twin", "xyz")}


def test_a_station_read_on_a_sister_says_nothing_here() -> None:
    station = {"id": "s", "part": "outer", "xyz": [2580, -850, 700], "gap_towards": [1, 0, 0]}
    station["gap"] = {"want": 5, "tolerance": 1}
    readings = [*spans_to_panel(), {"station": "s", "gap": 9, "when": "sister"}]
    found = ask(homed("xyz", u=1), readings, station=[station])
    assert any("read on a sister vehicle" in problem.what for problem in found.problems)


@pytest.mark.parametrize(
    ("table", "what"),
    [
        ({"point": [{"id": "P", "home": []}]}, "home is an empty list"),
        ({"point": [{"id": "P", "home": ["twin", "sister"]}]}, "no twin is named"),
        ({"sister": [{"point": "Q", "xyz": [0, 0, 0]}]}, "'Q'"),
    ],
)
def test_homes_that_make_no_sense_are_problems(table: dict[str, Any], what: str) -> None:
    problems = check(document_from({"repair": {"name": "test"}, **table}))
    assert any(what in problem.what for problem in problems)


def test_one_sister_reading_alone_leaves_the_part_not_seen() -> None:
    found = ask(homed("sister"), [{"from": "L1", "to": "L2", "value": 1500, "when": "sister"}])
    assert found.parts[0].swings
    assert found.homes == ()
