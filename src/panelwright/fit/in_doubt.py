"""Places without a verdict, in units of their tolerance: what a further reading should settle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.fit.part_answer import Verdict
from panelwright.fit.places import neighbour
from panelwright.fit.probability import inside_ball, inside_box
from panelwright.fit.stations import displacement_along, place_nodes
from panelwright.fit.verdicts import judged_axes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Point, Station
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.part_answer import PartFit
    from panelwright.fit.verdicts import PartState

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Doubted:
    """A point or station without a verdict.

    Parameters
    ----------
    part, id : str
    is_station : bool
    rows : array, shape (d, u)
        Derivatives of its displacement, in tolerances.
    off : array, shape (d,)
        The displacement, in tolerances.
    ball : bool
        Whether the tolerance is one distance (d = 3), else one for each of the d directions.
    p_inside : float or None
        None where a direction is not checked by the readings.
    follow : array, shape (3, u) or (d, u)
        Derivatives in mm: of a point's three axes, else of gap and flush as far as judged.
    """

    part: str
    id: str
    is_station: bool
    rows: Floats
    off: Floats
    ball: bool
    p_inside: float | None
    follow: Floats

    def probability(self, covariance: Floats, *, at_home: bool = False) -> float:
        """Probability of lying within tolerance, for a covariance of its rows.

        Parameters
        ----------
        covariance : array, shape (d, d)
            In tolerances squared.
        at_home : bool
            Taken as exactly home: whether readings of that sureness could prove it.
        """
        off = np.zeros(len(self.off)) if at_home else self.off
        if self.ball:
            return inside_ball(off, covariance, 1.0)
        return inside_box(off, covariance, np.ones(len(off)))

    @cached_property
    def size(self) -> int:
        """How many directions it is judged in."""
        return len(self.off)


def in_doubt(
    network: Network,
    adjusted: Adjusted,
    placed: Placed,
    states: tuple[tuple[PartState, PartFit], ...],
) -> tuple[Doubted, ...]:
    """Every point and station that has a tolerance and no verdict.

    Parameters
    ----------
    network, adjusted, placed
        The network, its unknowns, and its nodes there.
    states : tuple
        Every fitted part with its verdicts.

    Returns
    -------
    tuple of Doubted
        Points first, part by part.
    """
    return tuple(
        doubted
        for state, fit in states
        for doubted in (
            *_points(network, adjusted, state, fit),
            *_stations(network, placed, fit),
        )
    )


def _points(
    network: Network, adjusted: Adjusted, state: PartState, fit: PartFit
) -> Iterator[Doubted]:
    unknowns = slice(state.posed.pose, state.posed.pose + 6)
    for k, judged in enumerate(fit.points):
        point = network.repair.point_by_id[judged.id]
        if judged.verdict is Verdict.UNDECIDED and point.tolerance is not None:
            follow = np.zeros((3, len(adjusted.x)))
            follow[:, unknowns] = state.follow[k]
            found = of_point(fit.id, point, follow, state.off[k], judged.p_inside)
            if found is not None:
                yield found


def of_point(
    part: str, point: Point, follow: Floats, off: Floats, p_inside: float | None
) -> Doubted | None:
    """A point in units of its tolerance; None where it has none.

    Parameters
    ----------
    part : str
    point : Point
    follow : array, shape (3, u)
        Derivative of how far it is off.
    off : array, shape (3,)
        [mm]
    p_inside : float or None

    Returns
    -------
    Doubted or None
    """
    if isinstance(point.tolerance, AxisTolerance):
        judged = judged_axes(point.tolerance)
        if not judged:
            return None
        axes = [axis for axis, _ in judged]
        limits = np.array([limit for _, limit in judged])
        rows = follow[axes] / limits[:, None]
        return Doubted(part, point.id, False, rows, off[axes] / limits, False, p_inside, follow)
    if point.tolerance is None:
        return None
    limit = point.tolerance.mm
    return Doubted(part, point.id, False, follow / limit, off / limit, True, p_inside, follow)


def _stations(network: Network, placed: Placed, fit: PartFit) -> Iterator[Doubted]:
    unsure = {one.id: one for one in fit.stations if one.verdict is Verdict.UNDECIDED}
    for station in network.repair.stations:
        if station.part == fit.id and station.id in unsure:
            rows, off, limits = _judged_rows(station, network, placed)
            if len(rows):
                p_inside = unsure[station.id].p_inside
                yield Doubted(
                    fit.id,
                    station.id,
                    True,
                    rows / limits[:, None],
                    off / limits,
                    False,
                    p_inside,
                    rows,
                )


def _judged_rows(
    station: Station, network: Network, placed: Placed
) -> tuple[Floats, Floats, Floats]:
    """Derivatives, displacements [mm] and tolerances [mm] of what is judged at a station."""
    nodes = place_nodes(network, f"station {station.id}", station.part, neighbour(station))
    rows, off, limits = [], [], []
    for check, towards in (
        (station.gap, station.gap_towards),
        (station.flush, station.flush_towards),
    ):
        if check is not None and towards is not None and check.tolerance is not None:
            along, follow = displacement_along(network, placed, nodes, towards)
            rows.append(follow)
            off.append(along)
            limits.append(check.tolerance.mm)
    return np.array(rows), np.array(off), np.array(limits)
