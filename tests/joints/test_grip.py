"""Which length of rivet clamps a stack."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.joints.answer_parts import Rivet
from panelwright.joints.catalogue import head_and_hole, rivets_iso15981
from panelwright.joints.grip import chance_in_grip, choose_by_grip, grip_margin_mm

# ISO 15981:2002, rows seen, the diameters of the columns inferred from their order (reference §1.4)
PRINTED: dict[tuple[float, ...], dict[int, tuple[float, float]]] = {
    (2.4,): {6: (0.5, 3.0), 9: (3, 6), 12: (6, 9)},
    (3.0, 3.2): {
        5: (0.5, 1.5), 6: (1.5, 3.5), 8: (3.5, 5.0), 10: (5, 7), 12: (7, 9), 16: (9, 13),
        20: (13, 17), 25: (17, 22),
    },
    (4.0,): {
        6: (1, 3), 8: (3, 5), 10: (5.0, 6.5), 12: (6.5, 8.5), 16: (8.5, 12.5), 20: (12.5, 16.5),
        25: (16.5, 21.0),
    },
    (4.8, 5.0): {
        6: (1.5, 2.5), 8: (2.5, 4.0), 10: (4, 6), 12: (6, 8), 16: (8, 12), 20: (12, 15),
        25: (15, 20), 30: (20, 25),
    },
    (6.0, 6.4): {12: (3, 6), 16: (6, 10), 20: (10, 14), 25: (14, 18), 30: (18, 23)},
}  # fmt: skip


def sizes(diameter: float) -> list[Rivet]:
    return [rivet for rivet in rivets_iso15981() if rivet.diameter_mm == diameter]


@pytest.mark.published
def test_the_table_holds_every_printed_grip_and_no_other() -> None:
    printed = {
        (diameter, float(length), *map(float, grip))
        for diameters, rows in PRINTED.items()
        for diameter in diameters
        for length, grip in rows.items()
    }
    held = {
        (rivet.diameter_mm, rivet.length_mm, rivet.grip_min_mm, rivet.grip_max_mm)
        for rivet in rivets_iso15981()
    }
    assert held == printed


@pytest.mark.published
@pytest.mark.parametrize(("stack", "length"), [(2.45, 6.0), (2.55, 8.0)])
def test_a_stack_takes_the_length_whose_grip_holds_it(stack: float, length: float) -> None:
    chosen = choose_by_grip(sizes(4.8), stack)  # reference T13
    assert chosen is not None
    assert chosen.length_mm == length


@pytest.mark.exact
@pytest.mark.parametrize(
    ("diameter", "stack", "length"), [(4.8, 2.5, 8.0), (4.0, 3.0, 8.0), (6.4, 6.0, 16.0)]
)
def test_on_a_boundary_of_two_rows_the_longer_rivet_wins(
    diameter: float, stack: float, length: float
) -> None:
    chosen = choose_by_grip(sizes(diameter), stack)
    assert chosen is not None
    assert chosen.length_mm == length


@pytest.mark.exact
def test_the_boundary_is_met_however_the_stack_was_summed() -> None:
    chosen = choose_by_grip(sizes(4.8), 1.0 + 1.1 + 0.1 + 0.1 + 0.1 + 0.1)  # 2.5 but for rounding
    assert chosen is not None
    assert chosen.length_mm == 8.0


@pytest.mark.exact
def test_of_two_ranges_that_hold_the_stack_the_wider_margin_wins_even_if_shorter() -> None:
    base = sizes(4.8)[0]
    short = replace(base, id="short", length_mm=8.0, grip_min_mm=1.0, grip_max_mm=4.0)
    long = replace(base, id="long", length_mm=12.0, grip_min_mm=2.4, grip_max_mm=6.0)
    assert choose_by_grip([short, long], 2.5) == short
    assert choose_by_grip([long, short], 3.5) == long


@pytest.mark.exact
def test_outside_every_range_there_is_no_rivet() -> None:
    assert choose_by_grip(sizes(4.8), 1.4) is None
    assert choose_by_grip(sizes(4.8), 25.1) is None
    assert choose_by_grip([replace(sizes(4.8)[0], grip_min_mm=None)], 2.0) is None


@pytest.mark.exact
def test_a_stack_on_the_end_of_a_range_is_within_it_half_of_the_time() -> None:
    rivet = sizes(4.8)[1]  # 2.5 to 4.0 mm
    assert chance_in_grip(rivet, 2.5, 0.05) == pytest.approx(0.5, abs=1e-12)
    assert chance_in_grip(rivet, 3.25, 0.05) == pytest.approx(1.0, abs=1e-12)
    assert chance_in_grip(rivet, 2.5 + 0.05 * 1.959964, 0.05) == pytest.approx(0.975, abs=1e-6)
    assert chance_in_grip(replace(rivet, grip_max_mm=None), 3.0, 0.05) is None


@pytest.mark.invariant
@given(st.sampled_from([2.4, 3.0, 3.2, 4.0, 4.8, 5.0, 6.0, 6.4]), st.floats(0.5, 25.0))
def test_a_thicker_stack_never_takes_a_shorter_rivet(diameter: float, stack: float) -> None:
    one, other = (choose_by_grip(sizes(diameter), stack + more) for more in (0.0, 0.4))
    if one is not None and other is not None:
        assert (other.length_mm or 0.0) >= (one.length_mm or 0.0)


@pytest.mark.invariant
@given(st.floats(0.5, 25.0))
def test_the_chosen_rivet_holds_the_stack_and_no_other_holds_it_better(stack: float) -> None:
    chosen = choose_by_grip(sizes(4.8), stack)
    margins = [grip_margin_mm(rivet, stack) or 0.0 for rivet in sizes(4.8)]
    if chosen is None:
        assert max(margins) < 0.0
    else:
        assert grip_margin_mm(chosen, stack) == max(margins) >= 0.0


# DIN 7337 dome head diameters, seen (reference §1.3); holes by ISO 15977, from memory, agree with
# the trade's rule d + 0.1 to 0.2 mm, seen
@pytest.mark.published
@pytest.mark.parametrize(
    ("diameter", "head"),
    [(2.4, 5), (3.0, 6), (3.2, 6.5), (4.0, 8), (4.8, 9.5), (5.0, 9.5), (6.0, 12), (6.4, 13)],
)
def test_heads_and_holes_of_the_series(diameter: float, head: float) -> None:
    got_head, hole_min, hole_max, _ = head_and_hole(diameter)
    assert got_head == head
    assert hole_min == pytest.approx(diameter + 0.1)
    assert hole_max == pytest.approx(diameter + 0.2)


@pytest.mark.exact
def test_a_diameter_out_of_the_series_follows_the_trade_rule() -> None:
    head, hole_min, hole_max, source = head_and_hole(5.5)
    assert (head, hole_min, hole_max) == pytest.approx((11.0, 5.6, 5.7))
    assert "2 d" in source.text
