"""Resistance of one fastener with its distances to ends, edges and neighbours: EN 1993-1-8."""

from __future__ import annotations

import math
from dataclasses import dataclass

from panelwright.joints.validity import require_positive


@dataclass(frozen=True)
class Fastening:
    """One fastener in one sheet, as EN 1993-1-8 sees it.

    Parameters
    ----------
    diameter_mm, hole_mm : float
        Fastener d and hole d0 [mm].
    thickness_mm : float
        Sheet t [mm].
    ultimate_MPa : float
        Sheet f_u [MPa].
    fastener_MPa : float or None
        Fastener f_ur [MPa]; None: not weaker than the sheet.
    end_mm : float or None
        e1, to the end in the direction of load [mm]; None: no end near.
    edge_mm : float or None
        e2, across it [mm]; None: no edge near.
    pitch_mm, cross_pitch_mm : float or None
        p1 along and p2 across the direction of load [mm]; None: no neighbour.
    """

    diameter_mm: float
    hole_mm: float
    thickness_mm: float
    ultimate_MPa: float
    fastener_MPa: float | None = None
    end_mm: float | None = None
    edge_mm: float | None = None
    pitch_mm: float | None = None
    cross_pitch_mm: float | None = None


def bearing_resistance_en1993_1_8(fastening: Fastening, *, partial_factor: float = 1.25) -> float:
    """Bearing resistance with end and edge distances, the lower of end and inner fastener.

    Parameters
    ----------
    fastening : Fastening
        Distances and strengths, all above zero. Thickness below that of structural sections is
        outside the standard's field: there EN 1999-1-4 governs and this only adds the ends.
    partial_factor : float
        γM2 > 0; 1.0 gives the characteristic value [–].

    Returns
    -------
    float
        F_b,Rd = k1 αb f_u d t/γM2 [N]; 0 where an edge is so near that k1 or αb is not above zero.

    Raises
    ------
    ValueError
        An input is not above zero.

    Notes
    -----
    αb = min(e1/(3 d0), p1/(3 d0) − 1/4, f_ur/f_u, 1);
    k1 = min(2.8 e2/d0 − 1.7, 1.4 p2/d0 − 1.7, 2.5).

    References
    ----------
    EN 1993-1-8 Table 3.4 (seen in a copy of the text); EN 1999-1-1 Table 8.5 has the same form
    (from memory).

    Examples
    --------
    >>> round(bearing_resistance_en1993_1_8(Fastening(
    ...     diameter_mm=4.8, hole_mm=4.9, thickness_mm=2.0, ultimate_MPa=220.0,
    ...     fastener_MPa=250.0, end_mm=10.0, edge_mm=10.0)), 2)
    2873.47
    """
    f = fastening
    given = {name: value for name, value in vars(f).items() if value is not None}
    require_positive(**given, partial_factor=partial_factor)
    d0 = f.hole_mm
    alphas = [1.0]
    alphas += [] if f.fastener_MPa is None else [f.fastener_MPa / f.ultimate_MPa]
    alphas += [] if f.end_mm is None else [f.end_mm / (3.0 * d0)]
    alphas += [] if f.pitch_mm is None else [f.pitch_mm / (3.0 * d0) - 0.25]
    factors = [2.5]
    factors += [] if f.edge_mm is None else [2.8 * f.edge_mm / d0 - 1.7]
    factors += [] if f.cross_pitch_mm is None else [1.4 * f.cross_pitch_mm / d0 - 1.7]
    k1, alpha_b = max(min(factors), 0.0), max(min(alphas), 0.0)
    return k1 * alpha_b * f.ultimate_MPa * f.diameter_mm * f.thickness_mm / partial_factor


def rivet_shear_resistance_en1993_1_8(
    *, hole_mm: float, ultimate_MPa: float, partial_factor: float = 1.25
) -> float:
    """Shear resistance of a rivet that fills its hole; a cross-check for solid rivets.

    Parameters
    ----------
    hole_mm : float
        d0 > 0; the driven rivet fills it [mm].
    ultimate_MPa : float
        Rivet f_ur > 0 [MPa].
    partial_factor : float
        γM2 > 0; 1.0 gives the characteristic value [–].

    Returns
    -------
    float
        F_v,Rd = 0.6 f_ur A0/γM2 with A0 = π d0²/4 [N].

    Raises
    ------
    ValueError
        An input is not above zero.

    References
    ----------
    EN 1993-1-8 Table 3.4 (seen in a copy of the text).

    Examples
    --------
    >>> round(rivet_shear_resistance_en1993_1_8(hole_mm=4.9, ultimate_MPa=250.0), 2)
    2262.89
    """
    require_positive(hole_mm=hole_mm, ultimate_MPa=ultimate_MPa, partial_factor=partial_factor)
    return 0.6 * ultimate_MPa * math.pi * hole_mm**2 / 4.0 / partial_factor
