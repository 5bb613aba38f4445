"""Convection against worked examples of a textbook and against a reference library."""

from __future__ import annotations

import numpy as np
import pytest
from ht import conv_free_immersed

from panelwright.bond.convection import (
    Air,
    air_at,
    natural_convection_upright,
    nusselt_churchill_chu,
)
from panelwright.bond.radiation import net_emission


@pytest.mark.published
def test_incropera_9_2_glass_door() -> None:
    # Incropera 6th ed., example 9.2 [seen in two stored solutions]: Ra 1.81e9, q = 1060 W;
    # Nu 147.15 and h 7.005 [computed from the same properties].
    air = Air(0.0338, 26.4e-6, 38.3e-6, 0.0025)
    h = float(natural_convection_upright(232.0, 23.0, 0.71, air))
    # the example takes g = 9.8 m/s²; standard gravity moves h by 0.02 %
    assert h == pytest.approx(7.005, rel=1e-3)
    assert h * 1.02 * 0.71 * 209.0 == pytest.approx(1060.0, rel=2e-3)


@pytest.mark.published
def test_docstring_of_the_reference_library() -> None:
    # Pr 0.69, Gr 2.63e9 [seen and run, ht 1.2.0].
    assert float(nusselt_churchill_chu(0.69 * 2.63e9, 0.69)) == pytest.approx(147.16185223770603)


@pytest.mark.second_route
@pytest.mark.parametrize("rayleigh", [1e-2, 1e3, 1e6, 1e9, 1e12])
@pytest.mark.parametrize("prandtl", [0.69, 0.71, 5.5])
def test_against_the_reference_library(rayleigh: float, prandtl: float) -> None:
    theirs = conv_free_immersed.Nu_vertical_plate_Churchill(prandtl, rayleigh / prandtl)
    assert float(nusselt_churchill_chu(rayleigh, prandtl)) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.exact
def test_no_temperature_difference_leaves_conduction() -> None:
    assert float(nusselt_churchill_chu(0.0, 0.7)) == pytest.approx(0.825**2)
    assert float(natural_convection_upright(20.0, 20.0, 0.6)) > 0.0


@pytest.mark.published
@pytest.mark.parametrize(
    ("film_K", "conductivity", "viscosity_Pas", "prandtl"),
    [
        # Incropera 6th ed., table A.4, air at atmospheric pressure [memory]: k, μ, Pr.
        (250.0, 22.3e-3, 159.6e-7, 0.720),
        (300.0, 26.3e-3, 184.6e-7, 0.707),
        (350.0, 30.0e-3, 208.2e-7, 0.700),
        (400.0, 33.8e-3, 230.1e-7, 0.690),
    ],
)
def test_air_against_a_table(
    film_K: float, conductivity: float, viscosity_Pas: float, prandtl: float
) -> None:
    air = air_at(film_K - 273.15)
    density = 101_325.0 / (287.05287 * film_K)
    assert float(air.conductivity) == pytest.approx(conductivity, rel=0.01)
    assert float(air.viscosity) * density == pytest.approx(viscosity_Pas, rel=0.01)
    assert float(air.viscosity / air.diffusivity) == pytest.approx(prandtl, rel=0.02)


@pytest.mark.second_route
@pytest.mark.parametrize(
    ("panel_C", "height", "h"),
    [
        # Upright panel in air at 20 °C by a reference library with tabulated air [computed].
        (40.0, 0.3, 4.36),
        (40.0, 1.0, 3.90),
        (60.0, 0.6, 4.93),
        (80.0, 0.3, 5.83),
        (80.0, 0.6, 5.48),
        (100.0, 1.0, 5.69),
    ],
)
def test_panel_in_still_air(panel_C: float, height: float, h: float) -> None:
    assert float(natural_convection_upright(panel_C, 20.0, height)) == pytest.approx(h, rel=5e-3)


@pytest.mark.second_route
@pytest.mark.parametrize(("panel_C", "loss"), [(40.0, 390.0), (60.0, 898.0), (80.0, 1491.0)])
def test_loss_of_both_faces(panel_C: float, loss: float) -> None:
    # ε = 0.9, 0.6 m high, air and walls 20 °C, both faces [computed].
    h = float(natural_convection_upright(panel_C, 20.0, 0.6))
    lost = 2.0 * (h * (panel_C - 20.0) + float(net_emission(panel_C, 20.0, 0.9)))
    assert lost == pytest.approx(loss, rel=5e-3)


@pytest.mark.invariant
def test_warmer_panels_lose_more() -> None:
    excess = np.linspace(0.0, 150.0, 61)
    flux = natural_convection_upright(20.0 + excess, 20.0, 0.6) * excess
    assert np.all(np.diff(flux) > 0.0)
