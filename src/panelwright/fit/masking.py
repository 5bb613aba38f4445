"""Two wrong readings that hide each other: neither stands out, but both together do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.snooping import CRITICAL_W, redundancy_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

MOST_PAIRED = 400
"""Readings that are tried two by two: those with the largest |w|."""
APART = 6.0
"""By how much what is blamed must explain more than anything else: odds of e³, 20 to 1."""
_FALSE_ALARM = 0.001
_SINGULAR = 1e-6
_LEAST = 1e-4
MOST_NAMED = 6


@dataclass(frozen=True)
class MaskedPair:
    """Two readings that are wrong together.

    Parameters
    ----------
    rows : tuple of int
        The two; where it is not sure which, all that could be meant.
    statistic : float
        What leaving out the best two takes from the sum of squares [1].
    is_sure : bool
    """

    rows: tuple[int, ...]
    statistic: float
    is_sure: bool


def masked_pair(adjusted: Adjusted, readings: NDArray[np.bool_]) -> MaskedPair | None:
    """The two readings that explain most together, if that is beyond chance.

    vᵀ R⁻¹ v of the two rows, chi-square with 2 degrees of freedom; tested at 0.1 % over all pairs
    (Bonferroni), and each of the two must stand out once the other is left out.

    Parameters
    ----------
    adjusted : Adjusted
    readings : array of bool, shape (m,)
        Which equations may be suspected.

    Returns
    -------
    MaskedPair or None

    References
    ----------
    P. J. G. Teunissen, Network Quality Control: outlier hypotheses of more than one row (from
    memory).
    """
    if int(readings.sum()) < 2 or adjusted.dof <= 2:
        return None
    pairs = _Pairs.of(adjusted, readings)
    if not len(pairs.statistic):
        return None
    best = float(pairs.statistic.max())
    if best <= 2.0 * log(len(pairs.statistic) / _FALSE_ALARM):
        return None
    rivals = pairs.above(best - APART)
    named = tuple(dict.fromkeys(row for pair in rivals for row in pair))
    return MaskedPair(named[:MOST_NAMED], best, len(rivals) == 1)


def as_good(
    adjusted: Adjusted, readings: NDArray[np.bool_], two: tuple[int, int]
) -> tuple[int, ...]:
    """Rows of the pairs that explain the misfit nearly as well as two given rows, or better.

    Parameters
    ----------
    adjusted : Adjusted
        With these two.
    readings : array of bool, shape (m,)
        Which equations may be suspected.
    two : tuple of int
        The rows that were found.

    Returns
    -------
    tuple of int
        Without the two; best first.
    """
    pairs = _Pairs.of(adjusted, readings)
    own = max((s for rows, s in pairs.each() if set(rows) == set(two)), default=np.inf)
    rows = (row for pair in pairs.above(own - APART) for row in pair)
    return tuple(row for row in dict.fromkeys(rows) if row not in two)[:MOST_NAMED]


@dataclass(frozen=True)
class _Pairs:
    """Every two rows of which each stands out once the other is left out; shapes (k,)."""

    one: Indices
    other: Indices
    statistic: Floats

    @classmethod
    def of(cls, adjusted: Adjusted, readings: NDArray[np.bool_]) -> _Pairs:
        among = _candidates(adjusted, readings)
        statistic, alone = _statistics(adjusted, among)
        one, other = np.triu_indices(len(among), 1)
        pairs = statistic[one, other]
        # What each adds to the other: with the other left out, its own w².
        adds = np.minimum(pairs - alone[one], pairs - alone[other])
        pairs = np.where(adds > CRITICAL_W**2, pairs, 0.0)
        return cls(among[one], among[other], pairs)

    def each(self) -> Iterator[tuple[tuple[int, int], float]]:
        """Rows and statistic of every pair."""
        rows = zip(self.one.tolist(), self.other.tolist(), strict=True)
        return zip(rows, self.statistic.tolist(), strict=True)

    def above(self, least: float) -> list[tuple[int, int]]:
        """The pairs that explain more than so much, best first."""
        found = [item for item in self.each() if item[1] > max(least, 0.0)]
        return [rows for rows, _ in sorted(found, key=lambda item: -item[1])]


def _candidates(adjusted: Adjusted, readings: NDArray[np.bool_]) -> Indices:
    redundancy = redundancy_of(adjusted)
    checked: Indices = np.flatnonzero(readings & (redundancy > _LEAST))
    if len(checked) > MOST_PAIRED:
        w = np.abs(adjusted.residual[checked]) / np.sqrt(redundancy[checked])
        checked = np.sort(checked[np.argsort(-w)[:MOST_PAIRED]])
    return checked


def _statistics(adjusted: Adjusted, among: Indices) -> tuple[Floats, Floats]:
    """Statistic of every two rows together, shape (n, n), and of each alone, shape (n,)."""
    jacobian, v = adjusted.jacobian[among], adjusted.residual[among]
    cover = np.eye(len(among)) - jacobian @ adjusted.covariance @ jacobian.T
    r = np.diagonal(cover)
    determinant = np.outer(r, r) - cover**2
    sums = np.outer(v**2, r)
    above = sums + sums.T - 2.0 * np.outer(v, v) * cover
    alike = determinant <= _SINGULAR * np.outer(r, r)
    statistic: Floats = np.where(alike, 0.0, above / np.where(alike, 1.0, determinant))
    return statistic, v**2 / r
