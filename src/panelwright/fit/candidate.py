"""One reading that could be taken."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


class What(NamedTuple):
    """What would be read: its kind, the points or the place, with what, for how long.

    `kind` is "span", "compare", "height", "place", "station", "contact" or "locator"; the names of
    a comparison are a, b, c, d: span a–b less span c–d. `length_mm` is about how long a span is.
    """

    kind: str
    names: tuple[str, ...]
    tool: str | None
    minutes: float
    length_mm: float | None = None


class Block(NamedTuple):
    """Candidates with their rows: one row each, or all rows of a single one."""

    what: tuple[What, ...]
    rows: Floats
    variances: Floats
    one_each: bool = True
