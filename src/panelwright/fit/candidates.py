"""Everything that could be read next: one row of derivatives for each equation it would bring.

Spans and comparisons are many and are made as arrays; the others are made as readings and
understood by the same code that understands a reading that was taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.place_candidates import place_candidates
from panelwright.fit.span_candidates import compare_candidates, span_candidates
from panelwright.fit.tool_columns import ToolColumns

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from panelwright.fit.at_hand import AtHand
    from panelwright.fit.candidate import Block, What
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Pool:
    """Candidates for the next reading.

    Parameters
    ----------
    what : tuple of What
    rows : array, shape (m, v)
        Derivatives of their equations by the unknowns, those of new tools last.
    variances : array, shape (m,)
        Of seating and reading alone [mm²].
    first : array of int, shape (c + 1,)
        Where the rows of each candidate begin, and the end.
    columns : ToolColumns
    """

    what: tuple[What, ...]
    rows: Floats
    variances: Floats
    first: NDArray[np.intp]
    columns: ToolColumns

    def own(self, candidate: int) -> slice:
        """Rows of one candidate."""
        return slice(int(self.first[candidate]), int(self.first[candidate + 1]))

    @cached_property
    def minutes(self) -> Floats:
        """How long each takes, shape (c,) [min]."""
        return np.array([what.minutes for what in self.what])

    @cached_property
    def single(self) -> NDArray[np.bool_]:
        """Which candidates bring one equation, shape (c,)."""
        alone: NDArray[np.bool_] = np.diff(self.first) == 1
        return alone


def pool_of(
    network: Network, adjusted: Adjusted, placed: Placed, parts: set[str], hand: AtHand
) -> Pool:
    """Everything that could be read of some parts and was not yet, in their latest dry fit.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    parts : set of str
        Parts that something is in doubt at.
    hand : AtHand
        Tools that are there.

    Returns
    -------
    Pool
        Heights and coordinates are not in it where inner constraints hold the network: such a
        reading would change what holds it.
    """
    columns = ToolColumns.of(network, adjusted.x)
    blocks = [
        *span_candidates(network, placed, parts, hand, columns),
        *compare_candidates(network, placed, parts, hand, columns),
        *place_candidates(network, placed, parts, hand, columns, floats=bool(adjusted.datum)),
    ]
    return _joined(blocks, columns)


def _joined(blocks: Iterable[Block], columns: ToolColumns) -> Pool:
    blocks = [block for block in blocks if len(block.what)]
    counts = [1 if block.one_each else len(block.rows) for block in blocks]
    each = [
        count
        for block, count in zip(blocks, counts, strict=True)
        for _ in range(len(block.what) if block.one_each else 1)
    ]
    rows = [columns.widened(block.rows) for block in blocks]
    return Pool(
        tuple(what for block in blocks for what in block.what),
        np.concatenate(rows) if rows else np.zeros((0, columns.count)),
        np.concatenate([block.variances for block in blocks]) if blocks else np.zeros(0),
        np.concatenate([[0], np.cumsum(each, dtype=np.intp)]).astype(np.intp),
        columns,
    )
