"""The equations of a network: what every observation should read, and how it follows.

Two kinds of term make up almost every equation: a signed distance between two nodes (spans and
comparisons) and a projection of a node (heights, coordinates, pairs, gaps, lifts); a height by a
level on a sloping floor is a third. A tool reads true·(1 + scale) + offset. Priors hold single
unknowns.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.geometry import KNOWN, Geometry

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Distances:
    """Signed distances: `sign`·|xyz[a] − xyz[b]| is added to the equation `row`; shapes (t,)."""

    row: Indices
    a: Indices
    b: Indices
    sign: Floats


@dataclass(frozen=True)
class Projections:
    """Projections: `along`·xyz[node] is added to the equation `row`; shapes (t,), (t,), (t, 3)."""

    row: Indices
    node: Indices
    along: Floats


@dataclass(frozen=True)
class Heights:
    """Heights along an upright that leans by two unknown slopes; shapes (t,), (t,), (t, 2).

    (slope_x·x + slope_y·y + z) / √(1 + slope_x² + slope_y²) of `node` is added to the equation
    `row`; `slope` numbers the two unknowns [1].
    """

    row: Indices
    node: Indices
    slope: Indices


@dataclass(frozen=True)
class Observations:
    """Scalar equations, all shapes (m,).

    Parameters
    ----------
    constant : array
        What the terms are added to [mm].
    observed : array
        [mm]
    u : array
        Standard uncertainty, above 0 [mm].
    scale, offset : array of int
        Unknowns of the tool's scale [1] and offset [mm], or KNOWN where they are nought.
    scale_by, offset_by : array or None
        How far the reading follows scale and offset; None: as it stands, 1 everywhere [1].
    """

    constant: Floats
    observed: Floats
    u: Floats
    scale: Indices
    offset: Indices
    scale_by: Floats | None = None
    offset_by: Floats | None = None

    def __len__(self) -> int:
        """How many there are."""
        return len(self.observed)


@dataclass(frozen=True)
class Priors:
    """What is known of single unknowns beforehand: x[unknown] = 0 ± u; shapes (p,)."""

    unknown: Indices
    u: Floats


@dataclass(frozen=True)
class Equations:
    """All equations of a network over its geometry.

    `kept`, shape (m + p,), leaves out the equations where it is False; None keeps all.
    """

    geometry: Geometry
    observations: Observations
    distances: Distances
    projections: Projections
    priors: Priors
    kept: NDArray[np.bool_] | None = None
    heights: Heights | None = None

    @cached_property
    def count(self) -> int:
        """How many equations there are, priors last."""
        return len(self.observations) + len(self.priors.unknown)

    @property
    def kept_count(self) -> int:
        """How many equations are kept."""
        return self.count if self.kept is None else int(self.kept.sum())

    @cached_property
    def u(self) -> Floats:
        """Standard uncertainty of every equation, priors last [mm, 1]."""
        return np.concatenate([self.observations.u, self.priors.u])

    @cached_property
    def _columns(self) -> Indices:
        """Where the axes of every node stand in the working matrix, shape (n, 3).

        Its columns are the unknowns, then the axes of the nodes that hang on a pose, then, where
        there are any, one for all axes that are known. A root axis is an unknown itself.
        """
        roots, posed = len(self.geometry.roots), self.geometry.count - len(self.geometry.roots)
        columns = np.empty((self.geometry.count, 3), dtype=np.intp)
        last = self.geometry.size + 3 * posed
        columns[:roots] = np.where(self.geometry.unknown == KNOWN, last, self.geometry.unknown)
        columns[roots:] = self.geometry.size + np.arange(3 * posed).reshape(-1, 3)
        return columns

    @cached_property
    def _width(self) -> int:
        """Columns of the working matrix."""
        return max(self.geometry.size, int(self._columns.max(initial=-1)) + 1)

    @cached_property
    def _distance_cells(self) -> Indices:
        """Cells of the working matrix that a distance's two ends add to, shape (2 t, 3)."""
        start = (self.distances.row * self._width)[:, None]
        a, b = self._columns[self.distances.a], self._columns[self.distances.b]
        ends: Indices = np.concatenate([start + a, start + b])
        return ends

    @cached_property
    def _cells_are_apart(self) -> bool:
        """Whether no cell is added to twice; a comparison may share a point between its spans."""
        counting = self._distance_cells[self._distance_cells % self._width < self._last_of_use]
        return len(np.unique(counting)) == counting.size

    @cached_property
    def _last_of_use(self) -> int:
        """Columns of the working matrix before that of the known axes."""
        return self.geometry.size + 3 * (self.geometry.count - len(self.geometry.roots))

    @cached_property
    def _projected(self) -> Floats:
        """Working matrix of the projections, which no unknown changes."""
        matrix = np.zeros((len(self.observations), self._width))
        cells = self.projections.row[:, None], self._columns[self.projections.node]
        np.add.at(matrix, cells, self.projections.along)
        return matrix

    @cached_property
    def _prior_jacobian(self) -> Floats:
        block = np.zeros((len(self.priors.u), self.geometry.size))
        block[np.arange(len(self.priors.u)), self.priors.unknown] = 1.0 / self.priors.u
        return block

    @cached_property
    def _with_scale(self) -> Indices:
        return np.flatnonzero(self.observations.scale != KNOWN)

    @cached_property
    def _with_offset(self) -> Indices:
        return np.flatnonzero(self.observations.offset != KNOWN)

    def weighted(self, x: Floats) -> tuple[Floats, Floats]:
        """Residuals over their uncertainty and their derivatives.

        Parameters
        ----------
        x : array, shape (u,)
            The unknowns [mm, rad, 1].

        Returns
        -------
        residual : array, shape (m + p,)
            (adjusted − observed) / u, priors last [1].
        jacobian : array, shape (m + p, u)
            Its derivative [1 per unit of the unknown].
        """
        placed = self.geometry.place(x)
        true, work = self._true(placed.xyz)
        by_slope = self._lean(x, placed.xyz, true, work)
        jacobian = self._chained(work, placed.posed)
        if self.heights is not None:
            jacobian[self.heights.row[:, None], self.heights.slope] += by_slope
        read = self._read_by_tools(x, true, jacobian)
        weight = 1.0 / self.observations.u
        residual = (read - self.observations.observed) * weight
        jacobian *= weight[:, None]
        if len(self.priors.u):
            residual = np.concatenate([residual, x[self.priors.unknown] / self.priors.u])
            jacobian = np.concatenate([jacobian, self._prior_jacobian])
        if self.kept is None:
            return residual, jacobian
        return residual[self.kept], jacobian[self.kept]

    def _chained(self, work: Floats, posed: Floats) -> Floats:
        """Derivatives by the unknowns, shape (m, u), which may take the working matrix over."""
        size = self.geometry.size
        if len(posed):
            chained: Floats = work[:, size : self._last_of_use] @ posed.reshape(-1, size)
            chained += work[:, :size]
            return chained
        return work if self._width == size else np.ascontiguousarray(work[:, :size])

    def _true(self, xyz: Floats) -> tuple[Floats, Floats]:
        """What a perfect tool would read, and the working matrix: how it follows the nodes."""
        between = xyz[self.distances.a] - xyz[self.distances.b]
        length = np.sqrt(np.einsum("ij,ij->i", between, between))
        if length.all():
            toward = between * (self.distances.sign / length)[:, None]
        else:
            # Two nodes at one place have no direction between them: any one gets them apart.
            nowhere = length == 0.0
            toward = between / np.where(nowhere, 1.0, length)[:, None]
            toward[nowhere] = 3.0**-0.5
            toward *= self.distances.sign[:, None]
        work = self._projected.copy()
        flat, ends = work.reshape(-1), np.concatenate([toward, -toward])
        if self._cells_are_apart:
            flat[self._distance_cells] += ends
        else:
            np.add.at(flat, self._distance_cells, ends)
        rows = len(self.observations)
        true = self.observations.constant + np.bincount(
            self.distances.row, self.distances.sign * length, rows
        )
        along = np.einsum("ij,ij->i", self.projections.along, xyz[self.projections.node])
        true += np.bincount(self.projections.row, along, rows)
        return true, work

    def _lean(self, x: Floats, xyz: Floats, true: Floats, work: Floats) -> Floats:
        """Fill in heights along leaning uprights; their derivatives by the slopes, (t, 2)."""
        if self.heights is None:
            return np.zeros((0, 2))
        upright = np.ones((len(self.heights.row), 3))
        upright[:, :2] = x[self.heights.slope]
        size = np.linalg.norm(upright, axis=1)
        at = xyz[self.heights.node]
        along = np.einsum("ij,ij->i", upright, at) / size
        np.add.at(true, self.heights.row, along)
        cells = self.heights.row[:, None], self._columns[self.heights.node]
        np.add.at(work, cells, upright / size[:, None])
        by_slope: Floats = (at[:, :2] - (along / size)[:, None] * upright[:, :2]) / size[:, None]
        return by_slope

    def _read_by_tools(self, x: Floats, true: Floats, jacobian: Floats) -> Floats:
        """What the tools read, true·(1 + scale) + offset; the Jacobian is changed to theirs."""
        read = true
        if len(self._with_scale):
            rows = self._with_scale
            unknown = self.observations.scale[rows]
            factor = np.ones(len(true))
            by = _by(self.observations.scale_by, rows)
            factor[rows] += by * x[unknown]
            read = true * factor
            jacobian *= factor[:, None]
            jacobian[rows, unknown] += by * true[rows]
        if len(self._with_offset):
            rows = self._with_offset
            unknown = self.observations.offset[rows]
            read = read.copy()
            by = _by(self.observations.offset_by, rows)
            read[rows] += by * x[unknown]
            jacobian[rows, unknown] += by
        return read


def _by(factors: Floats | None, rows: Indices) -> Floats | float:
    return 1.0 if factors is None else factors[rows]
