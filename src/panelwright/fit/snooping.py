"""How well readings fit together: redundancy, w of each, and the test of all together.

A reading's w is its residual over the residual's own standard uncertainty. What is looked for with
it stands in `suspects`.

References
----------
W. Baarda, A Testing Procedure for Use in Geodetic Networks, Netherlands Geodetic Commission, 1968
(critical value seen in public code that cites it).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import gammaincinv

from panelwright.fit.answer import GlobalTest

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted

    Floats = NDArray[np.float64]

CRITICAL_W = 3.2905
"""Two-sided 0.1 % of the normal distribution."""
LEAST_REDUNDANCY = 1e-9
"""Below it no other reading checks this one."""


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
    if adjusted.redundancy is not None:
        return adjusted.redundancy
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
