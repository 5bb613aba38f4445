"""A part with a motion that nothing holds is never called home, and what is seen still counts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tests.fit.build import repair

from panelwright.cli.pages.fit import page
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.fit.part_answer import PartFit, Verdict
from panelwright.quantities import Units

PLACES = {"A": (4000.0, -900.0, 700.0), "B": (4850.0, -880.0, 1900.0)}


def two_points(off: tuple[float, float, float] = (0.0, 0.0, 0.0), **more: Any) -> Answer:
    points = [
        {"id": name, "on": "p", "home": "xyz", "xyz": list(at), "u": 0.5, "tolerance": "3 mm"}
        for name, at in PLACES.items()
    ]
    readings = [
        {"point": name, "xyz": np.add(at, off).tolist(), "u": 0.4} for name, at in PLACES.items()
    ]
    return answer(repair(part=[{"id": "p"}], point=points, reading=readings, **more))


def only(found: Answer) -> PartFit:
    (part,) = found.parts
    return part


@pytest.mark.exact
def test_a_part_that_can_turn_about_its_points_is_not_to_be_pinned() -> None:
    found = two_points()
    part = only(found)
    assert {point.verdict for point in part.points} == {Verdict.INSIDE}
    assert part.verdict is Verdict.UNDECIDED
    words = page(found, Units.MM)
    assert "do not pin it yet" in words
    assert "where it belongs" not in words


@pytest.mark.exact
def test_a_free_turn_about_the_line_of_the_points_is_told_as_one() -> None:
    (free,) = [motion for motion in only(two_points()).unseen if motion.u_mm is None]
    line = np.subtract(PLACES["B"], PLACES["A"])
    line /= np.linalg.norm(line)
    turn = np.array(free.turn_mrad)
    assert np.linalg.norm(turn) == pytest.approx(1.0)
    assert abs(turn @ line) == pytest.approx(1.0, abs=1e-9)
    assert "off that line" in free.words


def pins(off_x: float, tolerance: object) -> Answer:
    """Two pins hold a part in x and z; nothing holds it in y."""
    part = {"id": "p"}
    point = {"id": "A", "on": "p", "home": "xyz", "xyz": [4000, -900, 700], "u": 1}
    locators = [
        {"id": f"l{k}", "part": "p", "xyz": [x, -900, z], "axis": [0, 1, 0], "clearance": 0.5}
        for k, (x, z) in enumerate(((4000, 700), (4800, 900)))
    ]
    readings = [
        {"locator": f"l{k}", "state": "off", "off": [off_x, 0.0], "with": "gauge"} for k in (0, 1)
    ]
    point["tolerance"] = tolerance
    return answer(repair(part=[part], point=[point], locator=locators, reading=readings))


@pytest.mark.exact
def test_an_axis_that_nobody_judges_may_stay_open() -> None:
    (point,) = only(pins(0.0, {"x": "2 mm", "z": "2 mm"})).points
    assert point.verdict is Verdict.INSIDE
    assert point.u_mm[1] is None


@pytest.mark.exact
def test_what_is_far_out_on_a_seen_axis_is_outside_whatever_the_others_are() -> None:
    for tolerance in ({"x": "2 mm", "z": "2 mm"}, "2 mm"):
        part = only(pins(10.0, tolerance))
        assert part.points[0].verdict is Verdict.OUTSIDE
        assert part.moves
        assert part.moves[0].along[1] == 0.0


@pytest.mark.exact
def test_what_is_near_on_the_seen_axes_stays_undecided_for_a_distance() -> None:
    (point,) = only(pins(0.0, "2 mm")).points
    assert point.verdict is Verdict.UNDECIDED
    assert point.p_inside is None


def test_readings_that_agree_too_well_are_not_said_to_disagree() -> None:
    words = page(two_points((1.0, 0.0, 0.0)), Units.MM)
    assert "do not agree" not in words
