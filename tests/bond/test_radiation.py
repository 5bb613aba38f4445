"""View factors and radiation against closed forms, quadrature and a textbook."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from panelwright.bond.radiation import (
    irradiance,
    net_emission,
    view_factor_corner,
    view_factor_rectangle,
)


@pytest.mark.published
@pytest.mark.parametrize(
    ("X", "Y", "factor"),
    [
        # Element under a corner, closed form checked by quadrature [computed].
        (0.1, 0.1, 0.003141),
        (0.5, 0.5, 0.059864),
        (1.0, 1.0, 0.138532),
        (2.0, 2.0, 0.207757),
        (5.0, 5.0, 0.242085),
        (10.0, 10.0, 0.247971),
        (0.5, 2.0, 0.106838),
        (1.0, 2.0, 0.167375),
        (1.0, 1e9, 0.176777),
    ],
)
def test_element_under_a_corner(X: float, Y: float, factor: float) -> None:
    assert float(view_factor_corner(X, Y)) == pytest.approx(factor, abs=6e-7)
    assert float(view_factor_corner(Y, X)) == pytest.approx(factor, abs=6e-7)


@pytest.mark.published
@pytest.mark.parametrize(
    ("distance", "factor", "received"),
    [
        # 1.5 kW, 0.85 radiant, 0.5 × 0.3 m, on the axis [computed].
        (0.3, 0.33182, 2821.0),
        (0.4, 0.22224, 1889.0),
        (0.5, 0.15634, 1329.0),
        (0.6, 0.11485, 976.0),
        (0.8, 0.06859, 583.0),
        (1.0, 0.04520, 384.0),
    ],
)
def test_on_the_axis_of_a_lamp(distance: float, factor: float, received: float) -> None:
    F = view_factor_rectangle(along=0.0, across=0.0, distance=distance, size=(0.5, 0.3))
    assert float(F) == pytest.approx(factor, abs=6e-6)
    G = float(irradiance(F, radiant_W=0.85 * 1500.0, aperture_m2=0.15))
    assert pytest.approx(received, abs=0.6) == G


@pytest.mark.second_route
@pytest.mark.parametrize(
    ("along", "across"), [(0.0, 0.0), (120.0, 30.0), (150.0, 50.0), (380.0, 0.0), (-200.0, 90.0)]
)
def test_any_point_by_quadrature(along: float, across: float) -> None:
    distance, size = 450.0, (300.0, 100.0)

    def kernel(y: float, x: float) -> float:
        square = (x - along) ** 2 + (y - across) ** 2 + distance**2
        return distance**2 / (math.pi * square**2)

    exact, _ = dblquad(kernel, -150.0, 150.0, -50.0, 50.0, epsabs=1e-13)
    F = view_factor_rectangle(along=along, across=across, distance=distance, size=size)
    assert float(F) == pytest.approx(exact, rel=1e-9)


@pytest.mark.exact
def test_far_away_it_is_a_point_source() -> None:
    F = view_factor_rectangle(along=0.0, across=0.0, distance=1e4, size=(300.0, 100.0))
    assert float(F) == pytest.approx(300.0 * 100.0 / (math.pi * 1e8), rel=1e-3)


@pytest.mark.published
def test_equal_parallel_squares_by_averaging() -> None:
    # Two unit squares one apart: 0.199825 [seen: 0.1998, and computed by a polygon library].
    place = (np.polynomial.legendre.leggauss(24)[0]) / 2.0
    weight = np.polynomial.legendre.leggauss(24)[1] / 2.0
    F = view_factor_rectangle(
        along=place[:, None], across=place[None, :], distance=1.0, size=(1.0, 1.0)
    )
    assert float(weight @ F @ weight) == pytest.approx(0.19982489569838724, rel=1e-9)


@pytest.mark.invariant
@given(
    along=st.floats(-2000, 2000),
    across=st.floats(-2000, 2000),
    distance=st.floats(1, 3000),
    cut=st.floats(0.05, 0.95),
)
def test_a_lamp_cut_in_two_shines_as_before(
    along: float, across: float, distance: float, cut: float
) -> None:
    whole = view_factor_rectangle(along=along, across=across, distance=distance, size=(300, 100))
    left = view_factor_rectangle(
        along=along + 150 - 150 * cut, across=across, distance=distance, size=(300 * cut, 100)
    )
    right = view_factor_rectangle(
        along=along - 150 * cut, across=across, distance=distance, size=(300 * (1 - cut), 100)
    )
    assert float(left + right) == pytest.approx(float(whole), rel=1e-6, abs=1e-12)
    assert 0.0 < float(whole) < 1.0


@pytest.mark.published
def test_incropera_1_2_pipe() -> None:
    # Incropera 6th ed., example 1.2 [seen]: E = 2270 W/m², G = 447 W/m² (ε σ T⁴), q' = 998 W/m
    # with D = 0.07 m, h = 15 W/(m² K).
    lost = float(net_emission(200.0, 25.0, 0.8)) + 15.0 * 175.0
    assert math.pi * 0.07 * lost == pytest.approx(998.38, rel=1e-3)
