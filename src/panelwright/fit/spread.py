"""Arrays as the tuples that an answer holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.vector import Spread, Vector

    Floats = NDArray[np.float64]


def vector(values: Floats) -> Vector:
    """Three numbers.

    Parameters
    ----------
    values : array, shape (3,)
        Any unit.

    Returns
    -------
    Vector
        In the same unit.
    """
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def spread(variances: Floats, unknown: NDArray[np.bool_]) -> Spread:
    """Standard uncertainties of three variances; None where nothing is known.

    Parameters
    ----------
    variances : array, shape (3,)
        From 0; rounding below it counts as 0 [mm²].
    unknown : array of bool, shape (3,)
        Where nothing is known.

    Returns
    -------
    Spread
        [mm]
    """
    x, y, z = (
        None if nothing else float(np.sqrt(max(variance, 0.0)))
        for variance, nothing in zip(variances, unknown, strict=True)
    )
    return (x, y, z)
