"""A lamp with a beam: against the closed view factor, its integral, and the far field."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import dblquad

from panelwright.bond import answer
from panelwright.bond.beam import lobe_factor, lobe_of
from panelwright.bond.near import keep_away
from panelwright.bond.radiation import view_factor_rectangle

from .conftest import Make
from .test_near import LAMP

SIZE = (300.0, 100.0)


@pytest.mark.published
def test_exponents_of_half_angles() -> None:
    """Half angle 60°: Lambert's law; 30°: 4.82, 15°: 20 (Kahn and Barry 1997, from memory)."""
    assert lobe_of(60.0) == pytest.approx(1.0)
    assert lobe_of(30.0) == pytest.approx(4.82, abs=0.01)
    assert lobe_of(15.0) == pytest.approx(20.0, abs=0.05)


@pytest.mark.exact
@pytest.mark.parametrize("distance", [100.0, 200.0, 450.0, 900.0])
def test_a_diffuse_beam_is_the_closed_view_factor(distance: float) -> None:
    along, across = np.array([0.0, 120.0, 300.0]), np.array([0.0, 50.0, -200.0])
    found = lobe_factor(
        along=along, across=across, distance=np.full(3, distance), size=SIZE, lobe=1.0
    )
    exact = view_factor_rectangle(along=along, across=across, distance=distance, size=SIZE)
    np.testing.assert_allclose(found, exact, rtol=2e-4)


@pytest.mark.exact
@pytest.mark.parametrize("half_angle", [20.0, 35.0, 60.0])
def test_all_that_the_aperture_gives_reaches_the_plane_before_it(half_angle: float) -> None:
    """∫F dA over the plane is the aperture's area: polar nodes far out, closed for n cos powers."""
    lobe, distance = lobe_of(half_angle), 400.0
    radius = distance * np.tan(np.linspace(0.0, np.pi / 2, 4001)[:-1])
    turns = np.linspace(0.0, 2 * np.pi, 24, endpoint=False)
    mean = np.mean(
        [
            lobe_factor(
                along=radius * np.cos(turn),
                across=radius * np.sin(turn),
                distance=np.full(len(radius), distance),
                size=SIZE,
                lobe=lobe,
            )
            for turn in turns
        ],
        axis=0,
    )
    whole = np.trapezoid(2 * np.pi * radius * mean, radius)
    assert whole == pytest.approx(SIZE[0] * SIZE[1], rel=6e-3)


@pytest.mark.published
def test_far_away_it_is_a_point_with_a_lobe() -> None:
    """E = P (n + 1)/(2π c²) cosⁿ⁺³ θ (Kahn and Barry 1997, equations 9 and 10, from memory)."""
    lobe, c = lobe_of(25.0), 12_000.0
    for away in (0.0, 3000.0, 8000.0):
        cos = c / np.hypot(c, away)
        found = lobe_factor(
            along=np.array([away]), across=0.0, distance=np.array([c]), size=SIZE, lobe=lobe
        )[0] / (SIZE[0] * SIZE[1])
        assert found == pytest.approx((lobe + 1) / (2 * np.pi * c**2) * cos ** (lobe + 3), rel=5e-3)


@pytest.mark.second_route
def test_near_by_adaptive_quadrature() -> None:
    lobe, c, x0, y0 = lobe_of(30.0), 150.0, 90.0, 40.0

    def inside(y: float, x: float) -> float:
        r2 = (x - x0) ** 2 + (y - y0) ** 2 + c**2
        return float((c / np.sqrt(r2)) ** (lobe + 1) / (np.pi * r2) * (lobe + 1) / 2)

    exact = dblquad(inside, -150, 150, -50, 50)[0]
    found = lobe_factor(
        along=np.array([x0]), across=y0, distance=np.array([c]), size=SIZE, lobe=lobe
    )
    assert found[0] == pytest.approx(exact, rel=5e-4)


def test_a_beamed_lamp_heats_its_middle_more_and_reaches_less_far(make: Make) -> None:
    def beamed(data: dict[str, Any]) -> None:
        data["lamp"][0]["half_angle"] = 30

    (wide,) = answer(make(heated=True)).joints
    (narrow,) = answer(make(beamed, heated=True)).joints
    assert wide.hottest_C is not None
    assert narrow.hottest_C is not None
    assert narrow.hottest_C > wide.hottest_C + 5.0
    beam = type(LAMP)(**{**vars(LAMP), "lobe": lobe_of(30.0)})
    reach = [keep_away(lamp, 20.0)[0].along_mm for lamp in (LAMP, beam)]
    assert reach[1] != reach[0]
