"""Resistance of one blind rivet in thin sheet: EN 1999-1-4 and, as a cross-check, EN 1993-1-3."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from panelwright.joints.validity import Validity, require_positive

DIAMETER_EN1999_1_4: Final = Validity(
    "rivet diameter", 2.6, 6.4, "mm", "EN 1999-1-4 §8.2, from memory"
)
DIAMETER_EN1993_1_3: Final = Validity(
    "rivet diameter", 2.6, 6.4, "mm", "EN 1993-1-3 Table 8.1, from memory"
)
LARGEST_ULTIMATE_EN1999_1_4_MPA: Final = 260.0
"""Strength beyond this is not counted (seen in §8.3)."""


def _between(low: float, high: float, ratio: float) -> float:
    """Interpolate from a support as thick as the sheet (1.0) to one 2.5 times as thick."""
    share = min(max((ratio - 1.0) / 1.5, 0.0), 1.0)
    return low + share * (high - low)


@dataclass(frozen=True)
class ThinLap:
    """Two thin sheets joined by one rivet.

    Parameters
    ----------
    thickness_mm : float
        Sheet in contact with the rivet's head, t > 0 [mm].
    support_mm : float
        The other sheet, t_sup > 0 [mm].
    diameter_mm : float
        Rivet body d > 0 [mm].
    ultimate_MPa : float
        Lower ultimate strength of the two sheets, f_u,min > 0 [MPa].
    """

    thickness_mm: float
    support_mm: float
    diameter_mm: float
    ultimate_MPa: float


def bearing_resistance_en1999_1_4(lap: ThinLap, *, partial_factor: float = 1.25) -> float:
    """Bearing resistance of a blind rivet in thin aluminium sheet.

    Parameters
    ----------
    lap : ThinLap
        2.6 ≤ d ≤ 6.4 mm (computed outside too: `DIAMETER_EN1999_1_4` tells); where t > t_sup,
        t = t_sup is taken; f_u beyond 260 MPa is not counted.
    partial_factor : float
        γM3 > 0; 1.0 gives the characteristic value [–].

    Returns
    -------
    float
        F_b,Rd [N].

    Raises
    ------
    ValueError
        An input is not above zero.

    Notes
    -----
    t_sup/t = 1: 2.5 f_u √(t³ d)/γM3, at most 1.5 f_u t d/γM3; t_sup/t ≥ 2.5: 1.5 f_u t d/γM3;
    between them linear.

    References
    ----------
    EN 1999-1-4 §8.3 (screws: expression and limits seen in a copy of the text); §8.2 for blind
    rivets takes the same expression with its own diameters (from memory).

    Examples
    --------
    >>> round(bearing_resistance_en1999_1_4(ThinLap(1.0, 1.0, 4.8, 220.0)), 2)
    963.99
    """
    require_positive(**vars(lap), partial_factor=partial_factor)
    t, d = min(lap.thickness_mm, lap.support_mm), lap.diameter_mm
    fu = min(lap.ultimate_MPa, LARGEST_ULTIMATE_EN1999_1_4_MPA)
    most = 1.5 * fu * t * d
    equal = min(2.5 * fu * math.sqrt(t**3 * d), most)
    return _between(equal, most, lap.support_mm / t) / partial_factor


def rivet_shear_resistance_en1999_1_4(*, diameter_mm: float, partial_factor: float = 1.25) -> float:
    """Shear resistance of an aluminium blind rivet whose maker declares none.

    Parameters
    ----------
    diameter_mm : float
        Rivet body, 2.6 ≤ d ≤ 6.4 [mm]. Computed outside too: `DIAMETER_EN1999_1_4` tells.
    partial_factor : float
        γM3 > 0; 1.0 gives the characteristic value [–].

    Returns
    -------
    float
        F_v,Rd = 38 d²/γM3 [N].

    Raises
    ------
    ValueError
        An input is not above zero.

    References
    ----------
    EN 1999-1-4 §8.2 (from memory). It lies below the shear loads of ISO 15977 class L (from
    memory) by a factor of 0.71 to 0.78.

    Examples
    --------
    >>> round(rivet_shear_resistance_en1999_1_4(diameter_mm=4.8), 2)
    700.42
    """
    require_positive(diameter_mm=diameter_mm, partial_factor=partial_factor)
    return 38.0 * diameter_mm**2 / partial_factor


def bearing_resistance_blind_rivet_en1993_1_3(
    lap: ThinLap, *, end_mm: float, partial_factor: float = 1.25
) -> float:
    """Bearing resistance of a blind rivet in thin steel sheet; here a cross-check only.

    Parameters
    ----------
    lap : ThinLap
        2.6 ≤ d ≤ 6.4 mm (computed outside too: `DIAMETER_EN1993_1_3` tells), f_u ≤ 550 MPa; the
        thinner sheet is taken as t, the thicker as t1.
    end_mm : float
        From the rivet's centre to the sheet's end in the direction of load, e1 ≥ 1.5 d [mm].
    partial_factor : float
        γM2 > 0; 1.0 gives the characteristic value [–].

    Returns
    -------
    float
        F_b,Rd = α f_u d t/γM2, at most f_u e1 t/(1.2 γM2) [N].

    Raises
    ------
    ValueError
        An input is not above zero.

    Notes
    -----
    α = 3.6 √(t/d) ≤ 2.1 at t1 = t; 2.1 at t1 ≥ 2.5 t; between them linear.

    References
    ----------
    EN 1993-1-3 Table 8.1 (from memory).

    Examples
    --------
    >>> round(bearing_resistance_blind_rivet_en1993_1_3(
    ...     ThinLap(1.0, 1.0, 4.8, 300.0), end_mm=7.5), 2)
    1500.0
    """
    require_positive(**vars(lap), end_mm=end_mm, partial_factor=partial_factor)
    t, t1 = sorted((lap.thickness_mm, lap.support_mm))
    d, fu = lap.diameter_mm, lap.ultimate_MPa
    alpha = _between(min(3.6 * math.sqrt(t / d), 2.1), 2.1, t1 / t)
    return min(alpha * fu * d * t, fu * end_mm * t / 1.2) / partial_factor
