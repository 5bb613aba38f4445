"""Where the rivets go."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.joints.checker import best_of_all, faults

from panelwright.joints.layout import Limit, Row, free_places, lay_out, most_rivets

GRID = 0.5


def half(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths on the half-millimetre grid."""
    return st.integers(round(2 * low), round(2 * high)).map(lambda number: number / 2)


def micrometres(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths in whole micrometres: nothing lies within rounding of a rule's limit."""
    return st.integers(round(1000 * low), round(1000 * high)).map(lambda number: number / 1000)


@st.composite
def rows(draw: st.DrawFn, longest: float = 16.0, most: int = 3) -> Row:
    length = draw(half(4.0, longest))
    ideal = draw(st.lists(micrometres(0.0, length), min_size=1, max_size=most))
    stretches = draw(st.lists(st.tuples(half(0.0, length), half(0.0, length)), max_size=2))
    return Row(
        low_mm=0.0,
        high_mm=length,
        ideal_mm=tuple(sorted(ideal)),
        end_mm=draw(half(0.0, 3.0)),
        pitch_mm=draw(half(0.5, 5.0)),
        avoid_mm=tuple((min(pair), max(pair)) for pair in stretches if pair[0] != pair[1]),
        half_head_mm=draw(half(0.0, 1.5)),
        old_mm=tuple(draw(st.lists(micrometres(0.0, length), max_size=2))),
        old_clearance_mm=draw(half(0.0, 2.5)),
    )


@pytest.mark.second_route
@settings(max_examples=150)
@given(rows())
def test_no_choice_of_places_costs_less_and_none_is_missed(row: Row) -> None:
    layout, best = lay_out(row), best_of_all(row, GRID)
    if best is None:
        assert layout.at_mm == ()
        return
    assert faults(row, layout.at_mm) == []
    pairs = list(zip(layout.at_mm, row.ideal_mm, strict=True))
    assert sum(round(1000 * abs(x - y)) for x, y in pairs) / 1000 == best.cost_mm
    assert sum(x < y - 1e-6 for x, y in pairs) == best.early


@pytest.mark.second_route
@given(rows(longest=400.0, most=12))
def test_long_rows_keep_every_rule_by_the_independent_checker(row: Row) -> None:
    layout = lay_out(row)
    if layout.at_mm:
        assert faults(row, layout.at_mm) == []
        assert layout.clash == ()
    else:
        assert layout.most < len(row.ideal_mm)
        assert layout.clash


@pytest.mark.second_route
@given(rows(longest=60.0, most=4))
def test_matching_rivets_to_ideal_places_in_order_loses_nothing(row: Row) -> None:
    at = lay_out(row).at_mm
    assume(at)
    in_order = sum(abs(x - y) for x, y in zip(at, row.ideal_mm, strict=True))
    for other in permutations(row.ideal_mm):
        assert in_order <= sum(abs(x - y) for x, y in zip(at, other, strict=True)) + 1e-9


@pytest.mark.invariant
@given(rows(longest=120.0, most=6))
def test_a_joint_measured_from_its_other_end_costs_the_same(row: Row) -> None:
    turned = replace(
        row,
        ideal_mm=tuple(row.high_mm - x for x in reversed(row.ideal_mm)),
        avoid_mm=tuple((row.high_mm - high, row.high_mm - low) for low, high in row.avoid_mm),
        old_mm=tuple(row.high_mm - x for x in row.old_mm),
    )
    one, other = lay_out(row), lay_out(turned)
    assert bool(one.at_mm) == bool(other.at_mm)
    if one.cost_mm is not None and other.cost_mm is not None:
        # costs are compared in whole micrometres
        assert one.cost_mm == pytest.approx(other.cost_mm, abs=0.001 * len(row.ideal_mm))


@pytest.mark.invariant
@given(rows(longest=120.0, most=6), half(0.5, 3.0))
def test_a_stricter_rule_never_costs_less(row: Row, more: float) -> None:
    base = lay_out(row)
    for stricter in (
        replace(row, end_mm=row.end_mm + more),
        replace(row, pitch_mm=row.pitch_mm + more),
        replace(row, half_head_mm=row.half_head_mm + more),
        replace(row, old_clearance_mm=row.old_clearance_mm + more),
    ):
        tight = lay_out(stricter)
        assert tight.most <= base.most
        if tight.cost_mm is not None:
            assert base.cost_mm is not None
            assert tight.cost_mm >= base.cost_mm - 0.001 * len(row.ideal_mm)


@pytest.mark.exact
def test_nothing_in_the_way_leaves_every_rivet_on_its_ideal_place() -> None:
    row = Row(0.0, 200.0, (20.0, 60.5, 150.0), end_mm=10.0, pitch_mm=15.0)
    assert lay_out(row).at_mm == (20.0, 60.5, 150.0)
    assert lay_out(row).cost_mm == 0.0


@pytest.mark.exact
def test_rivets_step_beside_old_holes_all_to_the_same_side() -> None:
    olds = (30.0, 80.0, 130.0)
    row = Row(0.0, 160.0, olds, 9.6, 14.4, old_mm=olds, old_clearance_mm=10.6)
    assert lay_out(row).at_mm == (41.0, 91.0, 141.0)


@pytest.mark.exact
def test_a_rivet_at_a_stretch_to_avoid_steps_back_where_that_is_nearer() -> None:
    row = Row(
        0.0, 200.0, (95.0,), 10.0, 15.0, avoid_mm=((100.0, 140.0),), half_head_mm=5.0,
        old_mm=(95.0,), old_clearance_mm=10.0,
    )  # fmt: skip
    assert lay_out(row).at_mm == (85.0,)


@pytest.mark.exact
def test_the_ends_of_a_stretch_are_free_for_a_head_that_just_clears_it() -> None:
    row = Row(0.0, 100.0, (50.0,), 0.0, 5.0, avoid_mm=((40.0, 60.0),), half_head_mm=4.5)
    places = set(free_places(row))
    assert {35.5, 64.5} <= places
    assert not {36.0, 64.0} & places


@pytest.mark.exact
@pytest.mark.parametrize(
    ("changes", "clash"),
    [
        ({"avoid_mm": ((0.0, 100.0),)}, (Limit.AVOID,)),
        ({"end_mm": 49.0}, (Limit.ENDS,)),
        ({"pitch_mm": 90.0}, (Limit.PITCH,)),
        ({"old_mm": (50.0,), "old_clearance_mm": 45.0}, (Limit.OLD_HOLES,)),
    ],
)
def test_no_room_names_the_limit_in_the_way(
    changes: dict[str, object], clash: tuple[Limit, ...]
) -> None:
    base = Row(0.0, 100.0, (20.0, 50.0, 80.0), 10.0, 15.0, half_head_mm=4.75)
    row = replace(base, **changes)  # type: ignore[arg-type]
    layout = lay_out(row)
    assert layout.at_mm == ()
    assert layout.cost_mm is None
    assert layout.clash == clash


@pytest.mark.exact
def test_limits_that_only_clash_together_are_all_named() -> None:
    row = Row(0.0, 20.0, (10.0,), 15.0, 5.0, avoid_mm=((0.0, 20.0),), half_head_mm=2.0)
    assert lay_out(row).clash == tuple(Limit)


@pytest.mark.exact
def test_the_most_that_has_room_is_what_a_pitch_leaves() -> None:
    # from 10 to 90 mm at 20 mm: 10, 30, 50, 70, 90
    assert most_rivets(Row(0.0, 100.0, (50.0,), 10.0, 20.0)) == 5
    assert most_rivets(Row(0.0, 100.0, (50.0,), 10.0, 20.5)) == 4


@pytest.mark.exact
def test_a_joint_of_five_metres_with_a_hundred_rivets_is_laid_out() -> None:
    olds = tuple(25.0 + 50.0 * number for number in range(100))
    row = Row(0.0, 5000.0, olds, 9.6, 14.4, old_mm=olds, old_clearance_mm=10.6)
    layout = lay_out(row)
    assert faults(row, layout.at_mm) == []
    assert layout.cost_mm == pytest.approx(100 * 11.0)
