"""A panel as a layered thin plate in two dimensions, cut into cells.

Thickness and layers change across the plate (skin, flange with adhesive and inner, inner alone)
and are even along it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Layer:
    """One sheet or film: conductivity [W/(m K)], density [kg/m³], heat [J/(kg K)], thickness."""

    conductivity: float
    density: float
    specific_heat: float
    thickness_mm: float


@dataclass(frozen=True)
class Strip:
    """A stretch across the plate with the same layers.

    Parameters
    ----------
    width_mm : float
        Above 0 [mm].
    layers : tuple of Layer
        At least one.
    """

    width_mm: float
    layers: tuple[Layer, ...]

    @property
    def conductance(self) -> float:
        """Σ k t of the layers side by side [W/K]."""
        return sum(one.conductivity * one.thickness_mm * 1e-3 for one in self.layers)

    @property
    def capacity(self) -> float:
        """Σ ρ c t of the layers [J/(m² K)]."""
        return sum(one.density * one.specific_heat * one.thickness_mm * 1e-3 for one in self.layers)


@dataclass(frozen=True)
class Plate:
    """A plate in cells, insulated at its four edges.

    Parameters
    ----------
    along_mm : array, shape (i,)
        Middles of the cells along it, evenly spaced [mm].
    across_mm : array, shape (j,)
        Middles of the rows of cells across it [mm].
    width_mm : array, shape (j,)
        Of each row [mm].
    conductance : array, shape (j,)
        Σ k t of each row [W/K].
    capacity : array, shape (j,)
        Σ ρ c t of each row [J/(m² K)].
    """

    along_mm: Floats
    across_mm: Floats
    width_mm: Floats
    conductance: Floats
    capacity: Floats

    @property
    def along_m(self) -> float:
        """Length of a cell along the plate [m]."""
        return 1e-3 * float(self.along_mm[1] - self.along_mm[0])


def plate_of(
    span_mm: tuple[float, float], strips: Sequence[Strip], cell_mm: float, first_mm: float = 0.0
) -> Plate:
    """Cut a plate into cells whose rows end where strips do.

    Parameters
    ----------
    span_mm : tuple of float
        From and to along the plate [mm].
    strips : sequence of Strip
        Side by side, in order across the plate.
    cell_mm : float
        Longest side of a cell [mm]; at least two cells along the plate and one in each strip.
    first_mm : float
        Where the first strip begins across the plate [mm].

    Returns
    -------
    Plate
    """
    length = span_mm[1] - span_mm[0]
    count = max(math.ceil(length / cell_mm - 1e-9), 2)
    rows = [max(math.ceil(strip.width_mm / cell_mm - 1e-9), 1) for strip in strips]
    width = np.repeat([s.width_mm / n for s, n in zip(strips, rows, strict=True)], rows)
    return Plate(
        span_mm[0] + length / count * (np.arange(count, dtype=np.float64) + 0.5),
        first_mm + np.cumsum(width) - 0.5 * width,
        width,
        np.repeat([strip.conductance for strip in strips], rows),
        np.repeat([strip.capacity for strip in strips], rows),
    )


def graded(strip: Strip, first_mm: float, growth: float, *, outward: bool) -> tuple[Strip, ...]:
    """A strip in stretches that grow with the distance from one side.

    Parameters
    ----------
    strip : Strip
    first_mm : float
        Width of the narrowest, above 0 [mm].
    growth : float
        Of each over the one before, above 1 [-].
    outward : bool
        True: the narrowest comes first.

    Returns
    -------
    tuple of Strip
        As wide as the strip together.
    """
    widths = [first_mm]
    while sum(widths) + widths[-1] * growth < strip.width_mm:
        widths.append(widths[-1] * growth)
    scale = strip.width_mm / sum(widths)
    ordered = widths if outward else widths[::-1]
    return tuple(Strip(width * scale, strip.layers) for width in ordered)
