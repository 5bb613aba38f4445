"""A layered plate taken apart into modes that each decay alone.

Thickness and layers change across the plate only, so a mode is a cosine along times a shape across.
With the loss made linear about a reference coefficient every mode obeys du/dt = −λu + source: time
steps are exact for all of conduction, and only what the loss departs from its reference is stepped.
Modes that decay fast need not be followed: what a lamp gives them is there almost at once, and is
found as the steady plate less the steady part of the modes that are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.bond.plate import Plate

    Floats = NDArray[np.float64]
    Intp = NDArray[np.intp]

LOSS_REFERENCE = 20.0
"""Both faces of a warm panel in still air, about [W/(m² K)]; any value gives the same answer."""
TOGETHER = 3.0
"""Modes left out follow a lamp together this much faster than the slowest of them: of values from
0.5 to 5 the one that was nearest to finite volumes six seconds after a lamp is moved."""


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
    beyond : float
        How fast those left out follow together; infinite: all are kept [1/s].
    """

    plate: Plate
    rate: Floats
    cosine: Floats
    shape: Floats
    beyond: float

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
        along = _along(self.plate, places_mm, self.cosine.shape[1])
        low, high, part = _rows(self.plate, places_mm)
        rows = np.ascontiguousarray(self.shape.transpose(1, 0, 2))
        result: Floats = rows[low]
        result += part[:, None, None] * (rows[high] - result)
        result *= along[:, :, None]
        return result

    def left_out(self, flux: Floats, places_mm: Floats) -> Floats:
        """What the modes that are not kept add at places once a flux has lasted.

        Parameters
        ----------
        flux : array, shape (i, j, m)
            [W/m²]
        places_mm : array, shape (p, 2)
            As for `at` [mm].

        Returns
        -------
        array, shape (p, m)
            [K]
        """
        members = flux.shape[2]
        if np.isinf(self.beyond):
            return np.zeros((len(places_mm), members))
        waves = steady_waves(self.plate, flux)
        kept = np.matmul(self.shape, self.project(flux) / self.rate[:, :, None])
        waves[: len(kept)] -= kept
        count, rows, _ = waves.shape
        along = _along(self.plate, places_mm, count) @ waves.reshape(count, -1)
        along = along.reshape(-1, rows, members)
        low, high, part = _rows(self.plate, places_mm)
        each = np.arange(len(places_mm))
        found: Floats = (1.0 - part[:, None]) * along[each, low] + part[:, None] * along[each, high]
        return found


def _along(plate: Plate, places_mm: Floats, count: int) -> Floats:
    """The cosines at places along the plate, shape (p, k)."""
    cells = len(plate.along_mm)
    x = (places_mm[:, 0] - plate.along_mm[0]) / (plate.along_m * 1e3) + 0.5
    wave = np.pi * np.arange(count) / cells
    found: Floats = np.cos(np.clip(x, 0.0, cells)[:, None] * wave) * _norms(cells, count)
    return found


def _rows(plate: Plate, places_mm: Floats) -> tuple[Intp, Intp, Floats]:
    """The rows on both sides of places across the plate, and how far towards the second [-]."""
    rows = plate.across_mm
    y = np.clip(places_mm[:, 1], rows[0], rows[-1])
    low = np.clip(np.searchsorted(rows, y, side="right") - 1, 0, max(len(rows) - 2, 0))
    high = np.minimum(low + 1, len(rows) - 1)
    gap = np.where(high > low, rows[high] - rows[low], 1.0)
    return low, high, (y - rows[low]) / gap


def _norms(cells: int, count: int) -> Floats:
    norms = np.full(count, np.sqrt(2.0 / cells))
    norms[0] = np.sqrt(1.0 / cells)
    return norms


def modes_of(plate: Plate, most: tuple[int, int] | None = None) -> Modes:
    """Modes of a plate with the reference loss.

    C ∂T/∂t = ∂/∂x(κ ∂T/∂x) + ∂/∂y(κ ∂T/∂y) − h T   (1)

    in finite volumes, κ = Σ k t and C = Σ ρ c t by row; between rows the halves in series. With
    fewer modes the shapes across are sought among twice as many of the plate's slowest that are
    even along it.

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
    curvature = _curvature(plate, keep[0] + 1)
    stiff = np.diag(LOSS_REFERENCE * width) + _across(plate)
    root = 1.0 / np.sqrt(plate.capacity * width)
    even, basis = np.linalg.eigh(stiff * np.outer(root, root))
    sought = min(2 * keep[1], j)
    even, basis = even[:sought], basis[:, :sought]
    spread = basis.T @ ((plate.conductance / plate.capacity)[:, None] * basis)
    own = np.diag(even) + curvature[: keep[0], None, None] * spread
    rate, vectors = np.linalg.eigh(own)
    slowest = [np.inf]
    if keep[0] < i:
        slowest.append(float(even[0] + curvature[-1] * np.min(plate.conductance / plate.capacity)))
    if keep[1] < sought:
        slowest.append(float(rate[0, keep[1]]))
    return Modes(
        plate,
        np.ascontiguousarray(rate[:, : keep[1]]),
        _cosines(i, keep[0]),
        np.ascontiguousarray(root[:, None] * (basis @ vectors[:, :, : keep[1]])),
        TOGETHER * min(slowest),
    )


def _cosines(cells: int, count: int) -> Floats:
    """Cosines along, orthonormal over the cells, shape (i, k)."""
    wave = np.pi * np.arange(count) / cells
    found: Floats = np.cos((np.arange(cells)[:, None] + 0.5) * wave) * _norms(cells, count)
    return found


def _curvature(plate: Plate, count: int) -> Floats:
    """Of the cosines along, by the second difference, shape (k,) [1/m²]."""
    wave = np.pi * np.arange(count) / len(plate.along_mm)
    found: Floats = (2.0 - 2.0 * np.cos(wave)) / plate.along_m**2
    return found


def _between(plate: Plate) -> Floats:
    """Conductance between rows, of a metre along the plate, shape (j − 1,) [W/(m K)]."""
    half = 1e-3 * plate.width_mm / plate.conductance
    found: Floats = 2.0 / (half[1:] + half[:-1])
    return found


def _across(plate: Plate) -> Floats:
    """Conduction across the plate, shape (j, j) [W/(m K)]."""
    between = _between(plate)
    found: Floats = np.diag(np.append(between, 0.0) + np.insert(between, 0, 0.0))
    return found - np.diag(between, 1) - np.diag(between, -1)


def steady_waves(plate: Plate, flux: Floats) -> Floats:
    """A plate that a flux has long heated, with the reference loss, as cosines along it.

    Parameters
    ----------
    plate : Plate
    flux : array, shape (i, j, m)
        [W/m²]

    Returns
    -------
    array, shape (i, j, m)
        Of each cosine in each row, as `Modes.field` takes them [K].

    References
    ----------
    The cosines along leave a chain of rows across for each, solved by elimination: Press W.H. et
    al., Numerical Recipes 3rd ed., section 2.4 (from memory).
    """
    i, j, _ = flux.shape
    between = _between(plate)
    width = 1e-3 * plate.width_mm[:, None]
    own = width * (LOSS_REFERENCE + plate.conductance[:, None] * _curvature(plate, i))
    own[:-1] += between[:, None]
    own[1:] += between[:, None]
    given = width[:, :, None] * (_cosines(i, i).T @ flux.reshape(i, -1)).reshape(i, j, -1).swapaxes(
        0, 1
    )
    for row in range(1, j):
        part = between[row - 1] / own[row - 1]
        own[row] -= part * between[row - 1]
        given[row] += part[:, None] * given[row - 1]
    given[-1] /= own[-1, :, None]
    for row in range(j - 2, -1, -1):
        given[row] = (given[row] + between[row] * given[row + 1]) / own[row, :, None]
    found: Floats = given.swapaxes(0, 1)
    return np.ascontiguousarray(found)
