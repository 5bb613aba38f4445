"""Facts that contradict one another before any adjustment, each in words.

Spans that no triangle allows, points that lie in one place, points that nothing reaches, homes that
do not go with the panel's own size, and readings that were pasted in twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.base import millimetres
from panelwright.fit.geometry import KNOWN
from panelwright.fit.homes import SHEET, node_now
from panelwright.fit.notes import left_out
from panelwright.fit.sketch import Kind, Node
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.problem import Problem
    from panelwright.facts.repair import Repair
    from panelwright.fit.network import Network
    from panelwright.fit.settings import Settings

    Floats = NDArray[np.float64]

BEYOND = 4.0
"""A triangle does not close where it misses by more than so many of its uncertainties."""
MOST_TOLD = 8
_NEAR_MM = 0.5
_MOST_NAMED = 8


@dataclass(frozen=True)
class _Length:
    """How far two nodes are apart by one reading, or by what is known [mm]."""

    mm: float
    u_mm: float
    is_read: bool


def impossible(network: Network) -> tuple[Problem, ...]:
    """Everything in a network that contradicts itself, in words.

    Parameters
    ----------
    network : Network

    Returns
    -------
    tuple of Problem
    """
    return (
        *_most(_triangles(network)),
        *_most(_one_place(network.repair, network.settings)),
        *_unreached(network),
        *_most(_homes_apart(network)),
    )


def _most(problems: Iterator[Problem]) -> Iterator[Problem]:
    """The first few; how many more there are in the last."""
    told = list(problems)
    yield from told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        yield left_out(told[-1].where, f"and {len(told) - MOST_TOLD} more of this kind")


def _triangles(network: Network) -> Iterator[Problem]:
    """Spans longer than the way over a third point."""
    lengths = _lengths(network)
    near: dict[Node, dict[Node, _Length]] = {}
    for (a, b), length in lengths.items():
        near.setdefault(a, {})[b] = length
        near.setdefault(b, {})[a] = length
    for (a, b), long in lengths.items():
        worst: tuple[float, Node] | None = None
        for c in near[a].keys() & near[b].keys():
            over = near[a][c], near[c][b]
            if not any(length.is_read for length in (long, *over)):
                continue
            excess = long.mm - over[0].mm - over[1].mm
            u_mm = sqrt(long.u_mm**2 + over[0].u_mm ** 2 + over[1].u_mm ** 2)
            if excess > BEYOND * u_mm and (worst is None or excess > worst[0]):
                worst = excess, c
        if worst is not None:
            excess, c = worst
            yield left_out(
                f"span {a.id} to {b.id}",
                f"{long.mm:.0f} mm from {a.id} to {b.id} is {excess:.0f} mm longer than the way "
                f"over {c.id} ({near[a][c].mm:.0f} + {near[c][b].mm:.0f} mm), and no geometry "
                "allows that: one of the three is misread, or a point has another's name",
            )


def _lengths(network: Network) -> Mapping[tuple[Node, Node], _Length]:
    """All spans that were read, and those between known points that share an unknown one."""
    found: dict[tuple[Node, Node], _Length] = {}
    ends: dict[Node, set[Node]] = {}
    for sketch in network.sketches:
        if sketch.kind is not Kind.READING or len(sketch.distances) != 1 or sketch.projections:
            continue
        _, a, b = sketch.distances[0]
        mm = sketch.observed_mm - sketch.constant_mm
        tool = sketch.spread.tool
        u_mm = tool.u_at_mm(mm) if tool is not None else 0.0
        pair = (a, b) if a <= b else (b, a)
        found[pair] = _Length(mm, max(sketch.spread.u_mm, u_mm), is_read=True)
        ends.setdefault(a, set()).add(b)
        ends.setdefault(b, set()).add(a)
    known = {
        node: network.geometry.roots[network.number[node]]
        for node in ends
        if _is_known(network, node)
    }
    for node, others in ends.items():
        fixed = sorted(others & known.keys())
        for i, a in enumerate(fixed):
            for b in fixed[:i]:
                pair = (b, a)
                if pair not in found and node not in known:
                    mm = float(np.linalg.norm(known[a] - known[b]))
                    found[pair] = _Length(mm, 0.0, is_read=False)
    return found


def _is_known(network: Network, node: Node) -> bool:
    number = network.number[node]
    roots = network.geometry.unknown
    return number < len(roots) and bool((roots[number] == KNOWN).all())


def _one_place(repair: Repair, settings: Settings) -> Iterator[Problem]:
    """Points of one part that were given the same place under two names."""
    seen: dict[tuple[str, tuple[float, ...]], str] = {}
    for point in repair.points:
        if point.xyz is None:
            continue
        at = tuple(round(value / _NEAR_MM) for value in millimetres(point.xyz))
        key = (node_now(point, settings).owner, at)
        if key in seen and point.twin != seen[key]:
            yield left_out(
                f"point {point.id}",
                f"{point.id} and {seen[key]} were given the same place: if they are one point, use "
                "one name in all its readings; if not, correct the xyz of one",
            )
        seen.setdefault(key, point.id)


def _unreached(network: Network) -> Iterator[Problem]:
    """Points that somebody declared and that nothing reaches."""
    assumed = set(network.repair.assumed.ids("point"))
    twins = {point.twin for point in network.repair.points if point.home == "twin"}
    names = [
        point.id
        for point in network.repair.points
        if point.id not in assumed
        and point.id not in twins
        and point.id not in network.homes
        and node_now(point, network.settings) not in network.number
    ]
    if names:
        said = joined(names[:_MOST_NAMED])
        if len(names) > _MOST_NAMED:
            said += f" and {len(names) - _MOST_NAMED} more"
        yield left_out(
            "point",
            f"no reading reaches {said}: nothing is known of them but the place they were given",
        )


def _homes_apart(network: Network) -> Iterator[Problem]:
    """Homes whose distance is not that of the two points on the part itself."""
    homes = network.homes
    for sketch in network.sketches:
        if sketch.kind is not Kind.READING or len(sketch.distances) != 1 or sketch.projections:
            continue
        _, a, b = sketch.distances[0]
        if a.owner != b.owner or a.setting != b.setting or not {a.id, b.id} <= homes.keys():
            continue
        one, other = homes[a.id], homes[b.id]
        places = _home_place(network, one.source), _home_place(network, other.source)
        if places[0] is None or places[1] is None:
            continue
        apart_mm = float(np.linalg.norm(places[0] - places[1]))
        read_mm = sketch.observed_mm - sketch.constant_mm
        shape = [u for home in (one, other) for u in home.shape_u_mm]
        if not all(np.isfinite(shape)):
            continue
        u_mm = sqrt(sketch.spread.u_mm**2 + max(one.shape_u_mm) ** 2 + max(other.shape_u_mm) ** 2)
        if abs(apart_mm - read_mm) > BEYOND * u_mm:
            yield left_out(
                f"point {a.id}, point {b.id}",
                f"their homes are {apart_mm:.1f} mm apart, and on the part itself they are "
                f"{read_mm:.1f} mm apart: a home contradicts the other, or this is not the same "
                "part",
            )


def _home_place(network: Network, source: Node) -> Floats | None:
    """Where a home is known to be, shape (3,) [mm]; None where it has to be found first."""
    if source.owner != SHEET or source not in network.number:
        return None
    place: Floats = network.geometry.roots[network.number[source]]
    return place
