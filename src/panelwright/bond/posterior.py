"""What a data sheet's few, rounded rows say of an adhesive, beside what is known of epoxies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

COMMON_ENERGY_KJ = 58.0
COMMON_ENERGY_U_KJ = 7.0
"""Prior of E: epoxy with amine, 54–59 kJ/mol (from memory: Horie 1970), 50–65 by our reference."""
SCATTER = 0.05
"""Middle of the prior of a row's own relative scatter (common practice, no source)."""
SCATTER_SPREAD = 0.7
"""Standard deviation of its ln: 1 to 20 % are possible (own choice)."""
SCATTERS = np.exp(math.log(SCATTER) + SCATTER_SPREAD * np.linspace(-3.0, 3.0, 25))
PRINTED_MIN = (
    *(1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0),
    *(60.0 * hours for hours in (2, 3, 4, 5, 6, 8, 10, 12, 16, 24, 36, 48, 72, 96, 120, 168)),
)
"""Times that sheets like to print [min] (common practice, no source)."""

FIVE_MIN = 5.0


def rounding_u(times_min: Sequence[float]) -> NDArray[np.float64]:
    """Relative standard uncertainty of printed times from their rounding.

    u = ln(b/a)/√12 for a time known to lie between a and b   (1)

    Where all times of a sheet stand on the usual steps (5, 10, 15, 20, 30, 45, 60, 90 min, hours),
    each may be anything nearer to its own step than to the next; where all are whole five minutes,
    2.5 min either way; else two figures count.

    Parameters
    ----------
    times_min : sequence of float
        All times of one sheet, above 0 [min].

    Returns
    -------
    array, shape (n,)
        [-]

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.7, rectangular distribution (from memory).

    Examples
    --------
    10 min stands for 7.5 to 12.5 min among usual steps, beside 37 min for 9.5 to 10.5 min:

    >>> rounding_u([10.0, 60.0]).round(3).tolist(), rounding_u([10.0, 37.0]).round(3).tolist()
    ([0.147, 0.103], [0.029, 0.008])
    """
    steps = np.array(PRINTED_MIN)
    usual = all(bool(np.any(np.isclose(steps, time, rtol=1e-9))) for time in times_min)
    if usual:
        return np.array([_usual_u(time, steps) for time in times_min])
    fives = all(math.isclose(time % FIVE_MIN, 0.0) for time in times_min)
    return np.array([_figures_u(time, FIVE_MIN if fives else 0.0) for time in times_min])


def _usual_u(time_min: float, steps: NDArray[np.float64]) -> float:
    place = int(np.argmin(np.abs(steps - time_min)))
    below = steps[place - 1] if place > 0 else 0.0
    above = steps[place + 1] if place + 1 < len(steps) else 2.0 * time_min - below
    return math.log((time_min + above) / (time_min + below)) / math.sqrt(12.0)


def _figures_u(time_min: float, step_min: float) -> float:
    half = 0.5 * max(10.0 ** (math.floor(math.log10(time_min)) - 1), step_min)
    return math.log((time_min + half) / (time_min - half)) / math.sqrt(12.0)


@dataclass(frozen=True)
class Posterior:
    """Estimates of a sheet's law after its rows.

    Parameters
    ----------
    estimate : array, shape (n + 1,)
        ln of each event's time at the reference [ln min], then E [kJ/mol].
    covariance : array, shape (n + 1, n + 1)
        Of them.
    row_u : float
        Of one row's ln t, scatter and rounding together (root mean square) [-].
    """

    estimate: NDArray[np.float64]
    covariance: NDArray[np.float64]
    row_u: float


def law_posterior(
    matrix: NDArray[np.float64], observed: NDArray[np.float64], rounding: NDArray[np.float64]
) -> Posterior:
    """Energy and times of a sheet, its scatter unknown.

    y = X β + e, e_i ~ N(0, r_i² + s²), E ~ N(58, 7²) kJ/mol, ln s ~ N(ln 0.05, 0.7²)   (1)

    For each s on a grid the posterior of β is normal; the grid is weighed by its marginal
    likelihood, and mean and covariance of the mixture are kept: few rows say little of s, and the
    band says so.

    Parameters
    ----------
    matrix : array, shape (rows, n + 1)
        X; the last column belongs to E.
    observed : array, shape (rows,)
        ln of the printed times [ln min].
    rounding : array, shape (rows,)
        r, as `rounding_u` gives it [-].

    Returns
    -------
    Posterior

    References
    ----------
    Gelman A. et al. (2013) Bayesian Data Analysis, 3rd ed., chapter 14 (from memory). Prior of E:
    Horie K. et al. (1970) J. Polym. Sci. A-1 8, 1357–1372 (from memory).
    """
    prior = np.zeros((matrix.shape[1], matrix.shape[1]))
    prior[-1, -1] = COMMON_ENERGY_U_KJ**-2
    pull = prior[-1] * COMMON_ENERGY_KJ
    means, covariances, logs = [], [], []
    for number, scatter in enumerate(SCATTERS):
        variance = rounding**2 + scatter**2
        weighted = matrix / variance[:, None]
        precision = weighted.T @ matrix + prior
        covariance = np.linalg.inv(precision)
        mean = covariance @ (weighted.T @ observed + pull)
        residual = observed - matrix @ mean
        misfit = residual @ (residual / variance)
        misfit += ((mean[-1] - COMMON_ENERGY_KJ) / COMMON_ENERGY_U_KJ) ** 2
        standard = -3.0 + 6.0 * number / (len(SCATTERS) - 1)
        determinants = np.log(variance).sum() + np.linalg.slogdet(precision)[1]
        means.append(mean)
        covariances.append(covariance)
        logs.append(-0.5 * (misfit + determinants + standard**2))
    weights = np.exp(np.array(logs) - max(logs))
    weights /= weights.sum()
    return _mixture(weights, np.array(means), np.array(covariances), rounding)


def _mixture(
    weights: NDArray[np.float64],
    means: NDArray[np.float64],
    covariances: NDArray[np.float64],
    rounding: NDArray[np.float64],
) -> Posterior:
    mean = weights @ means
    off = means - mean
    covariance = np.einsum("s,sij->ij", weights, covariances) + (weights[:, None] * off).T @ off
    row_u = math.sqrt(float(weights @ SCATTERS**2 + np.mean(rounding**2)))
    return Posterior(mean, covariance, row_u)
