"""Large normal matrices: a chain of dense blocks with a dense border.

Unknowns that meet nearly everything (poses, scales of tools) make up the border. The rest is put
into an order of small bandwidth and cut into blocks that meet their neighbours only. Factoring,
solving, and the entries of the inverse that the readings need then grow with the length of the
chain, and every step is a dense product.

References
----------
E. Cuthill, J. McKee, Reducing the bandwidth of sparse symmetric matrices, Proc. 24th Nat. Conf. ACM
(1969) 157-172; K. Takahashi, J. Fagan, M.-S. Chen, Formation of a sparse bus impedance matrix,
Proc. 8th PICA Conf. (1973): entries of an inverse from its factor (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import lapack

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

_OFTEN = 3.0
"""An unknown that meets so many times more others than most do belongs to the border."""
_FEW = 64
LEAST_PIVOT = 1e-9
"""Squared pivot of a scaled normal matrix below which it is looked into by other means."""


class SingularError(ArithmeticError):
    """The matrix cannot be factored safely."""


@dataclass(frozen=True)
class Order:
    """How the unknowns are arranged.

    Parameters
    ----------
    chain, border : array of int
        Unknowns in the order of the chain, and those of the border.
    size : int
        Unknowns to a block; the last may be shorter.
    """

    chain: Indices
    border: Indices
    size: int

    @classmethod
    def of(cls, normal: csr_array) -> Order:
        """Arrange the unknowns of a normal matrix, shape (u, u)."""
        from scipy.sparse.csgraph import reverse_cuthill_mckee  # noqa: PLC0415 - 50 ms

        met = np.diff(normal.indptr)
        often = met > max(_OFTEN * float(np.median(met)), _FEW)
        inner, border = np.flatnonzero(~often), np.flatnonzero(often)
        part = normal[inner][:, inner]
        order = reverse_cuthill_mckee(part, symmetric_mode=True).astype(np.intp)
        place = np.empty(len(order), dtype=np.intp)
        place[order] = np.arange(len(order))
        rows = np.repeat(np.arange(len(inner)), np.diff(part.indptr))
        width = int(np.abs(place[rows] - place[part.indices]).max(initial=0))
        return cls(inner[order], border.astype(np.intp), max(width, 1))

    @cached_property
    def place(self) -> Indices:
        """Place of every unknown in chain and border, one after the other, shape (u,)."""
        place = np.empty(len(self.chain) + len(self.border), dtype=np.intp)
        place[np.concatenate([self.chain, self.border])] = np.arange(len(place))
        return place

    @property
    def starts(self) -> range:
        """Where the blocks of the chain begin."""
        return range(0, len(self.chain), self.size)

    @property
    def cells(self) -> int:
        """How many cells all pieces have."""
        chain, border = len(self.chain), len(self.border)
        return 2 * len(self.starts) * self.size**2 + (chain + border) * border

    def cells_of(self, rows: Indices, columns: Indices) -> Indices:
        """Cells of pairs of unknowns that meet, shape (n,): below or on the diagonal."""
        one, other = self.place[rows], self.place[columns]
        p, q = np.maximum(one, other), np.minimum(one, other)
        chain, border, size = len(self.chain), len(self.border), self.size
        count = len(self.starts)
        high, block = p // size, q // size
        # Row and column within the block: p − high·size and q − block·size.
        cells: Indices = ((high - block) * count + block) * size**2
        cells += (p - high * size) * size + q - block * size
        outer = np.flatnonzero(p >= chain)
        if len(outer):
            p, q = p[outer], q[outer]
            pair = 2 * count * size**2
            mixed = pair + q * border + p - chain
            both = pair + chain * border + (p - chain) * border + q - chain
            cells[outer] = np.where(q < chain, mixed, both)
        return cells


@dataclass(frozen=True)
class Pieces:
    """A symmetric matrix in dense pieces, of which what stands above the diagonal may be missing.

    Parameters
    ----------
    diagonal, next : array, shape (count, size, size)
        Blocks of the chain on the diagonal, and each with the next below it.
    coupling : array, shape (c, k)
        Of the chain to the border.
    rest : array, shape (k, k)
        The border's own.
    """

    order: Order
    diagonal: Floats
    next: Floats
    coupling: Floats
    rest: Floats

    @classmethod
    def of(cls, order: Order, cells: Indices, values: Floats) -> Pieces:
        """Add values up in cells, as `cells_of` numbers them."""
        flat = np.bincount(cells, values, order.cells).astype(np.float64, copy=False)
        size, count, chain = order.size, len(order.starts), len(order.chain)
        border, pair = len(order.border), 2 * count * size * size
        blocks = flat[:pair].reshape(2, count, size, size)
        coupling = flat[pair : pair + chain * border].reshape(chain, border)
        rest = flat[pair + chain * border :].reshape(border, border)
        return cls(order, blocks[0], blocks[1], coupling, rest)


@dataclass(frozen=True)
class Chain:
    """Cholesky factor of a matrix of blocks in a chain with a border.

    Parameters
    ----------
    lower : tuple of array
        Factor of every pivot block.
    below : tuple of array
        Of each block but the last: its coupling E to the next, times the inverse of its factor.
    across : array, shape (c, k)
        Inverse of the chain's matrix times the coupling to the border.
    corner : array, shape (k, k)
        Inverse of what remains of the border's block.
    """

    order: Order
    lower: tuple[Floats, ...]
    below: tuple[Floats, ...]
    across: Floats
    corner: Floats

    @classmethod
    def of(cls, pieces: Pieces) -> Chain:
        """Factor a symmetric positive definite matrix.

        Raises
        ------
        SingularError
            Where a pivot is too small.
        """
        order = pieces.order
        lower, below = _factored(pieces.diagonal, pieces.next, len(order.chain))
        bare = cls(order, lower, below, np.zeros((len(order.chain), 0)), np.zeros((0, 0)))
        if not len(order.border):
            return bare
        across = bare._along(pieces.coupling)
        corner = _inverse(_cholesky(pieces.rest - pieces.coupling.T @ across))
        return cls(order, lower, below, across, corner)

    def solve(self, right: Floats) -> Floats:
        """Solve for right sides, shape (u,) or (u, r)."""
        whole = right if right.ndim == 2 else right[:, None]
        chain, border = whole[self.order.chain], whole[self.order.border]
        outer = self.corner @ (border - self.across.T @ chain)
        found = np.empty_like(whole)
        found[self.order.chain] = self._along(chain) - self.across @ outer
        found[self.order.border] = outer
        return found if right.ndim == 2 else found[:, 0]

    def _along(self, right: Floats) -> Floats:
        """Solve with the chain alone, shape (c, r)."""
        parts = [right[start : start + self.order.size] for start in self.order.starts]
        forward: list[Floats] = []
        for k, part in enumerate(parts):
            less = part if k == 0 else part - self.below[k - 1] @ forward[-1]
            forward.append(_triangular(self.lower[k], less))
        found = [forward[-1]] if forward else []
        found = [_triangular(self.lower[-1], found[0], transposed=True)] if found else []
        for k in range(len(parts) - 2, -1, -1):
            less = forward[k] - self.below[k].T @ found[0]
            found.insert(0, _triangular(self.lower[k], less, transposed=True))
        return np.concatenate(found) if found else right

    def inverse_at(self, rows: Indices, columns: Indices) -> Floats:
        """Entries of the inverse at pairs of unknowns that meet in the matrix, shape (n,)."""
        diagonal, next_ = self._inverse_blocks
        chain = len(self.order.chain)
        p, q = self.order.place[rows], self.order.place[columns]
        p, q = np.maximum(p, q), np.minimum(p, q)
        values = np.empty(len(p))
        both, inside = q >= chain, p < chain
        mixed = ~both & ~inside
        values[both] = self.corner[p[both] - chain, q[both] - chain]
        values[mixed] = -self._reach[q[mixed], p[mixed] - chain]
        values[inside] = self._inside(q[inside], p[inside], diagonal, next_)
        if len(self.corner):
            one, other = self._reach[p[inside]], self.across[q[inside]]
            values[inside] += np.einsum("ij,ij->i", one, other)
        return values

    @cached_property
    def _reach(self) -> Floats:
        return self.across @ self.corner

    def _inside(self, first: Indices, last: Indices, diagonal: Floats, next_: Floats) -> Floats:
        """Entries of the inverse of the chain alone, in one block or in neighbouring ones."""
        block, place = np.divmod(first, self.order.size)
        other, across = np.divmod(last, self.order.size)
        values: Floats = np.where(
            block == other, diagonal[block, across, place], next_[block, across, place]
        )
        return values

    @cached_property
    def _inverse_blocks(self) -> tuple[Floats, Floats]:
        """Blocks of the chain's inverse: on the diagonal, and each with the next below it."""
        size, count = self.order.size, len(self.lower)
        diagonal, next_ = np.zeros((2, count, size, size))
        for k in range(count - 1, -1, -1):
            own = _inverse(self.lower[k])
            here = slice(0, len(own))
            if k + 1 < count:
                there = slice(0, len(self.lower[k + 1]))
                step = _triangular(self.lower[k], self.below[k].T, transposed=True).T
                next_[k, there, here] = -diagonal[k + 1, there, there] @ step
                own = own - step.T @ next_[k, there, here]
            diagonal[k, here, here] = own
        return diagonal, next_


def _factored(
    diagonal: Floats, next_: Floats, rows: int
) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    lower: list[Floats] = []
    below: list[Floats] = []
    size = diagonal.shape[1]
    for k, whole in enumerate(diagonal):
        own = min(size, rows - k * size)
        block = whole[:own, :own]
        if below:
            block = block - below[-1] @ below[-1].T
        lower.append(_cholesky(block))
        if k + 1 < len(diagonal):
            coupling = next_[k, : min(size, rows - (k + 1) * size)]
            below.append(_triangular(lower[-1], coupling.T).T)
    return tuple(lower), tuple(below)


def _cholesky(block: Floats) -> Floats:
    factor, failed = lapack.dpotrf(block, lower=1)
    if failed or float(factor.diagonal().min(initial=1.0)) ** 2 < LEAST_PIVOT:
        raise SingularError
    lower: Floats = factor
    return lower


def _triangular(lower: Floats, right: Floats, *, transposed: bool = False) -> Floats:
    solved, _ = lapack.dtrtrs(lower, right, lower=1, trans=int(transposed))
    found: Floats = solved
    return found


def _inverse(lower: Floats) -> Floats:
    solved, _ = lapack.dpotrs(lower, np.eye(len(lower)), lower=1)
    inverse: Floats = solved
    return inverse
