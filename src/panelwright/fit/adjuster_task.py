"""What adjusters of parts that hang together have to bring about, in numbers.

Everything is a displacement along a direction (`Rows`): what is judged, what adjusters set, what
flanges and pins allow, what hinges hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.adjusting import Adjuster
    from panelwright.fit.motions import Mover, Rows

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Item:
    """Something with a tolerance: |now + displacement| ≤ tolerance.

    Parameters
    ----------
    kind : str
        "point", "gap" or "flush".
    rows : tuple of int
        Three for a distance, one for all else.
    now_mm : tuple of float
        How far off it is, by row.
    floor : float
        |off| / tolerance up to which it would be proven inside; from 0.
    """

    kind: str
    id: str
    part: str
    axis: str
    rows: tuple[int, ...]
    now_mm: tuple[float, ...]
    tolerance_mm: float
    floor: float


@dataclass(frozen=True)
class Knob:
    """An adjuster as the search sees it: by how much it changes from where it stands.

    Parameters
    ----------
    index : int
        Of the adjuster in the file.
    row : int
    low_mm, high_mm : float
        Range of the change; both 0 where it cannot be set.
    step_mm : float
        0 where it slides.
    u_mm : float or None
        Of how far the part is off there; None where that is not seen.
    """

    facts: Adjuster
    index: int
    row: int
    low_mm: float
    high_mm: float
    step_mm: float
    u_mm: float | None
    note: str

    @property
    def is_stuck(self) -> bool:
        """Whether it has nowhere to go."""
        return self.low_mm == self.high_mm

    @property
    def is_shim(self) -> bool:
        """Whether it goes in steps."""
        return self.step_mm > 0.0 and not self.is_stuck


@dataclass(frozen=True)
class Bound:
    """A displacement that a flange, a pin or a hinge allows between two limits [mm]."""

    name: str
    row: int
    low_mm: float
    high_mm: float


@dataclass(frozen=True)
class Task:
    """All of it for one group of parts.

    Parameters
    ----------
    parts : tuple of str
        Those with adjusters.
    bounds, holds : tuple of Bound
        Of flanges and pins; of hinges.
    """

    parts: tuple[str, ...]
    rows: Rows
    items: tuple[Item, ...]
    knobs: tuple[Knob, ...]
    bounds: tuple[Bound, ...]
    holds: tuple[Bound, ...]

    @property
    def movers(self) -> tuple[Mover, ...]:
        """Its parts, and those beside them that go home by themselves."""
        return self.rows.movers

    def ratios(self, moved_mm: Floats) -> Floats:
        """|off| / tolerance of every item for displacements of the rows, shape (r,)."""
        return np.array([size(item, moved_mm) / item.tolerance_mm for item in self.items])


def off(item: Item, moved_mm: Floats) -> Floats:
    """How far an item is off, by its rows.

    Parameters
    ----------
    item : Item
    moved_mm : array, shape (r,)
        Displacements of all rows [mm].

    Returns
    -------
    array, shape (1,) or (3,)
        [mm]
    """
    found: Floats = np.array(item.now_mm) + moved_mm[list(item.rows)]
    return found


def size(item: Item, moved_mm: Floats) -> float:
    """How far an item is off.

    Parameters
    ----------
    item : Item
    moved_mm : array, shape (r,)
        Displacements of all rows [mm].

    Returns
    -------
    float
        [mm]
    """
    return float(np.linalg.norm(off(item, moved_mm)))
