"""Networks of hundreds of points: the same adjustment with sparse matrices.

Every reading touches few unknowns. The weighted Jacobian is kept sparse, the normal matrix is
factored as a chain of blocks, and of the covariance only what is asked for is worked out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjust import MOST_ITERATIONS, search
from panelwright.fit.blocks import Chain, SingularError
from panelwright.fit.pattern import Pattern
from panelwright.fit.sparse_equations import SparseEquations

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    from panelwright.fit.answer import Status
    from panelwright.fit.equations import Equations

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

LARGE = 250
"""Unknowns from which sparse matrices are faster (measured: as fast at 200, twice at 300)."""
_RADIUS_MISS = 0.1
_DAMPING_TRIES = 10


@dataclass(frozen=True)
class LargeLinear:
    """The linear problem at one estimate; as `panelwright.fit.linear.Linear`, but sparse.

    Parameters
    ----------
    residual : array, shape (m,)
        Weighted [1].
    jacobian : sparse array, shape (m, u)
    pattern : Pattern
        Of the Jacobian.
    """

    residual: Floats
    jacobian: csr_array
    pattern: Pattern

    @cached_property
    def sum_of_squares(self) -> float:
        """Sum of the squared weighted residuals."""
        with np.errstate(over="ignore", invalid="ignore"):
            return float(self.residual @ self.residual)

    @cached_property
    def scale(self) -> Floats:
        """Norms of the Jacobian's columns, shape (u,); 1 where a column is nought."""
        squares = np.bincount(self.jacobian.indices, self.jacobian.data**2, self.jacobian.shape[1])
        norms: Floats = np.sqrt(squares)
        norms[norms == 0.0] = 1.0
        return norms

    @cached_property
    def _scaled(self) -> csr_array:
        scaled = self.jacobian.copy()
        scaled.data /= self.scale[scaled.indices]
        return scaled

    @cached_property
    def gradient(self) -> Floats:
        """Half the gradient of the sum of squares by the scaled unknowns, shape (u,)."""
        half: Floats = self._scaled.T @ self.residual
        return half

    @cached_property
    def factor(self) -> Chain:
        """Factor of the normal matrix.

        Raises
        ------
        SingularError
            Where a motion is not held, or too weakly for this way.
        """
        return Chain.of(self.pattern.normal(self._scaled.data))

    @property
    def free(self) -> Floats:
        """No motion is free where this way goes, shape (u, 0)."""
        return np.zeros((len(self.scale), 0))

    @cached_property
    def full_step(self) -> Floats:
        """Scaled Gauss-Newton step."""
        return self.factor.solve(-self.gradient)

    def forecast(self, step: Floats) -> float:
        """By how much a scaled step lowers the sum of squares if the problem is linear."""
        moved = self.moved(step)
        return -float(2.0 * (step @ self.gradient) + moved @ moved)

    def moved(self, step: Floats) -> Floats:
        """How a scaled step changes the weighted residuals, shape (m,)."""
        change: Floats = self._scaled @ step
        return change

    def step(self, radius: float, metric: Floats) -> tuple[Floats, bool]:
        """Scaled step within a radius, and whether it was damped; as in the dense problem."""
        step, factor, damping = self.full_step, self.factor, 0.0
        if np.linalg.norm(metric * step) <= radius:
            return step, False
        for _ in range(_DAMPING_TRIES):
            length = float(np.linalg.norm(metric * step))
            if length <= (1.0 + _RADIUS_MISS) * radius:
                break
            right = metric**2 * step / length
            damping += (length / radius - 1.0) / float(right @ factor.solve(right))
            factor = self._damped(damping, metric)
            step = factor.solve(-self.gradient)
        return step, damping > 0.0

    def _damped(self, damping: float, metric: Floats) -> Chain:
        return Chain.of(self.pattern.normal(self._scaled.data, damping * metric**2))


@dataclass(frozen=True)
class Large:
    """A large network's estimate.

    Parameters
    ----------
    x : array, shape (u,)
        The unknowns [mm, rad, 1].
    residual : array, shape (m,)
        Weighted [1].
    linear : LargeLinear
        As in `panelwright.fit.adjust.Solution`.
    """

    x: Floats
    residual: Floats
    linear: LargeLinear
    status: Status
    iterations: int

    def _between(self, rows: Indices, columns: Indices) -> Floats:
        """Covariance at pairs of unknowns that an equation has in common, shape (n,)."""
        scale = self.linear.scale
        found: Floats = self.linear.factor.inverse_at(rows, columns)
        return found / (scale[rows] * scale[columns])

    @cached_property
    def redundancy(self) -> Floats:
        """Of every equation: 1 − diag(J Q Jᵀ), shape (m,)."""
        jacobian = self.linear.jacobian
        pattern = self.linear.pattern
        one, other = pattern.pairs
        terms = jacobian.data[one] * jacobian.data[other] * np.where(one == other, 1.0, 2.0)
        terms *= self._between(pattern.columns[one], pattern.columns[other])
        taken = np.bincount(pattern.row_of_pair, terms, jacobian.shape[0])
        redundancy: Floats = np.clip(1.0 - taken, 0.0, 1.0)
        return redundancy

    def block(self, unknowns: Indices) -> Floats:
        """Covariance of a few unknowns that meet in some equation, shape (n, n)."""
        rows, columns = np.meshgrid(unknowns, unknowns, indexing="ij")
        return self._between(rows.ravel(), columns.ravel()).reshape(rows.shape)

    @cached_property
    def variances(self) -> Floats:
        """Variance of every unknown, shape (u,)."""
        every = np.arange(len(self.x))
        return self._between(every, every)

    def covariance(self) -> Floats:
        """The whole covariance, shape (u, u)."""
        whole = self.linear.factor.solve(np.eye(len(self.x)))
        covariance: Floats = whole / np.outer(self.linear.scale, self.linear.scale)
        return covariance


def is_large(equations: Equations) -> bool:
    """Whether sparse matrices pay, and these equations can be kept in them.

    Parameters
    ----------
    equations : Equations

    Returns
    -------
    bool
    """
    return equations.geometry.size >= LARGE and equations.heights is None


def adjust_large(equations: Equations, start: Floats) -> Large | None:
    """Adjust a network that its readings hold, with sparse matrices.

    Parameters
    ----------
    equations : Equations
    start : array, shape (u,)
        [mm, rad, 1]

    Returns
    -------
    Large or None
        None where something is not held, or so weakly that it must be looked into.
    """
    sparse = SparseEquations(equations)
    patterns: list[Pattern] = []

    def problem_at(x: Floats) -> LargeLinear:
        residual, jacobian = sparse.weighted(x)
        if not (patterns and patterns[-1].is_of(jacobian)):
            patterns.append(Pattern.of(jacobian))
        return LargeLinear(residual, jacobian, patterns[-1])

    try:
        found = search(problem_at, start, most_iterations=MOST_ITERATIONS)
        _ = found.linear.factor
    except SingularError:
        return None
    return Large(found.x, found.residual, found.linear, found.status, found.iterations)
