"""Nonlinear least squares: arrays in, arrays out.

Gauss-Newton on the normal equations of the column-scaled Jacobian, with Levenberg's damping where
a step would leave the region in which the last steps went as forecast. Where the equations do not
hold every motion, the step of least norm is taken and the motions that are free are given back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import lapack

from panelwright.fit.answer import Status

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Evaluate = Callable[[Floats], tuple[Floats, Floats]]

STEP_IN_U = 1e-6
"""A step shorter than this share of the standard uncertainty in every unknown ends the search."""
ROUNDING = 16.0 * float(np.finfo(float).eps)
"""A gain below this share of the sum of squares is lost in rounding, and ends the search too."""
MOST_ITERATIONS = 200
_SINGULAR = 1e-14
"""Reciprocal condition of the scaled normal matrix below which rank is looked into."""
_UNSEEN = 1e-7
"""Singular value of the scaled Jacobian, relative to the largest, that counts as nought."""
_RADIUS_MISS = 0.1
"""How far a damped step may miss the trust radius, relative."""
_DAMPING_TRIES = 10
_LEAST_HELD = 1e-4
"""A step is taken where at least this share of the forecast gain came true."""


@dataclass(frozen=True)
class Solution:
    """Least-squares estimate.

    Parameters
    ----------
    x : array, shape (u,)
        Estimate.
    residual : array, shape (m,)
        Weighted residuals there [1].
    jacobian : array, shape (m, u)
        Their derivative there.
    free : array, shape (u, d)
        Motions of the unknowns that the equations do not show, orthonormal in the units of
        `scale`; d = 0 where everything is held.
    scale : array, shape (u,)
        Norms of the Jacobian's columns.
    status : Status
    iterations : int
    """

    x: Floats
    residual: Floats
    jacobian: Floats
    free: Floats
    scale: Floats
    status: Status
    iterations: int

    @property
    def rank(self) -> int:
        """Rank of the Jacobian."""
        return len(self.x) - int(self.free.shape[1])

    @cached_property
    def covariance(self) -> Floats:
        """Covariance of the estimate, a priori, shape (u, u); needs that nothing is free."""
        scaled = self.jacobian / self.scale
        covariance: Floats = inverse(scaled.T @ scaled) / np.outer(self.scale, self.scale)
        return covariance

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
) -> Solution:
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
        The search ends at an undamped step shorter than this in the norm of the normal matrix: by
        Cauchy-Schwarz no unknown then moves by more than this share of its uncertainty.

    Returns
    -------
    Solution

    References
    ----------
    J. J. Moré, The Levenberg-Marquardt algorithm, Lecture Notes in Mathematics 630 (1978)
    105-116: trust radius and scaling (from memory).
    """
    x = np.array(start, dtype=float)
    residual, jacobian = evaluate(x)
    metric = _column_norms(jacobian)
    radius = float(np.linalg.norm(metric * x)) or np.inf
    status = Status.NOT_CONVERGED if len(x) else Status.CONVERGED
    iterations = 0
    while status is Status.NOT_CONVERGED and iterations < most_iterations:
        iterations += 1
        scale = _column_norms(jacobian)
        metric = np.maximum(metric, scale)
        local = _Local(jacobian / scale, residual, metric / scale)
        step, damped = local.step(radius)
        sum_of_squares = float(residual @ residual)
        short = local.forecast(step) < max(step_in_u**2, ROUNDING * sum_of_squares)
        trial = x + step / scale
        trial_residual, trial_jacobian = evaluate(trial)
        gain = sum_of_squares - float(trial_residual @ trial_residual)
        held = gain / max(local.forecast(step), np.finfo(float).tiny)
        radius = _next_radius(radius, local.length(step), held, damped=damped)
        if short and not damped:
            status = Status.CONVERGED
        if status is Status.CONVERGED or held > _LEAST_HELD:
            x, residual, jacobian = trial, trial_residual, trial_jacobian
    scale = _column_norms(jacobian)
    return Solution(x, residual, jacobian, _free(jacobian / scale), scale, status, iterations)


def _column_norms(jacobian: Floats) -> Floats:
    norms: Floats = np.sqrt(np.einsum("ij,ij->j", jacobian, jacobian))
    norms[norms == 0.0] = 1.0
    return norms


def _next_radius(radius: float, length: float, held: float, *, damped: bool) -> float:
    """Trust radius after a step of which the share `held` of the forecast came true."""
    if not held > 0.25:
        return (0.5 if held > 0.0 else 0.25) * min(radius, length)
    if held > 0.75 or not damped:
        return 2.0 * length
    return radius


@dataclass(frozen=True)
class _Local:
    """The linear problem at one estimate.

    Parameters
    ----------
    scaled : array, shape (m, u)
        Jacobian with columns of norm 1.
    residual : array, shape (m,)
    metric : array, shape (u,)
        Weights of the unknowns in the length of a step.
    """

    scaled: Floats
    residual: Floats
    metric: Floats

    @cached_property
    def normal(self) -> Floats:
        """Normal matrix."""
        matrix: Floats = self.scaled.T @ self.scaled
        return matrix

    @cached_property
    def gradient(self) -> Floats:
        """Half the gradient of the sum of squares."""
        half: Floats = self.scaled.T @ self.residual
        return half

    def length(self, step: Floats) -> float:
        """Length of a step in the metric."""
        return float(np.linalg.norm(self.metric * step))

    def forecast(self, step: Floats) -> float:
        """By how much the step lowers the sum of squares if the problem is linear."""
        return -float(step @ (2.0 * self.gradient + self.normal @ step))

    def step(self, radius: float) -> tuple[Floats, bool]:
        """Step within the radius, and whether it had to be damped to stay there."""
        factor = _cholesky(self.normal)
        if factor is None:
            step = self._least_step()
            length = self.length(step)
            return (step, False) if length <= radius else (step * (radius / length), True)
        step = _back(factor, -self.gradient)
        damping = 0.0
        for _ in range(_DAMPING_TRIES):
            length = self.length(step)
            if length <= (1.0 + _RADIUS_MISS) * radius:
                break
            slope, _ = lapack.dtrtrs(factor, self.metric**2 * step / length, lower=1)
            damping += (length / radius - 1.0) / float(slope @ slope)
            factor, _ = lapack.dpotrf(self._damped(damping), lower=1)
            step = _back(factor, -self.gradient)
        return step, damping > 0.0

    def _damped(self, damping: float) -> Floats:
        matrix = self.normal.copy()
        matrix.flat[:: len(matrix) + 1] += damping * self.metric**2
        return matrix

    def _least_step(self) -> Floats:
        """Gauss-Newton step of least norm where some motions are not held."""
        values, vectors = np.linalg.eigh(self.normal)
        held = values > _UNSEEN**2 * values[-1]
        along = vectors[:, held].T @ self.gradient
        step: Floats = -vectors[:, held] @ (along / values[held])
        return step


def _cholesky(matrix: Floats) -> Floats | None:
    """Lower factor of a matrix, or None where it is singular for our purposes."""
    factor, failed = lapack.dpotrf(matrix, lower=1)
    if failed or _reciprocal_condition(factor, matrix) < _SINGULAR:
        return None
    lower: Floats = factor
    return lower


def _back(factor: Floats, right: Floats) -> Floats:
    solution, _ = lapack.dpotrs(factor, right, lower=1)
    step: Floats = solution
    return step


def _reciprocal_condition(factor: Floats, matrix: Floats) -> float:
    size = float(np.max(np.sum(np.abs(matrix), axis=0)))
    condition, _ = lapack.dpocon(factor, size, uplo="L")
    return float(condition)


def inverse(normal: Floats) -> Floats:
    """Inverse of a positive definite matrix, shape (u, u); the pseudo-inverse where it is not."""
    if not len(normal):
        return normal
    factor, failed = lapack.dpotrf(normal, lower=1)
    if failed:
        pseudo: Floats = np.linalg.pinv(normal, hermitian=True).astype(np.float64)
        return pseudo
    lower, _ = lapack.dpotri(factor, lower=1)
    whole: Floats = np.tril(lower) + np.tril(lower, -1).T
    return whole


def _free(scaled: Floats) -> Floats:
    """Right null space of the scaled Jacobian, shape (u, d)."""
    size = scaled.shape[1]
    if size == 0 or _cholesky(scaled.T @ scaled) is not None:
        return np.zeros((size, 0))
    if len(scaled) < size:
        scaled = np.concatenate([scaled, np.zeros((size - len(scaled), size))])
    _, values, rows = np.linalg.svd(scaled, full_matrices=False)
    free: Floats = rows[values <= _UNSEEN * values[0]].T
    return free
