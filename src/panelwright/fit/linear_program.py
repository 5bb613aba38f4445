"""A linear program that is gathered row by row, some of its unknowns whole numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

Columns = slice
"""Unknowns that follow one another."""

LEAST_GAP = 1e-6
_MOST_NODES = 20_000
"""Then the best so far is taken: a page must not wait for ever."""


@dataclass
class LinearProgram:
    """Minimise cost·x with low ≤ A x ≤ high between bounds; solved by HiGHS.

    Unknowns come first, rows may be added between them: what a row does not name counts nought.
    """

    size: int = 0
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    cost: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Floats, Floats, Floats]] = field(default_factory=list)

    def add(
        self,
        count: int,
        low: Floats | float = 0.0,
        high: Floats | float = np.inf,
        *,
        cost: Floats | float = 0.0,
        whole: NDArray[np.bool_] | bool = False,
    ) -> Columns:
        """New unknowns between bounds.

        Parameters
        ----------
        count : int
        low, high, cost : float or array, shape (count,)
        whole : bool or array, shape (count,)
            Whether each is a whole number.

        Returns
        -------
        slice
        """
        self.lower += np.broadcast_to(low, count).tolist()
        self.upper += np.broadcast_to(high, count).tolist()
        self.cost += np.broadcast_to(cost, count).tolist()
        self.whole += np.broadcast_to(whole, count).tolist()
        self.size += count
        return slice(self.size - count, self.size)

    def hold(
        self,
        blocks: Mapping[tuple[int, int], Floats],
        low: Floats | float = -np.inf,
        high: Floats | float = 0.0,
    ) -> None:
        """New rows.

        Parameters
        ----------
        blocks : mapping
            Array, shape (n, width), by the first unknown that it belongs to and the one behind
            its last.
        low, high : float or array, shape (n,)
        """
        count = len(next(iter(blocks.values())))
        matrix = np.zeros((count, self.size))
        for (first, behind), block in blocks.items():
            matrix[:, first:behind] += block
        self.rows.append((matrix, np.broadcast_to(low, count), np.broadcast_to(high, count)))

    def value(self, x: Floats) -> float:
        """Cost of a solution.

        Parameters
        ----------
        x : array, shape (size,)

        Returns
        -------
        float
        """
        return float(np.array(self.cost) @ x)

    def solve(
        self, *, relaxed: bool = False, whole_as: Floats | None = None, gap: float = LEAST_GAP
    ) -> Floats | None:
        """The best solution.

        Parameters
        ----------
        relaxed : bool
            Take whole numbers as any numbers.
        whole_as : array, shape (size,), or None
            Keep whole numbers as they are there.
        gap : float
            How far from the best a solution in whole numbers may be, relative.

        Returns
        -------
        array, shape (size,), or None
            None where nothing meets all rows.
        """
        lower, upper = np.array(self.lower), np.array(self.upper)
        whole = np.array(self.whole, dtype=bool)
        if whole_as is not None:
            lower[whole] = upper[whole] = np.round(whole_as[whole])
        wide = [np.pad(a, ((0, 0), (0, self.size - a.shape[1]))) for a, _, _ in self.rows]
        found = milp(
            np.array(self.cost),
            integrality=None if relaxed or whole_as is not None else whole.astype(np.int64),
            bounds=Bounds(lower, upper),
            constraints=LinearConstraint(
                np.concatenate(wide),
                np.concatenate([low for _, low, _ in self.rows]),
                np.concatenate([high for _, _, high in self.rows]),
            ),
            options={"mip_rel_gap": gap, "node_limit": _MOST_NODES},
        )
        return None if found.x is None else np.array(found.x, dtype=np.float64)
