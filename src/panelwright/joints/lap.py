"""Shear in a bonded overlap: Volkersen's closed form."""

from __future__ import annotations

import math
from dataclasses import dataclass

from panelwright.joints.validity import require_positive


@dataclass(frozen=True)
class Lap:
    """A single overlap; all above zero.

    Parameters
    ----------
    modulus_1_MPa, modulus_2_MPa : float
        Young's modulus of the sheets [MPa].
    thickness_1_mm, thickness_2_mm : float
        Sheets [mm].
    shear_modulus_MPa : float
        Adhesive G_a [MPa].
    bond_line_mm : float
        Adhesive t_a [mm].
    overlap_mm : float
        L, in the direction of load [mm].
    """

    modulus_1_MPa: float
    modulus_2_MPa: float
    thickness_1_mm: float
    thickness_2_mm: float
    shear_modulus_MPa: float
    bond_line_mm: float
    overlap_mm: float


def shear_lag_volkersen(lap: Lap) -> float:
    """Rate at which shear falls from the overlap's ends.

    Parameters
    ----------
    lap : Lap

    Returns
    -------
    float
        ω = √(G_a/t_a (1/(E1 t1) + 1/(E2 t2))) [1/mm]. Overlap beyond about 6/ω adds almost
        no strength.

    Raises
    ------
    ValueError
        An input is not above zero.

    References
    ----------
    Volkersen, O. (1938), Luftfahrtforschung 15, 41–47, as given in public lecture notes (seen).

    Examples
    --------
    >>> lap = Lap(70000.0, 70000.0, 2.0, 2.0, 500.0, 0.2, 25.0)
    >>> round(1000.0 * shear_lag_volkersen(lap), 3)
    188.982
    """
    require_positive(**vars(lap))
    softness = 1.0 / (lap.modulus_1_MPa * lap.thickness_1_mm)
    softness += 1.0 / (lap.modulus_2_MPa * lap.thickness_2_mm)
    return math.sqrt(lap.shear_modulus_MPa / lap.bond_line_mm * softness)


def volkersen_peak_shear(lap: Lap, *, force_N: float, width_mm: float) -> float:
    """Largest shear stress in a bonded overlap.

    Parameters
    ----------
    lap : Lap
    force_N : float
        P > 0 [N].
    width_mm : float
        b > 0 [mm].

    Returns
    -------
    float
        τ_max = P/(b L) · ωL/2 · (coth(ωL/2) + |(1 − ψ)/(1 + ψ)| tanh(ωL/2)), ψ = E1 t1/(E2 t2)
        [MPa]. Bending of the sheets and peel are not in it.

    Raises
    ------
    ValueError
        An input is not above zero.

    References
    ----------
    Volkersen, O. (1938), Luftfahrtforschung 15, 41–47, as given in public lecture notes (seen).

    Examples
    --------
    >>> lap = Lap(70000.0, 70000.0, 2.0, 2.0, 500.0, 0.2, 25.0)
    >>> round(volkersen_peak_shear(lap, force_N=10000.0, width_mm=25.0), 3)
    38.473
    """
    require_positive(force_N=force_N, width_mm=width_mm)
    half = shear_lag_volkersen(lap) * lap.overlap_mm / 2.0
    psi = lap.modulus_1_MPa * lap.thickness_1_mm / (lap.modulus_2_MPa * lap.thickness_2_mm)
    unequal = abs((1.0 - psi) / (1.0 + psi))
    average = force_N / (width_mm * lap.overlap_mm)
    return average * half * (1.0 / math.tanh(half) + unequal * math.tanh(half))
