"""Probabilities of lying within tolerance: published examples, closed forms, other routes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import tplquad
from scipy.special import erf
from scipy.stats import multivariate_normal, ncx2

from panelwright.fit.probability import inside_ball, inside_box, inside_interval

Floats = NDArray[np.float64]


@pytest.mark.published
@pytest.mark.parametrize(
    ("mean", "u", "low", "high", "expected"),
    [
        # JCGM 106:2012, 7.4: viscosity of an oil (inputs seen; 0.66 from memory).
        (13.6, 1.8, 12.5, 16.3, 0.66),
        # 7.3.3, example 1: breakdown voltage of a diode (from memory).
        (-5.47, 0.05, -np.inf, -5.40, 0.92),
        # 7.3.3, example 2: burst strength of a container (from memory).
        (509.7, 8.6, 490.0, np.inf, 0.99),
    ],
)
def test_an_interval_of_jcgm_106(
    mean: float, u: float, low: float, high: float, expected: float
) -> None:
    assert inside_interval(mean, u, low, high) == pytest.approx(expected, abs=0.005)


@pytest.mark.published
def test_two_standard_uncertainties_hold_about_95_per_cent() -> None:
    """JCGM 100:2008, 6.3.3: k = 2 gives about 95 %; 95.450 % for a normal distribution."""
    assert inside_interval(0.0, 1.0, -2.0, 2.0) == pytest.approx(0.95450, abs=5e-6)


@pytest.mark.published
@pytest.mark.parametrize(("guard", "risk"), [(0.83, 0.05), (1.0, 0.025)])
def test_a_guard_band_leaves_the_listed_risk(guard: float, risk: float) -> None:
    """Guard bands in U = 2u (ILAC-G8:09/2019 as quoted in a seen list): below 5 and 2.5 %."""
    beyond = 1.0 - inside_interval(-2.0 * guard, 1.0, -np.inf, 0.0)
    assert risk - 0.003 < beyond < risk


@pytest.mark.exact
def test_a_certain_value_is_inside_or_not() -> None:
    assert inside_interval(1.0, 0.0, 0.0, 1.0) == 1.0
    assert inside_interval(1.1, 0.0, 0.0, 1.0) == 0.0


@pytest.mark.exact
@pytest.mark.parametrize("share", [0.02, 0.2, 0.7, 1.0, 2.0, 10.0])
def test_a_place_alike_in_all_directions_follows_maxwells_distribution(share: float) -> None:
    """P(|x| < t) = erf(a/√2) − √(2/π) a exp(−a²/2), a = t/σ (Maxwell)."""
    a = 1.0 / share
    expected = erf(a / np.sqrt(2.0)) - np.sqrt(2.0 / np.pi) * a * np.exp(-0.5 * a**2)
    found = inside_ball(np.zeros(3), np.eye(3) * (3.0 * share) ** 2, 3.0)
    assert found == pytest.approx(expected, abs=1e-12)


@pytest.mark.second_route
@pytest.mark.parametrize("sigma", [0.03, 0.3, 1.0, 3.0])
@pytest.mark.parametrize("mean", [(1.0, 1.0, 1.0), (2.9, 0.1, 0.2), (3.0, 0.0, 0.0), (0, 0, 3.3)])
def test_a_place_off_centre_follows_the_noncentral_chi_square(
    sigma: float, mean: tuple[float, float, float]
) -> None:
    m = np.array(mean, dtype=float)
    expected = ncx2.cdf((3.0 / sigma) ** 2, 3, m @ m / sigma**2)
    assert inside_ball(m, np.eye(3) * sigma**2, 3.0) == pytest.approx(expected, abs=1e-10)


def skewed(seed: int) -> tuple[Floats, Floats]:
    random = np.random.default_rng(seed)
    root = random.normal(size=(3, 3)) * 10.0 ** random.uniform(-1.5, 0.5, 3)[:, None]
    return random.normal(size=3), root @ root.T


@pytest.mark.second_route
def test_a_skewed_place_agrees_with_adaptive_integration() -> None:
    mean, root = np.array([0.8, -0.4, 1.1]), np.array([[1, 0, 0], [0.5, 0.8, 0], [-0.3, 0.4, 0.6]])
    covariance = root @ root.T
    density = multivariate_normal(mean, covariance).pdf
    expected, _ = tplquad(
        lambda z, y, x: density([x, y, z]),
        -2,
        2,
        lambda x: -np.sqrt(4 - x * x),
        lambda x: np.sqrt(4 - x * x),
        lambda x, y: -np.sqrt(max(4 - x * x - y * y, 0.0)),
        lambda x, y: np.sqrt(max(4 - x * x - y * y, 0.0)),
        epsabs=1e-6,
        epsrel=1e-6,
    )
    assert inside_ball(mean, covariance, 2.0) == pytest.approx(expected, abs=2e-6)


@pytest.mark.second_route
@pytest.mark.parametrize("seed", range(6))
def test_a_box_agrees_with_the_multivariate_normal_of_scipy(seed: int) -> None:
    mean, covariance = skewed(seed)
    half = np.array([1.5, 1.0, 0.8])
    for axes in ([0], [0, 1], [1, 2], [0, 1, 2]):
        expected = multivariate_normal(
            mean[axes], covariance[np.ix_(axes, axes)], allow_singular=True
        ).cdf(half[axes], lower_limit=-half[axes], rng=1)
        found = inside_box(mean[axes], covariance[np.ix_(axes, axes)], half[axes])
        # scipy's own integration in three dimensions is good to about 1e-5
        assert found == pytest.approx(expected, abs=2e-5)


@pytest.mark.exact
def test_a_box_of_independent_axes_is_a_product() -> None:
    mean, u, half = np.array([0.3, -0.2, 0.9]), np.array([0.5, 1.0, 0.2]), np.array([1.0, 0.7, 1.2])
    expected = np.prod(
        [inside_interval(m, s, -h, h) for m, s, h in zip(mean, u, half, strict=True)]
    )
    assert inside_box(mean, np.diag(u**2), half) == pytest.approx(expected, abs=1e-12)


@pytest.mark.exact
def test_certain_directions_take_their_share_of_the_ball() -> None:
    """With only x uncertain the place is on a chord of half length √(9 − 4)."""
    covariance = np.diag([0.8**2, 0.0, 0.0])
    half = np.sqrt(5.0)
    expected = inside_interval(0.5, 0.8, -half, half)
    assert inside_ball(np.array([0.5, 2.0, 0.0]), covariance, 3.0) == pytest.approx(
        expected, abs=1e-12
    )
    assert inside_ball(np.array([0.0, 2.0, 2.9]), np.zeros((3, 3)), 3.0) == 0.0
    assert inside_ball(np.array([0.0, 2.0, 2.0]), np.zeros((3, 3)), 3.0) == 1.0


@pytest.mark.exact
def test_one_motion_that_moves_all_axes_takes_the_box_by_its_tightest_axis() -> None:
    """Offset (1, 2, −1)·a with a ~ N(0, 0.4²): y is out of ±1 first, at |a| > 1/2."""
    way = np.array([1.0, 2.0, -1.0])
    found = inside_box(np.zeros(3), 0.16 * np.outer(way, way), np.ones(3))
    assert found == pytest.approx(inside_interval(0.0, 0.4, -0.5, 0.5), abs=1e-9)


@pytest.mark.invariant
@given(
    seed=st.integers(0, 10_000),
    turn=st.floats(0.0, 6.0),
    size=st.floats(0.05, 20.0),
)
def test_turning_the_axes_leaves_the_ball_alone_and_a_larger_one_holds_more(
    seed: int, turn: float, size: float
) -> None:
    mean, covariance = skewed(seed)
    c, s = np.cos(turn), np.sin(turn)
    R = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    p = inside_ball(mean, covariance, size)
    assert 0.0 <= p <= 1.0
    assert inside_ball(R @ mean, R @ covariance @ R.T, size) == pytest.approx(p, abs=1e-7)
    assert inside_ball(mean, covariance, 1.1 * size) >= p - 1e-9
    assert inside_box(mean, covariance, np.full(3, size)) >= p - 1e-7
