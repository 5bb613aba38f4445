"""A panel as a layered thin plate in two dimensions, taken apart into modes that each decay alone.

Thickness and layers change across the plate (skin, flange with adhesive and inner, inner alone)
and are even along it, so a mode is a cosine along times a shape across. With the loss made linear
about a reference coefficient every mode obeys du/dt = −λu + source: time steps are exact for all
of conduction, and only what the loss departs from its reference is stepped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

LOSS_REFERENCE = 20.0
"""Both faces of a warm panel in still air, about [W/(m² K)]; any value gives the same answer."""


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


@dataclass(frozen=True)
class Modes:
    """Modes of a plate, slowest kept.

    Parameters
    ----------
    plate : Plate
    rate : array, shape (k, n)
        Decay of each mode with the reference loss [1/s].
    cosine : array, shape (i, k)
        Shapes along, orthonormal over the cells.
    shape : array, shape (k, j, n)
        Shapes across, divided by the root of the rows' capacity.
    """

    plate: Plate
    rate: Floats
    cosine: Floats
    shape: Floats

    @cached_property
    def _back(self) -> Floats:
        """What a flux into the rows gives to the shapes across, shape (k, n, j)."""
        return np.ascontiguousarray((self.shape * self._row_m[:, None]).transpose(0, 2, 1))

    @property
    def _row_m(self) -> Floats:
        return 1e-3 * self.plate.width_mm

    def field(self, u: Floats) -> Floats:
        """Excess temperature in every cell from modes.

        Parameters
        ----------
        u : array, shape (k, n, m)
            Of m members.

        Returns
        -------
        array, shape (i, j, m)
            [K]
        """
        rows = np.matmul(self.shape, u)
        count, members = rows.shape[1], rows.shape[2]
        flat: Floats = self.cosine @ rows.reshape(len(rows), -1)
        return flat.reshape(-1, count, members)

    def project(self, flux: Floats) -> Floats:
        """Sources of the modes from a flux into every cell.

        Parameters
        ----------
        flux : array, shape (i, j, m)
            [W/m²]

        Returns
        -------
        array, shape (k, n, m)
        """
        _, count, members = flux.shape
        along = self.cosine.T @ flux.reshape(len(flux), -1)
        result: Floats = np.matmul(self._back, along.reshape(-1, count, members))
        return result

    def at(self, places_mm: Floats) -> Floats:
        """Factors that give the excess temperature at places from modes.

        Parameters
        ----------
        places_mm : array, shape (p, 2)
            Along and across; held to the plate [mm].

        Returns
        -------
        array, shape (p, k, n)
        """
        plate = self.plate
        step = plate.along_m * 1e3
        x = (places_mm[:, 0] - plate.along_mm[0]) / step + 0.5
        x = np.clip(x, 0.0, len(plate.along_mm))
        wave = np.pi * np.arange(self.cosine.shape[1]) / len(plate.along_mm)
        along = np.cos(x[:, None] * wave) * _norms(len(plate.along_mm), self.cosine.shape[1])
        rows = plate.across_mm
        y = np.clip(places_mm[:, 1], rows[0], rows[-1])
        low = np.clip(np.searchsorted(rows, y, side="right") - 1, 0, max(len(rows) - 2, 0))
        high = np.minimum(low + 1, len(rows) - 1)
        gap = np.where(high > low, rows[high] - rows[low], 1.0)
        part = ((y - rows[low]) / gap)[:, None, None]
        across = (1.0 - part) * self.shape[:, low].transpose(1, 0, 2)
        across = across + part * self.shape[:, high].transpose(1, 0, 2)
        result: Floats = along[:, :, None] * across
        return result


def _norms(cells: int, count: int) -> Floats:
    norms = np.full(count, np.sqrt(2.0 / cells))
    norms[0] = np.sqrt(1.0 / cells)
    return norms


def modes_of(plate: Plate, most: tuple[int, int] | None = None) -> Modes:
    """Modes of a plate with the reference loss.

    C ∂T/∂t = ∂/∂x(κ ∂T/∂x) + ∂/∂y(κ ∂T/∂y) − h T   (1)

    in finite volumes, κ = Σ k t and C = Σ ρ c t by row; between rows the halves in series.

    Parameters
    ----------
    plate : Plate
    most : tuple of int, or None
        How many cosines along, and shapes across for each, are kept; None keeps all, and then the
        modes are the whole finite-volume plate.

    Returns
    -------
    Modes

    References
    ----------
    Incropera 6th ed., section 4.4 (finite differences) and 5.10; cosine transform of the second
    difference with insulated ends: Strang G. (1999) SIAM Review 41, 135–147 (from memory).
    """
    i, j = len(plate.along_mm), len(plate.across_mm)
    keep = (min(most[0], i), min(most[1], j)) if most else (i, j)
    width = 1e-3 * plate.width_mm
    wave = np.pi * np.arange(keep[0]) / i
    cosine = np.cos((np.arange(i)[:, None] + 0.5) * wave) * _norms(i, keep[0])
    curvature = (2.0 - 2.0 * np.cos(wave)) / plate.along_m**2
    half = width / plate.conductance
    between = 2.0 / (half[1:] + half[:-1])
    stiff = np.diag(np.append(between, 0.0) + np.insert(between, 0, 0.0))
    stiff -= np.diag(between, 1) + np.diag(between, -1)
    own = stiff[None] + np.eye(j) * width[:, None] * (
        curvature[:, None, None] * plate.conductance[:, None] + LOSS_REFERENCE
    )
    root = 1.0 / np.sqrt(plate.capacity * width)
    rate, vectors = np.linalg.eigh(own * np.outer(root, root))
    return Modes(
        plate,
        np.ascontiguousarray(rate[:, : keep[1]]),
        np.ascontiguousarray(cosine),
        np.ascontiguousarray(root[:, None] * vectors[:, :, : keep[1]]),
    )
