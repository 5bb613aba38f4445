"""The layered plate against closed forms, finite elements, a stiff solver and energy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import exp1
from skfem import Basis, BilinearForm, ElementQuad1, LinearForm, MeshQuad, asm, solve
from skfem.helpers import dot, grad

from panelwright.bond.loss import ConvectiveLoss
from panelwright.bond.panel import LampSetup, PanelSetup, panel_history, time_grid
from panelwright.bond.plate import Layer, Plate, Strip, graded, plate_of
from panelwright.bond.plate_heat import Stretch, phi, run
from panelwright.bond.plate_modes import LOSS_REFERENCE, Modes, modes_of
from panelwright.bond.radiation import STEFAN_BOLTZMANN

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

SHEET = Layer(160.0, 2700.0, 900.0, 1.0)
INNER = Layer(130.0, 2700.0, 900.0, 1.5)
GLUE = Layer(0.2, 1300.0, 1500.0, 0.3)
JOINT = (Strip(240.0, (SHEET,)), Strip(20.0, (SHEET, GLUE, INNER)), Strip(180.0, (INNER,)))

GAUSSIAN = {
    # r [mm]: excess temperature at 10, 30, 60, 120, 300, 600 s [K]. Computed from the integral of
    # a Gaussian source on a thin plate with loss in ../shared's table T9 (calculated there).
    0.0: (29.557, 73.868, 117.012, 161.458, 195.442, 200.545),
    100.0: (18.463, 48.180, 79.553, 114.617, 143.787, 148.477),
    200.0: (4.508, 13.502, 25.604, 42.882, 61.405, 65.049),
}
MOMENTS_S = (10.0, 30.0, 60.0, 120.0, 300.0, 600.0)


def gaussian(modes: Modes, watts: float, sigma_mm: float, at: tuple[float, float]) -> Floats:
    """What the cells absorb from a Gaussian source, shape (i, j, 1) [W/m²]."""
    x, y = np.meshgrid(modes.plate.along_mm, modes.plate.across_mm, indexing="ij")
    r2 = ((x - at[0]) ** 2 + (y - at[1]) ** 2) / sigma_mm**2
    flux: Floats = watts / (2 * np.pi * (1e-3 * sigma_mm) ** 2) * np.exp(-r2 / 2)
    return flux[:, :, None]


def grid_s(last_s: float, moments: tuple[float, ...] = ()) -> Floats:
    """Times of a run [s]."""
    times: Floats = 60.0 * time_grid([m / 60.0 for m in moments], last_s / 60.0)
    return times


def linear(coefficient: float) -> Callable[[Floats], Floats]:
    """A loss to surroundings at 0 °C."""
    return lambda celsius: coefficient * celsius


def simple(modes: Modes, flux: Floats, times_s: Floats, places: list[list[float]]) -> Floats:
    """Excess temperature at places with a loss of 20 W/(m² K), shape (p, t)."""
    absorbed = Stretch(0.0, np.inf, modes.project(flux))
    watch = modes.at(np.array(places))
    found: Floats = run(modes, [absorbed], linear(20.0), np.zeros(1), times_s, watch)[0]
    return found


@pytest.mark.published
def test_a_gaussian_source_heats_a_thin_plate_as_its_integral_says() -> None:
    modes = modes_of(plate_of((-810, 810), [Strip(1620, (SHEET,))], 20.0, first_mm=-810))
    times = grid_s(600.0, MOMENTS_S)
    flux = gaussian(modes, 500.0, 100.0, (0.0, 0.0))
    found = simple(modes, flux, times, [[0, 0], [100, 0], [200, 0]])
    for row, expected in zip(found, GAUSSIAN.values(), strict=True):
        at = [int(np.argmin(np.abs(times - moment))) for moment in MOMENTS_S]
        np.testing.assert_allclose(row[at], expected, atol=0.16, rtol=0.004)


@pytest.mark.exact
def test_its_steady_centre_is_the_exponential_integral() -> None:
    """P/(4πκ)·e^u E₁(u) with u = σ²h/(2κ), 200.8219 K: SciPy's E₁ as the second route."""
    modes = modes_of(plate_of((-910, 910), [Strip(1820, (SHEET,))], 20.0, first_mm=-910))
    found = simple(modes, gaussian(modes, 500.0, 100.0, (0.0, 0.0)), grid_s(7200.0), [[0, 0]])
    u = 0.1**2 * 20.0 / (2 * 0.16)
    exact = 500.0 / (4 * np.pi * 0.16) * np.exp(u) * exp1(u)
    assert exact == pytest.approx(200.8219, abs=1e-4)
    assert found[0, -1] == pytest.approx(exact, rel=2.2e-3)  # cells of 20 mm, second order


@pytest.mark.exact
def test_a_third_of_the_cells_size_has_a_ninth_of_the_error() -> None:
    """Order of convergence in space, second by theory; centre on a cell in each grid."""
    u = 0.1**2 * 20.0 / (2 * 0.16)
    exact = 500.0 / (4 * np.pi * 0.16) * np.exp(u) * exp1(u)
    errors = []
    for cell in (84.0, 28.0):
        modes = modes_of(plate_of((-966, 966), [Strip(1932, (SHEET,))], cell, first_mm=-966))
        found = simple(modes, gaussian(modes, 500.0, 100.0, (0.0, 0.0)), grid_s(7200.0), [[0, 0]])
        errors.append(abs(found[0, -1] - exact))
    order_found = np.log(errors[0] / errors[1]) / np.log(3.0)
    assert 1.7 < order_found < 2.4


def nonlinear(celsius: Floats) -> Floats:
    """Loss of both faces with convection by a power law and radiation, into 20 °C [W/m²]."""
    excess = celsius - 20.0
    kelvin = celsius + 273.15
    convected: Floats = 4.0 * excess * np.abs(excess) ** 0.25
    return convected + STEFAN_BOLTZMANN * 1.5 * (kelvin**4 - 293.15**4)


def warm_joint(times_s: Floats, modes: Modes) -> Floats:
    """The joint under a lamp for 20 minutes, then cooling; three places, shape (3, t)."""
    flux = gaussian(modes, 400.0, 150.0, (300.0, 10.0))
    lamp = Stretch(0.0, 1200.0, modes.project(flux))
    watch = modes.at(np.array([[300.0, 10.0], [100.0, 10.0], [590.0, -100.0]]))
    found: Floats = run(modes, [lamp], nonlinear, np.array([20.0]), times_s, watch)[0]
    return found


@pytest.fixture(scope="module")
def joint() -> Modes:
    return modes_of(plate_of((0, 600), JOINT, 20.0, first_mm=-240))


@pytest.fixture
def every_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Steps that end at every one of the times."""
    monkeypatch.setattr("panelwright.bond.plate_heat.TOLERANCE_K", 0.0)


@pytest.mark.exact
@pytest.mark.parametrize("last_s", [300.0, 1800.0], ids=["heating", "heating, then cooling"])
def test_halving_the_steps_quarters_the_error(
    joint: Modes, last_s: float, every_time: None
) -> None:
    """Order of convergence in time, from the first step on and over a switch: against fine ones."""

    def at_last(step: float) -> Floats:
        return warm_joint(np.arange(0.0, last_s + step / 2, step), joint)[:, -1]

    fine = at_last(1.25 if last_s < 1200.0 else 5.0)
    errors = [np.abs(at_last(step) - fine).max() for step in (60.0, 30.0)]
    assert 1.6 < np.log2(errors[0] / errors[1]) < 2.6
    assert errors[0] < 0.1


@pytest.mark.second_route
def test_a_stiff_solver_finds_the_same_history(joint: Modes) -> None:
    """scipy's BDF on the finite volumes written out here: other variables, other time steps."""
    plate = joint.plate
    dx, dy = plate.along_m, 1e-3 * float(plate.width_mm[0])
    flux = gaussian(joint, 400.0, 150.0, (300.0, 10.0))[:, :, 0]
    across = 2 * plate.conductance[1:] * plate.conductance[:-1]
    across = across / (plate.conductance[1:] + plate.conductance[:-1]) / dy**2

    def rate(second: float, flat: Floats) -> Floats:
        celsius = flat.reshape(flux.shape)
        gain = -nonlinear(celsius) + (flux if second < 1200.0 else 0.0)
        over_x = np.diff(celsius, axis=0) / dx**2 * plate.conductance
        gain[:-1] += over_x
        gain[1:] -= over_x
        over_y = np.diff(celsius, axis=1) * across
        gain[:, :-1] += over_y
        gain[:, 1:] -= over_y
        return (gain / plate.capacity).ravel()

    start = np.full(flux.size, 20.0)
    until = solve_ivp(rate, (0, 1200), start, method="RK23", rtol=1e-6, atol=1e-4).y[:, -1]
    times = grid_s(1200.0)
    found = warm_joint(times, joint)
    celsius = until.reshape(flux.shape)
    row = int(np.argmin(np.abs(plate.across_mm - 10.0)))
    column = int(np.argmin(np.abs(plate.along_mm - 290.0)))
    there = joint.at(np.array([[plate.along_mm[column], plate.across_mm[row]]]))
    lamp = Stretch(0.0, 1200.0, joint.project(flux[:, :, None]))
    mine = run(joint, [lamp], nonlinear, np.array([20.0]), times, there)[0, 0, -1]
    assert mine == pytest.approx(celsius[column, row], abs=0.02)
    assert found.max() < 200.0


@pytest.mark.second_route
def test_finite_elements_find_the_same_steady_plate_with_a_thicker_strip() -> None:
    """scikit-fem, bilinear elements on 10 mm squares aligned with the strips."""
    modes = modes_of(plate_of((0, 600), JOINT, 10.0, first_mm=-240))
    found = simple(
        modes, gaussian(modes, 400.0, 120.0, (300.0, 10.0)), grid_s(7200.0), [[300, 5], [120, 15]]
    )[:, -1]
    mesh = MeshQuad.init_tensor(1e-3 * np.linspace(0, 600, 61), 1e-3 * np.linspace(-240, 200, 45))
    basis = Basis(mesh, ElementQuad1())
    edges = np.cumsum([-0.240] + [1e-3 * strip.width_mm for strip in JOINT])
    conductance = np.array([strip.conductance for strip in JOINT])

    def kappa(y: Floats) -> Floats:
        values: Floats = conductance[np.clip(np.searchsorted(edges, y) - 1, 0, len(JOINT) - 1)]
        return values

    stiffness = BilinearForm(lambda u, v, w: kappa(w.x[1]) * dot(grad(u), grad(v)) + 20.0 * u * v)
    source = LinearForm(
        lambda v, w: (
            400.0
            / (2 * np.pi * 0.12**2)
            * np.exp(-((w.x[0] - 0.3) ** 2 + (w.x[1] - 0.01) ** 2) / (2 * 0.12**2))
            * v
        )
    )
    solved = solve(asm(stiffness, basis), asm(source, basis))
    there = basis.probes(1e-3 * np.array([[300.0, 120.0], [5.0, 15.0]])) @ solved
    np.testing.assert_allclose(found, there, rtol=4e-3)


@pytest.mark.invariant
def test_what_goes_in_is_kept_or_lost(joint: Modes) -> None:
    """Energy balance to 0.1 %: absorbed = stored + lost, by trapezoids over the run's own times."""
    plate, times = joint.plate, np.linspace(0.0, 1200.0, 601)
    flux = gaussian(joint, 400.0, 150.0, (300.0, 10.0))
    x, y = np.meshgrid(plate.along_mm, plate.across_mm, indexing="ij")
    everywhere = joint.at(np.column_stack([x.ravel(), y.ravel()]))
    lamp = Stretch(0.0, np.inf, joint.project(flux))
    celsius = run(joint, [lamp], nonlinear, np.array([20.0]), times, everywhere)[0]
    area = plate.along_m * 1e-3 * float(plate.width_mm[0])
    absorbed = 1200.0 * area * flux.sum()
    capacity = np.tile(plate.capacity, len(plate.along_mm))
    stored = area * float(capacity @ (celsius[:, -1] - 20.0))
    lost = area * float(np.trapezoid(nonlinear(celsius).sum(axis=0), times))
    assert stored + lost == pytest.approx(absorbed, rel=1e-3)
    assert 0.2 * absorbed < lost < 0.9 * absorbed


@pytest.mark.second_route
def test_without_conduction_every_spot_is_by_itself(every_time: None) -> None:
    """The lumped model of a spot, which is checked against worked examples of its own."""
    still = Layer(1e-9, 2700.0, 900.0, 2.0)
    modes = modes_of(plate_of((0, 600), [Strip(100, (still,))], 25.0))
    setup = PanelSetup(
        spots_mm=np.array([312.5]),
        air_C=np.array([20.0]),
        surroundings_C=np.array([20.0]),
        start_C=np.array([20.0]),
        heat_capacity=4860.0,
        emissivity=np.array([1.5]),
        convection=ConvectiveLoss.still_air(20.0, 0.6),
        convection_factor=np.array([1.0]),
        lamps=(
            LampSetup(
                np.array([900.0]), np.array([450.0]), (300.0, 100.0), (300.0, 12.5),
                np.array([0.65]), ((0.0, 30.0),),
            ),
        ),
        until_min=60.0,
    )  # fmt: skip
    history = panel_history(setup)
    cells = (len(modes.plate.along_mm), len(modes.plate.across_mm), 1)
    own = setup.lamps[0].absorbed(np.array([312.5]))[0, 0]
    flux = np.full(cells, own)

    def loss(celsius: Floats) -> Floats:
        convected, _ = setup.convection.at(celsius - 20.0)
        out: Floats = convected + STEFAN_BOLTZMANN * 1.5 * ((celsius + 273.15) ** 4 - 293.15**4)
        return out

    lamp = Stretch(0.0, 1800.0, modes.project(flux))
    watch = modes.at(np.array([[312.5, 37.5]]))
    found = run(modes, [lamp], loss, np.array([20.0]), 60.0 * history.minutes, watch)[0, 0]
    np.testing.assert_allclose(found, history.celsius[0, 0], atol=0.06)


@pytest.mark.invariant
def test_few_modes_are_enough_for_a_lamp_that_stands_off(joint: Modes) -> None:
    few = modes_of(joint.plate, (14, 10))
    times = grid_s(2400.0, (1200.0,))
    np.testing.assert_allclose(warm_joint(times, few), warm_joint(times, joint), atol=0.6)


@pytest.mark.exact
def test_rows_end_where_strips_do() -> None:
    plate = plate_of((0, 100), [Strip(25, (SHEET,)), Strip(15, (INNER,))], 20.0)
    assert plate.width_mm.tolist() == [12.5, 12.5, 15.0]
    assert plate.across_mm.tolist() == [6.25, 18.75, 32.5]
    assert plate.conductance == pytest.approx([0.160, 0.160, 0.195])
    assert plate.capacity == pytest.approx([2430.0, 2430.0, 3645.0])


@pytest.mark.exact
def test_a_graded_strip_is_as_wide_as_before_and_grows() -> None:
    strips = graded(Strip(300.0, (SHEET,)), 15.0, 1.5, outward=True)
    widths = [strip.width_mm for strip in strips]
    assert sum(widths) == pytest.approx(300.0)
    assert widths == sorted(widths)
    assert widths[1] / widths[0] == pytest.approx(1.5)
    assert [s.width_mm for s in graded(Strip(9.0, (SHEET,)), 15.0, 1.5, outward=False)] == [9.0]


@pytest.mark.second_route
def test_uneven_rows_find_what_even_ones_find(joint: Modes) -> None:
    strips = (
        *graded(JOINT[0], 12.0, 1.3, outward=False),
        JOINT[1],
        *graded(JOINT[2], 12.0, 1.3, outward=True),
    )
    uneven = modes_of(plate_of((0, 600), strips, 60.0, first_mm=-240))
    times = grid_s(1200.0)
    np.testing.assert_allclose(warm_joint(times, uneven), warm_joint(times, joint), atol=0.8)


@pytest.mark.exact
def test_the_differences_of_the_exponential_are_smooth_through_nought() -> None:
    z = np.array([-40.0, -1.0, -1.0001e-4, -0.9999e-4, 0.0])
    exp, first, second = phi(z)
    np.testing.assert_allclose(exp, np.exp(z))
    np.testing.assert_allclose(first[2:], [0.99995, 0.99995, 1.0], atol=1e-8)
    np.testing.assert_allclose(second[2:], [0.5, 0.5, 0.5], atol=1e-4)
    assert first[0] == pytest.approx(1 / 40.0)


@pytest.mark.invariant
def test_any_reference_gives_the_same_answer(
    joint: Modes, monkeypatch: pytest.MonkeyPatch, every_time: None
) -> None:
    assert LOSS_REFERENCE == 20.0
    times = np.linspace(0.0, 1200.0, 401)
    usual = warm_joint(times, joint)
    for module in ("plate_modes", "plate_heat"):
        monkeypatch.setattr(f"panelwright.bond.{module}.LOSS_REFERENCE", 12.0)
    other = modes_of(Plate(**vars(joint.plate)))
    np.testing.assert_allclose(warm_joint(times, other), usual, atol=0.01)
