"""A fixed ensemble of inputs: the same 256 members every time."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

MEMBERS = 256
GENERATOR = 13
"""Of the lattice; smallest P2 error in ten dimensions among all odd numbers below 256."""


class Input(IntEnum):
    """The inputs that vary, each one column of standard normal numbers."""

    AIR = 0
    ABSORPTIVITY = 1
    CONVECTION = 2
    OUTPUT = 3
    DISTANCE = 4
    BACK = 5
    LAW_A = 6
    LAW_B = 7
    LAW_C = 8
    LAW_D = 9


THERMAL = 6
"""Inputs before the law's: those that a temperature reading can teach."""

SPOKEN = {
    Input.AIR: "air temperature",
    Input.ABSORPTIVITY: "how much of the lamp the surface absorbs",
    Input.CONVECTION: "draught and convection",
    Input.OUTPUT: "lamp output",
    Input.DISTANCE: "lamp distance",
    Input.BACK: "inner face of the joint",
    Input.LAW_A: "data sheet times",
    Input.LAW_B: "data sheet times",
    Input.LAW_C: "data sheet times",
    Input.LAW_D: "data sheet times",
}


@dataclass(frozen=True)
class Ensemble:
    """Members of standard normal inputs with their weights.

    Parameters
    ----------
    normals : array, shape (m, 10)
        One column for each `Input` [-].
    weights : array, shape (m,)
        Adding up to 1 [-].
    """

    normals: NDArray[np.float64]
    weights: NDArray[np.float64]

    def column(self, which: Input) -> NDArray[np.float64]:
        """One input's standard normal numbers, shape (m,)."""
        return self.normals[:, which]


@cache
def _standard_normals() -> NDArray[np.float64]:
    number = np.arange(MEMBERS)
    multipliers = [pow(GENERATOR, power, MEMBERS) for power in range(len(Input))]
    steps = np.outer(number, multipliers) % MEMBERS
    normal = NormalDist()
    quantiles = np.array([normal.inv_cdf((k + 0.5) / MEMBERS) for k in range(MEMBERS)])
    quantiles /= np.sqrt(np.mean(quantiles**2))  # 256 points leave 0.5 % of the variance out
    table: NDArray[np.float64] = quantiles[steps]
    table.setflags(write=False)
    return table


def fixed_ensemble() -> Ensemble:
    """The prior ensemble: a rank-1 lattice, each column a permutation of the same quantiles.

    x_ij = {i g^j / n} + 1/(2n), i = 0 … n−1   (1)

    Returns
    -------
    Ensemble
        Even weights.

    References
    ----------
    Korobov N.M. (1959) Dokl. Akad. Nauk SSSR 124, 1207–1210; Sloan I.H., Joe S. (1994) Lattice
    Methods for Multiple Integration, chapter 4 (both from memory).

    Examples
    --------
    >>> fixed_ensemble().normals.shape
    (256, 10)
    """
    return Ensemble(_standard_normals(), np.full(MEMBERS, 1.0 / MEMBERS))


def middle() -> Ensemble:
    """One member with every input at its likely value.

    Returns
    -------
    Ensemble
    """
    return Ensemble(np.zeros((1, len(Input))), np.ones(1))


def weighted_quantiles(
    values: NDArray[np.float64], weights: NDArray[np.float64], levels: tuple[float, ...]
) -> NDArray[np.float64]:
    """Quantiles of weighted members, linear between them.

    Parameters
    ----------
    values : array, shape (m,) or (m, k)
        Of the members.
    weights : array, shape (m,)
        Adding up to 1 [-].
    levels : tuple of float
        0 to 1, q of them [-].

    Returns
    -------
    array, shape (q,) or (q, k)

    References
    ----------
    Hyndman R.J., Fan Y. (1996) Am. Stat. 50, 361–365, definition 5, with weights.

    Examples
    --------
    >>> weighted_quantiles(np.array([3.0, 1.0, 2.0]), np.full(3, 1 / 3), (0.5,)).tolist()
    [2.0]
    """
    table = values.reshape(len(values), -1)
    order = np.argsort(table, axis=0, kind="stable")
    ranked = np.take_along_axis(table, order, axis=0)
    mass = weights[order]
    place = np.cumsum(mass, axis=0) - 0.5 * mass
    columns = np.arange(table.shape[1])
    found = []
    for level in levels:
        right = np.clip(np.sum(place < level, axis=0), 1, max(len(table) - 1, 1))
        left = right - 1 if len(table) > 1 else right * 0
        right = right if len(table) > 1 else right * 0
        low, high = place[left, columns], place[right, columns]
        gap = np.where(high > low, high - low, 1.0)
        part = np.clip((level - low) / gap, 0.0, 1.0)
        below, above = ranked[left, columns], ranked[right, columns]
        found.append(np.clip(below + part * (above - below), below, above))
    return np.stack(found).reshape(len(levels), *values.shape[1:])
