"""Gap and flush at every station, as the whole network sees them."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.part_answer import Direction, StationFit
from panelwright.fit.places import neighbour
from panelwright.fit.probability import inside_box
from panelwright.fit.sketch import Node
from panelwright.fit.verdicts import direction_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Check, Station
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Vector
    from panelwright.fit.verdicts import Judge

    Floats = NDArray[np.float64]


def place_nodes(network: Network, name: str, part: str, beside: str) -> tuple[Node, Node | None]:
    """Nodes of a place on its part and on its neighbour, both in their latest setting.

    Parameters
    ----------
    network : Network
    name : str
        Of the place, such as "station d1".
    part, beside : str
        Its part, and that part's neighbour.

    Returns
    -------
    tuple of (Node, Node or None)
        None where the neighbour is not fitted: it is displaced by nothing.
    """
    own = Node(part, network.settings.latest_of(part), name, place=True)
    other = Node(beside, network.settings.latest_of(beside), name, place=True)
    return own, other if other in network.number and beside != part else None


def displacement_along(
    network: Network, placed: Placed, nodes: tuple[Node, Node | None], towards: Vector
) -> tuple[float, Floats]:
    """Displacement of a place along a direction, against its neighbour, and its derivative.

    Parameters
    ----------
    network : Network
    placed : Placed
        The network's nodes.
    nodes : tuple of (Node, Node or None)
        The place on its part and on its neighbour.
    towards : Vector
        Unit direction [1].

    Returns
    -------
    float
        [mm]
    array, shape (u,)
        Its derivative by the unknowns.
    """
    direction = np.array(towards)
    along, follow = 0.0, np.zeros(network.geometry.size)
    for node, sign in zip(nodes, (1.0, -1.0), strict=True):
        if node is not None:
            number = network.number[node]
            moved = placed.xyz[number] - network.place_xyz[node.id]
            along += sign * float(direction @ moved)
            follow += sign * (direction @ placed.follow[number])
    return along, follow


@dataclass(frozen=True)
class _Checked:
    """Gap or flush as estimated: value, displacement, its derivative, spread and tolerance."""

    value_mm: float
    along_mm: float
    follow: Floats
    u_mm: float | None
    tolerance_mm: float | None


def judge_stations(
    part: str, network: Network, adjusted: Adjusted, placed: Placed, judge: Judge
) -> tuple[StationFit, ...]:
    """Gap, flush and verdict at all stations of a part.

    Parameters
    ----------
    part : str
    network : Network
    adjusted : Adjusted
    placed : Placed
        The network's nodes there.
    judge : Judge

    Returns
    -------
    tuple of StationFit
        In the order of the file.
    """
    return tuple(
        _judge_station(station, network, adjusted, placed, judge)
        for station in network.repair.stations
        if station.part == part
    )


def _judge_station(
    station: Station, network: Network, adjusted: Adjusted, placed: Placed, judge: Judge
) -> StationFit:
    nodes = place_nodes(network, f"station {station.id}", station.part, neighbour(station))

    def estimate(check: Check | None, towards: Vector | None) -> _Checked | None:
        if check is None or towards is None:
            return None
        along, follow = displacement_along(network, placed, nodes, towards)
        variance = max(float(follow @ adjusted.covariance @ follow), 0.0)
        u_mm = None if adjusted.leaves_open(follow) else sqrt(variance)
        tolerance_mm = check.tolerance.mm if check.tolerance is not None else None
        return _Checked(check.want.mm + along, along, follow, u_mm, tolerance_mm)

    gap = estimate(station.gap, station.gap_towards)
    flush = estimate(station.flush, station.flush_towards)
    p_inside, note = _probability([gap, flush], adjusted)
    return StationFit(
        station.id,
        gap.value_mm if gap else None,
        flush.value_mm if flush else None,
        (gap.u_mm if gap else None, flush.u_mm if flush else None),
        p_inside,
        judge.verdict(p_inside),
        note or judge.objection(p_inside),
        tuple(
            _direction(name, checked, judge)
            for name, checked in (("gap", gap), ("flush", flush))
            if checked is not None and checked.tolerance_mm is not None
        ),
    )


def _direction(name: str, checked: _Checked, judge: Judge) -> Direction:
    variance = None if checked.u_mm is None else checked.u_mm**2
    return direction_of(name, checked.along_mm, variance, checked.tolerance_mm or 0.0, judge)


def _probability(estimates: list[_Checked | None], adjusted: Adjusted) -> tuple[float | None, str]:
    """Probability that all that has a tolerance at a station is within it."""
    judged = [e for e in estimates if e is not None and e.tolerance_mm is not None]
    if not judged:
        return None, "no tolerance given"
    if any(e.u_mm is None for e in judged):
        return None, "not checked by these readings"
    rows = np.array([e.follow for e in judged])
    off = np.array([e.along_mm for e in judged])
    half = np.array([e.tolerance_mm for e in judged])
    return inside_box(off, rows @ adjusted.covariance @ rows.T, half), ""
