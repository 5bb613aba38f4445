"""What a warm panel loses: convection as a table, and the balance of a steady panel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.bond.convection import natural_convection_level, natural_convection_upright
from panelwright.bond.radiation import STEFAN_BOLTZMANN
from panelwright.bond.rows import ZERO_CELSIUS

if TYPE_CHECKING:
    from numpy.typing import NDArray

TABLE_STEP_K = 0.5
TABLE_LOW_K = -150.0
TABLE_HIGH_K = 600.0


@dataclass(frozen=True)
class ConvectiveLoss:
    """Convective loss of both faces against excess temperature, as an even table.

    Parameters
    ----------
    flux : array, shape (k,)
        Loss at `TABLE_LOW_K` and on in steps of `TABLE_STEP_K` [W/m²].
    """

    flux: NDArray[np.float64]

    @staticmethod
    def excesses() -> NDArray[np.float64]:
        """Excess temperatures of the table, shape (k,) [K]."""
        count = round((TABLE_HIGH_K - TABLE_LOW_K) / TABLE_STEP_K) + 1
        return TABLE_LOW_K + TABLE_STEP_K * np.arange(count, dtype=np.float64)

    @classmethod
    def still_air(cls, air_C: float, height_m: float, faces: int = 2) -> ConvectiveLoss:
        """Upright faces in still air."""
        excess = cls.excesses()
        warm = np.maximum(air_C + excess, -120.0)
        return cls(faces * natural_convection_upright(warm, air_C, height_m) * excess)

    @classmethod
    def level(cls, air_C: float, side_m: float, *, below: bool) -> ConvectiveLoss:
        """The upper face of a level panel in still air, and the lower one where it is open."""
        excess = cls.excesses()
        warm = np.maximum(air_C + excess, -120.0)
        faces = (True, False) if below else (True,)
        each = [natural_convection_level(warm, air_C, side_m, up=face) for face in faces]
        return cls(np.sum(each, axis=0) * excess)

    @classmethod
    def constant(cls, coefficient: float) -> ConvectiveLoss:
        """A given coefficient, summed over the faces that lose [W/(m² K)]."""
        return cls(coefficient * cls.excesses())

    def at(self, excess_K: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Loss and its slope at excess temperatures of any shape [W/m²], [W/(m² K)]."""
        place = (excess_K - TABLE_LOW_K) / TABLE_STEP_K
        left = np.clip(place.astype(np.intp), 0, len(self.flux) - 2)
        low = self.flux[left]
        rise = self.flux[left + 1] - low
        return low + rise * (place - left), rise / TABLE_STEP_K


def steady_temperature(
    absorbed: float, *, coefficient: float, air_C: float, surroundings_C: float, emissivity: float
) -> float:
    """Temperature at which a surface loses what it absorbs.

    α G = h(T − T_air) + εσ(T⁴ − T_sur⁴)   (1)

    Parameters
    ----------
    absorbed : float
        α G, not below 0 [W/m²].
    coefficient : float
        h [W/(m² K)].
    air_C, surroundings_C : float
        Temperatures of the air and of the walls [°C].
    emissivity : float
        ε in the long wave [-].

    Returns
    -------
    float
        T [°C].

    References
    ----------
    Incropera 6th ed., example 1.7 (coating cured under a lamp).

    Examples
    --------
    G = 2000 W/m², α = 0.8, ε = 0.5, h = 15, air 20 °C, walls 30 °C: 104 °C.

    >>> round(steady_temperature(1600, coefficient=15, air_C=20, surroundings_C=30,
    ...                          emissivity=0.5), 1)
    104.3
    """
    walls = (surroundings_C + ZERO_CELSIUS) ** 4
    T = max(air_C, surroundings_C) + ZERO_CELSIUS
    for _ in range(50):  # Newton on a convex, rising function: monotone after the first step
        out = coefficient * (T - ZERO_CELSIUS - air_C) + emissivity * STEFAN_BOLTZMANN * (
            T**4 - walls
        )
        slope = coefficient + 4.0 * emissivity * STEFAN_BOLTZMANN * T**3
        change = (absorbed - out) / slope
        T += change
        if abs(change) < 1e-10:
            break
    return T - ZERO_CELSIUS
