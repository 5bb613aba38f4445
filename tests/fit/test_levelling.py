"""Published levelling networks through the numeric core: they are linear, in metres."""

from __future__ import annotations

import numpy as np
import pytest
from tests.fit.build import adjusted_heights, heights

from panelwright.fit.equations import Equations
from panelwright.fit.snooping import normalised, redundancy_of, variance_factor
from panelwright.fit.suspects import suspects_of


@pytest.mark.published
def test_a_levelling_network_with_its_redundancies_and_w() -> None:
    """An open tutorial on levelling networks (seen): sigma 0.7 mm per km, point 4 fixed.

    Printed: heights to 0.1 mm, standard errors to 0.01 mm, t to 0.1, r to 0.1; the second decimals
    of r and w are computed by an independent script.
    """
    km = (1.1, 1.8, 1.4, 1.5, 1.9, 0.9)
    differences = [
        (0, 1, -0.749),
        (0, 2, -1.274),
        (0, 3, -2.890),
        (1, 2, -0.530),
        (1, 3, -2.141),
        (2, 3, -1.614),
    ]
    sigmas = [0.7e-3 * length for length in km]
    equations = heights(
        [104.0, 103.0, 103.0, 101.345],
        [3],
        [(a, b, value, s) for (a, b, value), s in zip(differences, sigmas, strict=True)],
    )
    adjusted = adjusted_heights(equations)
    factor = variance_factor(adjusted)
    assert factor is not None
    np.testing.assert_allclose(adjusted.x, [104.2350, 103.4868, 102.9588], atol=6e-5)
    np.testing.assert_allclose(
        1e3 * np.sqrt(np.diagonal(adjusted.covariance) * factor), [1.13, 1.19, 0.91], atol=6e-3
    )
    assert np.sqrt(factor) == pytest.approx(1.65, abs=6e-3)
    assert adjusted.sum_of_squares == pytest.approx(8.217, abs=6e-4)
    redundancy = redundancy_of(adjusted)
    np.testing.assert_allclose(
        redundancy, [0.3140, 0.6865, 0.5112, 0.5466, 0.7073, 0.2344], atol=6e-5
    )
    w = np.abs(normalised(adjusted, redundancy))
    np.testing.assert_allclose(w, [1.9, 2.1, 0.0, 2.6, 0.7, 0.6], atol=0.06)


@pytest.mark.published
def test_a_weighted_levelling_network() -> None:
    """Ghilani, Adjustment Computations, 2010, example 12.6, through Krumm 2020, pp. 6-9 (seen)."""
    equations = heights(
        [437.596, 448.0, 453.0, 445.0],
        [0],
        [
            (0, 1, 10.5090, 0.006),
            (0, 2, 15.8810, 0.012),
            (1, 2, 5.3600, 0.004),
            (1, 3, -3.1670, 0.004),
            (2, 3, -8.5230, 0.005),
            (3, 0, -7.3480, 0.003),
        ],
    )
    adjusted = adjusted_heights(equations)
    factor = variance_factor(adjusted)
    assert factor is not None
    np.testing.assert_allclose(adjusted.x, [448.10871, 453.46847, 444.94361], atol=6e-6)
    assert np.sqrt(factor) == pytest.approx(0.6512, abs=6e-5)
    assert adjusted.sum_of_squares == pytest.approx(1.27212, abs=6e-6)
    assert adjusted.dof == 3
    np.testing.assert_allclose(
        1e3 * np.sqrt(np.diagonal(adjusted.covariance) * factor), [2.30, 2.64, 1.76], atol=6e-3
    )
    np.testing.assert_allclose(
        1e3 * adjusted.residual * equations.observations.u,
        [3.71, -8.53, -0.24, 1.89, -1.86, 0.39],
        atol=6e-3,
    )


WICKI = (
    # Wicki 1998, chapter 18.2, pp. 151-157 (seen in public code): from, to, mm, weight.
    (6, 8, 32159.0, 0.1276),
    (8, 10, -6556.0, 0.1372),
    (8, 11, 26170.0, 0.0772),
    (10, 11, 32726.0, 0.1041),
    (9, 6, -27809.0, 0.0693),
    (9, 11, 30419.0, 0.1041),
    (9, 10, -2417.0, 0.0918),
    (9, 8, 4246.0, 0.1372),
    (6, 10, 25496.0, 0.0865),
)
PLANTED = {0: 100.0, 6: -100.0}
NODES = {6: 0, 8: 1, 10: 2, 11: 3, 9: 4}


def wicki(*, with_blunders: bool) -> Equations:
    rows = [
        (
            NODES[a],
            NODES[b],
            value - (0.0 if with_blunders else PLANTED.get(row, 0.0)),
            weight**-0.5,
        )
        for row, (a, b, value, weight) in enumerate(WICKI)
    ]
    return heights([-27800.0, 4200.0, -2300.0, 30400.0, 0.0], [4], rows)


@pytest.mark.published
def test_without_its_planted_errors_wickis_network_is_the_printed_one() -> None:
    adjusted = adjusted_heights(wicki(with_blunders=False))
    np.testing.assert_allclose(adjusted.x, [-27811, 4246, -2313, 30416], atol=0.6)


@pytest.mark.published
def test_both_planted_errors_of_wickis_network_are_found() -> None:
    """They nearly mask each other: 25.4 and 24.8 at first (computed by an independent script)."""
    equations = wicki(with_blunders=True)
    adjusted = adjusted_heights(equations)
    w = np.abs(normalised(adjusted, redundancy_of(adjusted)))
    assert (w[6], w[0]) == pytest.approx((25.37, 24.83), abs=0.01)
    found = suspects_of(equations, adjusted, np.arange(5), np.ones(9, dtype=bool))
    assert found.rows == {0, 6}
