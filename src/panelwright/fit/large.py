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
from panelwright.fit.blocks import Chain, Order, SingularError
from panelwright.fit.geometry import KNOWN

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
    order : Order or None
        Of a problem with the same pattern; None: it is worked out.
    """

    residual: Floats
    jacobian: csr_array
    given_order: Order | None = None

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
    def normal(self) -> csr_array:
        """Normal matrix of the scaled unknowns, shape (u, u)."""
        normal: csr_array = (self._scaled.T @ self._scaled).tocsr()
        return normal

    @cached_property
    def gradient(self) -> Floats:
        """Half the gradient of the sum of squares by the scaled unknowns, shape (u,)."""
        half: Floats = self._scaled.T @ self.residual
        return half

    @cached_property
    def order(self) -> Order:
        """Arrangement of the unknowns."""
        return Order.of(self.normal) if self.given_order is None else self.given_order

    @cached_property
    def factor(self) -> Chain:
        """Factor of the normal matrix.

        Raises
        ------
        SingularError
            Where a motion is not held, or too weakly for this way.
        """
        return Chain.of(self.normal, self.order)

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
        from scipy.sparse import diags_array  # noqa: PLC0415 - costs 100 ms

        matrix = self.normal + diags_array(damping * metric**2)
        return Chain.of(matrix.tocsr(), self.order)


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
        one, other = _pairs(jacobian.indptr.astype(np.intp))
        half = one <= other
        one, other = one[half], other[half]
        column = jacobian.indices.astype(np.intp)
        terms = jacobian.data[one] * jacobian.data[other] * np.where(one == other, 1.0, 2.0)
        terms *= self._between(column[one], column[other])
        row = np.repeat(np.arange(jacobian.shape[0]), np.diff(jacobian.indptr))
        taken = np.bincount(row[one], terms, jacobian.shape[0])
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


def _pairs(starts: Indices) -> tuple[Indices, Indices]:
    """All pairs of entries that stand in one row, by where rows start, shape (n,) each."""
    lengths = np.diff(starts)
    one = np.repeat(np.arange(starts[-1]), np.repeat(lengths, lengths))
    begins = np.repeat(starts[:-1], lengths**2)
    within = np.arange(len(one)) - np.repeat(np.cumsum(lengths**2) - lengths**2, lengths**2)
    other = begins + within % np.repeat(np.maximum(lengths, 1), lengths**2)
    return one, other


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
    orders: list[Order] = []

    def problem_at(x: Floats) -> LargeLinear:
        found = LargeLinear(*sparse.weighted(x), orders[0] if orders else None)
        if not orders:
            orders.append(found.order)
        return found

    try:
        found = search(problem_at, start, most_iterations=MOST_ITERATIONS)
        _ = found.linear.factor
    except SingularError:
        return None
    return Large(found.x, found.residual, found.linear, found.status, found.iterations)


@dataclass(frozen=True)
class SparseEquations:
    """The same equations with a sparse Jacobian; without heights along leaning uprights."""

    equations: Equations

    def weighted(self, x: Floats) -> tuple[Floats, csr_array]:
        """Residuals over their uncertainty, and their sparse derivatives.

        Parameters
        ----------
        x : array, shape (u,)
            [mm, rad, 1]

        Returns
        -------
        residual : array, shape (m + p,)
        jacobian : sparse array, shape (m + p, u)
        """
        from scipy.sparse import csr_array, vstack  # noqa: PLC0415 - costs 100 ms

        all_ = self.equations
        placed = all_.geometry.place(x)
        true, row, column, value = self._true(placed.xyz)
        columns, factors = self._follow(placed.posed)
        shape = len(all_.observations), 3 * all_.geometry.count
        jacobian = csr_array((value, (row, column)), shape=shape) @ csr_array(
            (factors, columns), shape=(shape[1], all_.geometry.size)
        )
        read, by_tools, factor = self._read_by_tools(x, true)
        weight = 1.0 / all_.observations.u
        jacobian.data *= np.repeat(factor * weight, np.diff(jacobian.indptr))
        residual = (read - all_.observations.observed) * weight
        by_tools.data *= np.repeat(weight, np.diff(by_tools.indptr))
        jacobian = (jacobian + by_tools).tocsr()
        count = len(all_.priors.u)
        if count:
            held = (1.0 / all_.priors.u, (np.arange(count), all_.priors.unknown))
            prior = csr_array(held, shape=(count, all_.geometry.size))
            jacobian = vstack([jacobian, prior], format="csr")
            residual = np.concatenate([residual, x[all_.priors.unknown] / all_.priors.u])
        if all_.kept is None:
            return residual, jacobian
        return residual[all_.kept], jacobian[np.flatnonzero(all_.kept)]

    def _true(self, xyz: Floats) -> tuple[Floats, Indices, Indices, Floats]:
        """What a perfect tool would read, and how it follows the nodes' axes."""
        given = self.equations
        ends, flat = given.distances, given.projections
        between = xyz[ends.a] - xyz[ends.b]
        length = np.sqrt(np.einsum("ij,ij->i", between, between))
        unit = between / np.where(length > 0.0, length, 1.0)[:, None]
        unit[length == 0.0] = 3.0**-0.5
        signed = ends.sign[:, None] * unit
        true = given.observations.constant + np.bincount(
            ends.row, ends.sign * length, len(given.observations)
        )
        true += np.bincount(flat.row, np.einsum("ij,ij->i", flat.along, xyz[flat.node]), len(true))
        nodes = np.concatenate([ends.a, ends.b, flat.node])
        rows = np.concatenate([ends.row, ends.row, flat.row])
        column = (3 * nodes[:, None] + np.arange(3)).ravel()
        value = np.concatenate([signed, -signed, flat.along]).ravel()
        return true, np.repeat(rows, 3), column, value

    def _follow(self, posed: Floats) -> tuple[tuple[Indices, Indices], Floats]:
        """Derivatives of all nodes' axes by the unknowns: rows and columns, values."""
        geometry = self.equations.geometry
        axes, unknowns = geometry.root_axes
        flat = posed.reshape(-1, geometry.size)
        row, column = np.nonzero(flat)
        rows = np.concatenate([axes, 3 * len(geometry.roots) + row])
        values = np.concatenate([np.ones(len(axes)), flat[row, column]])
        return (rows, np.concatenate([unknowns, column])), values

    def _read_by_tools(self, x: Floats, true: Floats) -> tuple[Floats, csr_array, Floats]:
        """What the tools read, how that follows their scale and offset, and the scale."""
        from scipy.sparse import csr_array  # noqa: PLC0415 - costs 100 ms

        seen = self.equations.observations
        factor, read = np.ones(len(true)), true
        rows, columns, values = [], [], []
        for unknown, by, at in (
            (seen.scale, seen.scale_by, true),
            (seen.offset, seen.offset_by, np.ones(len(true))),
        ):
            which = np.flatnonzero(unknown != KNOWN)
            share = np.ones(len(which)) if by is None else by[which]
            rows.append(which)
            columns.append(unknown[which])
            values.append(share * at[which])
            if at is true:
                factor[which] += share * x[unknown[which]]
                read = true * factor
            else:
                read = read.copy()
                read[which] += share * x[unknown[which]]
        told = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
        shape = len(true), self.equations.geometry.size
        return read, csr_array(told, shape=shape), factor
