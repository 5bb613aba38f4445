"""Degree of cure against closed forms, a published set, and another solver."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.bond.conftest import Make

from panelwright.bond.kamal import Kamal, degree_of_cure
from panelwright.bond.room import bond_answer
from panelwright.errors import PanelwrightError

PREPREG = Kamal(0.0, 0.0, 1.53e5, 66.5 * 8.314462618 / 8.314, 0.813, 2.74, start=0.001)
"""One-term set of a prepreg epoxy, 66.5 kJ/mol [seen, public code], whose values at check points
were made with R = 8.314 J/(mol K); diffusion [from memory: Hubert 2001]."""
LIMITED = replace(PREPREG, diffusion=(43.09, -1.684, 5.475e-3))
MADE = {"a2": 1e5, "e2": 60.0, "m": 1.0, "n": 2.0, "start": 0.01, "source": "invented"}


def steady(kinetics: Kamal, celsius: float, *minutes: float) -> list[float]:
    times = np.array([0.0, *minutes])
    return degree_of_cure(times, np.full(len(times), celsius), kinetics)[1:].tolist()


@pytest.mark.exact
@pytest.mark.parametrize(
    ("n", "expected"),
    [
        # k1 = 0.01, k2 = 0.2 a minute, m = 1: closed forms [computed apart].
        (1.0, {10.0: 0.254425, 20.0: 0.757747, 40.0: 0.995299}),
        (2.0, {10.0: 0.216133, 20.0: 0.532309, 40.0: 0.805340, 100.0: 0.939350}),
    ],
)
def test_closed_forms(n: float, expected: dict[float, float]) -> None:
    made = Kamal(0.01 / 60, 0.0, 0.2 / 60, 0.0, 1.0, n)
    assert steady(made, 23.0, *expected) == pytest.approx(list(expected.values()), abs=2e-6)


@pytest.mark.published
@pytest.mark.parametrize(
    ("celsius", "free", "limited"),
    [
        # Constants seen, integrated apart to four places [computed].
        (150.0, [0.0537, 0.2713, 0.5982, 0.7791], [0.0537, 0.2713, 0.5942, 0.6803]),
        (180.0, [0.5450, 0.7535, 0.8555, 0.9104], [0.5450, 0.7509, 0.8198, 0.8451]),
    ],
)
def test_a_published_set(celsius: float, free: list[float], limited: list[float]) -> None:
    times = (30.0, 60.0, 120.0, 240.0)
    assert steady(PREPREG, celsius, *times) == pytest.approx(free, abs=1e-4)
    assert steady(LIMITED, celsius, *times) == pytest.approx(limited, abs=1e-4)


@pytest.mark.second_route
def test_a_ramp_by_another_solver() -> None:
    times, celsius = np.array([0.0, 60.0, 150.0]), np.array([20.0, 160.0, 130.0])

    def slope(t: float, y: Any) -> list[float]:
        return [LIMITED.rate(float(y[0]), float(np.interp(t, times, celsius)))]

    theirs = solve_ivp(slope, (0, 150), [0.001], "LSODA", times, rtol=1e-9, atol=1e-12, max_step=1)
    assert degree_of_cure(times, celsius, LIMITED) == pytest.approx(theirs.y[0], abs=2e-6)


def test_a_cure_beyond_all_sense_ends_at_one() -> None:
    wild = Kamal(1e30, 1.0, 1e30, 1.0, 5.0, 0.0)
    assert steady(wild, 80.0, 1.0, 1e5) == [1.0, 1.0]


def with_kinetics(**keys: object) -> Any:
    return lambda data: data["adhesive"][0].update(kinetics={**MADE, **keys})


def test_the_second_route_stands_beside_the_first(make: Make) -> None:
    plain, both = bond_answer(make()).joints[0], bond_answer(make(with_kinetics())).joints[0]
    assert plain.degree is None
    assert both.full_min == plain.full_min
    assert both.degree is not None
    assert both.degree.at_handle is not None
    assert both.degree.at_full is not None
    assert 0.01 < both.degree.at_handle < both.degree.at_full < 1.0
    assert "published kinetics (invented)" in both.notes[-1]


@pytest.mark.parametrize(
    ("a2", "words"), [(1e9, "do not agree"), (1e2, "has not reached"), (1.2e7, "agree with it")]
)
def test_routes_are_compared(make: Make, a2: float, words: str) -> None:
    assert words in bond_answer(make(with_kinetics(a2=a2))).joints[0].notes[-1]


@pytest.mark.parametrize("keys", [{"a2": -1.0}, {"n": "x"}, {"source": ""}, {"e2": 6e4}])
def test_kinetics_that_cannot_be_are_refused(make: Make, keys: dict[str, object]) -> None:
    with pytest.raises(PanelwrightError, match="kinetics"):
        make(with_kinetics(**keys))
