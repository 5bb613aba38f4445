"""Outlines: area by another library, and crossings refused in words."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from panelwright.quiet.outline import Refused, area_mm2, box, placed, read

corners = st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=3, max_size=7)


def without_repeats(points: list[tuple[int, int]]) -> list[tuple[int, int]]:
    kept = [p for i, p in enumerate(points) if p != points[i - 1]]
    return kept or points[:1]


@pytest.mark.second_route
@settings(max_examples=400, deadline=None)
@given(corners)
def test_an_outline_is_taken_exactly_where_shapely_finds_it_valid(
    points: list[tuple[int, int]],
) -> None:
    cleaned = without_repeats(points)
    valid = len(cleaned) >= 3 and Polygon(cleaned).is_valid and Polygon(cleaned).area > 0
    outline = read(points)
    assert (not isinstance(outline, Refused)) == valid
    if not isinstance(outline, Refused):
        assert area_mm2(outline) == pytest.approx(Polygon(cleaned).area)


@pytest.mark.exact
def test_a_rectangle_and_an_l_have_their_areas() -> None:
    assert area_mm2(((0, 0), (310, 0), (310, 180), (0, 180))) == 55800.0
    ell = ((0, 0), (200, 0), (200, 50), (50, 50), (50, 100), (0, 100))
    assert area_mm2(ell) == 12500.0


@pytest.mark.exact
@pytest.mark.parametrize("count", [3, 4, 6, 100])
def test_a_regular_polygon_has_its_closed_form_area(count: int) -> None:
    radius = 100.0
    turns = [2 * math.pi * k / count for k in range(count)]
    outline = tuple((radius * math.cos(t), radius * math.sin(t)) for t in turns)
    closed = count / 2 * radius**2 * math.sin(2 * math.pi / count)
    assert area_mm2(outline) == pytest.approx(closed, rel=1e-12)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "crosses or touches itself"),
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], "crosses or touches itself"),
        ([(0, 0), (10, 0), (5, 0), (5, 10)], "doubles back on itself at (10, 0) mm"),
        ([(0, 0), (10, 0), (20, 0)], "all its corners in one line"),
        ([(0, 0), (10, 0), (0, 0)], "2 different corners"),
    ],
)
def test_no_outline_is_refused_in_words(points: list[tuple[float, float]], words: str) -> None:
    outline = read(points)
    assert isinstance(outline, Refused)
    assert words in outline.why


@pytest.mark.invariant
def test_a_closed_ring_and_repeated_corners_are_read_as_traced() -> None:
    plain = read([(0, 0), (10, 0), (10, 10)])
    assert read([(0, 0), (10, 0), (10, 0), (10, 10), (0, 0)]) == plain


@pytest.mark.invariant
@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4), st.booleans())
def test_moving_turning_and_reversing_keep_the_area(x: float, y: float, turned: bool) -> None:
    ell = ((0.0, 0.0), (200.0, 0.0), (200.0, 50.0), (50.0, 50.0), (50.0, 100.0), (0.0, 100.0))
    moved = placed(ell, x, y, turned=turned)
    assert area_mm2(moved) == pytest.approx(12500.0)
    assert area_mm2(tuple(reversed(moved))) == pytest.approx(12500.0)
    around = box(moved)
    assert (around.x_mm, around.y_mm) == pytest.approx((x, y), abs=1e-9)
    sides = (100.0, 200.0) if turned else (200.0, 100.0)
    assert (around.width_mm, around.height_mm) == pytest.approx(sides)


@pytest.mark.invariant
def test_a_turned_pad_is_not_turned_over() -> None:
    ell = ((0.0, 0.0), (200.0, 0.0), (200.0, 50.0), (50.0, 50.0), (50.0, 100.0), (0.0, 100.0))
    for turned in (False, True):
        assert Polygon(placed(ell, 5.0, 7.0, turned=turned)).exterior.is_ccw
