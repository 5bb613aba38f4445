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

from panelwright.fit.adjust import solve
from panelwright.fit.answer import Status, TwoPlaces
from panelwright.fit.datum import Adjusted, adjust
from panelwright.fit.geometry import KNOWN
from panelwright.fit.homes import SHEET
from panelwright.fit.notes import left_out
from panelwright.fit.spread import vector
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.problem import Problem
    from panelwright.fit.answer import Vector
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Node, Sketch

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
        xyz = network.geometry.place(adjusted.x).xyz
        other = _other_side(network, group, xyz)
        if other is None or tried >= MOST_TRIES:
            continue
        tried += 1
        start = adjusted.x.copy()
        numbers = [network.number[node] for node in group.nodes]
        unknown = network.geometry.unknown[numbers]
        start[unknown] = other
        there = adjust(network.equations, start, network.frame)
        if there.status is not Status.CONVERGED:
            continue
        gain = adjusted.sum_of_squares - there.sum_of_squares
        places = [network.geometry.place(x).xyz[numbers] for x in (adjusted.x, there.x)]
        if float(np.linalg.norm(places[1] - places[0], axis=1).max()) < APART_MM:
            continue
        if gain > FITS_AS_WELL:
            network, adjusted = replace(network, start=start), there
        elif gain > -FITS_AS_WELL and _is_held(adjusted, unknown):
            told = _told(network, group.nodes, places[0], places[1])
            if told.settled and _nearer(network, group.nodes, places[1], places[0]):
                network, adjusted = replace(network, start=start), there
                told = _told(network, group.nodes, places[1], places[0])
            found.append(told)
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
    sketches: tuple[Sketch, ...]

    @property
    def ends(self) -> list[Node]:
        """The other ends of its spans."""
        own = set(self.nodes)
        ends = (n for s in self.sketches for _, a, b in s.distances for n in (a, b))
        return [node for node in dict.fromkeys(ends) if node not in own]


def _groups(network: Network) -> Iterator[_Group]:
    """Free points each by itself, then those without a rough place that hang together."""
    roots = len(network.geometry.roots)
    free = [
        node
        for node, number in network.number.items()
        if number < roots
        and not node.place
        and node.owner != SHEET
        and bool((network.geometry.unknown[number] != KNOWN).all())
    ]
    said = _said_of(network, frozenset(free))
    for node in free:
        yield _Group((node,), tuple(said.get(node, ())))
    bare = {node: None for node in free if network.rough(node) is None}
    while bare:
        first = next(iter(bare))
        group, stack = {first: None}, [first]
        while stack:
            near = (n for s in said.get(stack.pop(), ()) for _, a, b in s.distances for n in (a, b))
            for other in near:
                if other in bare and other not in group:
                    group[other] = None
                    stack.append(other)
        bare = {node: None for node in bare if node not in group}
        if len(group) > 1:
            about = {id(s): s for node in group for s in said.get(node, ())}
            yield _Group(tuple(group), tuple(about.values()))


def _said_of(network: Network, nodes: frozenset[Node]) -> dict[Node, list[Sketch]]:
    """Everything that was read or is given of each node."""
    found: dict[Node, list[Sketch]] = {}
    for sketch in network.sketches:
        for node in dict.fromkeys(sketch.nodes):
            if node in nodes:
                found.setdefault(node, []).append(sketch)
    return found


def _other_side(network: Network, group: _Group, xyz: Floats) -> Floats | None:
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
    return _with_the_rest_held(network, group, xyz, mirrored)


def _with_the_rest_held(
    network: Network, group: _Group, xyz: Floats, start: Floats
) -> Floats | None:
    """The group's best places near a start with all else as it is; None where nothing fits."""
    moving = [network.number[node] for node in group.nodes]
    column = {number: k for k, number in enumerate(moving)}
    now = _values(network, group.sketches, xyz, column)[0]
    u_mm = np.array([max(sketch.spread.u_mm, LOOKS_POSSIBLE_MM) for sketch in group.sketches])

    def evaluate(x: Floats) -> tuple[Floats, Floats]:
        moved = xyz.copy()
        moved[moving] = x.reshape(-1, 3)
        values, jacobian = _values(network, group.sketches, moved, column)
        return (values - now) / u_mm, jacobian / u_mm[:, None]

    found = solve(evaluate, start.ravel(), most_iterations=12)
    fits = bool(np.abs(found.residual).max(initial=0.0) < _AT_MOST)
    return found.x.reshape(-1, 3) if fits else None


def _values(
    network: Network, sketches: tuple[Sketch, ...], xyz: Floats, column: dict[int, int]
) -> tuple[Floats, Floats]:
    """What equations come to, and their derivative by the nodes in `column`, shape (m, 3 k)."""
    values = np.zeros(len(sketches))
    jacobian = np.zeros((len(sketches), len(column), 3))
    for row, sketch in enumerate(sketches):
        terms = [(node, np.array(along)) for node, along in sketch.projections]
        if sketch.levelled is not None:
            terms.append((sketch.levelled, np.array([0.0, 0.0, 1.0])))
        for node, along in terms:
            number = network.number[node]
            values[row] += float(along @ xyz[number])
            if number in column:
                jacobian[row, column[number]] += along
        for sign, a, b in sketch.distances:
            one, other = network.number[a], network.number[b]
            between = xyz[one] - xyz[other]
            size = float(np.linalg.norm(between)) or 1.0
            values[row] += sign * size
            for number, way in ((one, sign), (other, -sign)):
                if number in column:
                    jacobian[row, column[number]] += way * between / size
    return values, jacobian.reshape(len(sketches), -1)


def _nearer(network: Network, group: tuple[Node, ...], one: Floats, other: Floats) -> bool:
    """Whether the first places are nearer to the rough ones than the second."""
    rough = [network.rough(node) for node in group]
    near = [
        float(np.linalg.norm(one[k] - at) - np.linalg.norm(other[k] - at))
        for k, at in enumerate(rough)
        if at is not None
    ]
    return bool(near) and max(near) < 0.0


def _told(network: Network, group: tuple[Node, ...], here: Floats, there: Floats) -> TwoPlaces:
    rough = [network.rough(node) for node in group]
    gaps = [
        abs(float(np.linalg.norm(here[k] - at) - np.linalg.norm(there[k] - at)))
        for k, at in enumerate(rough)
        if at is not None
    ]
    settled = bool(gaps) and max(gaps) > ROUGH_MM
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
