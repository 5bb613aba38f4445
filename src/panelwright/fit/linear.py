"""The linear least-squares problem at one estimate: normal matrix, step, covariance, free motions.

Everything is done in unknowns scaled to Jacobian columns of norm 1, so that millimetres, radians
and scale factors weigh alike. Of symmetric matrices only the lower triangle is filled.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import blas, lapack

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_SINGULAR = 1e-12
"""Reciprocal condition of the scaled normal matrix below which rank is looked into."""
_SMALL_PIVOT = 1e-6
"""With all squared pivots above it the condition is not worth its price."""
_UNSEEN = 1e-6
"""Singular value of the scaled Jacobian, relative to the largest, that counts as nought."""
_RADIUS_MISS = 0.1
"""How far a damped step may miss the trust radius, relative."""
_LEAST_DAMPING = 1e-9
"""Where damping starts if the normal matrix cannot be factored without."""
_DAMPING_TRIES = 10


@dataclass(frozen=True)
class Linear:
    """The problem at one estimate.

    Parameters
    ----------
    residual : array, shape (m,)
        Weighted residuals [1].
    jacobian : array, shape (m, u)
        Their derivatives.
    """

    residual: Floats
    jacobian: Floats

    @cached_property
    def sum_of_squares(self) -> float:
        """Sum of the squared weighted residuals; infinite where a trial went far astray."""
        with np.errstate(over="ignore", invalid="ignore"):
            return float(self.residual @ self.residual)

    @cached_property
    def _unscaled_normal(self) -> Floats:
        if not self.jacobian.size:  # BLAS refuses an empty matrix
            return np.zeros((self.jacobian.shape[1],) * 2)
        lower: Floats = blas.dsyrk(1.0, self.jacobian.T, lower=1)
        return lower

    @cached_property
    def scale(self) -> Floats:
        """Norms of the Jacobian's columns, shape (u,); 1 where a column is nought."""
        norms: Floats = np.sqrt(self._unscaled_normal.diagonal())
        norms[norms == 0.0] = 1.0
        return norms

    @cached_property
    def normal(self) -> Floats:
        """Normal matrix of the scaled unknowns, shape (u, u), lower triangle."""
        shrink = 1.0 / self.scale
        lower: Floats = self._unscaled_normal * shrink
        lower *= shrink[:, None]
        return lower

    @cached_property
    def gradient(self) -> Floats:
        """Half the gradient of the sum of squares by the scaled unknowns, shape (u,)."""
        half: Floats = (self.residual @ self.jacobian) / self.scale
        return half

    @cached_property
    def factor(self) -> Floats | None:
        """Lower Cholesky factor of the normal matrix, or None where that is singular for us."""
        # The factor of the unscaled matrix, its rows scaled, is that of the scaled one.
        factor, failed = lapack.dpotrf(self._unscaled_normal, lower=1)
        if failed:
            return None
        factor *= (1.0 / self.scale)[:, None]
        smallest = float(factor.diagonal().min(initial=1.0))
        if smallest**2 < _SMALL_PIVOT and self._reciprocal_condition(factor) < _SINGULAR:
            return None
        lower: Floats = factor
        return lower

    def _reciprocal_condition(self, factor: Floats) -> float:
        size = float(np.abs(_whole(self.normal)).sum(axis=0).max())
        condition, _ = lapack.dpocon(factor, size, uplo="L")
        return float(condition)

    def forecast(self, step: Floats) -> float:
        """By how much a scaled step lowers the sum of squares if the problem is linear."""
        moved = self.moved(step)
        return -float(2.0 * (step @ self.gradient) + moved @ moved)

    def moved(self, step: Floats) -> Floats:
        """How a scaled step changes the weighted residuals, shape (m,)."""
        change: Floats = self.jacobian @ (step / self.scale)
        return change

    def step(self, radius: float, metric: Floats) -> tuple[Floats, bool]:
        """Scaled step that lowers the sum of squares most within a radius.

        Parameters
        ----------
        radius : float
            Longest length of metric·step.
        metric : array, shape (u,)

        Returns
        -------
        array, shape (u,)
        bool
            Whether it had to be damped to stay inside.
        """
        step = self.full_step
        if np.linalg.norm(metric * step) <= radius:
            return step, False
        factor, damping = self.factor, 0.0
        if factor is None:
            damping = _LEAST_DAMPING
            factor, step = self._damped(damping, metric)
        for _ in range(_DAMPING_TRIES):
            length = float(np.linalg.norm(metric * step))
            if length <= (1.0 + _RADIUS_MISS) * radius:
                break
            slope, _ = lapack.dtrtrs(factor, metric**2 * step / length, lower=1)
            damping += (length / radius - 1.0) / float(slope @ slope)
            factor, step = self._damped(damping, metric)
        return step, damping > 0.0

    def _damped(self, damping: float, metric: Floats) -> tuple[Floats, Floats]:
        """Cholesky factor and step with `damping`·metric² added to the diagonal."""
        matrix = self.normal.copy()
        np.fill_diagonal(matrix, matrix.diagonal() + damping * metric**2)
        factor, _ = lapack.dpotrf(matrix, lower=1)
        return factor, _solved(factor, -self.gradient)

    @cached_property
    def _singular(self) -> tuple[Floats, Floats, Floats]:
        """Singular value decomposition of the scaled Jacobian, with all right vectors."""
        scaled = self.jacobian / self.scale
        missing = len(self.scale) - len(scaled)
        if missing > 0:
            scaled = np.concatenate([scaled, np.zeros((missing, len(self.scale)))])
        left, values, right = np.linalg.svd(scaled, full_matrices=False)
        return left[: len(self.jacobian)], values, right

    @cached_property
    def full_step(self) -> Floats:
        """Scaled Gauss-Newton step; of least norm where some motions are not held."""
        if self.factor is not None:
            return _solved(self.factor, -self.gradient)
        left, values, right = self._singular
        held = values > _UNSEEN * values[0]
        along = left[:, held].T @ self.residual
        step: Floats = -right[held].T @ (along / values[held])
        return step

    @cached_property
    def free(self) -> Floats:
        """Scaled motions that the equations do not show, orthonormal, shape (u, d)."""
        if not len(self.scale) or self.factor is not None:
            return np.zeros((len(self.scale), 0))
        _, values, right = self._singular
        free: Floats = right[values <= _UNSEEN * values[0]].T
        return free

    @cached_property
    def covariance(self) -> Floats:
        """Covariance of the unknowns, a priori, shape (u, u); needs that nothing is free."""
        if not len(self.scale):
            return np.zeros((0, 0))
        if self.factor is None:
            scaled = np.linalg.pinv(_whole(self.normal), hermitian=True).astype(np.float64)
        else:
            # Not dpotri: its threads take longer to meet than these sizes take to compute.
            scaled = _solved(self.factor, np.eye(len(self.scale)))
        shrink = 1.0 / self.scale
        scaled *= shrink
        scaled *= shrink[:, None]
        covariance: Floats = scaled
        return covariance


def _solved(factor: Floats, right: Floats) -> Floats:
    solution, _ = lapack.dpotrs(factor, right, lower=1)
    step: Floats = solution
    return step


def _whole(lower: Floats) -> Floats:
    """The symmetric matrix of a lower triangle; what stands above the diagonal must be 0."""
    whole: Floats = lower + lower.T
    np.fill_diagonal(whole, lower.diagonal())
    return whole
