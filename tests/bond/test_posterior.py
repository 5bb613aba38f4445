"""What a few rounded rows say, beside what is known of epoxies."""

from __future__ import annotations

import math

import numpy as np
import pytest

from panelwright.bond.arrhenius import cure_rate, fit_cure_law, fit_rows_alone
from panelwright.bond.posterior import (
    COMMON_ENERGY_KJ,
    COMMON_ENERGY_U_KJ,
    SCATTER,
    SCATTER_SPREAD,
    law_posterior,
    rounding_u,
)
from panelwright.bond.rows import Milestone, SheetRow

WORK, HANDLE, FULL = Milestone
SHORT = [SheetRow(FULL, 23.0, 470.0), SheetRow(FULL, 60.0, 47.0)]


@pytest.mark.exact
@pytest.mark.parametrize(
    ("times", "low", "high"),
    [
        ([45.0, 20.0], 37.5, 52.5),  # usual steps: 30, 45, 60
        ([240.0], 210.0, 270.0),  # 3, 4, 5 h
        ([25.0, 35.0], 22.5, 27.5),  # whole five minutes
        ([175.0, 36.0], 170.0, 180.0),  # two figures
        ([4.2, 9.2], 4.15, 4.25),
    ],
)
def test_a_printed_time_stands_for_its_step(times: list[float], low: float, high: float) -> None:
    assert rounding_u(times)[0] == pytest.approx(math.log(high / low) / math.sqrt(12.0))


@pytest.mark.exact
def test_one_row_and_prior_are_weighed_as_two_normals() -> None:
    # Rows known exactly but for their rounding: precision-weighted mean of two normals.
    lever = 1 / 296.15 - 1 / 333.15
    law = fit_cure_law(SHORT)
    assert law.alone_kJ_mol is not None
    share = (law.energy_kJ_mol - COMMON_ENERGY_KJ) / (law.alone_kJ_mol - COMMON_ENERGY_KJ)
    least = 8.314462618e-3 * math.sqrt(float((rounding_u([470.0, 47.0]) ** 2).sum())) / lever
    most = COMMON_ENERGY_U_KJ**2 / (COMMON_ENERGY_U_KJ**2 + least**2)
    assert 0.8 < share < most
    assert least < law.energy_u_kJ_mol < COMMON_ENERGY_U_KJ


@pytest.mark.second_route
def test_posterior_by_drawing() -> None:
    # Importance sampling from the prior, 400,000 draws of energy, scatter and time [drawn here].
    times = np.array([45.0, 15.0, 120.0])
    inverse = np.array([1 / (t + 273.15) - 1 / 303.15 for t in (23.0, 40.0, 10.0)])
    matrix = np.column_stack([np.ones(3), 1e3 / 8.314462618 * inverse])
    rounding = rounding_u([45.0, 15.0, 120.0])
    found = law_posterior(matrix, np.log(times), rounding)
    dice = np.random.default_rng(5)
    energy = dice.normal(COMMON_ENERGY_KJ, COMMON_ENERGY_U_KJ, 400_000)
    scatter = SCATTER * np.exp(SCATTER_SPREAD * dice.standard_normal(400_000))
    time = dice.uniform(2.8, 4.2, 400_000)
    off = np.log(times) - time[:, None] - energy[:, None] * matrix[:, 1]
    variance = rounding**2 + scatter[:, None] ** 2
    weights = np.exp(-0.5 * (off**2 / variance + np.log(variance)).sum(axis=1))
    weights /= weights.sum()
    mean = float(weights @ energy)
    u = math.sqrt(float(weights @ (energy - mean) ** 2))
    draws = 1.0 / float(weights @ weights)
    assert draws > 20_000.0  # sampling error of the mean below 0.04 kJ/mol
    assert found.estimate[-1] == pytest.approx(mean, abs=0.1)
    assert math.sqrt(found.covariance[-1, -1]) == pytest.approx(u, abs=0.1)


@pytest.mark.invariant
def test_rows_that_disagree_widen_the_law() -> None:
    def made(factor: float) -> float:
        rows = [
            SheetRow(event, at, 10.0 * k * bend / float(cure_rate(at, 23.0, 58.0)))
            for k, event in enumerate(Milestone, start=1)
            for at, bend in ((23.0, 1.0), (40.0, factor), (60.0, 1.0))
        ]
        return fit_cure_law(rows).energy_u_kJ_mol

    assert made(1.25) > 1.3 * made(1.0)


@pytest.mark.invariant
def test_more_rows_narrow_the_law_towards_the_rows() -> None:
    rows = [
        SheetRow(event, at, 11.0 * 3.1**k / float(cure_rate(at, 23.0, 70.0)))
        for k, event in enumerate(Milestone)
        for at in (15.0, 37.0, 61.0)
    ]
    few, many = fit_cure_law(rows[:2]), fit_cure_law(rows)
    assert few.energy_kJ_mol < many.energy_kJ_mol < 70.0
    assert many.energy_u_kJ_mol < 0.5 * few.energy_u_kJ_mol
    assert many.time_u(FULL, 37.0) < few.time_u(WORK, 37.0)
    alone = fit_rows_alone(rows)
    assert many.alone_kJ_mol == pytest.approx(alone.energy_kJ_mol)


@pytest.mark.invariant
def test_a_time_is_less_sure_far_from_the_rows() -> None:
    law = fit_cure_law(SHORT)
    assert law.time_u(FULL, 5.0) > law.time_u(FULL, 23.0) > law.time_u(FULL, 40.0)
