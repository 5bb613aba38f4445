"""Equivalent age: how far a temperature history has taken the cure."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.arrhenius import cure_rate

if TYPE_CHECKING:
    from numpy.typing import NDArray


def equivalent_age(
    minutes: NDArray[np.float64],
    history_C: NDArray[np.float64],
    *,
    reference_C: float,
    energy_kJ_mol: NDArray[np.float64] | float,
) -> NDArray[np.float64]:
    """Time at a reference temperature that cures as far as a temperature history does.

    t_e(t) = ∫₀ᵗ exp[−(E/R)(1/T(s) − 1/T_ref)] ds   (1)

    by the trapezoidal rule over the times given.

    Parameters
    ----------
    minutes : array, shape (n,)
        Times, rising [min].
    history_C : array, shape (..., n)
        Temperatures at those times [°C].
    reference_C : float
        T_ref [°C].
    energy_kJ_mol : float or array, shape broadcast against (..., n)
        Activation energy E [kJ/mol].

    Returns
    -------
    array, shape (..., n)
        Equivalent age at each time, 0 at the first [min].

    References
    ----------
    ASTM C1074-19, equation 2 (equivalent age; Q = E/R; title and scope seen, equation from
    memory). Freiesleben Hansen P., Pedersen E.J. (1977) Nordisk Betong 1, 21–25 (from memory).

    Examples
    --------
    10 h at 35 °C with Q = 5000 K are 22.939 h at 20 °C:

    >>> steady = equivalent_age(np.array([0.0, 600.0]), np.array([35.0, 35.0]),
    ...                         reference_C=20.0, energy_kJ_mol=41.57231309)
    >>> round(float(steady[-1]) / 60, 3)
    22.939
    """
    rate = cure_rate(history_C, reference_C, energy_kJ_mol)
    pieces = 0.5 * (rate[..., 1:] + rate[..., :-1]) * np.diff(minutes)
    age = np.zeros_like(rate)
    np.cumsum(pieces, axis=-1, out=age[..., 1:])
    return age


def minutes_to_age(
    minutes: NDArray[np.float64],
    age_min: NDArray[np.float64],
    wanted_min: NDArray[np.float64],
    last_rate: NDArray[np.float64],
) -> NDArray[np.float64]:
    """When each history reaches an equivalent age; past its end it goes on at its last rate.

    Parameters
    ----------
    minutes : array, shape (n,)
        Times, rising [min].
    age_min : array, shape (m, n)
        Equivalent ages, rising [min].
    wanted_min : array, shape (m,)
        Equivalent age to be reached by each history [min].
    last_rate : array, shape (m,)
        Speed of cure after the last time, above 0 [-].

    Returns
    -------
    array, shape (m,)
        Time at which each is reached [min].

    References
    ----------
    Inverse of ASTM C1074-19 equation 2, linear between the times given.

    Examples
    --------
    >>> float(minutes_to_age(np.array([0.0, 10.0]), np.array([[0.0, 20.0]]),
    ...                      np.array([25.0]), np.array([0.5]))[0])
    20.0
    """
    after = minutes[-1] + (wanted_min - age_min[:, -1]) / last_rate
    place = np.sum(age_min < wanted_min[:, None], axis=1)
    right = np.clip(place, 1, len(minutes) - 1)
    rows = np.arange(len(age_min))
    low, high = age_min[rows, right - 1], age_min[rows, right]
    part = np.clip((wanted_min - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    inside = minutes[right - 1] + part * (minutes[right] - minutes[right - 1])
    reached: NDArray[np.float64] = np.where(age_min[:, -1] < wanted_min, after, inside)
    return reached
