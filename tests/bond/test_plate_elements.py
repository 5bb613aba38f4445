"""The plate's history against finite elements, and few of its modes against all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, MeshQuad, asm
from skfem.helpers import dot, grad

from panelwright.bond.plate import plate_of
from panelwright.bond.plate_heat import Stretch, run
from panelwright.bond.plate_modes import modes_of

from .test_plate import JOINT, gaussian, grid_s, linear, nonlinear, simple

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


def elements(moments_s: tuple[float, ...], lamp_s: float, step_s: float) -> Floats:
    """The joint by scikit-fem, a spot on and then off, into 20 °C; at two places, shape (2, t).

    Bilinear elements on 10 mm squares aligned with the strips, steps of Crank and Nicolson after
    two of implicit Euler, begun anew at the switch; the loss is that of the middle of each step by
    a second pass.
    """
    mesh = MeshQuad.init_tensor(1e-3 * np.linspace(0, 600, 61), 1e-3 * np.linspace(-240, 200, 45))
    basis = Basis(mesh, ElementQuad1())
    edges = np.cumsum([-0.240] + [1e-3 * strip.width_mm for strip in JOINT])

    def by_row(values: list[float], y: Floats) -> Floats:
        found: Floats = np.array(values)[np.clip(np.searchsorted(edges, y) - 1, 0, 2)]
        return found

    kappa, heat = [s.conductance for s in JOINT], [s.capacity for s in JOINT]
    conducts = BilinearForm(lambda u, v, w: by_row(kappa, w.x[1]) * dot(grad(u), grad(v)))
    holds = BilinearForm(lambda u, v, w: by_row(heat, w.x[1]) * u * v)
    K, C = (csc_array(asm(form, basis)) for form in (conducts, holds))
    area = csc_array(asm(BilinearForm(lambda u, v, _w: u * v), basis))
    r2 = (basis.doflocs[0] - 0.3) ** 2 + (basis.doflocs[1] - 0.01) ** 2
    flux = 400.0 / (2 * np.pi * 0.12**2) * np.exp(-r2 / (2 * 0.12**2))
    there = basis.probes(1e-3 * np.array([[300.0, 120.0], [5.0, 15.0]]))
    solvers = {share: splu(csc_array(C + share * step_s * K)) for share in (1.0, 0.5)}
    u, found = np.full(len(flux), 20.0), []
    for number in range(round(moments_s[-1] / step_s)):
        since_s = (number * step_s) % lamp_s
        share = 1.0 if since_s < 2 * step_s else 0.5
        absorbed = flux if number * step_s < lamp_s else 0.0
        after = u
        for _ in range(2):
            given = absorbed - nonlinear(0.5 * (u + after))
            after = u + solvers[share].solve(step_s * (area @ given - K @ u))
        u = after
        if (number + 1) * step_s in moments_s:
            found.append(there @ u)
    return np.array(found).T


@pytest.mark.second_route
def test_finite_elements_find_the_same_history_of_a_spot_on_and_off() -> None:
    """To 0.15 K of 106: cells and elements of 10 mm, each of second order."""
    moments = (60.0, 300.0, 900.0, 960.0, 1200.0, 1800.0)
    modes = modes_of(plate_of((0, 600), JOINT, 10.0, first_mm=-240), (20, 14))
    flux, places = gaussian(modes, 400.0, 120.0, (300.0, 10.0)), np.array([[300.0, 5], [120, 15]])
    lamp = Stretch(0.0, 900.0, modes.project(flux), modes.left_out(flux, places))
    times = grid_s(1800.0, moments)
    own = run(modes, [lamp], nonlinear, np.array([20.0]), times, modes.at(places))[0]
    found = own[:, np.searchsorted(times, moments)]
    other = elements(moments, 900.0, 5.0)
    assert other[0].max() - 20.0 > 60.0
    np.testing.assert_allclose(found, other, atol=0.15)


@pytest.mark.second_route
@pytest.mark.parametrize("left_out", [False, True], ids=["alone", "with those left out"])
def test_modes_left_out_are_made_good(left_out: bool) -> None:
    """A narrow spot's steady plate with few modes: far off without the rest, right with it."""
    joint = modes_of(plate_of((0, 600), JOINT, 20.0, first_mm=-240))
    few = modes_of(joint.plate, (8, 6))
    flux, places = gaussian(few, 400.0, 60.0, (300.0, 10.0)), np.array([[300.0, 10.0], [215, -25]])
    times, start = grid_s(7200.0), np.zeros(1)
    added = few.left_out(flux, places) if left_out else None
    found = run(
        few, [Stretch(0.0, np.inf, few.project(flux), added)], linear(20.0), start, times,
        few.at(places),
    )[0, :, -1]  # fmt: skip
    whole = simple(joint, flux, times, places.tolist())[:, -1]
    off = float(np.abs(found - whole).max())
    assert off < 1e-6 if left_out else off > 5.0
