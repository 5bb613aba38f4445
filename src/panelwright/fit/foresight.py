"""What would be known after further readings: covariances, before anything is read.

Adding rows A with variances V to a covariance Q takes Q Aᵀ (A Q Aᵀ + V)⁻¹ A Q away. Rows follow
the shared errors of tools among the unknowns, so that the next reading of a tool is not fresh
noise where the tool errs.

References
----------
G. Strang, K. Borre, Linear Algebra, Geodesy, and GPS, 1997, chapter 17: updating a least-squares
problem by new observations (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.candidates import Pool

    Floats = NDArray[np.float64]

_NOUGHT = 1e-6
_ROUNDING = 1e-14


def divided(inner: Floats, right: Floats) -> Floats:
    """Solve inner·x = right for a covariance of readings.

    Where next to nothing is known of something, two readings of it are one and the same but for
    rounding: the diagonal is raised by 1e-14 of itself, far below any reading's own variance
    elsewhere.

    Parameters
    ----------
    inner : array, shape (r, r)
        Symmetric, its diagonal above 0.
    right : array, shape (r, n)

    Returns
    -------
    array, shape (r, n)
    """
    size = np.sqrt(np.diagonal(inner))
    scaled = inner / np.outer(size, size)
    scaled[np.diag_indices(len(size))] += _ROUNDING
    solved: Floats = np.linalg.solve(scaled, right / size[:, None]) / size[:, None]
    return solved


@dataclass(frozen=True)
class Outlook:
    """The candidates against what is known so far.

    Parameters
    ----------
    pool : Pool
    own : array, shape (m, v)
        A Q.
    variance : array, shape (m,)
        Of each equation as it would be read: diagonal of A Q Aᵀ + V [mm²].
    across : array, shape (m, k)
        A Q Mᵀ, with M the rows of the places in doubt.
    known : array, shape (k, k)
        M Q Mᵀ.
    """

    pool: Pool
    own: Floats
    variance: Floats
    across: Floats
    known: Floats

    @classmethod
    def of(cls, pool: Pool, covariance: Floats, doubted: Floats) -> Outlook:
        """Before any of the candidates is read; `doubted` has shape (k, v)."""
        own = pool.rows @ covariance
        variance = np.einsum("ij,ij->i", own, pool.rows) + pool.variances
        seen = doubted @ covariance
        return cls(pool, own, variance, pool.rows @ seen.T, seen @ doubted.T)

    def inner(self, rows: slice) -> Floats:
        """A Q Aᵀ + V of a few rows."""
        block = self.own[rows] @ self.pool.rows[rows].T
        matrix: Floats = block + np.diag(self.pool.variances[rows])
        return matrix

    def after(self, candidate: int) -> Outlook:
        """The same once a candidate is read."""
        rows = self.pool.own(candidate)
        inner = self.inner(rows)
        by = self.own @ self.pool.rows[rows].T
        seen = divided(inner, self.across[rows])
        taken = np.einsum("ir,ir->i", by, divided(inner, by.T).T)
        return replace(
            self,
            own=self.own - by @ divided(inner, self.own[rows]),
            # What was free and is held now leaves rounding behind: no reading is surer than itself.
            variance=np.maximum(self.variance - taken, self.pool.variances),
            across=self.across - by @ seen,
            known=self.known - self.across[rows].T @ seen,
        )

    def gains(self) -> Floats:
        """What every equation alone changes the estimates by, for ξ = 1: shape (m, k)."""
        scaled: Floats = self.across / np.sqrt(self.variance)[:, None]
        return scaled

    def relief(self, candidate: int) -> Floats:
        """What one candidate takes away of `known`, shape (k, k)."""
        rows = self.pool.own(candidate)
        taken: Floats = self.across[rows].T @ divided(self.inner(rows), self.across[rows])
        return taken

    def reliefs(self, weights: Floats) -> Floats:
        """What each candidate takes of the doubt, weights · diagonal of `known`, shape (c,)."""
        first = self.pool.first[:-1]
        each = (self.across**2 @ weights) / self.variance
        found: Floats = each[first] if len(first) else np.zeros(0)
        for candidate in np.flatnonzero(~self.pool.single).tolist():
            found[candidate] = np.diagonal(self.relief(candidate)) @ weights
        return found


def with_all(pool: Pool, covariance: Floats) -> Floats:
    """Covariance of the unknowns once every candidate is read, shape (v, v).

    Parameters
    ----------
    pool : Pool
    covariance : array, shape (v, v)

    Returns
    -------
    array, shape (v, v)
    """
    values, axes = np.linalg.eigh(covariance)
    root = axes * np.sqrt(np.maximum(values, 0.0))
    weighted = (pool.rows / np.sqrt(pool.variances)[:, None]) @ root
    inner = np.eye(len(root)) + weighted.T @ weighted
    after: Floats = root @ np.linalg.solve(inner, root.T)
    return after


def with_rows(
    rows: Floats, variances: Floats, covariance: Floats, free: Floats
) -> tuple[Floats, Floats]:
    """Covariance and free motions once some equations are added.

    Motions that nothing held are taken as free without limit, so that what is foretold is what the
    adjustment with these readings finds.

    Parameters
    ----------
    rows : array, shape (r, v)
    variances : array, shape (r,)
    covariance : array, shape (v, v)
    free : array, shape (v, k)
        Motions that nothing holds.

    Returns
    -------
    array, shape (v, v)
    array, shape (v, j)
        Motions that are still free.
    """
    inner = rows @ covariance @ rows.T + np.diag(variances)
    gain = divided(inner, rows @ covariance)
    left = covariance - (rows @ covariance).T @ gain
    if not free.shape[1]:
        return left, free
    shown = rows @ free
    weight = shown.T @ divided(inner, shown)
    values, axes = np.linalg.eigh(weight)
    held = values > _NOUGHT**2 * max(float(np.trace(weight)), _NOUGHT)
    moved = free - (rows @ covariance).T @ divided(inner, shown)
    told = moved @ axes[:, held]
    return left + (told / values[held]) @ told.T, free @ axes[:, ~held]
