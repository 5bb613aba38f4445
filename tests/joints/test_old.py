"""The old rivets: number and places from what was counted and measured."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.joints.old import old_row

WHERE = "joint[0].old"


@pytest.mark.exact
def test_two_places_of_fifteen_are_carried_on_at_their_pitch() -> None:
    row = old_row(15, (30.0, 80.0), 760.0, WHERE)
    assert row.at_mm == tuple(30.0 + 50.0 * number for number in range(15))
    assert row.assumed
    assert "2 of 15 old places are given" in row.note


@pytest.mark.exact
def test_a_number_without_places_is_spread_evenly_and_said_to_be_assumed() -> None:
    row = old_row(4, (), 200.0, WHERE)
    assert row.at_mm == (25.0, 75.0, 125.0, 175.0)
    assert row.assumed
    assert "assumed evenly spread" in row.note


@pytest.mark.exact
def test_places_without_a_rhythm_are_filled_in_the_largest_gaps() -> None:
    row = old_row(4, (10.0, 30.0, 90.0), 100.0, WHERE)
    assert row.at_mm == (10.0, 30.0, 60.0, 90.0)
    assert "largest gaps" in row.note


@pytest.mark.exact
def test_all_places_given_are_measured_in_any_order() -> None:
    row = old_row(3, (90.0, 10.0, 50.0), 100.0, WHERE)
    assert (row.at_mm, row.assumed, row.problems) == ((10.0, 50.0, 90.0), False, ())
    assert old_row(None, (90.0, 10.0), 100.0, WHERE).count == 2


@pytest.mark.exact
def test_nothing_known_stays_unknown_and_none_counted_is_none() -> None:
    assert old_row(None, (), 100.0, WHERE).count is None
    assert old_row(0, (), 100.0, WHERE).count == 0


@pytest.mark.exact
def test_a_place_beyond_the_joint_is_left_out_but_its_rivet_still_counts() -> None:
    row = old_row(None, (10.0, 50.0, 900.0), 100.0, WHERE)
    assert row.count == 3
    assert row.at_mm == (10.0, 50.0, 90.0)  # carried on at its pitch
    (problem,) = row.problems
    assert problem.where == "joint[0].old.at[2]"
    assert "900 mm lies beyond the joint's length of 100 mm" in problem.what
    assert not problem.hard


@pytest.mark.exact
def test_a_place_given_twice_is_one_rivet() -> None:
    row = old_row(2, (10.0, 10.0, 50.0), 100.0, WHERE)
    assert (row.count, row.at_mm) == (2, (10.0, 50.0))
    assert "given twice" in row.problems[0].what


@pytest.mark.exact
def test_more_places_than_counted_are_all_taken() -> None:
    row = old_row(2, (10.0, 30.0, 50.0), 100.0, WHERE)
    assert row.count == 3
    assert "3 are taken, never fewer" in row.problems[0].what


@pytest.mark.exact
def test_without_a_length_places_stay_as_they_are() -> None:
    row = old_row(5, (80.0, 30.0), None, WHERE)
    assert (row.count, row.at_mm) == (5, (30.0, 80.0))


@pytest.mark.invariant
@given(
    st.none() | st.integers(0, 40),
    st.lists(st.floats(0.0, 900.0), max_size=20),
    st.floats(50.0, 800.0),
)
def test_the_row_is_ascending_on_the_joint_and_never_fewer_than_counted(
    count: int | None, at: list[float], length: float
) -> None:
    row = old_row(count, tuple(at), length, WHERE)
    assert list(row.at_mm) == sorted(row.at_mm)
    assert all(0.0 <= place <= length + 0.1 for place in row.at_mm)
    assert (row.count or 0) >= (count or 0)
    assert len(row.at_mm) == (row.count or 0)
