"""Shear in a bonded overlap."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from panelwright.joints.lap import Lap, shear_lag_volkersen, volkersen_peak_shear

NOTES = Lap(70_000.0, 70_000.0, 2.0, 2.0, 500.0, 0.2, 25.0)


# public lecture notes and code (reference WE-4.1, seen and recomputed); the source gives 38.473
# in one place and 38.51 in another, hence 0.2 %
@pytest.mark.published
@pytest.mark.parametrize(
    ("changes", "omega_per_m", "peak_MPa"),
    [
        ({}, 188.982, 38.473),
        ({"overlap_mm": 10.0}, 188.982, 51.251),
        ({"overlap_mm": 12.5}, 188.982, 45.658),
        ({"thickness_2_mm": 1.0}, 231.455, 61.912),
    ],
)
def test_peak_shear_of_the_aluminium_example(
    changes: dict[str, float], omega_per_m: float, peak_MPa: float
) -> None:
    lap = replace(NOTES, **changes)
    assert 1000.0 * shear_lag_volkersen(lap) == pytest.approx(omega_per_m, abs=0.001)
    peak = volkersen_peak_shear(lap, force_N=10_000.0, width_mm=25.0)
    assert peak == pytest.approx(peak_MPa, rel=0.002)


# lecture, Hochschule Magdeburg-Stendal (reference WE-4.2, seen and recomputed)
@pytest.mark.published
@pytest.mark.parametrize(("width_mm", "peak_MPa"), [(25.0, 40.6), (50.0, 20.3)])
def test_peak_shear_of_the_lecture_example(width_mm: float, peak_MPa: float) -> None:
    lap = Lap(70_000.0, 70_000.0, 2.0, 2.0, 800.0, 0.1, 30.0)
    half = shear_lag_volkersen(lap) * 30.0 / 2.0
    # the lecture's ρ is ωL
    assert 2.0 * half == pytest.approx(10.14, rel=0.002)
    peak = volkersen_peak_shear(lap, force_N=6000.0, width_mm=width_mm)
    assert peak == pytest.approx(peak_MPa, rel=0.002)


@pytest.mark.exact
def test_very_short_overlap_is_sheared_evenly() -> None:
    lap = replace(NOTES, overlap_mm=0.01)
    average = 1000.0 / (25.0 * 0.01)
    assert volkersen_peak_shear(lap, force_N=1000.0, width_mm=25.0) == pytest.approx(
        average, rel=1e-5
    )


@pytest.mark.exact
def test_overlap_beyond_six_over_omega_lowers_the_peak_by_less_than_a_hundredth() -> None:
    enough = 6.0 / shear_lag_volkersen(NOTES)
    one, three = (
        volkersen_peak_shear(replace(NOTES, overlap_mm=k * enough), force_N=1.0, width_mm=1.0)
        for k in (1.0, 3.0)
    )
    assert three < one < 1.01 * three


@pytest.mark.second_route
@pytest.mark.parametrize("second_mm", [2.0, 1.0, 0.8])
def test_closed_form_meets_the_shear_lag_equation_solved_by_differences(second_mm: float) -> None:
    # force in sheet 1: N'' = ω² N − (G/ta) P/(E2 t2), N(0) = P, N(L) = 0, τ = −N'
    lap = replace(NOTES, thickness_2_mm=second_mm)
    P, n = 400.0, 4000
    h = lap.overlap_mm / n
    omega2 = shear_lag_volkersen(lap) ** 2
    load = lap.shear_modulus_MPa / lap.bond_line_mm * P / (lap.modulus_2_MPa * second_mm)
    bands = np.full((3, n + 1), 1.0 / h**2)
    bands[1] = -2.0 / h**2 - omega2
    bands[1, 0] = bands[1, n] = 1.0
    bands[0, 1] = bands[2, n - 1] = 0.0
    right = np.full(n + 1, -load)
    right[0], right[n] = P, 0.0
    force = solve_banded((1, 1), bands, right)
    ends = (
        (3 * force[0] - 4 * force[1] + force[2]) / (2 * h),
        -(3 * force[n] - 4 * force[n - 1] + force[n - 2]) / (2 * h),
    )
    peak = volkersen_peak_shear(lap, force_N=P, width_mm=1.0)
    assert peak == pytest.approx(max(ends), rel=1e-4)  # second-order differences, 4000 steps


@pytest.mark.invariant
@given(st.floats(0.5, 3.0), st.floats(0.5, 3.0), st.floats(5.0, 60.0))
def test_which_sheet_is_called_first_does_not_matter(t1: float, t2: float, overlap: float) -> None:
    one = Lap(68_000.0, 70_000.0, t1, t2, 500.0, 0.3, overlap)
    other = Lap(70_000.0, 68_000.0, t2, t1, 500.0, 0.3, overlap)
    peaks = [volkersen_peak_shear(lap, force_N=100.0, width_mm=10.0) for lap in (one, other)]
    assert peaks[0] == pytest.approx(peaks[1], rel=1e-12)
    assert peaks[0] >= 100.0 / (10.0 * overlap)  # never below the average


@pytest.mark.exact
def test_a_missing_bond_line_is_refused() -> None:
    with pytest.raises(ValueError, match=r"bond_line_mm is 0\.0"):
        shear_lag_volkersen(replace(NOTES, bond_line_mm=0.0))
    with pytest.raises(ValueError, match="force_N"):
        volkersen_peak_shear(NOTES, force_N=math.nan, width_mm=1.0)
