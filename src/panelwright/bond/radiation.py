"""Radiation: what reaches the panel from a lamp, and what leaves it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from numpy.typing import NDArray

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴), CODATA 2018."""


def view_factor_corner(
    width_ratio: NDArray[np.float64] | float, height_ratio: NDArray[np.float64] | float
) -> NDArray[np.float64]:
    """View factor from a surface element to a parallel rectangle, the element under one corner.

    F = (1/2π)[X/√(1+X²) atan(Y/√(1+X²)) + Y/√(1+Y²) atan(X/√(1+Y²))]   (1)

    Odd in X and in Y, so that rectangles beside the element add up with their signs.

    Parameters
    ----------
    width_ratio, height_ratio : float or array
        X = a/c and Y = b/c of a rectangle a × b at distance c, of either sign [-].

    Returns
    -------
    array
        F [-].

    References
    ----------
    Howell J.R., Mengüç M.P., Daun K., Siegel R., Thermal Radiation Heat Transfer, 7th ed.,
    configuration B-3 (from memory; formula seen in the documentation of a fire-safety program
    after BR 187; worked out again by quadrature in the tests).

    Examples
    --------
    >>> round(float(view_factor_corner(1.0, 1.0)), 6)
    0.138532
    """
    X, Y = np.asarray(width_ratio), np.asarray(height_ratio)
    A, B = np.sqrt(1.0 + X * X), np.sqrt(1.0 + Y * Y)
    factor: NDArray[np.float64] = (X / A * np.arctan(Y / A) + Y / B * np.arctan(X / B)) / (
        2.0 * np.pi
    )
    return factor


def view_factor_rectangle(
    *,
    along: NDArray[np.float64] | float,
    across: NDArray[np.float64] | float,
    distance: NDArray[np.float64] | float,
    size: tuple[float, float],
) -> NDArray[np.float64]:
    """View factor from a surface element to a parallel rectangle anywhere before it.

    Parameters
    ----------
    along, across : float or array
        From the rectangle's centre to the element's foot, in any one unit of length.
    distance : float or array
        Between the two planes, above 0, same unit.
    size : tuple of float
        Length along and width across, above 0, same unit.

    Returns
    -------
    array
        F, 0 to 1 [-].

    References
    ----------
    Sum of four corner rectangles, equation 1 of `view_factor_corner` with its signs.

    Examples
    --------
    Element over the centre of a square of half-side 1 at distance 1: 0.554126.

    >>> round(float(view_factor_rectangle(along=0.0, across=0.0, distance=1.0, size=(2.0, 2.0))), 6)
    0.554126
    """
    x, y, c = np.asarray(along), np.asarray(across), np.asarray(distance)
    right, left = (size[0] / 2 - x) / c, (size[0] / 2 + x) / c
    top, bottom = (size[1] / 2 - y) / c, (size[1] / 2 + y) / c
    return (
        view_factor_corner(right, top)
        + view_factor_corner(right, bottom)
        + view_factor_corner(left, top)
        + view_factor_corner(left, bottom)
    )


def irradiance(
    view_factor: NDArray[np.float64] | float,
    *,
    radiant_W: NDArray[np.float64] | float,
    aperture_m2: float,
) -> NDArray[np.float64]:
    """Irradiance of a panel element before a lamp whose aperture is evenly bright and diffuse.

    G = (ηP/A) F   (1)

    Parameters
    ----------
    view_factor : float or array
        F from the element to the aperture [-].
    radiant_W : float or array
        ηP, power that leaves the aperture as radiation [W].
    aperture_m2 : float
        A [m²].

    Returns
    -------
    array
        G [W/m²].

    References
    ----------
    Reciprocity of view factors; Incropera 6th ed., equation 13.3.

    Examples
    --------
    1.5 kW, η = 0.85, 0.5 × 0.3 m at 0.5 m on the axis: 1329 W/m².

    >>> F = view_factor_rectangle(along=0.0, across=0.0, distance=0.5, size=(0.5, 0.3))
    >>> round(float(irradiance(F, radiant_W=1275.0, aperture_m2=0.15)))
    1329
    """
    result: NDArray[np.float64] = np.asarray(radiant_W) / aperture_m2 * np.asarray(view_factor)
    return result


def net_emission(
    surface_C: NDArray[np.float64] | float,
    surroundings_C: NDArray[np.float64] | float,
    emissivity: NDArray[np.float64] | float,
) -> NDArray[np.float64]:
    """Net long-wave radiation from a small surface to large surroundings.

    q = εσ(T⁴ − T_sur⁴)   (1)

    Parameters
    ----------
    surface_C, surroundings_C : float or array
        Temperatures [°C].
    emissivity : float or array
        ε in the long wave, 0 to 1 [-].

    Returns
    -------
    array
        q, positive when the surface loses [W/m²].

    References
    ----------
    Incropera 6th ed., equation 1.7.

    Examples
    --------
    ε = 0.85, 400 K and 305 K: 816.8 W/m².

    >>> round(float(net_emission(400 - 273.15, 305 - 273.15, 0.85)), 1)
    816.8
    """
    hot = np.asarray(surface_C) + ZERO_CELSIUS
    cold = np.asarray(surroundings_C) + ZERO_CELSIUS
    flux: NDArray[np.float64] = np.asarray(emissivity) * STEFAN_BOLTZMANN * (hot**4 - cold**4)
    return flux
