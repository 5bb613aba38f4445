"""Degree of cure by published kinetics: a second route beside the data sheet's times."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.rows import GAS_CONSTANT, ZERO_CELSIUS

if TYPE_CHECKING:
    from numpy.typing import NDArray

CURED = 1.0 - 1e-9
STEP = 0.05
"""Largest product of step and rate constant."""
MOST_STEPS = 2_000
"""Between two times given."""


@dataclass(frozen=True)
class Kamal:
    """Parameters of `degree_of_cure`.

    Parameters
    ----------
    a1_s, a2_s : float
        Factors of the rate constants [1/s].
    e1_kJ_mol, e2_kJ_mol : float
        Activation energies [kJ/mol].
    m, n : float
        Orders, not below 0 [-].
    start : float
        Degree of cure at the start, 0 to below 1 [-].
    diffusion : tuple of float or None
        C [-], degree at 0 K [-] and its rise [1/K] of the diffusion limit; None: no limit.
    """

    a1_s: float
    e1_kJ_mol: float
    a2_s: float
    e2_kJ_mol: float
    m: float
    n: float
    start: float = 0.0
    diffusion: tuple[float, float, float] | None = None

    def constants(self, celsius: float) -> tuple[float, float]:
        """Rate constants at a temperature [1/min]."""
        heat = 1e3 / (GAS_CONSTANT * (celsius + ZERO_CELSIUS))
        first = 60.0 * self.a1_s * math.exp(-self.e1_kJ_mol * heat)
        return first, 60.0 * self.a2_s * math.exp(-self.e2_kJ_mol * heat)

    def rate(self, degree: float, celsius: float) -> float:
        """Rise of the degree of cure [1/min]."""
        k1, k2 = self.constants(celsius)
        done = min(max(degree, 0.0), 1.0)
        rate = (k1 + k2 * math.pow(done, self.m)) * math.pow(1.0 - done, self.n)
        if self.diffusion is None:
            return rate
        c, at_zero, rise = self.diffusion
        critical = at_zero + rise * (celsius + ZERO_CELSIUS)
        return rate / (1.0 + math.exp(min(c * (degree - critical), 700.0)))


def degree_of_cure(
    minutes: NDArray[np.float64], celsius: NDArray[np.float64], kinetics: Kamal
) -> NDArray[np.float64]:
    """Degree of cure along a temperature history, linear between the times given.

    dα/dt = (k1 + k2 α^m)(1 − α)^n / {1 + exp[C(α − α_c)]}   (1)

    with k = A exp(−E/RT) and α_c = α_0 + α_T T, by Runge and Kutta's fourth-order rule.

    Parameters
    ----------
    minutes : array, shape (n,)
        Times, rising [min].
    celsius : array, shape (n,)
        Temperatures then [°C].
    kinetics : Kamal
        Parameters.

    Returns
    -------
    array, shape (n,)
        α [-]

    References
    ----------
    Kamal M.R., Sourour S. (1973) Polym. Eng. Sci. 13, 59–64; Chern C.-S., Poehlein G.W. (1987)
    Polym. Eng. Sci. 27, 788–795 for the divisor (both from memory).

    Examples
    --------
    m = n = 1 with k1 = 0.01 and k2 = 0.2 a minute reaches 0.254425 after 10 min (closed form):

    >>> made = Kamal(0.01 / 60, 0.0, 0.2 / 60, 0.0, 1.0, 1.0)
    >>> round(float(degree_of_cure(np.array([0.0, 10.0]), np.array([23.0, 23.0]), made)[-1]), 6)
    0.254425
    """
    degree = np.full(len(minutes), kinetics.start)
    for number in range(len(minutes) - 1):
        span = float(minutes[number + 1] - minutes[number])
        ends = float(celsius[number]), float(celsius[number + 1])
        degree[number + 1] = _across(float(degree[number]), span, ends, kinetics)
    return degree


def _across(degree: float, span_min: float, ends_C: tuple[float, float], made: Kamal) -> float:
    start_C, end_C = ends_C
    fastest = sum(made.constants(max(ends_C)))
    if made.diffusion is not None:
        fastest *= max(1.0, 0.25 * made.diffusion[0])
    steps = min(max(math.ceil(span_min * fastest / STEP), 1), MOST_STEPS)
    step, rise = span_min / steps, (end_C - start_C) / steps
    for number in range(steps):
        if degree > CURED:
            break
        at = start_C + rise * number
        first = made.rate(degree, at)
        second = made.rate(degree + 0.5 * step * first, at + 0.5 * rise)
        third = made.rate(degree + 0.5 * step * second, at + 0.5 * rise)
        fourth = made.rate(degree + step * third, at + rise)
        degree = min(degree + step * (first + 2 * second + 2 * third + fourth) / 6.0, 1.0)
    return degree
