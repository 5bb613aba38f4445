"""Facts that cannot be: each is told in words, nothing is lost, nothing breaks."""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import pytest
from tests.fit.build import BODY, PANEL, panel, repair

from panelwright.facts.file import InvalidFile, problems_of, read
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.fit.network import network_of
from panelwright.fit.pasted import copies_of


def told(found: Answer, words: str) -> list[str]:
    return [problem.what for problem in found.problems if words in problem.what]


def triangle(ab: float, ac: float, cb: float) -> Answer:
    points = [
        {"id": name, "xyz": at}
        for name, at in zip("ABC", ([0, 0, 0], [900, 0, 0], [0, 900, 0]), strict=True)
    ]
    spans = [("A", "B", ab), ("A", "C", ac), ("C", "B", cb)]
    readings = [{"from": a, "to": b, "value": value} for a, b, value in spans]
    return answer(repair(point=points, reading=readings))


def test_spans_that_no_triangle_allows_are_named() -> None:
    (said,) = told(triangle(3000, 1200, 900), "no geometry allows")
    assert "3000 mm from A to B is 900 mm longer than the way over C (1200 + 900 mm)" in said


def test_a_flat_triangle_within_the_tapes_spread_is_well() -> None:
    assert told(triangle(2102, 1200, 900), "no geometry allows") == []


def test_spans_too_short_to_meet_between_known_points_are_named() -> None:
    points = [
        {"id": "A", "xyz": [0, 0, 0], "u": 0},
        {"id": "B", "xyz": [2000, 0, 0], "u": 0},
        {"id": "P", "xyz": [1000, 0, 10]},
    ]
    readings = [{"from": name, "to": "P", "value": 700} for name in "AB"]
    found = answer(repair(point=points, reading=readings))
    (said,) = told(found, "no geometry allows")
    assert "2000 mm from A to B is 600 mm longer" in said


def test_a_point_that_nothing_reaches_is_named_and_keeps_its_place() -> None:
    tables = panel()
    tables["point"].append({"id": "lonely", "xyz": [1, 2, 3]})
    found = answer(repair(**tables))
    assert any("no reading reaches" in what and "lonely" in what for what in told(found, "lonely"))
    place = next(point for point in found.points if point.id == "lonely")
    assert (place.xyz_mm, place.u_mm) == ((1.0, 2.0, 3.0), (None, None, None))


@pytest.mark.parametrize("noise_mm", [0.0, 2.0])
def test_with_all_readings_in_one_plane_what_is_across_it_is_said_to_be_open(
    noise_mm: float,
) -> None:
    random = np.random.default_rng(3)
    places = {f"P{k}": np.array([*random.uniform(0, 3000, 2), 0.0]) for k in range(7)}
    points = [
        {"id": name, "xyz": (at + random.normal(0, noise_mm, 3) * [0, 0, 1]).tolist()}
        for name, at in places.items()
    ]
    readings = [
        {"from": a, "to": b, "value": float(np.linalg.norm(places[a] - places[b])), "with": "tram"}
        for a in places
        for b in places
        if a < b
    ]
    found = answer(repair(point=points, reading=readings))
    assert len(found.weak) >= 4
    assert all(abs(held.along[2]) > 0.9 for held in found.weak)
    assert len(told(found, "lies in one plane")) == 1
    across = [point.u_mm[2] for point in found.points]
    datum = [u for u in across if u is not None and u < 1e-9]
    assert len(datum) in (0, 3)  # three points make the plane that the others are told from
    assert all(u is None or u < 1e-9 or u > 10.0 for u in across)


def test_two_names_for_one_place_are_told() -> None:
    tables = panel()
    again = dict(tables["point"][0])
    tables["point"].append({**again, "id": "B1 again"})
    (said,) = told(answer(repair(**tables)), "the same place")
    assert "B1 again and B1" in said


def test_one_id_twice_is_told_by_the_file() -> None:
    text = '[repair]\nname = "t"\n' + '[[point]]\nid = "A"\nxyz = [0, 0, 0]\n' * 2
    assert any("used twice" in problem.what for problem in problems_of(text))


def test_homes_that_contradict_the_panels_own_size_are_told() -> None:
    tables = panel()
    apart = float(np.linalg.norm(np.subtract(PANEL["L1"], PANEL["L2"])))
    tables["reading"].append({"from": "L1", "to": "L2", "value": apart - 40.0})
    found = answer(repair(**tables))
    (said,) = told(found, "contradicts")
    assert f"{apart:.1f} mm apart" in said
    assert f"{apart - 40.0:.1f} mm apart" in said
    tables["reading"][-1]["value"] = apart - 2.0
    assert told(answer(repair(**tables)), "contradicts") == []


def test_a_tolerance_of_nought_is_refused_with_its_place() -> None:
    text = '[repair]\nname = "t"\n[[part]]\nid = "p"\n[[point]]\nid = "A"\non = "p"\n'
    with pytest.raises(InvalidFile):
        read(text + 'tolerance = "0 mm"\n')
    problem, *_ = problems_of(text + 'tolerance = "0 mm"\n')
    assert problem.where.startswith("point[0].tolerance")
    assert "not more than zero" in problem.what


def pasted(count: int, nodes: int) -> dict[str, Any]:
    random = np.random.default_rng(1)
    places = random.uniform(0, 4000, (nodes, 3))
    points = [
        {"id": f"P{k}", "xyz": at.tolist(), **({"u": 0} if k < 4 else {})}
        for k, at in enumerate(places)
    ]
    readings: list[dict[str, Any]] = []
    while len(readings) < count:
        a, b = random.choice(nodes, 2, replace=False)
        length = float(np.linalg.norm(places[a] - places[b])) + random.normal(0, 1)
        readings.append({"from": f"P{a}", "to": f"P{b}", "value": round(length, 1)})
    return {"point": points, "reading": readings}


def test_readings_pasted_twice_are_listed_twice_and_count_once() -> None:
    tables = pasted(40, 10)
    once = answer(repair(**tables))
    tables["reading"] = tables["reading"] * 2
    twice = answer(repair(**tables))
    (said,) = told(twice, "pasted in twice")
    assert said.startswith("40 readings from here on")
    assert "from reading 0 on" in said
    assert len(twice.readings) == 2 * len(once.readings)
    assert twice.dof == once.dof
    assert [p.u_mm for p in twice.points] == [p.u_mm for p in once.points]
    assert twice.readings[45].residual_mm == once.readings[5].residual_mm
    assert "same as reading 5" in twice.readings[45].about


def test_a_few_readings_that_happen_to_be_alike_are_repeats() -> None:
    tables = pasted(7, 10)
    tables["reading"] = tables["reading"] * 2
    whole = repair(**tables)
    assert copies_of(whole.readings) == {}
    assert len(answer(whole).repeats) == 7


@pytest.mark.parametrize("at", [None, "2026-11-20T10:00:00+01:00"])
def test_what_was_read_again_at_another_time_is_no_copy(at: str | None) -> None:
    tables = pasted(20, 10)
    again = [{**reading, **({"at": at} if at else {})} for reading in tables["reading"]]
    tables["reading"] = tables["reading"] + again
    assert len(copies_of(repair(**tables).readings)) == (0 if at else 20)


def test_ten_thousand_readings_pasted_twice_take_seconds() -> None:
    tables = pasted(10_000, 60)
    tables["reading"] = tables["reading"] * 2
    whole = repair(**tables)
    begun = time.process_time()
    network = network_of(whole)
    assert time.process_time() - begun < 20.0
    assert len(network.copies) == 10_000
    assert sum("pasted in twice" in problem.what for problem in network.problems) == 1


def test_a_place_without_numbers_for_its_points_is_held_weakly() -> None:
    points = [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()]
    points.append({"id": "P", "xyz": [3000, 0, 900]})
    found = answer(repair(point=points, reading=[{"from": "B1", "to": "P", "value": 1312.0}]))
    (held,) = found.weak
    assert held.u_mm is None
    assert held.words.startswith("these readings do not show whether P sits")


def closures(**door: Any) -> dict[str, Any]:
    """The panel with a door beside two of its stations."""
    tables: dict[str, Any] = panel()
    tables["part"].append({"id": "door", "name": "rear door", "state": "remove-and-refit", **door})
    for station in tables["station"][:2]:
        station["beside"] = "door"
    return tables


def test_stations_with_a_door_that_is_off_do_not_count() -> None:
    found = answer(repair(**closures(hung=False)))
    said = told(found, "rear door is off")
    assert len(said) == 2
    assert "read it again" in said[0]
    assert {station.id for station in found.parts[0].stations} == {"s3", "s4"}
    assert {row.about.split(",")[0] for row in found.readings} == {"station s3", "station s4"}


@pytest.mark.parametrize(
    ("kinds", "hangs"), [(["off"], False), (["off", "hung"], True), (["hung", "off"], False)]
)
def test_the_last_event_says_whether_a_closure_hangs(kinds: list[str], hangs: bool) -> None:
    events = [
        {"kind": kind, "part": "door", "at": f"2026-11-20T1{k}:00:00+01:00"}
        for k, kind in enumerate(kinds)
    ]
    found = answer(repair(**closures(), event=events))
    assert (told(found, "rear door is off") == []) is hangs


@pytest.mark.exact
def test_panel_and_door_share_the_gap_between_them() -> None:
    """The door stands 2 mm rearward: a gap 2 mm tight is the door's, not the panel's."""
    tables = closures()
    homes = {
        "D1": (1500.0, -850.0, 600.0),
        "D2": (2500.0, -850.0, 700.0),
        "D3": (2000.0, -820.0, 1500.0),
    }
    for name, xyz in homes.items():
        tables["point"].append(
            {"id": name, "on": "door", "xyz": list(xyz), "u": 0.01, "home": "xyz", "tolerance": 3}
        )
        at = np.add(xyz, (2.0, 0.0, 0.0)).tolist()
        tables["reading"].append({"point": name, "xyz": at, "u": 0.05})
    for reading in tables["reading"][:2]:
        reading["gap"] = 3.0
    found = {part.id: part for part in answer(repair(**tables)).parts}
    assert found["door"].shift_mm[0] == pytest.approx(2.0, abs=0.01)
    assert found["outer"].shift_mm[0] == pytest.approx(0.0, abs=0.01)
    assert found["outer"].stations[0].gap_mm == pytest.approx(3.0, abs=0.01)
