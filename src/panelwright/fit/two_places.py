"""Mirror images: points for which a second place fits the readings as well.

Spans to points in one plane, or to three points, fit on either side of that plane. Every free point
(and every group of points that nobody gave a rough place) is tried on the other side; where it
looks possible the whole network is adjusted from there. What fits better is taken, what fits as
well is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.repair import BODY
from panelwright.fit.answer import Status, TwoPlaces
from panelwright.fit.datum import Adjusted, adjust
from panelwright.fit.geometry import KNOWN
from panelwright.fit.local_fit import fitted, values_of
from panelwright.fit.notes import left_out
from panelwright.fit.snooping import fails_high, global_test
from panelwright.fit.spread import vector
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.problem import Problem
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Node, Sketch
    from panelwright.fit.vector import Vector

    Floats = NDArray[np.float64]

FITS_AS_WELL = 9.0
"""A place fits as well where it costs no more in the sum of squares: three standard deviations."""
APART_MM = 10.0
"""Two places nearer than this are one."""
LOOKS_POSSIBLE_MM = 3.0
"""What the rest of the network may give way; with it a mirror image must nearly fit by itself."""
_AT_MOST = 4.0
ROUGH_MM = 300.0
"""How far off a rough place is expected to be, three times over. Common practice, no source."""
MOST_TRIES = 12
_FLAT = 0.3
_POINTS = 4


@dataclass(frozen=True)
class Settled:
    """A network started where it fits best, its adjustment, and what else fits as well."""

    network: Network
    adjusted: Adjusted
    two_places: tuple[TwoPlaces, ...]

    @property
    def problems(self) -> Iterator[Problem]:
        """What nothing given tells apart."""
        for found in self.two_places:
            if not found.settled:
                yield left_out(f"point {', '.join(found.points)}", found.words)


def settle(network: Network) -> Settled:
    """Adjust a network, and look on the other side of every mirror.

    Parameters
    ----------
    network : Network

    Returns
    -------
    Settled
    """
    adjusted = adjust(network.equations, network.start, network.frame)
    found: list[TwoPlaces] = []
    tried = 0
    for group in _groups(network):
        numbers = [network.number[node] for node in group.nodes]
        unknown = network.geometry.unknown[numbers]
        xyz = network.geometry.place(adjusted.x).xyz
        other = _other_side(network, group, xyz, adjusted.residual)
        if other is None or not _is_held(adjusted, unknown):
            continue
        is_told = _is_told_apart(network, group.nodes, xyz[numbers], other.xyz)
        if is_told and (other.cost > -FITS_AS_WELL or not fails_high(global_test(adjusted))):
            if other.cost < FITS_AS_WELL:
                found.append(_told(network, group.nodes, xyz[numbers], other.xyz))
            continue
        if tried >= MOST_TRIES:
            continue
        tried += 1
        start = network.start.copy()
        start[unknown] = other.xyz
        there = adjust(network.equations, start, network.frame)
        if there.status is not Status.CONVERGED:
            continue
        gain = adjusted.sum_of_squares - there.sum_of_squares
        beyond = network.geometry.place(there.x).xyz[numbers]
        if float(np.linalg.norm(beyond - xyz[numbers], axis=1).max()) < APART_MM:
            continue
        if is_told and fails_high(global_test(there)):
            continue  # neither fits: what somebody said of the place counts
        if gain > FITS_AS_WELL or _is_told_apart(network, group.nodes, beyond, xyz[numbers]):
            if gain > -FITS_AS_WELL:
                network, adjusted = replace(network, start=start), there
            beyond = xyz[numbers]
        if abs(gain) < FITS_AS_WELL:
            here = network.geometry.place(adjusted.x).xyz[numbers]
            found.append(_told(network, group.nodes, here, beyond))
    return Settled(network, adjusted, tuple(found))


def _is_held(adjusted: Adjusted, unknown: NDArray[np.intp]) -> bool:
    """Whether the group's coordinates are determined at all, but for the datum."""
    if not adjusted.undetermined.shape[1]:
        return True
    return bool(np.abs(adjusted.undetermined[unknown.ravel()]).max() < 1e-6)


@dataclass(frozen=True)
class _Group:
    """Points that are tried together, and all that is said of them."""

    nodes: tuple[Node, ...]
    rows: tuple[int, ...]
    sketches: tuple[Sketch, ...]

    @property
    def ends(self) -> list[Node]:
        """The other ends of its spans."""
        own = set(self.nodes)
        ends = (n for s in self.sketches for _, a, b in s.distances for n in (a, b))
        return [node for node in dict.fromkeys(ends) if node not in own]


@dataclass(frozen=True)
class _Beyond:
    """Places beyond the mirror, shape (k, 3) [mm], and what they add to the sum of squares."""

    xyz: Floats
    cost: float


def _groups(network: Network) -> Iterator[_Group]:
    """Free points each by itself, then those without a rough place that hang together."""
    roots = len(network.geometry.roots)
    free = [
        node
        for node, number in network.number.items()
        if number < roots
        and not node.place
        and (node.owner == BODY or node.owner in network.repair.part_by_id)
        and bool((network.geometry.unknown[number] != KNOWN).all())
    ]
    said = _said_of(network, frozenset(free))
    for node in free:
        yield _group_of(network, (node,), said)
    bare = {node: None for node in free if network.rough(node) is None}
    while bare:
        first = next(iter(bare))
        group, stack = {first: None}, [first]
        while stack:
            spans = (network.sketches[row].distances for row in said.get(stack.pop(), ()))
            for other in (n for terms in spans for _, a, b in terms for n in (a, b)):
                if other in bare and other not in group:
                    group[other] = None
                    stack.append(other)
        bare = {node: None for node in bare if node not in group}
        if len(group) > 1:
            yield _group_of(network, tuple(group), said)


def _group_of(network: Network, nodes: tuple[Node, ...], said: dict[Node, list[int]]) -> _Group:
    rows = tuple(dict.fromkeys(row for node in nodes for row in said.get(node, ())))
    return _Group(nodes, rows, tuple(network.sketches[row] for row in rows))


def _said_of(network: Network, nodes: frozenset[Node]) -> dict[Node, list[int]]:
    """Rows of everything that was read or is given of each node."""
    found: dict[Node, list[int]] = {}
    for row, sketch in enumerate(network.sketches):
        for node in dict.fromkeys(sketch.nodes):
            if node in nodes:
                found.setdefault(node, []).append(row)
    return found


def _other_side(network: Network, group: _Group, xyz: Floats, weighted: Floats) -> _Beyond | None:
    """The group beyond the plane of the points that it hangs on, where that looks possible."""
    numbers = [network.number[node] for node in group.ends]
    if len(numbers) < 3:
        return None
    at, middle = xyz[numbers], xyz[numbers].mean(axis=0)
    _, sizes, axes = np.linalg.svd(at - middle, full_matrices=False)
    if len(numbers) > 3 and sizes[2] > _FLAT * sizes[1]:
        return None
    own = xyz[[network.number[node] for node in group.nodes]]
    normal = axes[2]
    mirrored: Floats = own - 2.0 * np.outer((own - middle) @ normal, normal)
    if float(np.linalg.norm(mirrored - own, axis=1).max()) < APART_MM:
        return None
    return _with_the_rest_held(network, group, (xyz, weighted), mirrored)


def _with_the_rest_held(
    network: Network, group: _Group, adjusted: tuple[Floats, Floats], start: Floats
) -> _Beyond | None:
    """The group's best places near a start with all else as it is; None where nothing fits.

    `adjusted` is where all nodes are, shape (n, 3), and the weighted residuals, shape (m,).
    """
    xyz, weighted = adjusted
    moving = [network.number[node] for node in group.nodes]
    own_u_mm = np.array([sketch.spread.u_mm for sketch in group.sketches])
    u_mm = np.maximum(own_u_mm, LOOKS_POSSIBLE_MM)
    now_mm = weighted[list(group.rows)] * own_u_mm

    def place(node: Node) -> Floats:
        return np.asarray(xyz[network.number[node]])

    now, _ = values_of(group.sketches, place, {})
    begin = dict(zip(group.nodes, start, strict=True))
    found = fitted(group.sketches, place, begin, now - now_mm, u_mm)
    places = found.x.reshape(-1, 3)
    apart = float(np.linalg.norm(places - xyz[moving], axis=1).max())
    allowed = max(_AT_MOST, float(np.abs(now_mm / u_mm).max(initial=0.0)))
    if np.abs(found.residual).max(initial=0.0) > allowed or apart < APART_MM:
        return None
    cost = float(np.sum((found.residual * u_mm / own_u_mm) ** 2 - (now_mm / own_u_mm) ** 2))
    return _Beyond(places, cost)


def _is_told_apart(network: Network, group: tuple[Node, ...], one: Floats, other: Floats) -> bool:
    """Whether rough places tell that the group is at the first places and not at the second."""
    rough = [network.rough(node) for node in group]
    nearer = [
        float(np.linalg.norm(other[k] - at) - np.linalg.norm(one[k] - at))
        for k, at in enumerate(rough)
        if at is not None
    ]
    return bool(nearer) and min(nearer) > ROUGH_MM


def _told(network: Network, group: tuple[Node, ...], here: Floats, there: Floats) -> TwoPlaces:
    settled = _is_told_apart(network, group, here, there)
    names = joined([node.id for node in group[:_POINTS]])
    if len(group) > _POINTS:
        names += f" and {len(group) - _POINTS} more"
    at = "; or ".join(_at(places[0]) for places in (here, there))
    many = len(group) > 1
    words = f"the spans of {names} fit two places: {'the first is at ' if many else ''}{at}"
    words += (
        "; the one near the rough xyz is taken"
        if settled
        else "; give a rough xyz, or read a height or a span to a point off that plane, to tell "
        "them apart"
    )
    return TwoPlaces(
        tuple(node.id for node in group),
        _vectors(here),
        _vectors(there),
        settled,
        words,
    )


def _vectors(places: Floats) -> tuple[Vector, ...]:
    return tuple(vector(place) for place in places)


def _at(place: Floats) -> str:
    x, y, z = (round(float(value)) for value in place)
    return f"x {x}, y {y}, z {z} mm"
