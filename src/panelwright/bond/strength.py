"""Strength of the adhesive against equivalent age."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

FULL_FRACTION = 0.95
"""Part of its final strength that an adhesive has at “full cure” (own choice)."""
LEAST_RATIO = 1.01
"""Of the ages at full cure and handling: closer together, and the curve is a step."""
LEAST_MPa = 1e-6
"""Below it the model's value is called nothing."""
HANDLING_MPa = 1.0
"""Lap shear at handling where the sheet gives none (from memory: “time to 1 MPa”)."""
MODEL = "exponential of maturity (Freiesleben Hansen and Pedersen 1977), through handling and full"


def strength_at_age(
    age_min: NDArray[np.float64],
    *,
    handle_min: NDArray[np.float64],
    full_min: NDArray[np.float64],
    handle_MPa: float,
    full_MPa: float,
) -> NDArray[np.float64]:
    """Lap-shear strength against equivalent age, through the sheet's two points.

    S = S_u exp[−(τ/t)^a], S_u = S_full/0.95, never above S_full   (1)

    with τ and a such that S(t_handle) = S_handle and S(t_full) = S_full.

    Parameters
    ----------
    age_min : array
        Equivalent age, not below 0 [min].
    handle_min, full_min : array, broadcast against `age_min`
        Equivalent ages at handling and at full cure, handling first [min].
    handle_MPa, full_MPa : float
        Lap-shear strengths then, handling below full [MPa].

    Returns
    -------
    array
        Strength, rising, `full_MPa` from full cure on [MPa].

    References
    ----------
    Freiesleben Hansen P., Pedersen E.J. (1977) Maturity computer for controlled curing and
    hardening of concrete, Nordisk Betong 1, 21–25 (from memory; used there for concrete).

    Examples
    --------
    >>> ages = np.array([0.0, 240.0, 1440.0, 3000.0])
    >>> strength_at_age(ages, handle_min=np.array(240.0), full_min=np.array(1440.0),
    ...                 handle_MPa=1.0, full_MPa=20.0).round(6).tolist()
    [0.0, 1.0, 20.0, 20.0]
    """
    ultimate = full_MPa / FULL_FRACTION
    at_handle, at_full = np.log(ultimate / handle_MPa), -np.log(FULL_FRACTION)
    span = np.log(np.maximum(full_min / handle_min, LEAST_RATIO))
    power = np.log(at_handle / at_full) / span
    younger = np.log(handle_min / np.maximum(age_min, 1e-9 * handle_min))
    fall = at_handle * np.exp(np.minimum(power * younger, 20.0))
    strength = ultimate * np.exp(-np.minimum(fall, 700.0))
    result: NDArray[np.float64] = np.where(
        age_min >= full_min, full_MPa, np.minimum(strength, full_MPa)
    )
    return np.where(result > LEAST_MPa, result, 0.0)


def age_at_strength(
    share: float,
    *,
    handle_min: NDArray[np.float64],
    full_min: NDArray[np.float64],
    handle_MPa: float,
    full_MPa: float,
) -> NDArray[np.float64]:
    """Equivalent age at which a share of the full strength is reached.

    t = t_handle [ln(S_u/S_handle) / ln(S_u/(p S_full))]^(1/a)   (1), from (1) of `strength_at_age`

    Parameters
    ----------
    share : float
        p, above 0 and below 1 [-].
    handle_min, full_min : array
        Equivalent ages at handling and at full cure, handling first [min].
    handle_MPa, full_MPa : float
        Lap-shear strengths then, handling below full [MPa].

    Returns
    -------
    array
        [min]

    References
    ----------
    As for `strength_at_age`.

    Examples
    --------
    >>> age_at_strength(0.05, handle_min=np.array([240.0]), full_min=np.array([1440.0]),
    ...                 handle_MPa=1.0, full_MPa=20.0).round(6).tolist()
    [240.0]
    """
    ultimate = full_MPa / FULL_FRACTION
    at_handle, at_full = np.log(ultimate / handle_MPa), -np.log(FULL_FRACTION)
    span = np.log(np.maximum(full_min / handle_min, LEAST_RATIO))
    power = np.log(at_handle / at_full) / span
    at_share = np.log(ultimate / (share * full_MPa))
    found: NDArray[np.float64] = handle_min * (at_handle / at_share) ** (1.0 / power)
    return np.minimum(found, full_min)
