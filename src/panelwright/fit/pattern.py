"""What stays the same from one estimate of a large network to the next: which entries there are."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.blocks import Order, Pieces

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Pattern:
    """The pattern of a sparse Jacobian and of its normal matrix.

    Parameters
    ----------
    starts : array of int, shape (m + 1,)
        Where the rows begin among the entries.
    columns : array of int, shape (n,)
        Unknown of every entry.
    order : Order
        Of the unknowns in the normal matrix.
    """

    starts: Indices
    columns: Indices
    order: Order

    @classmethod
    def of(cls, jacobian: csr_array) -> Pattern:
        """The pattern of a Jacobian, shape (m, u)."""
        ones = jacobian.copy()
        ones.data = np.ones_like(ones.data)
        starts, columns = (part.astype(np.intp) for part in (ones.indptr, ones.indices))
        return cls(starts, columns, Order.of((ones.T @ ones).tocsr()))

    def is_of(self, jacobian: csr_array) -> bool:
        """Whether a Jacobian has this pattern."""
        return np.array_equal(self.columns, jacobian.indices) and np.array_equal(
            self.starts, jacobian.indptr
        )

    @cached_property
    def pairs(self) -> tuple[Indices, Indices]:
        """All pairs of entries that stand in one row, each pair once, shape (p,) each."""
        lengths = np.diff(self.starts)
        one, other = [np.zeros(0, dtype=np.intp)], [np.zeros(0, dtype=np.intp)]
        for length in np.unique(lengths).tolist():
            begins = self.starts[:-1][lengths == length, None]
            i, j = np.triu_indices(length)
            one.append((begins + i).ravel())
            other.append((begins + j).ravel())
        return np.concatenate(one), np.concatenate(other)

    @cached_property
    def row_of_pair(self) -> Indices:
        """Row of every pair."""
        rows = np.repeat(np.arange(len(self.starts) - 1), np.diff(self.starts))
        found: Indices = rows[self.pairs[0]]
        return found

    @cached_property
    def _cells(self) -> Indices:
        one, other = self.pairs
        return self.order.cells_of(self.columns[one], self.columns[other])

    @cached_property
    def diagonal(self) -> Indices:
        """Cells of the diagonal, shape (u,)."""
        every = np.arange(len(self.order.place))
        return self.order.cells_of(every, every)

    def normal(self, data: Floats, damping: Floats | None = None) -> Pieces:
        """Normal matrix of a Jacobian's entries, shape (n,), with something on its diagonal."""
        one, other = self.pairs
        cells, values = self._cells, data[one] * data[other]
        if damping is not None:
            cells = np.concatenate([cells, self.diagonal])
            values = np.concatenate([values, damping])
        return Pieces.of(self.order, cells, values)
