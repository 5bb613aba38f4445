"""The panel model against worked examples, closed forms and an independent integrator."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from panelwright.bond.convection import natural_convection_upright
from panelwright.bond.loss import ConvectiveLoss, steady_temperature
from panelwright.bond.panel import (
    LampSetup,
    PanelSetup,
    areal_heat_capacity,
    panel_history,
    time_grid,
)
from panelwright.bond.radiation import STEFAN_BOLTZMANN, irradiance, view_factor_rectangle

STACK = areal_heat_capacity([(2700, 900, 1.0), (1300, 1500, 0.25), (2700, 900, 1.0)])


def one(value: float) -> np.ndarray:
    return np.array([value])


def lamp(*stays: tuple[float, float], watts: float = 900.0, distance: float = 450.0) -> LampSetup:
    return LampSetup(
        radiant_W=one(watts),
        distance_mm=one(distance),
        size_mm=(300.0, 100.0),
        centre_mm=(300.0, 0.0),
        absorptivity=one(0.65),
        stays=stays,
    )


def setup(*lamps: LampSetup, **changes: object) -> PanelSetup:
    made = PanelSetup(
        spots_mm=np.array([0.0, 150.0, 300.0]),
        air_C=one(20.0),
        surroundings_C=one(20.0),
        start_C=one(20.0),
        heat_capacity=STACK,
        emissivity=one(1.5),
        convection=ConvectiveLoss.still_air(20.0, 0.6),
        convection_factor=one(1.0),
        lamps=lamps,
        until_min=90.0,
    )
    return replace(made, **changes)


def steady_lamp(absorbed: float, end_min: float) -> LampSetup:
    """A lamp so wide and near that every spot absorbs the same."""
    return LampSetup(
        radiant_W=one(absorbed * 1e4),
        distance_mm=one(1.0),
        size_mm=(1e5, 1e5),
        centre_mm=(0.0, 0.0),
        absorptivity=one(1.0),
        stays=((0.0, end_min),),
    )


@pytest.mark.published
@pytest.mark.parametrize(
    ("coefficient", "celsius"),
    [
        # Incropera 6th ed., example 1.7 [seen: 104 °C at h = 15; 50 °C at h = 51.0 from memory];
        # the others [computed].
        (15.0, 104.30),
        (51.01, 50.0),
        (2.0, 204.23),
        (50.0, 50.564),
        (100.0, 35.811),
    ],
)
def test_incropera_1_7_coating_under_a_lamp(coefficient: float, celsius: float) -> None:
    found = steady_temperature(
        0.8 * 2000.0, coefficient=coefficient, air_C=20.0, surroundings_C=30.0, emissivity=0.5
    )
    # the figures take 0 °C as 273 K and σ as 5.67·10⁻⁸: up to 0.1 K at 204 °C
    assert found == pytest.approx(celsius, abs=0.12)


@pytest.mark.published
def test_incropera_5_3_panel_in_an_oven_and_out() -> None:
    # Incropera 6th ed., example 5.3 [seen: 123 s to 150 °C, 423 s, 987 s; computed 123.08, 174.75
    # and 986.3]: both faces, oven 175 °C with h = 40, then 25 °C with h = 10, ε = 0.8.
    capacity = areal_heat_capacity([(2770.0, 875.0, 3.0)])
    oven = setup(
        air_C=one(175.0),
        surroundings_C=one(175.0),
        start_C=one(25.0),
        heat_capacity=capacity,
        emissivity=one(1.6),
        convection=ConvectiveLoss.constant(80.0),
        until_min=423.08 / 60.0,
    )
    heating = panel_history(oven)
    path = heating.celsius[0, 0]
    assert np.interp(150.0, path, 60.0 * heating.minutes) == pytest.approx(123.08, abs=0.6)
    assert path[-1] == pytest.approx(174.75, abs=0.03)
    cooling = panel_history(
        replace(
            oven,
            air_C=one(25.0),
            surroundings_C=one(25.0),
            start_C=one(float(path[-1])),
            convection=ConvectiveLoss.constant(20.0),
            until_min=12.0,
        )
    )
    down = cooling.celsius[0, 0]
    seconds = np.interp(-37.0, -down, 60.0 * cooling.minutes)
    assert 423.08 + seconds == pytest.approx(986.3, abs=2.0)


@pytest.mark.exact
@pytest.mark.parametrize(("seconds", "rise"), [(60.0, 28.576), (120.0, 45.176), (300.0, 63.673)])
def test_linear_loss_is_exact(seconds: float, rise: float) -> None:
    # ΔT = (q/h)(1 − e^(−t/τ)), q = 1500 W/m², h = 22, 1 mm aluminium, τ = 110.4545 s [computed].
    history = panel_history(
        setup(
            steady_lamp(1500.0, 10.0),
            heat_capacity=areal_heat_capacity([(2700, 900, 1.0)]),
            emissivity=one(0.0),
            convection=ConvectiveLoss.constant(22.0),
            until_min=seconds / 60.0,
        )
    )
    assert history.celsius[0, 2, -1] - 20.0 == pytest.approx(rise, abs=2e-3)


@pytest.mark.published
def test_time_constant_of_a_bonded_stack() -> None:
    # Two 1 mm sheets with 0.25 mm of adhesive, 5.35 kJ/(m² K), Σh = 20: 267 s [computed].
    history = panel_history(
        setup(
            start_C=one(70.0),
            emissivity=one(0.0),
            convection=ConvectiveLoss.constant(20.0),
            until_min=STACK / 20.0 / 60.0,
        )
    )
    assert pytest.approx(267.0, abs=0.5) == STACK / 20.0
    assert (history.celsius[0, 0, -1] - 20.0) / 50.0 == pytest.approx(np.exp(-1.0), rel=1e-6)


@pytest.mark.second_route
@pytest.mark.parametrize("spot", [0, 1, 2])
def test_lamp_on_and_off_by_another_integrator(spot: int) -> None:
    made = setup(lamp((2.0, 25.0), (40.0, 55.0), watts=1300.0))
    history = panel_history(made)
    F = view_factor_rectangle(
        along=float(made.spots_mm[spot]) - 300.0, across=0.0, distance=450.0, size=(300.0, 100.0)
    )
    absorbed = 0.65 * float(irradiance(F, radiant_W=1300.0, aperture_m2=0.03))

    def slope(power: float):
        def rate(_: float, y: np.ndarray) -> list[float]:
            convected = 2.0 * float(natural_convection_upright(y[0], 20.0, 0.6)) * (y[0] - 20.0)
            radiated = 1.5 * STEFAN_BOLTZMANN * ((y[0] + 273.15) ** 4 - 293.15**4)
            return [60.0 * (power - convected - radiated) / STACK]

        return rate

    now, edges = 20.0, [0.0, 2.0, 25.0, 40.0, 55.0, 90.0]
    for number, (start, end) in enumerate(itertools.pairwise(edges)):
        inside = (history.minutes >= start) & (history.minutes <= end)
        at = history.minutes[inside]
        route = solve_ivp(
            slope(absorbed if number in (1, 3) else 0.0),
            (start, end),
            [now],
            t_eval=at,
            rtol=1e-9,
            atol=1e-9,
            method="LSODA",
        )
        assert history.celsius[0, spot, inside] == pytest.approx(route.y[0], abs=0.06)
        now = float(route.y[0, -1])


@pytest.mark.invariant
def test_heat_in_less_heat_out_is_heat_stored() -> None:
    made = setup(lamp((0.0, 40.0)))
    history = panel_history(made)
    on = history.minutes <= 40.0
    minutes, path = history.minutes[on], history.celsius[0, 2, on]
    lost, _ = made.convection.at(path - 20.0)
    lost = lost + 1.5 * STEFAN_BOLTZMANN * ((path + 273.15) ** 4 - 293.15**4)
    absorbed = float(made.lamps[0].absorbed(made.spots_mm)[0, 2])
    balance = np.trapezoid(absorbed - lost, 60.0 * minutes)
    assert balance == pytest.approx(STACK * (path[-1] - 20.0), rel=2e-3)


@pytest.mark.exact
def test_a_long_stay_ends_at_the_steady_balance() -> None:
    made = setup(lamp((0.0, 300.0)), until_min=300.0)
    final = float(panel_history(made).celsius[0, 2, -1])
    absorbed = float(made.lamps[0].absorbed(made.spots_mm)[0, 2])
    h = 2.0 * float(natural_convection_upright(final, 20.0, 0.6))
    steady = steady_temperature(
        absorbed, coefficient=h, air_C=20.0, surroundings_C=20.0, emissivity=1.5
    )
    assert final == pytest.approx(steady, abs=0.01)


@pytest.mark.invariant
@settings(max_examples=30)
@given(
    watts=st.floats(50, 3000),
    more=st.floats(1.01, 2.0),
    distance=st.floats(200, 1500),
    end=st.floats(1, 60),
)
def test_more_lamp_is_never_colder(watts: float, more: float, distance: float, end: float) -> None:
    weak = panel_history(setup(lamp((0.0, end), watts=watts, distance=distance))).celsius
    strong = panel_history(setup(lamp((0.0, end), watts=more * watts, distance=distance))).celsius
    assert np.all(strong >= weak - 1e-9)
    assert np.all(weak >= 20.0 - 1e-9)


@pytest.mark.invariant
def test_without_a_lamp_the_panel_is_at_air_temperature() -> None:
    assert panel_history(setup()).celsius == pytest.approx(20.0, abs=1e-9)


@pytest.mark.invariant
@given(
    switches=st.lists(st.floats(0.0, 200.0), max_size=6),
    until=st.floats(1.0, 300.0),
)
def test_every_switch_is_on_the_grid(switches: list[float], until: float) -> None:
    grid = time_grid(switches, until)
    assert np.all(np.diff(grid) > 0.0)
    assert grid[0] == 0.0
    assert grid[-1] == until
    assert all(s in grid for s in switches if s <= until)
