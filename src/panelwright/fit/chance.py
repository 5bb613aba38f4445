"""How unlikely a chi-square statistic is, however large, and whether that is beyond doubt."""

from __future__ import annotations

from math import log, pi

import numpy as np
from scipy.special import log_ndtr

from panelwright.fit.snooping import chi_square_quantile

FALSE_ALARM = 0.001
"""Of one test, as the critical value of w has it."""


def surprise(statistic: float, dof: int) -> float:
    """How unlikely a chi-square statistic is: −ln of the chance of one as large.

    Parameters
    ----------
    statistic : float
        From 0 [1].
    dof : int
        1, 2 or 3 [1].

    Returns
    -------
    float
        From 0; holds where the chance itself would be rounded to 0 [1].

    References
    ----------
    M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 26.4.4 and 26.4.5 (from
    memory).

    Examples
    --------
    >>> round(surprise(10.827566, 1) / np.log(10), 4)  # 0.1 %
    3.0
    """
    if dof == 0 or statistic <= 0.0:
        return 0.0
    if dof == 2:
        return statistic / 2.0
    tails = float(log_ndtr(-np.sqrt(statistic))) + log(2.0)
    if dof == 1:
        return -tails
    return -float(np.logaddexp(tails, 0.5 * log(2.0 * statistic / pi) - statistic / 2.0))


def is_found(statistic: float, dof: int) -> bool:
    """Whether a sum of squares is beyond the test at 0.1 %.

    Parameters
    ----------
    statistic : float
        From 0 [1].
    dof : int
        From 0 [1].

    Returns
    -------
    bool
        Never where there is nothing to test.
    """
    return dof > 0 and statistic > chi_square_quantile(1.0 - FALSE_ALARM, dof)
