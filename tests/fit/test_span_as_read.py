"""Spans from hole edges, by tape class, with pointers, on warm metal; heights with a level."""

from __future__ import annotations

from math import hypot, sqrt
from typing import Any

import numpy as np
import pytest
from tests.fit.build import BODY, repair

from panelwright.fit import answer
from panelwright.fit.network import network_of
from panelwright.fit.sketch import Kind, Sketch


def one_span(
    reading: dict[str, Any], *, part: dict[str, Any] | None = None, **tables: Any
) -> tuple[list[Sketch], list[str]]:
    """The equation of a span A to B, and what is said about it; holes of 12 and 8 mm."""
    on = {"on": "p"} if part else {}
    whole = repair(
        point=[
            {"id": "A", "hole": "12 mm", "xyz": [0, 0, 0], **on},
            {"id": "B", "hole": "8 mm", "xyz": [2000, 0, 0], **on},
            {"id": "C", "xyz": [0, 900, 0], **on},
        ],
        part=[{"id": "p", "state": "keep", **(part or {})}],
        reading=[{"from": "A", "to": "B", "value": 2000, **reading}],
        **tables,
    )
    network = network_of(whole)
    read = [sketch for sketch in network.sketches if sketch.kind is Kind.READING]
    return read, [problem.what for problem in network.problems]


@pytest.mark.exact
@pytest.mark.parametrize(
    ("edges", "span_mm"),
    [
        ({"from_edge": "near"}, 2006.0),
        ({"from_edge": "near", "to_edge": "near"}, 2010.0),
        ({"from_edge": "near", "to_edge": "far"}, 2002.0),
        ({"from_edge": "far", "to_edge": "far"}, 1990.0),
        ({"from_edge": "centre"}, 2000.0),
    ],
)
def test_an_edge_is_half_a_diameter_from_the_middle(edges: dict[str, str], span_mm: float) -> None:
    """The near edge of a hole lies towards the other point."""
    ((sketch,), problems) = one_span(edges)
    assert problems == []
    assert sketch.observed_mm - sketch.constant_mm == pytest.approx(span_mm)
    count = sum(edge != "centre" for edge in edges.values())
    assert sketch.spread.u_mm == pytest.approx(sqrt(1.0 + count * 0.1**2))
    assert len(sketch.corrections) == count


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ({"to": "C", "to_edge": "near"}, "point C has no hole"),
        ({"value": 10, "from_edge": "far"}, "does not reach across the hole of A"),
        ({"pointers": [100, 200], "from_edge": "near", "with": "tram"}, "sits in the middle"),
        ({"pointers": [100, 200], "with": "tape"}, "pointers belong to a tram"),
    ],
)
def test_wrong_usage_is_said_and_the_reading_left_out(reading: dict[str, Any], words: str) -> None:
    sketches, problems = one_span(reading)
    assert sketches == []
    (told,) = problems
    assert words in told
    assert "left out" in told


@pytest.mark.published
@pytest.mark.parametrize(
    ("tape_class", "hook", "value_mm", "u_mm"),
    [
        ("II", False, 2000.0, 0.7 / sqrt(3)),
        ("I", False, 2000.0, 0.3 / sqrt(3)),
        ("II", True, 1500.0, 0.9 / sqrt(3)),
        ("III", False, 4200.0, 2.6 / sqrt(3)),
    ],
)
def test_a_tape_of_a_class_shares_its_limit_between_all_its_readings(
    tape_class: str, hook: bool, value_mm: float, u_mm: float
) -> None:
    """2014/32/EU, Annex X: MPE at 2 m 0.3 and 0.7 mm, at 1.5 m from the hook 0.9, at 5 m 2.6."""
    tool = {"id": "tape", "class": tape_class, "hook": hook}
    ((sketch,), _) = one_span({"value": value_mm}, tool=[tool])
    tape = sketch.spread.tool
    assert tape is not None
    assert tape.offset_u_mm * sketch.spread.offset_by == pytest.approx(u_mm)
    assert tape.scale_u == 0.0
    assert sketch.spread.u_mm == 1.0  # seating and reading, as usual for a tape
    assert tape.u_at_mm(value_mm) == pytest.approx(hypot(1.0, u_mm))
    said = " ".join(str(source) for source in tape.sources)
    assert "2014/32/EU" in said
    assert "common practice" in said


@pytest.mark.second_route
def test_the_limit_of_a_class_reaches_the_answer_as_by_monte_carlo() -> None:
    """P beyond B on a line from A: both spans with one tape, 1 m and 3 m, class III."""
    point = [
        {"id": "A", "xyz": [0, 0, 0], "u": 0},
        {"id": "P", "xyz": [1000, 0, 0], "u": ["free", 0, 0]},
        {"id": "Q", "xyz": [4000, 0, 0], "u": ["free", 0, 0]},
    ]
    reading = [
        {"from": "A", "to": "P", "value": 1000},
        {"from": "P", "to": "Q", "value": 3000},
    ]
    tool = [{"id": "tape", "u": 0.4, "class": "III"}]
    found = {p.id: p for p in answer(repair(point=point, reading=reading, tool=tool)).points}
    random = np.random.default_rng(5)
    shared = random.normal(size=200_000) / sqrt(3)
    p = 1.0 * shared + random.normal(0.0, 0.4, 200_000)
    q = p + 1.8 * shared + random.normal(0.0, 0.4, 200_000)
    assert found["P"].u_mm[0] == pytest.approx(p.std(), rel=0.01)
    assert found["Q"].u_mm[0] == pytest.approx(q.std(), rel=0.01)


@pytest.mark.exact
def test_a_parallel_trams_pointers_give_the_slanting_span() -> None:
    """3-4-5: 2000 mm along the beam and pointers 1500 mm apart span 2500 mm."""
    ((sketch,), _) = one_span({"with": "tram", "pointers": [100, 1600]})
    assert sketch.observed_mm == pytest.approx(2500.0)
    assert sketch.spread.scale_by == pytest.approx(0.64)
    assert sketch.spread.offset_by == pytest.approx(0.8)
    # u: 0.8 of the reading's 0.5 mm, 0.6 of two pointers set to 0.3 mm.
    assert sketch.spread.u_mm == pytest.approx(hypot(0.8 * 0.5, 0.6 * 0.3 * sqrt(2)))


@pytest.mark.second_route
def test_what_the_tram_shares_acts_along_the_beam() -> None:
    """The span by differences: √((reading − offset)/(1 + scale))² + rise²."""

    def span(reading: float, offset: float, scale: float) -> float:
        return hypot((reading - offset) / (1.0 + scale), 1500.0)

    tool = [{"id": "tram", "u": 0.5, "offset_u": 0.4, "scale_u": 0.001}]
    ((sketch,), _) = one_span({"with": "tram", "pointers": [100, 1600]}, tool=tool)
    by_offset = (span(2000, 1e-3, 0) - span(2000, -1e-3, 0)) / 2e-3
    by_scale = (span(2000, 0, 1e-6) - span(2000, 0, -1e-6)) / 2e-6
    assert sketch.spread.offset_by == pytest.approx(-by_offset, rel=1e-6)
    assert sketch.spread.scale_by * sketch.observed_mm == pytest.approx(-by_scale, rel=1e-6)


@pytest.mark.published
def test_a_warm_span_is_taken_back_to_20_degrees() -> None:
    """Aluminium 23.1e-6 per K (CRC Handbook, memory): 2 m at 50 °C is 1.386 mm longer.

    Read with a steel tape (11.6e-6 per K, seen) that is at 30 °C itself, of which it hides 0.232.
    """
    reading = {"temperature": "50 °C", "tool_temperature": "30 °C"}
    ((sketch,), problems) = one_span(reading, part={"material": "EN AW-6016-T4"})
    assert problems == []
    assert sketch.observed_mm == pytest.approx(2000.0 - 1.386 + 0.232, abs=2e-3)
    (told,) = sketch.corrections
    assert told.kind == "temperature"
    assert "1.15 mm taken off" in told.words
    assert any("23.1e-6" in str(source) and "memory" in str(source) for source in told.sources)


@pytest.mark.exact
def test_a_tape_is_taken_to_be_as_warm_as_the_air() -> None:
    steel = {"material": "steel DC04"}
    ((sketch,), _) = one_span({"temperature": "30 °C"}, part=steel, conditions={"air": "30 °C"})
    assert sketch.observed_mm == pytest.approx(2000.0, abs=1e-9)


def test_a_material_that_nobody_knows_is_said() -> None:
    ((sketch,), problems) = one_span({"temperature": "60 °C"}, part={"material": "plywood"})
    assert sketch.observed_mm == 2000.0
    assert any("not known" in what for what in problems)


def levelled(slope: tuple[float, float], rise_mm: float, tool: dict[str, Any]) -> Any:
    """Heights of known body points by a level in a bay that slopes, and of P between them."""
    upright = np.array([slope[0], slope[1], 1.0])
    upright /= np.linalg.norm(upright)
    points = [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()]
    points.append({"id": "P", "xyz": [3000, 100, 900], "u": [0, 0, "free"]})
    places = {**BODY, "P": (3000.0, 100.0, 1111.0)}
    readings = [
        {"point": name, "height": float(upright @ np.array(xyz)) + rise_mm, "with": "level"}
        for name, xyz in places.items()
    ]
    return answer(repair(point=points, reading=readings, tool=[tool] if tool else []))


@pytest.mark.exact
def test_on_a_sloping_floor_the_slope_is_found_from_the_heights() -> None:
    found = levelled((0.012, -0.02), 437.0, {"id": "level", "floor": "sloping"})
    place = next(point for point in found.points if point.id == "P")
    assert place.xyz_mm is not None
    assert place.xyz_mm[2] == pytest.approx(1111.0, abs=0.05)
    assert place.u_mm[2] is not None
    assert place.u_mm[2] > 2.0


def test_heights_with_a_level_do_not_count_by_themselves() -> None:
    found = levelled((0.0, 0.0), 0.0, {})
    assert found.readings == ()
    assert sum("bays slope" in problem.what for problem in found.problems) == 7


@pytest.mark.exact
def test_where_the_vehicle_stands_level_they_count_as_heights() -> None:
    found = levelled((0.0, 0.0), 0.0, {"id": "level", "floor": "level"})
    place = next(point for point in found.points if point.id == "P")
    assert place.xyz_mm == pytest.approx((3000.0, 100.0, 1111.0))
    assert place.u_mm[2] == pytest.approx(2.0)


@pytest.mark.second_route
def test_derivatives_of_levelled_heights_are_those_of_differences() -> None:
    points = [{"id": name, "xyz": list(xyz)} for name, xyz in BODY.items()]
    readings = [{"point": name, "height": 500, "with": "level"} for name in BODY]
    tool = [{"id": "level", "floor": "sloping"}]
    network = network_of(repair(point=points, reading=readings, tool=tool))
    x = network.start.copy()
    x[-3:] = [120.0, 0.015, -0.01]
    _, jacobian = network.equations.weighted(x)
    for k in range(len(x)):
        step = np.zeros(len(x))
        step[k] = 1e-5 if k >= len(x) - 2 else 1e-2
        high, low = (network.equations.weighted(x + way * step)[0] for way in (1, -1))
        np.testing.assert_allclose(
            (high - low) / (2 * step[k]), jacobian[:, k], atol=1e-5, rtol=1e-5
        )
