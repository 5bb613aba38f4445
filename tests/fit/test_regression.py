"""The numeric core on the certified nonlinear regressions of NIST (StRD), from both starts.

Data and certified values read in the .dat files that a public fitting library carries (seen).
Six correct digits are asked of every parameter, four of its standard deviation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from panelwright.fit.adjust import solve
from panelwright.fit.answer import Status

Floats = NDArray[np.float64]
Model = Callable[[Floats, Floats], tuple[Floats, Floats]]


@dataclass(frozen=True)
class Case:
    name: str
    x: Floats
    y: Floats
    model: Model
    starts: tuple[tuple[float, ...], tuple[float, ...]]
    certified: tuple[float, ...]
    deviations: tuple[float, ...]
    residual_deviation: float


def rising(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    fall = np.exp(-b[1] * x)
    return b[0] * (1.0 - fall), np.stack([1.0 - fall, b[0] * x * fall], axis=1)


def power(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    value = x ** b[1]
    return b[0] * value, np.stack([value, b[0] * value * np.log(x)], axis=1)


def growth(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    e = np.exp(b[1] - b[2] * x)
    f = b[0] * (1.0 + e) ** (-1.0 / b[3])
    slope = f / b[3] * e / (1.0 + e)
    return f, np.stack([f / b[0], -slope, slope * x, f * np.log1p(e) / b[3] ** 2], axis=1)


def quotient(b: Floats, x: Floats) -> tuple[Floats, Floats]:
    above, below = x**2 + b[1] * x, x**2 + b[2] * x + b[3]
    f = b[0] * above / below
    return f, np.stack([above / below, b[0] * x / below, -f * x / below, -f / below], axis=1)


CASES = (
    Case(
        "Misra1a",
        np.array(
            [
                77.6,
                114.9,
                141.1,
                190.8,
                239.9,
                289.0,
                332.8,
                378.4,
                434.8,
                477.3,
                536.8,
                593.1,
                689.1,
                760.0,
            ]
        ),
        np.array(
            [
                10.07,
                14.73,
                17.94,
                23.93,
                29.61,
                35.18,
                40.02,
                44.82,
                50.76,
                55.05,
                61.01,
                66.40,
                75.47,
                81.78,
            ]
        ),
        rising,
        ((500.0, 0.0001), (250.0, 0.0005)),
        (2.3894212918e02, 5.5015643181e-04),
        (2.7070075241e00, 7.2668688436e-06),
        1.0187876330e-01,
    ),
    Case(
        "DanWood",
        np.array([1.309, 1.471, 1.490, 1.565, 1.611, 1.680]),
        np.array([2.138, 3.421, 3.597, 4.340, 4.882, 5.660]),
        power,
        ((1.0, 5.0), (0.7, 4.0)),
        (7.6886226176e-01, 3.8604055871e00),
        (1.8281973860e-02, 5.1726610913e-02),
        3.2853114039e-02,
    ),
    Case(
        "BoxBOD",
        np.array([1.0, 2.0, 3.0, 5.0, 7.0, 10.0]),
        np.array([109.0, 149.0, 149.0, 191.0, 213.0, 224.0]),
        rising,
        ((1.0, 1.0), (100.0, 0.75)),
        (2.1380940889e02, 5.4723748542e-01),
        (1.2354515176e01, 1.0455993237e-01),
        1.7088072423e01,
    ),
    Case(
        "Rat43",
        np.arange(1.0, 16.0),
        np.array(
            [
                16.08,
                33.83,
                65.80,
                97.20,
                191.55,
                326.20,
                386.87,
                520.53,
                590.03,
                651.92,
                724.93,
                699.56,
                689.96,
                637.56,
                717.41,
            ]
        ),
        growth,
        ((100.0, 10.0, 1.0, 1.0), (700.0, 5.0, 0.75, 1.3)),
        (6.9964151270e02, 5.2771253025e00, 7.5962938329e-01, 1.2792483859e00),
        (1.6302297817e01, 2.0828735829e00, 1.9566123451e-01, 6.8761936385e-01),
        2.8262414662e01,
    ),
    Case(
        "MGH09",
        np.array([4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625]),
        np.array(
            [0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246]
        ),
        quotient,
        ((25.0, 39.0, 41.5, 39.0), (0.25, 0.39, 0.415, 0.39)),
        (1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01),
        (1.1435312227e-02, 1.9633220911e-01, 8.0842031232e-02, 9.0025542308e-02),
        6.6279236551e-03,
    ),
)


@pytest.mark.published
@pytest.mark.parametrize("start", [0, 1], ids=["far", "near"])
@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_a_certified_regression_has_six_digits_from_both_starts(case: Case, start: int) -> None:
    def evaluate(b: Floats) -> tuple[Floats, Floats]:
        # Trial points may lie far off, where a model overflows; the search turns back from them.
        with np.errstate(over="ignore", invalid="ignore"):
            value, jacobian = case.model(b, case.x)
        return (value - case.y) / case.residual_deviation, jacobian / case.residual_deviation

    found = solve(evaluate, np.array(case.starts[start]), step_in_u=1e-8)
    assert found.status is Status.CONVERGED
    np.testing.assert_allclose(found.x, case.certified, rtol=1e-6)
    deviations = np.sqrt(np.diagonal(found.linear.covariance))
    np.testing.assert_allclose(deviations, case.deviations, rtol=1e-4)
    assert found.sum_of_squares == pytest.approx(len(case.y) - len(case.certified), rel=1e-6)


@pytest.mark.exact
def test_a_search_that_is_cut_short_says_so() -> None:
    case = CASES[0]

    def evaluate(b: Floats) -> tuple[Floats, Floats]:
        value, jacobian = case.model(b, case.x)
        return value - case.y, jacobian

    found = solve(evaluate, np.array(case.starts[0]), most_iterations=2)
    assert found.status is Status.NOT_CONVERGED
    assert found.iterations == 2


@pytest.mark.exact
def test_a_linear_problem_is_solved_by_one_step() -> None:
    A = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]])
    found = solve(lambda b: (A @ b - np.array([1.0, 3.0, 5.0]), A), np.array([10.0, 10.0]))
    np.testing.assert_allclose(found.x, [1.0, 2.0], atol=1e-12)
    assert found.iterations == 2


@pytest.mark.exact
def test_what_no_equation_holds_is_free_and_stays_where_it_starts() -> None:
    row = np.array([[1.0, 1.0, 0.0]])
    found = solve(lambda b: (row @ b - 2.0, row), np.array([5.0, 3.0, 7.0]))
    assert found.linear.free.shape == (3, 2)
    np.testing.assert_allclose(found.x, [2.0, 0.0, 7.0], atol=1e-12)
