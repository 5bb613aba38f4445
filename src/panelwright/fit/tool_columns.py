"""Unknowns that a reading would share with the other readings of its tool.

A tool that was read with has its offset, scale or slopes among the network's unknowns already: a
further reading follows these, it is no fresh noise. A tool that nobody read with yet gets columns
of its own behind the network's unknowns, held by its prior.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.geometry import KNOWN
from panelwright.fit.numbering import SLOPE_U

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.network import Network
    from panelwright.fit.tools import Instrument

    Floats = NDArray[np.float64]

FREE_U_MM = 1e4
"""Prior of the height of a level's line, which nothing holds but its readings."""


@dataclass
class ToolColumns:
    """Columns of tools' shared errors, by tool.

    Parameters
    ----------
    x : array, shape (u,)
        The network's unknowns as adjusted.
    scale, offset, level : dict
        Column of the tool's scale, of its offset, and of the first of a level's three.
    priors : list of float
        Standard uncertainty of every column that was added.
    """

    x: Floats
    scale: dict[str, int] = field(default_factory=dict)
    offset: dict[str, int] = field(default_factory=dict)
    level: dict[str, int] = field(default_factory=dict)
    priors: list[float] = field(default_factory=list)

    @classmethod
    def of(cls, network: Network, x: Floats) -> ToolColumns:
        """Find the columns that a network has, with its unknowns as adjusted."""
        columns = cls(x)
        seen, heights = network.equations.observations, network.equations.heights
        slopes = (
            dict(zip(heights.row.tolist(), heights.slope[:, 0].tolist(), strict=True))
            if heights is not None
            else {}
        )
        scales, offsets = seen.scale.tolist(), seen.offset.tolist()
        for row, sketch in enumerate(network.sketches):
            tool = sketch.spread.tool
            if tool is None:
                continue
            if scales[row] != KNOWN:
                columns.scale[tool.id] = scales[row]
            if row in slopes:
                columns.level[tool.id] = slopes[row] - 1
            elif offsets[row] != KNOWN:
                columns.offset[tool.id] = offsets[row]
        return columns

    @property
    def size(self) -> int:
        """How many unknowns the network has."""
        return len(self.x)

    def factor(self, tool: Instrument | None) -> float:
        """How much of a true length a tool reads, as adjusted [1]."""
        column = self.scale_of(tool)
        return 1.0 if column is None or column >= self.size else 1.0 + float(self.x[column])

    @property
    def count(self) -> int:
        """How many columns there are with those added."""
        return self.size + len(self.priors)

    def scale_of(self, tool: Instrument | None) -> int | None:
        """Column of a tool's scale; None where it has none."""
        return self._column(self.scale, tool, tool.scale_u if tool is not None else 0.0)

    def offset_of(self, tool: Instrument | None) -> int | None:
        """Column of a tool's offset; None where it has none."""
        return self._column(self.offset, tool, tool.offset_u_mm if tool is not None else 0.0)

    def level_of(self, tool: Instrument) -> int:
        """First of a level's columns: its offset, then two slopes."""
        if tool.id not in self.level:
            self.level[tool.id] = self.count
            self.priors += [FREE_U_MM, SLOPE_U, SLOPE_U]
        return self.level[tool.id]

    def _column(self, known: dict[str, int], tool: Instrument | None, u: float) -> int | None:
        if tool is None or u <= 0.0:
            return None
        if tool.id not in known:
            known[tool.id] = self.count
            self.priors.append(u)
        return known[tool.id]

    def widened(self, matrix: Floats) -> Floats:
        """Add columns of nought for the unknowns that were added."""
        wider = np.zeros((*matrix.shape[:-1], self.count))
        wider[..., : matrix.shape[-1]] = matrix
        return wider

    def covariance(self, covariance: Floats) -> Floats:
        """Covariance of the network's unknowns with those added, shape (v, v)."""
        wider = np.zeros((self.count, self.count))
        wider[: self.size, : self.size] = covariance
        added = np.arange(self.size, self.count)
        wider[added, added] = np.square(self.priors)
        return wider
