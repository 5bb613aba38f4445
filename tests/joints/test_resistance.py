"""Resistance of one rivet."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.joints.resistance_end_distance import (
    Fastening,
    bearing_resistance_en1993_1_8,
    rivet_shear_resistance_en1993_1_8,
)
from panelwright.joints.resistance_thin_sheet import (
    DIAMETER_EN1993_1_3,
    DIAMETER_EN1999_1_4,
    ThinLap,
    bearing_resistance_blind_rivet_en1993_1_3,
    bearing_resistance_en1999_1_4,
    rivet_shear_resistance_en1999_1_4,
)

thicknesses = st.floats(0.5, 4.0)
diameters = st.floats(2.6, 6.4)
strengths = st.floats(150.0, 260.0)


# EN 1999-1-4 §8.3 expression seen in a copy of the text; numbers computed from it (reference
# T10, WE-2.4). They test the implementation of the formula.
@pytest.mark.published
@pytest.mark.parametrize(
    ("t", "t_sup", "fu", "expected_N"),
    [
        (1.0, 1.0, 220.0, 963.99),  # root branch
        (1.0, 1.75, 220.0, 1115.60),  # half way between the branches
        (1.0, 2.5, 220.0, 1267.20),  # upper branch
        (1.2, 1.2, 220.0, 1267.20),  # root branch
        (2.0, 2.0, 220.0, 2534.40),  # the cap 1.5 fu t d governs
        (1.0, 1.0, 290.0, 1139.26),  # strength beyond 260 MPa is not counted
    ],
)
def test_bearing_in_thin_sheet_has_the_published_values(
    t: float, t_sup: float, fu: float, expected_N: float
) -> None:
    got = bearing_resistance_en1999_1_4(ThinLap(t, t_sup, 4.8, fu))
    assert got == pytest.approx(expected_N, abs=0.005)  # printed to two decimals


# EN 1999-1-4 §8.2, 38 d²/γM3, from memory; numbers computed (reference WE-2.5)
@pytest.mark.published
@pytest.mark.parametrize(
    ("d", "expected_N"), [(3.2, 311.30), (4.0, 486.40), (4.8, 700.42), (6.4, 1245.18)]
)
def test_shear_of_an_aluminium_rivet_has_the_values_recalled(d: float, expected_N: float) -> None:
    got = rivet_shear_resistance_en1999_1_4(diameter_mm=d)
    assert got == pytest.approx(expected_N, abs=0.005)


# ISO 15977 class L shear loads, from memory: the formula lies below them by 0.71 to 0.78
@pytest.mark.second_route
@pytest.mark.parametrize(("d", "load_N"), [(3.2, 500), (4.0, 850), (4.8, 1200), (6.4, 2200)])
def test_shear_formula_lies_a_quarter_below_declared_loads(d: float, load_N: float) -> None:
    ratio = rivet_shear_resistance_en1999_1_4(diameter_mm=d, partial_factor=1.0) / load_N
    assert 0.70 <= ratio <= 0.79


# EN 1993-1-8 Table 3.4 seen in a copy of the text; numbers computed (reference T11, WE-2.1)
@pytest.mark.published
@pytest.mark.parametrize(("e1", "e2", "expected_N"), [(10.0, 10.0, 2873.47), (15.0, 7.5, 4224.0)])
def test_bearing_with_distances_has_the_published_values(
    e1: float, e2: float, expected_N: float
) -> None:
    case = Fastening(4.8, 4.9, 2.0, 220.0, 250.0, end_mm=e1, edge_mm=e2)
    assert bearing_resistance_en1993_1_8(case) == pytest.approx(expected_N, abs=0.005)


@pytest.mark.published
def test_shear_of_a_hole_filling_rivet_has_the_published_value() -> None:
    got = rivet_shear_resistance_en1993_1_8(hole_mm=4.9, ultimate_MPa=250.0)
    assert got == pytest.approx(2262.89, abs=0.005)  # reference T11


# EN 1993-1-3 Table 8.1 from memory; numbers computed (reference T12, WE-2.3)
@pytest.mark.published
@pytest.mark.parametrize(
    ("t1", "e1", "expected_N"),
    [(1.0, 15.0, 1892.93), (1.75, 20.0, 2156.06), (2.5, 15.0, 2419.20), (1.0, 7.5, 1500.00)],
)
def test_blind_rivet_in_steel_sheet_has_the_values_recalled(
    t1: float, e1: float, expected_N: float
) -> None:
    got = bearing_resistance_blind_rivet_en1993_1_3(ThinLap(1.0, t1, 4.8, 300.0), end_mm=e1)
    assert got == pytest.approx(expected_N, abs=0.005)


@pytest.mark.exact
@pytest.mark.parametrize("ratio", [1.0, 2.5])
def test_bearing_is_continuous_where_its_branches_meet(ratio: float) -> None:
    below, above = (
        bearing_resistance_en1999_1_4(ThinLap(1.0, ratio + step, 4.8, 220.0))
        for step in (-1e-9, 1e-9)
    )
    assert below == pytest.approx(above, rel=1e-7)


@pytest.mark.exact
def test_cap_of_bearing_changes_over_at_t_over_d_of_0_36() -> None:
    # 2.5 √(t/d) = 1.5 at t/d = 0.36
    at = bearing_resistance_en1999_1_4(ThinLap(0.36 * 5.0, 1.8, 5.0, 200.0), partial_factor=1.0)
    assert at == pytest.approx(1.5 * 200.0 * 1.8 * 5.0)
    below = bearing_resistance_en1999_1_4(ThinLap(1.7, 1.7, 5.0, 200.0), partial_factor=1.0)
    assert below < 1.5 * 200.0 * 1.7 * 5.0


@pytest.mark.invariant
@given(thicknesses, thicknesses, diameters, strengths, st.floats(1.001, 1.5))
def test_more_metal_never_bears_less(
    t: float, t_sup: float, d: float, fu: float, more: float
) -> None:
    lap = ThinLap(t, t_sup, d, fu)
    base = bearing_resistance_en1999_1_4(lap)
    for thicker in (
        replace(lap, support_mm=t_sup * more),
        replace(lap, diameter_mm=d * more),
        replace(lap, ultimate_MPa=fu * more),
    ):
        assert bearing_resistance_en1999_1_4(thicker) >= base * (1.0 - 1e-12)
    if t <= t_sup:
        both = replace(lap, thickness_mm=t * more, support_mm=t_sup * more)
        assert bearing_resistance_en1999_1_4(both) > base


@pytest.mark.invariant
@given(thicknesses, thicknesses, diameters, strengths, st.floats(0.1, 10.0))
def test_lengths_scaled_scale_the_force_by_the_square(
    t: float, t_sup: float, d: float, fu: float, scale: float
) -> None:
    small = bearing_resistance_en1999_1_4(ThinLap(t, t_sup, d, fu))
    large = bearing_resistance_en1999_1_4(ThinLap(scale * t, scale * t_sup, scale * d, fu))
    assert large == pytest.approx(scale**2 * small, rel=1e-9)


@pytest.mark.second_route
@given(thicknesses, thicknesses, diameters, strengths)
def test_aluminium_rule_never_exceeds_the_steel_rule_for_the_same_strength(
    t: float, t_sup: float, d: float, fu: float
) -> None:
    lap = ThinLap(t, t_sup, d, fu)
    steel = bearing_resistance_blind_rivet_en1993_1_3(lap, end_mm=100.0)
    assert bearing_resistance_en1999_1_4(lap) <= steel * (1.0 + 1e-12)


@pytest.mark.invariant
@given(st.floats(4.0, 60.0), st.floats(1.001, 2.0))
def test_more_distance_never_bears_less(distance: float, more: float) -> None:
    base = Fastening(
        4.8, 4.9, 1.2, 220.0, end_mm=distance, edge_mm=distance, pitch_mm=distance,
        cross_pitch_mm=distance,
    )  # fmt: skip
    for key in ("end_mm", "edge_mm", "pitch_mm", "cross_pitch_mm"):
        wider = replace(base, **{key: distance * more})
        assert bearing_resistance_en1993_1_8(wider) >= bearing_resistance_en1993_1_8(base)


@pytest.mark.exact
def test_an_edge_too_near_bears_nothing_rather_than_less_than_nothing() -> None:
    case = Fastening(4.8, 4.9, 1.2, 220.0, end_mm=10.0, edge_mm=2.0)
    assert bearing_resistance_en1993_1_8(case) == 0.0


@pytest.mark.exact
def test_fastener_far_from_everything_bears_two_and_a_half_times_its_shadow() -> None:
    case = Fastening(5.0, 5.1, 2.0, 200.0)
    assert bearing_resistance_en1993_1_8(case, partial_factor=1.0) == pytest.approx(5000.0)


@pytest.mark.exact
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_inputs_that_are_no_size_are_refused_by_name(bad: float) -> None:
    with pytest.raises(ValueError, match=r"thickness_mm is .*above zero is expected"):
        bearing_resistance_en1999_1_4(ThinLap(bad, 1.0, 4.8, 220.0))
    with pytest.raises(ValueError, match="diameter_mm"):
        rivet_shear_resistance_en1999_1_4(diameter_mm=bad)
    with pytest.raises(ValueError, match="hole_mm"):
        bearing_resistance_en1993_1_8(Fastening(4.8, bad, 1.0, 220.0))
    with pytest.raises(ValueError, match="end_mm"):
        bearing_resistance_blind_rivet_en1993_1_3(ThinLap(1.0, 1.0, 4.8, 220.0), end_mm=bad)


@pytest.mark.exact
def test_ranges_tell_what_lies_outside_them() -> None:
    for validity in (DIAMETER_EN1999_1_4, DIAMETER_EN1993_1_3):
        assert validity.holds(2.6)
        assert validity.holds(6.4)
        assert not validity.holds(2.5)
        assert not validity.holds(6.5)
        assert "rivet diameter 8 mm is outside 2.6 to 6.4 mm" in validity.words(8.0)


@pytest.mark.exact
def test_a_close_neighbour_along_the_load_takes_a_quarter_off() -> None:
    # αd = p1/(3 d0) − 1/4 = 12/15 − 0.25 = 0.55
    case = Fastening(5.0, 5.0, 2.0, 200.0, pitch_mm=12.0)
    got = bearing_resistance_en1993_1_8(case, partial_factor=1.0)
    assert got == pytest.approx(2.5 * 0.55 * 200.0 * 5.0 * 2.0)
