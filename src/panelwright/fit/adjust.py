"""Nonlinear least squares: arrays in, arrays out.

Gauss-Newton with Levenberg's damping where a step would leave the region in which the last steps
went as forecast. Where the equations do not hold every motion, the step of least norm is taken and
the motions that are free are given back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Generic, Protocol, TypeVar

import numpy as np

from panelwright.fit.answer import Status
from panelwright.fit.linear import Linear

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Evaluate = Callable[[Floats], tuple[Floats, Floats]]

STEP_IN_U = 1e-6
"""The search ends nearer than this share of the standard uncertainty of every unknown."""
NEAR_ENOUGH_IN_U = 1e-4
"""It ends too where a step fails although no more than this was left to go."""
ROUNDING = 16.0 * float(np.finfo(float).eps)
"""A gain below this share of the sum of squares is lost in rounding, and ends the search too."""
MOST_ITERATIONS = 200
_LEAST_HELD = 1e-4
"""A step is taken where at least this share of the forecast gain came true."""
_TINY = float(np.finfo(float).tiny)


class Problem(Protocol):
    """The linear problem at one estimate, dense or sparse; see `panelwright.fit.linear`."""

    @property
    def residual(self) -> Floats:
        """Weighted residuals, shape (m,)."""

    @property
    def scale(self) -> Floats:
        """Norms of the Jacobian's columns, shape (u,)."""

    @property
    def sum_of_squares(self) -> float:
        """Sum of the squared weighted residuals."""

    @property
    def full_step(self) -> Floats:
        """Scaled Gauss-Newton step, shape (u,)."""

    @property
    def free(self) -> Floats:
        """Scaled motions that the equations do not show, shape (u, d)."""

    def step(self, radius: float, metric: Floats) -> tuple[Floats, bool]:
        """Scaled step within a radius, and whether it was damped."""

    def forecast(self, step: Floats) -> float:
        """By how much a scaled step lowers the sum of squares."""

    def moved(self, step: Floats) -> Floats:
        """How a scaled step changes the weighted residuals, shape (m,)."""


P = TypeVar("P", bound=Problem)


@dataclass(frozen=True)
class Solution(Generic[P]):
    """Least-squares estimate.

    Parameters
    ----------
    x : array, shape (u,)
        Where the search ended.
    residual : array, shape (m,)
        Weighted residuals there [1].
    linear : Problem
        The linear problem there. After convergence it is that before the last step, which was too
        short to change it.
    """

    x: Floats
    residual: Floats
    linear: P
    status: Status
    iterations: int

    @property
    def rank(self) -> int:
        """Rank of the Jacobian."""
        return len(self.x) - int(self.linear.free.shape[1])

    @property
    def sum_of_squares(self) -> float:
        """Sum of the squared weighted residuals."""
        return float(self.residual @ self.residual)


def solve(
    evaluate: Evaluate,
    start: Floats,
    *,
    most_iterations: int = MOST_ITERATIONS,
    step_in_u: float = STEP_IN_U,
) -> Solution[Linear]:
    """Find the unknowns that make the sum of squared weighted residuals least.

    Parameters
    ----------
    evaluate : callable
        Gives weighted residuals, shape (m,), and Jacobian, shape (m, u), for unknowns (u,).
    start : array, shape (u,)
        Where to start.
    most_iterations : int
        From 1.
    step_in_u : float
        The search ends where what is left to go is shorter than this in the norm of the normal
        matrix: by Cauchy-Schwarz no unknown is then further off than this share of its
        uncertainty [1].

    Returns
    -------
    Solution

    References
    ----------
    J. J. Moré, The Levenberg-Marquardt algorithm, Lecture Notes in Mathematics 630 (1978)
    105-116: trust radius and scaling (from memory).
    """
    return search(
        lambda x: Linear(*evaluate(x)),
        start,
        most_iterations=most_iterations,
        step_in_u=step_in_u,
    )


def search(
    problem_at: Callable[[Floats], P],
    start: Floats,
    *,
    most_iterations: int = MOST_ITERATIONS,
    step_in_u: float = STEP_IN_U,
) -> Solution[P]:
    """Find the same for any kind of linear problem; see `solve`.

    Parameters
    ----------
    problem_at : callable
        Gives the linear problem at unknowns, shape (u,).
    start : array, shape (u,)
        Where to start.
    most_iterations : int
        From 1.
    step_in_u : float
        [1]

    Returns
    -------
    Solution
    """
    x = np.array(start, dtype=float)
    here = problem_at(x)
    metric = here.scale
    radius = _norm(metric * x) or np.inf
    iterations, last = 0, 0.0
    while len(x) and iterations < most_iterations:
        iterations += 1
        metric = np.maximum(metric, here.scale)
        step, damped = here.step(radius, metric / here.scale)
        forecast = here.forecast(step)
        trial = x + step / here.scale
        # Steps shrink by a steady factor near the end: what is left after this one is the next.
        left = forecast * (min(forecast / last, 1.0) if last > 0.0 else 1.0)
        if not damped and left < max(step_in_u**2, ROUNDING * here.sum_of_squares):
            residual = here.residual + here.moved(step)
            return Solution(trial, residual, here, Status.CONVERGED, iterations)
        there = problem_at(trial)
        held = (here.sum_of_squares - there.sum_of_squares) / max(forecast, _TINY)
        if forecast < _rounding_of(here, x):
            held = 1.0  # the difference of two sums of squares says no more than their rounding
        length = _norm(metric * step / here.scale)
        radius = _next_radius(radius, length, held, damped=damped)
        if held > _LEAST_HELD:
            x, here, last = trial, there, 0.0 if damped else forecast
        elif here.forecast(here.full_step) < NEAR_ENOUGH_IN_U**2:
            return Solution(x, here.residual, here, Status.CONVERGED, iterations)
    status = Status.NOT_CONVERGED if len(x) else Status.CONVERGED
    return Solution(x, here.residual, here, status, iterations)


def _norm(vector: Floats) -> float:
    """Length of a vector; plain, for `np.linalg.norm` takes longer than these sizes do."""
    return sqrt(float(vector @ vector))


def _rounding_of(linear: Problem, x: Floats) -> float:
    """Gain in the sum of squares that cannot be told from rounding: it is believed."""
    size = _norm(linear.scale * x)
    return ROUNDING * max(linear.sum_of_squares, sqrt(linear.sum_of_squares) * size)


def _next_radius(radius: float, length: float, held: float, *, damped: bool) -> float:
    """Trust radius after a step of which the share `held` of the forecast came true."""
    if not held > 0.25:
        return (0.5 if held > 0.0 else 0.25) * min(radius, length)
    if held > 0.75 or not damped:
        return 2.0 * length
    return radius
