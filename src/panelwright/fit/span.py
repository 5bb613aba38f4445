"""The span between two points, by all readings together, and at their target positions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.errors import Unanswerable
from panelwright.fit.homes import node_now
from panelwright.fit.network import network_of
from panelwright.fit.two_places import settle

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Span:
    """How far two points are apart.

    Parameters
    ----------
    length_mm : float
        By all readings together.
    u_mm : float or None
        Its standard uncertainty; None where the readings do not hold it.
    home_mm : float or None
        With both points at their target positions; None where neither has one.
    """

    from_: str
    to: str
    length_mm: float
    u_mm: float | None
    home_mm: float | None


def span_between(repair: Repair, from_: str, to: str) -> Span:
    """Say how far two points are apart in the latest dry fit.

    Parameters
    ----------
    repair : Repair
    from_, to : str
        Ids of two points.

    Returns
    -------
    Span

    Raises
    ------
    Unanswerable
        Where a point is not declared, both are one, or no reading reaches one of them.
    """
    network = network_of(repair)
    nodes = []
    for name in (from_, to):
        point = repair.point_by_id.get(name)
        if point is None:
            raise Unanswerable([f"{name} is no point of this repair."])
        number = network.number.get(node_now(point, network.settings))
        if number is None:
            raise Unanswerable([f"No reading reaches {name} yet."])
        nodes.append(number)
    if from_ == to:
        raise Unanswerable([f"A span needs two points; {from_} is one."])
    settled = settle(network)
    network, adjusted = settled.network, settled.adjusted
    placed = network.geometry.place(adjusted.x)
    a, b = nodes
    between = placed.xyz[a] - placed.xyz[b]
    length = float(np.linalg.norm(between))
    if length == 0.0:
        raise Unanswerable([f"{from_} and {to} are in one place by these readings."])
    row = (between / length) @ (placed.follow[a] - placed.follow[b])
    is_open = bool(adjusted.leaves_open(row[None, :]).any())
    variance = float(row @ adjusted.covariance @ row)
    u_mm = None if is_open else float(np.sqrt(max(variance, 0.0)))
    return Span(from_, to, length, u_mm, _at_home(network, placed, (a, b)))


def _at_home(network: Network, placed: Placed, nodes: tuple[int, int]) -> float | None:
    """Their distance with every part at its target position; None where no part has one."""
    home = {}
    for pose, posed in network.latest_poses():
        if pose.points:
            places, _ = network.geometry.homes(posed, placed)
            first = posed.first
            home.update({first + k: places[k] for k in range(len(pose.points))})
    if not home.keys() & set(nodes):
        return None
    one, other = (home.get(node, placed.xyz[node]) for node in nodes)
    return float(np.linalg.norm(one - other))
