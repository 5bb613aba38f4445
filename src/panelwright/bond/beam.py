"""A lamp with a beam: what reaches the panel from an aperture that shines more along its axis."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.radiation import view_factor_rectangle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FEWEST, MOST = 4, 16


def lobe_of(half_angle_deg: float) -> float:
    """Exponent of a beam that shines half as strongly at an angle off its axis.

    n = ln ½ / ln cos θ   (1)

    Parameters
    ----------
    half_angle_deg : float
        θ, above 0 and below 90 [°].

    Returns
    -------
    float
        n; 1 is an evenly bright, diffuse aperture (60°) [-].

    References
    ----------
    Kahn J.M., Barry J.R. (1997) Proc. IEEE 85, 265–298 (from memory; the formula read in several
    public programs for optical links).

    Examples
    --------
    >>> round(lobe_of(60.0), 6)
    1.0
    """
    return math.log(0.5) / math.log(math.cos(math.radians(half_angle_deg)))


def _nodes(size_mm: float, nearest_mm: float) -> tuple[Floats, Floats]:
    """Places over an aperture's side and their weights, more of them where it is near [mm]."""
    count = int(np.clip(math.ceil(3.0 + 2.0 * size_mm / nearest_mm), FEWEST, MOST))
    places, weights = np.polynomial.legendre.leggauss(count)
    return 0.5 * size_mm * places, 0.5 * weights


def lobe_factor(
    *,
    along: Floats,
    across: Floats | float,
    distance: Floats,
    size: tuple[float, float],
    lobe: float,
) -> Floats:
    """What takes the place of the view factor where the aperture has a beam.

    F = (n + 1)/2 ∫ cos^(n+1) θ /(π r²) dA   (1)

    so that the irradiance is (ηP/A) F and the whole of it ηP.

    Parameters
    ----------
    along, across : array or float
        From the aperture's centre to the places [mm].
    distance : array
        Between the two planes, above 0 [mm].
    size : tuple of float
        Aperture along and across [mm].
    lobe : float
        n of `lobe_of`, above 0 [-].

    Returns
    -------
    array
        F [-].

    References
    ----------
    Radiant intensity (n + 1)/(2π) cosⁿ θ: Kahn and Barry 1997, equation 9 (from memory); product
    Gauss–Legendre quadrature over the aperture.

    Examples
    --------
    Diffuse, 0.5 × 0.3 m at 0.5 m on the axis: the view factor 0.15634.

    >>> F = lobe_factor(along=np.array([0.0]), across=0.0, distance=np.array([500.0]),
    ...                 size=(500.0, 300.0), lobe=1.0)
    >>> round(float(F[0]), 5)
    0.15634
    """
    nearest = float(np.min(distance))
    (x, wx), (y, wy) = (_nodes(side, nearest) for side in size)
    c2 = distance * distance
    total = 0.0
    for place_y, weight_y in zip(y, wy, strict=True):
        y2 = (across - place_y) ** 2
        for place_x, weight_x in zip(x, wx, strict=True):
            r2 = (along - place_x) ** 2 + y2 + c2
            total = total + weight_x * weight_y * (c2 / r2) ** (0.5 * (lobe + 1.0)) / r2
    factor: Floats = 0.5 * (lobe + 1.0) / np.pi * size[0] * size[1] * np.asarray(total)
    return factor


def lamp_factor(
    *,
    along: Floats,
    across: Floats | float,
    distance: Floats,
    size: tuple[float, float],
    lobe: float,
) -> Floats:
    """The view factor of a diffuse aperture, `lobe_factor` of one with a beam.

    Parameters
    ----------
    along, across, distance, size
        As for `lobe_factor` [mm].
    lobe : float
        As there [-].

    Returns
    -------
    array
        F [-].
    """
    if lobe == 1.0:
        return view_factor_rectangle(along=along, across=across, distance=distance, size=size)
    return lobe_factor(along=along, across=across, distance=distance, size=size, lobe=lobe)
