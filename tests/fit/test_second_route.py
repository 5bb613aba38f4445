"""The whole model against an independent one, with numerical derivatives and another solver."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares
from tests.fit.build import repair
from tests.fit.plain_model import PlainModel, simulated_corner

from panelwright.fit.answer import Answer
from panelwright.fit.network import Network, network_of
from panelwright.fit.question import answer


@pytest.fixture(scope="module")
def simulated() -> tuple[PlainModel, np.ndarray]:
    return simulated_corner(3)


@pytest.fixture(scope="module")
def model(simulated: tuple[PlainModel, np.ndarray]) -> PlainModel:
    return simulated[0]


@pytest.fixture(scope="module")
def network(model: PlainModel) -> Network:
    return network_of(repair(**model.tables))


@pytest.fixture(scope="module")
def found(model: PlainModel) -> Answer:
    return answer(repair(**model.tables))


@pytest.fixture(scope="module")
def other(
    simulated: tuple[PlainModel, np.ndarray],
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    model, truth = simulated
    solved = least_squares(model.residuals, truth, x_scale="jac", xtol=1e-8, ftol=1e-10)
    return solved.x, np.linalg.inv(solved.jac.T @ solved.jac), solved.fun


@pytest.mark.second_route
def test_analytic_derivatives_agree_with_central_differences(network: Network) -> None:
    random = np.random.default_rng(5)
    x = network.start.copy()
    for part in network.posed:
        x[part.pose : part.pose + 3] = random.normal(0.0, 5.0, 3)
        x[part.pose + 3 : part.pose + 6] = random.normal(0.0, 0.3, 3)
        own = part.shape[part.shape >= 0]
        x[own] = random.normal(0.0, 1.0, len(own))
    x[-3:] = random.normal(0.0, 1e-3, 3)
    _, analytic = network.equations.weighted(x)
    step = np.array([1e-3] * len(x))
    for part in network.posed:
        step[part.pose + 3 : part.pose + 6] = 1e-6
    step[-3:] = 1e-6
    numerical = np.empty_like(analytic)
    for k, h in enumerate(step):
        ahead, back = x.copy(), x.copy()
        ahead[k] += h
        back[k] -= h
        numerical[:, k] = (
            network.equations.weighted(ahead)[0] - network.equations.weighted(back)[0]
        ) / (2.0 * h)
    size = np.abs(analytic).max(axis=0)
    np.testing.assert_allclose(analytic / size, numerical / size, atol=2e-6)


@pytest.mark.second_route
def test_both_models_have_the_same_equations(model: PlainModel, found: Answer) -> None:
    assert not found.problems
    assert len(found.readings) == len(model.equations(np.array(model.start)))
    assert found.dof == len(model.residuals(np.array(model.start))) - len(model.start)


@pytest.mark.second_route
def test_both_solvers_find_the_same_places_and_spreads(
    model: PlainModel,
    found: Answer,
    other: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    x, covariance, _ = other
    for point in found.points:
        expected = model.place(x, point.id, 2)
        np.testing.assert_allclose(point.xyz_mm, expected, atol=1e-3)
        for axis, u in zip("xyz", point.u_mm, strict=True):
            k = model.names.get(f"{point.id}.{axis}")
            if k is not None:
                assert u == pytest.approx(np.sqrt(covariance[k, k]), rel=1e-3)


@pytest.mark.second_route
def test_both_solvers_find_the_same_poses_and_covariances(
    model: PlainModel,
    found: Answer,
    other: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    x, covariance, _ = other
    to_mrad = np.array([1.0, 1.0, 1.0, 1e3, 1e3, 1e3])
    for part in found.parts:
        k = model.names[f"{part.id}.{part.setting}.sx"]
        pose = x[k : k + 6] * to_mrad
        np.testing.assert_allclose((*part.shift_mm, *part.turn_mrad), pose, atol=2e-3)
        expected = covariance[k : k + 6, k : k + 6] * np.outer(to_mrad, to_mrad)
        u = np.sqrt(np.diagonal(expected))
        np.testing.assert_allclose(
            np.array(part.covariance) / np.outer(u, u), expected / np.outer(u, u), atol=2e-3
        )
        for point in part.points:
            off = model.off(x, part.id, part.setting, model.home(x, point.id))
            np.testing.assert_allclose(point.off_mm, off, atol=2e-3)


@pytest.mark.second_route
def test_both_solvers_find_the_same_residuals_and_stations(
    model: PlainModel,
    found: Answer,
    other: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> None:
    x, _, residual = other
    expected = [adjusted - observed for adjusted, observed, _ in model.equations(x)]
    np.testing.assert_allclose([row.residual_mm for row in found.readings], expected, atol=1e-3)
    assert found.global_test.statistic == pytest.approx(float(residual @ residual), rel=1e-6)
    outer = next(part for part in found.parts if part.id == "outer")
    for station, table in zip(outer.stations, model.tables["station"], strict=True):
        d = model.displaced(x, table, 2)
        gap = table["gap"]["want"] + np.array(table["gap_towards"]) @ d
        flush = table["flush"]["want"] + np.array(table["flush_towards"]) @ d
        assert (station.gap_mm, station.flush_mm) == pytest.approx((gap, flush), abs=2e-3)
