"""The equations of a large network with a sparse Jacobian; else as `panelwright.fit.equations`.

Without heights along leaning uprights: networks that have them are kept dense.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.geometry import KNOWN

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from scipy.sparse import csr_array

    from panelwright.fit.equations import Equations

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]


@dataclass(frozen=True)
class _Frame:
    """Which entries the Jacobian has, apart from those by way of poses.

    Parameters
    ----------
    starts, columns : array of int
        Of the sparse matrix.
    entry : array of int, shape (t,)
        Which entry each term adds to; terms of known axes are left out by `counts`.
    counts : array of bool
        Which of the terms count: root axes that are unknown, tools, priors.
    """

    starts: Indices
    columns: Indices
    entry: Indices
    counts: NDArray[np.bool_]


@dataclass(frozen=True)
class SparseEquations:
    """The same equations with a sparse Jacobian."""

    equations: Equations

    @cached_property
    def _axes(self) -> tuple[Indices, Indices]:
        """Row and node axis, counted through, of every term of distances and projections."""
        ends, flat = self.equations.distances, self.equations.projections
        nodes = np.concatenate([ends.a, ends.b, flat.node])
        rows = np.concatenate([ends.row, ends.row, flat.row])
        return np.repeat(rows, 3), (3 * nodes[:, None] + np.arange(3)).ravel()

    @cached_property
    def _tools(self) -> tuple[Indices, Indices]:
        """Rows that follow a tool's scale, and those that follow its offset."""
        seen = self.equations.observations
        return np.flatnonzero(seen.scale != KNOWN), np.flatnonzero(seen.offset != KNOWN)

    @cached_property
    def _frame(self) -> _Frame:
        every = self.equations
        geometry, seen, priors = every.geometry, every.observations, every.priors
        (row, axis), (scale, offset) = self._axes, self._tools
        of_axis = np.full(3 * geometry.count, KNOWN, dtype=np.intp)
        of_axis[: geometry.unknown.size] = geometry.unknown.ravel()
        held = len(seen) + np.arange(len(priors.u))
        rows = np.concatenate([row, scale, offset, held])
        columns = np.concatenate(
            [of_axis[axis], seen.scale[scale], seen.offset[offset], priors.unknown]
        )
        counts = columns != KNOWN
        cells, entry = np.unique(
            rows[counts] * geometry.size + columns[counts], return_inverse=True
        )
        found = np.bincount(cells // geometry.size, minlength=every.count)
        starts = np.concatenate([[0], np.cumsum(found)]).astype(np.intp)
        return _Frame(starts, cells % geometry.size, entry, counts)

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
        from scipy.sparse import csr_array  # noqa: PLC0415 - costs 100 ms

        every = self.equations
        placed = every.geometry.place(x)
        true, value = self._true(placed.xyz)
        read, factor, by_tools = self._read_by_tools(x, true)
        weight = 1.0 / every.observations.u
        row, axis = self._axes
        value *= (factor * weight)[row]
        tools = by_tools * weight[np.concatenate(self._tools)]
        frame, shape = self._frame, (every.count, every.geometry.size)
        values = np.concatenate([value, tools, 1.0 / every.priors.u])[frame.counts]
        data = np.bincount(frame.entry, values, len(frame.columns))
        jacobian = csr_array((data, frame.columns, frame.starts), shape=shape)
        if len(placed.posed):
            jacobian = (jacobian + self._by_poses(placed.posed, row, axis, value)).tocsr()
        residual = (read - every.observations.observed) * weight
        if len(every.priors.u):
            residual = np.concatenate([residual, x[every.priors.unknown] / every.priors.u])
        if every.kept is None:
            return residual, jacobian
        return residual[every.kept], jacobian[np.flatnonzero(every.kept)]

    def _by_poses(self, posed: Floats, row: Indices, axis: Indices, value: Floats) -> csr_array:
        """What nodes that hang on a pose add to the Jacobian."""
        from scipy.sparse import csr_array  # noqa: PLC0415 - costs 100 ms

        size, first = self.equations.geometry.size, 3 * len(self.equations.geometry.roots)
        hangs = axis >= first
        flat = posed.reshape(-1, size)
        where = (row[hangs], axis[hangs] - first)
        terms = csr_array((value[hangs], where), shape=(self.equations.count, len(flat)))
        chained: csr_array = terms @ csr_array(flat)
        return chained

    def _true(self, xyz: Floats) -> tuple[Floats, Floats]:
        """What a perfect tool would read, and how every term follows its node's axis."""
        given = self.equations
        ends, flat, rows = given.distances, given.projections, len(given.observations)
        between = xyz[ends.a] - xyz[ends.b]
        length = np.sqrt(np.einsum("ij,ij->i", between, between))
        unit = between / np.where(length > 0.0, length, 1.0)[:, None]
        unit[length == 0.0] = 3.0**-0.5
        signed = ends.sign[:, None] * unit
        along = np.einsum("ij,ij->i", flat.along, xyz[flat.node])
        true = given.observations.constant + np.bincount(ends.row, ends.sign * length, rows)
        true += np.bincount(flat.row, along, rows)
        return true, np.concatenate([signed, -signed, flat.along]).ravel()

    def _read_by_tools(self, x: Floats, true: Floats) -> tuple[Floats, Floats, Floats]:
        """What the tools read, true·(1 + scale) + offset; 1 + scale; derivatives by both."""
        seen, (scale, offset) = self.equations.observations, self._tools
        factor = np.ones(len(true))
        by_scale = np.ones(len(scale)) if seen.scale_by is None else seen.scale_by[scale]
        factor[scale] += by_scale * x[seen.scale[scale]]
        read = true * factor
        by_offset = np.ones(len(offset)) if seen.offset_by is None else seen.offset_by[offset]
        read[offset] += by_offset * x[seen.offset[offset]]
        return read, factor, np.concatenate([by_scale * true[scale], by_offset])
