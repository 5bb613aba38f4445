"""Time one adjustment with covariance: 24 points, 105 spans, 12 given coordinates.

Compared with scipy.optimize.least_squares on the same residuals, written in the plainest vectorised
form, with numerical and with analytic derivatives, each with the covariance from its last Jacobian.
The linear algebra is held to one thread in all of them.

    python bench/bench_fit.py [repeats]
"""

# ruff: noqa: E402  # the number of threads is set before numpy reads it
from __future__ import annotations

import os

for variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from panelwright.fit.datum import adjust
from panelwright.fit.equations import (
    Distances,
    Equations,
    Observations,
    Priors,
    Projections,
)
from panelwright.fit.geometry import KNOWN, Geometry

Floats = NDArray[np.float64]

POINTS, SPANS, GIVEN = 24, 105, 4
SPAN_U_MM, GIVEN_U_MM, ASTRAY_MM = 1.0, 2.0, 15.0
NUMERICAL_AIM, ANALYTIC_AIM = 15.0, 5.0


@dataclass(frozen=True)
class Case:
    """A simulated network of spans with some coordinates given."""

    start: Floats
    a: NDArray[np.intp]
    b: NDArray[np.intp]
    spans: Floats
    given: Floats


def simulated() -> Case:
    random = np.random.default_rng(24105)
    true = random.uniform((0.0, -850.0, 300.0), (4200.0, 850.0, 1700.0), (POINTS, 3))
    every = np.array([(i, j) for i in range(POINTS) for j in range(i)])
    a, b = every[random.choice(len(every), SPANS, replace=False)].T
    spans = np.linalg.norm(true[a] - true[b], axis=1) + random.normal(0.0, SPAN_U_MM, SPANS)
    given = true[:GIVEN] + random.normal(0.0, GIVEN_U_MM, (GIVEN, 3))
    start = true + random.normal(0.0, ASTRAY_MM, true.shape)
    return Case(start.ravel(), a, b, spans, given.ravel())


def equations_of(case: Case) -> Equations:
    size = 3 * POINTS
    geometry = Geometry(
        case.start.reshape(-1, 3), np.arange(size, dtype=np.intp).reshape(-1, 3), (), size
    )
    given = len(case.given)
    known = np.full(SPANS + given, KNOWN, dtype=np.intp)
    u = np.concatenate([np.full(SPANS, SPAN_U_MM), np.full(given, GIVEN_U_MM)])
    observed = np.concatenate([case.spans, case.given])
    observations = Observations(np.zeros(len(u)), observed, u, known, known)
    return Equations(
        geometry,
        observations,
        Distances(np.arange(SPANS), case.a, case.b, np.ones(SPANS)),
        Projections(
            SPANS + np.arange(given), np.repeat(np.arange(GIVEN), 3), np.tile(np.eye(3), (GIVEN, 1))
        ),
        Priors(np.zeros(0, dtype=np.intp), np.zeros(0)),
    )


def plain(case: Case) -> tuple[Callable[[Floats], Floats], Callable[[Floats], Floats]]:
    rows = np.arange(SPANS)
    fixed = np.zeros((SPANS + len(case.given), 3 * POINTS))
    fixed[SPANS + np.arange(len(case.given)), np.arange(len(case.given))] = 1.0 / GIVEN_U_MM

    def residual(x: Floats) -> Floats:
        xyz = x.reshape(-1, 3)
        between = xyz[case.a] - xyz[case.b]
        length = np.sqrt(np.einsum("ij,ij->i", between, between))
        return np.concatenate(
            [
                (length - case.spans) / SPAN_U_MM,
                (x[: len(case.given)] - case.given) / GIVEN_U_MM,
            ]
        )

    def jacobian(x: Floats) -> Floats:
        xyz = x.reshape(-1, 3)
        between = xyz[case.a] - xyz[case.b]
        unit = between / np.sqrt(np.einsum("ij,ij->i", between, between))[:, None] / SPAN_U_MM
        J = fixed.copy()
        for axis in range(3):
            J[rows, 3 * case.a + axis] = unit[:, axis]
            J[rows, 3 * case.b + axis] = -unit[:, axis]
        return J

    return residual, jacobian


def medians_ms(runs: list[Callable[[], object]], repeats: int) -> list[float]:
    """Median time of each, taken in turns so that a busy machine slows all alike."""
    taken: list[list[float]] = [[] for _ in runs]
    for _ in range(repeats):
        for run, times in zip(runs, taken, strict=True):
            begun = time.process_time()
            run()
            times.append(time.process_time() - begun)
    return [1e3 * statistics.median(times) for times in taken]


def main(repeats: int) -> None:
    case = simulated()
    equations = equations_of(case)
    frame = np.arange(POINTS)
    residual, jacobian = plain(case)

    def numerical() -> tuple[Floats, Floats]:
        found = least_squares(residual, case.start)
        return found.x, np.linalg.inv(found.jac.T @ found.jac)

    def analytic() -> tuple[Floats, Floats]:
        found = least_squares(residual, case.start, jac=jacobian)
        return found.x, np.linalg.inv(found.jac.T @ found.jac)

    ours = adjust(equations, case.start, frame)
    other, covariance = analytic()
    np.testing.assert_allclose(ours.x, other, atol=1e-3)
    np.testing.assert_allclose(ours.covariance, covariance, rtol=1e-3, atol=1e-3)

    own_ms, numerical_ms, analytic_ms = medians_ms(
        [lambda: adjust(equations, case.start, frame), numerical, analytic], repeats
    )
    print(f"{POINTS} points, {SPANS} spans, {ours.iterations} iterations, dof {ours.dof}")
    print(f"panelwright.fit                       {own_ms:8.2f} ms")
    for name, ms, aim in (
        ("least_squares, numerical derivatives", numerical_ms, NUMERICAL_AIM),
        ("least_squares, analytic derivatives ", analytic_ms, ANALYTIC_AIM),
    ):
        print(f"{name}  {ms:8.2f} ms  ratio {ms / own_ms:6.1f}  (aim {aim:g})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50)
