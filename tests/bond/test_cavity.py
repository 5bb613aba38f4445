"""A closed box behind the panel and a level panel: published figures, roots, a stiff solver."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from ht import Nu_horizontal_plate_McAdams
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from panelwright.bond.cavity import BackLoss, Box, gap_coefficient, nusselt_upright_gap
from panelwright.bond.clocks import recorded
from panelwright.bond.convection import (
    air_at,
    natural_convection_level,
    natural_convection_upright,
)
from panelwright.bond.ensemble import middle
from panelwright.bond.entries import heatings_of
from panelwright.bond.heat import heat_plan, panel_setup
from panelwright.bond.history import temperature_history
from panelwright.bond.radiation import STEFAN_BOLTZMANN

from .conftest import Make

BOX = Box(0.05, 0.6, level=False)


@pytest.mark.published
def test_a_gap_s_correlation_at_known_points() -> None:
    """Coefficients of ISO 15099 as read; ElSherbiny's 0.0605 Ra^(1/3) (from memory) within 12 %."""
    assert nusselt_upright_gap(1e3, 40.0) == pytest.approx(1.0, abs=0.4)
    assert nusselt_upright_gap(1e6, 40.0) == pytest.approx(6.738, abs=0.01)
    assert nusselt_upright_gap(1e6, 40.0) == pytest.approx(0.0605 * 100.0, rel=0.12)
    assert nusselt_upright_gap(1e5, 5.0) == pytest.approx(0.242 * 2e4**0.272, rel=1e-6)


@pytest.mark.published
def test_a_resting_gap_only_conducts() -> None:
    """k/d: 25 mm at 300 K 1.05 W/(m² K) (Incropera table A.4: k = 26.3 mW/(m K))."""
    h = gap_coefficient(np.array([40.0]), np.array([13.7]), 0.025, 0.6, level=True)
    assert h[0] == pytest.approx(1.052, rel=0.01)


@pytest.mark.second_route
@pytest.mark.parametrize("up", [True, False])
def test_a_level_face_by_another_library(up: bool) -> None:
    for warm in (25.0, 60.0, 90.0):
        air = air_at(0.5 * (warm + 20.0))
        prandtl = float(air.viscosity / air.diffusivity)
        grashof = (
            9.80665 * float(air.expansion) * (warm - 20.0) * 0.15**3 / float(air.viscosity) ** 2
        )
        nusselt = Nu_horizontal_plate_McAdams(prandtl, grashof, buoyancy=up)
        found = natural_convection_level(warm, 20.0, 0.6, up=up)
        assert float(found) == pytest.approx(nusselt * float(air.conductivity) / 0.15, rel=0.07)


@pytest.mark.published
def test_the_duct_of_a_textbook() -> None:
    """Incropera 6th ed., example 9.3: 45 °C in 15 °C, 0.75 m wide, L = W/2: 5.48 and 2.07.

    The book takes L = W/2 for a long duct, here a side of 1.5 m.
    """
    top, bottom = (float(natural_convection_level(45.0, 15.0, 1.5, up=up)) for up in (True, False))
    assert top == pytest.approx(5.478, rel=0.02)
    assert bottom == pytest.approx(2.068, rel=0.02)


def wall_balance(panel: float, wall: float, eps: float) -> float:
    h = float(gap_coefficient(np.array([panel]), np.array([wall]), 0.05, 0.6, level=False)[0])
    into = h * (panel - wall) + STEFAN_BOLTZMANN / (2 / eps - 1) * (
        (panel + 273.15) ** 4 - (wall + 273.15) ** 4
    )
    out = float(natural_convection_upright(wall, 20.0, 0.6)) * (wall - 20.0)
    out += STEFAN_BOLTZMANN * eps * ((wall + 273.15) ** 4 - 293.15**4)
    return into - out


@pytest.mark.second_route
@pytest.mark.parametrize("eps", [0.1, 0.6, 0.9])
def test_the_far_wall_passes_on_what_it_takes_up(eps: float) -> None:
    table = BackLoss.of(BOX, 20.0, np.array([0.3, eps]), np.ones(2))
    for panel in (40.0, 71.0, 110.0):
        wall = brentq(lambda t, at=panel: wall_balance(at, t, eps), 20.0, panel)
        out = float(natural_convection_upright(wall, 20.0, 0.6)) * (wall - 20.0)
        out += STEFAN_BOLTZMANN * eps * ((wall + 273.15) ** 4 - 293.15**4)
        found, slope = table.at(np.array([[panel - 20.0] * 2]))
        assert found[0, 1] == pytest.approx(out, rel=5e-3, abs=0.3)
        assert slope[0, 1] > 0.0


@pytest.mark.second_route
def test_a_wall_that_warms_in_its_own_time_makes_little_difference() -> None:
    """Panel and far wall of 1 mm as two masses, by a stiff solver: after 30 minutes within 1 K."""
    table = BackLoss.of(BOX, 20.0, np.array([0.6]), np.ones(1))
    absorbed, front = 600.0, 12.0

    def two(_: float, T: np.ndarray[Any, Any]) -> list[float]:
        h = float(gap_coefficient(T[:1], T[1:], 0.05, 0.6, level=False)[0])
        into = h * (T[0] - T[1]) + STEFAN_BOLTZMANN / (2 / 0.6 - 1) * (
            (T[0] + 273.15) ** 4 - (T[1] + 273.15) ** 4
        )
        out = float(natural_convection_upright(T[1], 20.0, 0.6)) * (T[1] - 20.0)
        out += STEFAN_BOLTZMANN * 0.6 * ((T[1] + 273.15) ** 4 - 293.15**4)
        gain = absorbed - front * (T[0] - 20.0) - into
        return [gain / 5347.5, (into - out) / 2430.0]

    def one(_: float, T: np.ndarray[Any, Any]) -> list[float]:
        lost = front * (T[0] - 20.0) + float(table.at(np.array([[T[0] - 20.0]]))[0][0, 0])
        return [(absorbed - lost) / 5347.5]

    moments = np.array([300.0, 1800.0])
    own = solve_ivp(two, (0, 1800), [20.0, 20.0], method="LSODA", t_eval=moments, rtol=1e-6).y[0]
    short = solve_ivp(one, (0, 1800), [20.0], method="LSODA", t_eval=moments, rtol=1e-6).y[0]
    assert abs(own[0] - short[0]) < 2.5
    assert abs(own[1] - short[1]) < 0.3


def heating(**keys: Any) -> Any:
    return lambda data: data["heating"][0].update(keys)


def hottest(make: Make, *changes: Any) -> tuple[float, tuple[str, ...]]:
    repair = make(*changes, heated=True)
    (joint,), (adhesive,) = repair.joints, repair.adhesives
    heated, _ = heatings_of(repair, joint, recorded((), "arch"))
    plan = heat_plan(repair, joint, adhesive, heated, ())
    return float(temperature_history(panel_setup(plan, middle())).celsius.max()), plan.notes


def test_over_a_closed_box_the_joint_gets_warmer(make: Make) -> None:
    open_C, _ = hottest(make)
    closed_C, notes = hottest(make, heating(back="closed"))
    narrow_C, said = hottest(make, heating(back="closed", gap="10 mm"))
    assert closed_C > open_C + 3.0
    assert abs(narrow_C - closed_C) < 15.0
    assert any("50 mm is assumed" in note for note in notes)
    assert not any("is assumed" in note and "box" in note for note in said)


def test_a_level_panel_is_told_from_an_upright_one(make: Make) -> None:
    upright, _ = hottest(make)
    level, _ = hottest(make, heating(lies="level"))
    assert level != pytest.approx(upright, abs=0.05)
    assert level == pytest.approx(upright, abs=6.0)
