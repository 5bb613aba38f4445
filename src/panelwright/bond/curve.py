"""The rows of a joint's curve: temperatures and strength minute by minute."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.answer import CurveRow
from panelwright.bond.cure import LEVELS
from panelwright.bond.ensemble import weighted_quantiles
from panelwright.bond.strength import strength_at_age

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.cure import Ages
    from panelwright.bond.ensemble import Ensemble

LAMP_ROWS = 120
ALL_ROWS = 200
COOLING_MIN = 30.0


def curve_minutes(last_switch_min: float, horizon_min: float) -> NDArray[np.float64]:
    """Minutes of the rows: each minute around the lamp where that fits, wider after it.

    Parameters
    ----------
    last_switch_min : float
        When the last lamp goes off, 0 without a lamp [min].
    horizon_min : float
        End of the curve, above 0 [min].

    Returns
    -------
    array, shape (at most 200,)
        Rising from 0 to `horizon_min` rounded up [min].

    References
    ----------
    Own choice.

    Examples
    --------
    >>> curve_minutes(0.0, 5.0).tolist()
    [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]
    """
    horizon = max(np.ceil(horizon_min), 1.0)
    dense_end = min(last_switch_min + COOLING_MIN, horizon) if last_switch_min > 0.0 else 0.0
    step = max(np.ceil(dense_end / (LAMP_ROWS - 1)), 1.0)
    dense = np.arange(0.0, dense_end + 0.5 * step, step) if dense_end else np.zeros(1)
    rest = max(horizon - dense[-1], 0.0)
    wide = max(np.ceil(rest / (ALL_ROWS - len(dense) - 1)), 1.0)
    tail = np.arange(dense[-1] + wide, horizon, wide)
    last = [horizon] if horizon > dense[-1] else []
    return np.concatenate([dense, tail, last])


def _at(
    minutes: NDArray[np.float64], table: NDArray[np.float64], wanted: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Columns of a table (m, n) at other minutes, the last one held beyond its end."""
    right = np.clip(np.searchsorted(minutes, wanted), 1, len(minutes) - 1)
    part = (wanted - minutes[right - 1]) / (minutes[right] - minutes[right - 1])
    part = np.clip(part, 0.0, 1.0)
    columns: NDArray[np.float64] = (1.0 - part) * table[:, right - 1] + part * table[:, right]
    return columns


def curve_rows(
    rows_min: NDArray[np.float64],
    *,
    ages: Ages,
    ensemble: Ensemble,
    air_C: NDArray[np.float64],
    strengths: tuple[NDArray[np.float64], NDArray[np.float64], float, float] | None,
) -> tuple[CurveRow, ...]:
    """The curve of a joint.

    Parameters
    ----------
    rows_min : array, shape (k,)
        After closing [min].
    ages : Ages
        Of all spots.
    ensemble : Ensemble
        Weights of the m members.
    air_C : array, shape (m,)
        Temperature after the history's end [°C].
    strengths : tuple or None
        Equivalent ages at handling and full cure, shape (m,) [min], and strengths then [MPa].

    Returns
    -------
    tuple of CurveRow

    References
    ----------
    `panelwright.bond.strength.strength_at_age`.
    """
    minutes, celsius = ages.history.minutes, ages.history.celsius
    beyond = np.maximum(rows_min - minutes[-1], 0.0)
    coldest = _at(minutes, celsius.min(axis=1), rows_min)
    hottest = _at(minutes, celsius.max(axis=1), rows_min)
    coldest[:, beyond > 0.0] = hottest[:, beyond > 0.0] = air_C[:, None]
    cold_C = weighted_quantiles(coldest, ensemble.weights, LEVELS)
    hot_C = weighted_quantiles(hottest, ensemble.weights, LEVELS)
    strong: list[list[float | None]] = [[None] * len(rows_min)] * 3
    if strengths is not None:
        handle, full, handle_MPa, full_MPa = strengths
        age = _at(minutes, ages.age_min.min(axis=1), rows_min) + ages.after_rate[:, None] * beyond
        each = strength_at_age(
            age,
            handle_min=handle[:, None],
            full_min=full[:, None],
            handle_MPa=handle_MPa,
            full_MPa=full_MPa,
        )
        strong = weighted_quantiles(each, ensemble.weights, LEVELS).tolist()
    return tuple(
        CurveRow(
            minute=float(minute),
            coldest_C=float(cold_C[1, k]),
            hottest_C=float(hot_C[1, k]),
            strength_MPa=strong[1][k],
            coldest_C_10=float(cold_C[0, k]),
            coldest_C_90=float(cold_C[2, k]),
            hottest_C_10=float(hot_C[0, k]),
            hottest_C_90=float(hot_C[2, k]),
            strength_MPa_10=strong[0][k],
            strength_MPa_90=strong[2][k],
        )
        for k, minute in enumerate(rows_min)
    )
