"""The plate with an end driven through a temperature: NAFEMS T3, a bar in one dimension.

The solver's edges are insulated. A row of nearly boundless capacity holds its temperature, or takes
the one its flux gives it, so bars with held ends are solved by the solver as it stands.
"""

from __future__ import annotations

import numpy as np
import pytest

from panelwright.bond.plate import Layer, Strip, plate_of
from panelwright.bond.plate_heat import Stretch, run
from panelwright.bond.plate_modes import Modes, modes_of

BAR = Layer(35.0, 7200.0, 440.5, 1000.0)
HELD = Layer(1e7, 7.2e6, 4.405e5, 1000.0)
END_S, STEP_S = 32.0, 0.25


def bar(cells: int) -> Modes:
    """100 mm of bar across the plate between two held rows; even along it."""
    strips = (Strip(100.0 / cells, (HELD,)), Strip(100.0, (BAR,)), Strip(100.0 / cells, (HELD,)))
    return modes_of(
        plate_of((0.0, 200.0), strips, 100.0 / cells, first_mm=-100.0 / cells), (1, 999)
    )


def at_20_mm_from_the_driven_end(cells: int) -> float:
    """Temperature 20 mm from the end at 100 sin(πt/40) °C after 32 s, all at 0 °C before [°C]."""
    modes = bar(cells)
    times = np.arange(0.0, END_S + STEP_S / 2, STEP_S)
    driven = 100.0 * np.sin(np.pi * times / 40.0)
    shape = (len(modes.plate.along_mm), len(modes.plate.across_mm), 1)
    stretches = []
    for number, rise in enumerate(np.diff(driven)):
        flux = np.zeros(shape)
        flux[:, -1] = modes.plate.capacity[-1] * rise / STEP_S
        stretches.append(Stretch(times[number], times[number + 1], modes.project(flux)))
    watch = modes.at(np.array([[100.0, 80.0]]))
    found = run(modes, stretches, np.zeros_like, np.zeros(1), times, watch)
    return float(found[0, 0, -1])


def series(place_m: float, second: float) -> float:
    """Fourier series of the bar: the straight line between its ends and sines [°C]."""
    turn, n = np.pi / 40.0, np.arange(1, 400)
    rate = 35.0 / (7200.0 * 440.5) * (n * np.pi / 0.1) ** 2
    lag = rate * np.cos(turn * second) + turn * np.sin(turn * second)
    lag = 100.0 * turn * (lag - rate * np.exp(-rate * second)) / (rate**2 + turn**2)
    sines = -2.0 * (-1.0) ** (n + 1) / (n * np.pi) * lag * np.sin(n * np.pi * place_m / 0.1)
    return float(100.0 * np.sin(turn * second) * place_m / 0.1 + sines.sum())


@pytest.mark.published
def test_nafems_t3_a_bar_with_one_end_driven() -> None:
    """36.60 °C; NAFEMS, The Standard NAFEMS Benchmarks (1990), T3 (from memory)."""
    assert at_20_mm_from_the_driven_end(50) == pytest.approx(36.60, abs=0.05)


@pytest.mark.second_route
def test_a_fifth_of_the_cells_size_has_a_twenty_fifth_of_the_error() -> None:
    """Second order in space towards the Fourier series, which is 36.6031 °C."""
    exact = series(0.08, END_S)
    assert exact == pytest.approx(36.6031, abs=1e-4)
    errors = [abs(at_20_mm_from_the_driven_end(cells) - exact) for cells in (10, 50)]
    assert 1.7 < np.log(errors[0] / errors[1]) / np.log(5.0) < 2.3
