"""Which readings do not fit the others: data snooping, and the test of all together.

A reading's w is its residual over the residual's own standard uncertainty. The reading with the
largest |w| above the critical value is left out, the network adjusted again, and so on. Where two
readings share the largest |w| the fault cannot be told from one to the other.

References
----------
W. Baarda, A Testing Procedure for Use in Geodetic Networks, Netherlands Geodetic Commission, 1968
(critical value seen in public code that cites it).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaincinv

from panelwright.fit.answer import GlobalTest, Status
from panelwright.fit.datum import Adjusted, adjust

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.equations import Equations

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

CRITICAL_W = 3.2905
"""Two-sided 0.1 % of the normal distribution."""
LEAST_REDUNDANCY = 1e-9
"""Below it no other reading checks this one."""
_TIE = 1e-6


def redundancy_of(adjusted: Adjusted) -> Floats:
    """Redundancy number of every equation: the share of an error in it that its residual shows.

    r = 1 − diag(J Q Jᵀ), with J the weighted Jacobian and Q the covariance of the unknowns.

    Parameters
    ----------
    adjusted : Adjusted

    Returns
    -------
    array, shape (m,)
        0 to 1; their sum is the degrees of freedom [1].

    References
    ----------
    W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968 (from memory).
    """
    taken = np.einsum("ij,ij->i", adjusted.jacobian @ adjusted.covariance, adjusted.jacobian)
    redundancy: Floats = np.clip(1.0 - taken, 0.0, 1.0)
    return redundancy


def normalised(adjusted: Adjusted, redundancy: Floats) -> Floats:
    """Residual over its own standard uncertainty, w = residual / (u √r).

    Parameters
    ----------
    adjusted : Adjusted
    redundancy : array, shape (m,)
        0 to 1 [1].

    Returns
    -------
    array, shape (m,)
        w; NaN where nothing checks the equation [1].

    References
    ----------
    W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968 (from memory).
    """
    checked = redundancy > LEAST_REDUNDANCY
    root = np.sqrt(np.where(checked, redundancy, 1.0))
    w: Floats = np.where(checked, adjusted.residual / root, np.nan)
    return w


def variance_factor(adjusted: Adjusted) -> float | None:
    """Σ (residual/u)² / dof; None where nothing is left over.

    Parameters
    ----------
    adjusted : Adjusted

    Returns
    -------
    float or None
        None where the degrees of freedom are 0 [1].
    """
    return adjusted.sum_of_squares / adjusted.dof if adjusted.dof > 0 else None


def chi_square_quantile(probability: float, dof: int) -> float:
    """Quantile of the chi-square distribution.

    Parameters
    ----------
    probability : float
        0 to 1 [1].
    dof : int
        Degrees of freedom, from 1 [1].

    Returns
    -------
    float
        2 P⁻¹(dof/2, probability), with P the regularised incomplete gamma function [1].

    References
    ----------
    M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 26.4.19 (from memory).

    Examples
    --------
    >>> round(chi_square_quantile(0.95, 5), 4)
    11.0705
    """
    return float(2.0 * gammaincinv(dof / 2.0, probability))


def global_test(adjusted: Adjusted) -> GlobalTest:
    """Two-sided test at 95 % of the sum of squared residuals.

    Parameters
    ----------
    adjusted : Adjusted

    Returns
    -------
    GlobalTest
        Limits and outcome None where the degrees of freedom are 0.
    """
    statistic = adjusted.sum_of_squares
    if adjusted.dof <= 0:
        return GlobalTest(statistic, None, None, None)
    low = chi_square_quantile(0.025, adjusted.dof)
    high = chi_square_quantile(0.975, adjusted.dof)
    return GlobalTest(statistic, low, high, low <= statistic <= high)


def fails_high(test: GlobalTest) -> bool:
    """Whether the readings disagree by more than their uncertainties allow.

    Parameters
    ----------
    test : GlobalTest

    Returns
    -------
    bool
    """
    return test.high is not None and test.statistic > test.high


@dataclass(frozen=True)
class Suspects:
    """Equations whose readings do not fit the others, and what to say where that is unclear."""

    rows: frozenset[int]
    note: str


NOT_LOCATABLE = "a reading is wrong but it cannot be located: take another reading, or repeat all"


NOT_CONVERGED = (
    "the readings contradict each other so much that no place fits them: look for a misread length "
    "or a wrong point, and check the rough coordinates"
)


def suspects_of(
    equations: Equations, start: Adjusted, frame: Indices, is_reading: NDArray[np.bool_]
) -> Suspects:
    """Find the readings that do not fit, one after the other.

    Parameters
    ----------
    equations : Equations
    start : Adjusted
        With all readings.
    frame : array of int
        Nodes that inner constraints are taken over.
    is_reading : array of bool, shape (m,)
        Which observations may be suspected.

    Returns
    -------
    Suspects
        `rows` count the observations.
    """
    kept = np.ones(equations.count, dtype=bool)
    readings = np.zeros(equations.count, dtype=bool)
    readings[: len(is_reading)] = is_reading
    adjusted = start
    found: list[int] = []
    while adjusted.status is Status.CONVERGED:
        worst, note = _worst(adjusted, readings[kept])
        if worst is None:
            return Suspects(frozenset(found), note)
        row = int(np.flatnonzero(kept)[worst])
        found.append(row)
        kept[row] = False
        without = replace(equations, kept=kept.copy())
        adjusted = adjust(without, adjusted.x, frame)
    return Suspects(frozenset(found), NOT_CONVERGED)


def _worst(adjusted: Adjusted, readings: NDArray[np.bool_]) -> tuple[int | None, str]:
    """The reading that fits worst, if it is beyond doubt; else None and why."""
    w = np.nan_to_num(np.abs(normalised(adjusted, redundancy_of(adjusted))))
    of_readings = np.where(readings, w, 0.0)
    if not len(w) or of_readings.max(initial=0.0) <= CRITICAL_W:
        return None, ""
    worst = int(np.argmax(of_readings))
    tied = np.sum(np.abs(w - w[worst]) <= _TIE * w[worst]) > 1
    if adjusted.dof <= 1 or tied:
        return None, NOT_LOCATABLE
    return worst, ""
