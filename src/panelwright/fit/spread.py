"""Arrays as the tuples that an answer holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.answer import Spread, Vector

    Floats = NDArray[np.float64]


def vector(values: Floats) -> Vector:
    """Three numbers."""
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def spread(variances: Floats, unknown: NDArray[np.bool_]) -> Spread:
    """Standard uncertainties of three variances; None where nothing is known."""
    x, y, z = (
        None if nothing else float(np.sqrt(max(variance, 0.0)))
        for variance, nothing in zip(variances, unknown, strict=True)
    )
    return (x, y, z)
