"""The fixed ensemble and its quantiles."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.bond.ensemble import MEMBERS, fixed_ensemble, weighted_quantiles


@pytest.mark.exact
def test_every_input_is_standard_normal() -> None:
    normals = fixed_ensemble().normals
    assert np.allclose(normals.mean(axis=0), 0.0, atol=1e-12)
    assert np.allclose(normals.std(axis=0), 1.0, atol=1e-12)
    ranked = np.sort(normals, axis=0)
    expected = [NormalDist().inv_cdf((k + 0.5) / MEMBERS) for k in range(MEMBERS)]
    assert np.allclose(ranked, np.array(expected)[:, None], rtol=4e-3, atol=1e-12)


@pytest.mark.exact
def test_no_two_inputs_go_together() -> None:
    correlation = np.corrcoef(fixed_ensemble().normals.T) - np.eye(10)
    assert np.abs(correlation).max() < 0.12


@pytest.mark.exact
def test_mean_of_a_smooth_function_of_all_inputs() -> None:
    # E exp(Σ x_i/5) = exp(10/50); plain random draws would scatter by 0.03.
    found = np.mean(np.exp(fixed_ensemble().normals.sum(axis=1) / 5.0))
    assert found == pytest.approx(np.exp(0.2), rel=0.02)


@pytest.mark.exact
def test_quantiles_of_a_normal() -> None:
    ensemble = fixed_ensemble()
    low, middle, high = weighted_quantiles(
        ensemble.normals[:, 3], ensemble.weights, (0.1, 0.5, 0.9)
    )
    assert [low, middle, high] == pytest.approx([-1.2816, 0.0, 1.2816], abs=0.01)


@pytest.mark.invariant
@given(
    values=st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=20),
    weights=st.lists(st.integers(1, 5), min_size=20, max_size=20),
)
def test_a_quantile_is_between_the_ends_and_rises(values: list[float], weights: list[int]) -> None:
    mass = np.array(weights[: len(values)], dtype=float)
    found = weighted_quantiles(np.array(values), mass / mass.sum(), (0.1, 0.5, 0.9))
    assert np.all(np.diff(found) >= 0.0)
    assert min(values) <= found[0]
    assert found[-1] <= max(values)


@pytest.mark.second_route
def test_even_weights_are_numpy_s_hazen() -> None:
    values = np.random.default_rng(4).normal(size=(31, 3))
    mine = weighted_quantiles(values, np.full(31, 1 / 31), (0.1, 0.5, 0.9))
    theirs = np.quantile(values, (0.1, 0.5, 0.9), axis=0, method="hazen")
    assert mine == pytest.approx(theirs)
