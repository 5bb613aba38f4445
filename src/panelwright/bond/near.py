"""How far heat reaches beyond the joint: what must keep away from a lamp, and how metal grows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.beam import lamp_factor
from panelwright.bond.loss import steady_temperature
from panelwright.bond.radiation import irradiance
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.bond.lamps import LampPlan

DARK = 0.95
"""Absorptivity and emissivity of the worst thing that may stand there [-]."""
ONE_FACE = 4.0
"""Still air at one face; the other is taken as insulated [W/(m² K)]."""
FARTHEST_MM = 3000.0


@dataclass(frozen=True)
class KeepAway:
    """How far a thing must stand from the lamp's axis, in the panel's plane.

    Parameters
    ----------
    thing : str
    limit_C : float
        What it stands [°C].
    along_mm, across_mm : float
        From the lamp's axis, along the joint and across it [mm].
    """

    thing: str
    limit_C: float
    along_mm: float
    across_mm: float


def keep_away(lamp: LampPlan, air_C: float) -> tuple[KeepAway, ...]:
    """Distances beyond which even a dark, insulated thing stays below what it stands.

    α G(r) = h (T − T_air) + ε σ (T⁴ − T_air⁴) with α = ε = 0.95   (1)

    Parameters
    ----------
    lamp : LampPlan
        With its output at 90 % of what it may be.
    air_C : float
        [°C]

    Returns
    -------
    tuple of KeepAway
        One for each row of the table ``near_limits``.

    References
    ----------
    Incropera 6th ed., example 1.7; limits: common practice, no source.
    """
    table = load("near_limits")
    found = []
    for number, row in enumerate(table.records()):
        limit_C = table.number(number, "limit")
        along, across = (_reach(lamp, air_C, limit_C, along=way) for way in (True, False))
        found.append(KeepAway(str(row["words"]), limit_C, along, across))
    return tuple(found)


def _reach(lamp: LampPlan, air_C: float, limit_C: float, *, along: bool) -> float:
    """Distance from the axis at which a dark thing just reaches its limit, by halving [mm]."""
    strong_W = lamp.radiant_W * (1.0 + 1.2816 * lamp.output_u)
    aperture_m2 = lamp.size_mm[0] * lamp.size_mm[1] * 1e-6

    def too_hot(away_mm: float) -> bool:
        factor = lamp_factor(
            along=np.array(away_mm if along else 0.0),
            across=0.0 if along else away_mm,
            distance=np.array(lamp.distance_mm),
            size=lamp.size_mm,
            lobe=lamp.lobe,
        )
        received = float(irradiance(factor, radiant_W=strong_W, aperture_m2=aperture_m2))
        reached = steady_temperature(
            DARK * received,
            coefficient=ONE_FACE,
            air_C=air_C,
            surroundings_C=air_C,
            emissivity=DARK,
        )
        return reached > limit_C

    if not too_hot(0.0):
        return 0.0
    near, far = 0.0, FARTHEST_MM
    if too_hot(far):
        return far
    while far - near > 1.0:
        middle = 0.5 * (near + far)
        near, far = (middle, far) if too_hot(middle) else (near, middle)
    return far


def expansion_of(material: str | None) -> float:
    """Thermal expansion of a metal.

    Parameters
    ----------
    material : str or None
        As the file says it; aluminium where its words name no metal of the table.

    Returns
    -------
    float
        α [1/K].

    Examples
    --------
    >>> expansion_of("DX54 steel")
    1.16e-05
    """
    table = load("metal_expansion")
    words = (material or "").lower().replace("-", " ").split()
    for number, row in enumerate(table.records()):
        if set(str(row["words"]).split()) & set(words):
            return table.number(number, "expansion")
    return table.number(0, "expansion")


def growth_mm(length_mm: float, excess_K: float, material: str | None = None) -> float:
    """How much a panel grows.

    ΔL = α L ΔT   (1)

    Parameters
    ----------
    length_mm : float
        [mm]
    excess_K : float
        Above the temperature at which gaps are judged [K].
    material : str or None
        As for `expansion_of`.

    Returns
    -------
    float
        [mm]

    Examples
    --------
    1 m by 40 K: 0.9 mm.

    >>> round(growth_mm(1000.0, 40.0), 2)
    0.92
    """
    return expansion_of(material) * length_mm * excess_K
