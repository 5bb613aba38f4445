"""Equivalent age against the maturity standard and a lamp history."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from panelwright.bond.age import equivalent_age, minutes_to_age
from panelwright.bond.arrhenius import cure_rate


def lamp_history(minutes: np.ndarray) -> np.ndarray:
    """23 °C, 47 K up with a time constant of 4 min for 30 min, then down with the same."""
    rise = 47.0 * (1.0 - np.exp(-np.minimum(minutes, 30.0) / 4.0))
    return 23.0 + rise * np.exp(-np.maximum(minutes - 30.0, 0.0) / 4.0)


@pytest.mark.published
@pytest.mark.parametrize(("reference", "hours"), [(20.0, 22.939), (23.0, 19.299)])
def test_ten_hours_at_35_with_the_standard_s_default(reference: float, hours: float) -> None:
    # ASTM C1074 arithmetic with Q = 5000 K (default from memory); ages [computed].
    energy = 5000.0 * 8.314462618e-3
    age = equivalent_age(
        np.array([0.0, 300.0, 600.0]),
        np.full(3, 35.0),
        reference_C=reference,
        energy_kJ_mol=energy,
    )
    assert age[-1] / 60.0 == pytest.approx(hours, abs=6e-4)


@pytest.mark.published
def test_lamp_history() -> None:
    # 58 kJ/mol: 588.83 equivalent minutes at 23 °C while heating, 73.21 in the next 30 min; an
    # ideal 30 min at 70 °C would count 755.54 [computed].
    minutes = np.linspace(0.0, 60.0, 2401)
    age = equivalent_age(minutes, lamp_history(minutes), reference_C=23.0, energy_kJ_mol=58.0)
    assert age[1200] == pytest.approx(588.83, abs=0.02)
    assert age[-1] - age[1200] == pytest.approx(73.21, abs=0.02)
    assert 30.0 * float(cure_rate(70.0, 23.0, 58.0)) == pytest.approx(755.54, abs=0.02)


@pytest.mark.second_route
def test_lamp_history_by_adaptive_quadrature() -> None:
    minutes = np.linspace(0.0, 60.0, 2401)
    age = equivalent_age(minutes, lamp_history(minutes), reference_C=23.0, energy_kJ_mol=45.36)
    exact, _ = quad(
        lambda m: float(cure_rate(lamp_history(np.array(m)), 23.0, 45.36)), 0, 60, points=[30]
    )
    assert age[-1] == pytest.approx(exact, rel=1e-5)


@pytest.mark.exact
def test_trapezoid_is_of_second_order() -> None:
    fine = np.linspace(0.0, 30.0, 200_001)
    exact = equivalent_age(fine, lamp_history(fine), reference_C=23.0, energy_kJ_mol=58.0)[-1]

    def error(count: int) -> float:
        minutes = np.linspace(0.0, 30.0, count + 1)
        age = equivalent_age(minutes, lamp_history(minutes), reference_C=23.0, energy_kJ_mol=58.0)
        return abs(float(age[-1] - exact))

    assert error(60) / error(120) == pytest.approx(4.0, rel=0.05)


@pytest.mark.invariant
@given(
    steps=st.lists(st.floats(0.1, 60.0), min_size=2, max_size=8),
    temperatures=st.lists(st.floats(0.0, 90.0), min_size=8, max_size=8),
    part=st.floats(0.01, 1.5),
)
def test_the_minute_of_an_age_has_that_age(
    steps: list[float], temperatures: list[float], part: float
) -> None:
    minutes = np.concatenate([[0.0], np.cumsum(steps)])
    history = np.array([temperatures[k % 8] for k in range(len(minutes))])
    age = equivalent_age(minutes, history, reference_C=23.0, energy_kJ_mol=58.0)
    wanted = part * age[-1]
    last = cure_rate(np.array([20.0]), 23.0, 58.0)
    (found,) = minutes_to_age(minutes, age[None, :], np.array([wanted]), last)
    inside = np.interp(found, minutes, age) + max(found - minutes[-1], 0.0) * last[0]
    assert inside == pytest.approx(wanted, rel=1e-9)
