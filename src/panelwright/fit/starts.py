"""Places to start from for points that were given none.

By their coordinates where these were read; else by spans to three points or more that are placed,
those with most spans first; what is left by distance geometry over all spans at once. Whether
another place fits as well is found afterwards, from everything that was read (`two_places`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjust import solve
from panelwright.fit.distance_geometry import onto, places_from_distances
from panelwright.fit.local_fit import fitted, values_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.sketch import Node, Sketch

    Floats = NDArray[np.float64]
    Span = tuple[Node, Node, float]

_DIRECTIONS = np.concatenate([np.eye(3), -np.eye(3)])
_ENOUGH = 3
"""Spans that place a point, up to its mirror image."""
_ROUGHLY_MM = 10.0
_WELL = 4.0
_SWEEPS = 3
_MOST_SPANS = 40
"""More spans to one point than this do not place it any better to start from."""


def start_places(
    wanted: Iterable[Node], placed: Mapping[Node, Floats], sketches: Iterable[Sketch]
) -> Mapping[Node, Floats]:
    """Place nodes to start from.

    Parameters
    ----------
    wanted : iterable of Node
    placed : mapping
        Places of other nodes, shape (3,) [mm].
    sketches : iterable of Sketch

    Returns
    -------
    mapping
        A place for every wanted node, shape (3,) [mm]; beside the mean of all where nothing helps.
    """
    waiting = dict.fromkeys(wanted)
    if not waiting:
        return {}
    told = tuple(sketches)
    read = {**placed, **_read_places(waiting, told)}
    left = [node for node in waiting if node not in read]
    spans = _Spans.of(told)
    about = [sketch for sketch in told if not waiting.keys().isdisjoint(sketch.nodes)]
    least, best = np.inf, read
    for first in (_one_by_one, _leave_all):
        places = dict(read)
        remaining = left
        while remaining:
            remaining = first(remaining, places, spans)
            if remaining:
                remaining = _together(remaining, places, spans)
        _put_right(left, about, places)
        missed = _missed(about, places)
        if missed < least:
            least, best = missed, places
        if missed < _WELL * len(about):
            break
    return {node: best[node] for node in waiting}


def _put_right(left: list[Node], about: list[Sketch], places: dict[Node, Floats]) -> None:
    """Try nodes that do not fit what is said of them from six sides and beyond their mirror."""
    said: dict[Node, list[Sketch]] = {node: [] for node in left}
    for sketch in about:
        if all(node in places for node in sketch.nodes):
            for node in dict.fromkeys(sketch.nodes):
                if node in said:
                    said[node].append(sketch)
    for _ in range(_SWEEPS):
        wrong = [node for node in left if _missed(said[node], places) > _WELL * len(said[node])]
        if not wrong:
            return
        for node in wrong:
            places[node] = _tried(node, said[node], places)


def _tried(node: Node, sketches: list[Sketch], places: Mapping[Node, Floats]) -> Floats:
    """The best of a node's places, by all that is said of it, with the others held."""
    wanted = np.array([sketch.observed_mm for sketch in sketches])
    u_mm = np.array([max(sketch.spread.u_mm, _ROUGHLY_MM) for sketch in sketches])
    ends = [places[n] for s in sketches for n in s.nodes if n != node]
    middle = np.mean(ends, axis=0) if ends else places[node]
    reach = float(np.linalg.norm(places[node] - middle)) or 1000.0
    begins = [places[node], *(middle + reach * direction for direction in _DIRECTIONS)]
    tries = [fitted(sketches, places.__getitem__, {node: begin}, wanted, u_mm) for begin in begins]
    return min(tries, key=lambda tried: tried.sum_of_squares).x


def _leave_all(left: list[Node], _places: dict[Node, Floats], _spans: _Spans) -> list[Node]:
    """Place nothing by itself."""
    return left


def _missed(sketches: list[Sketch], places: Mapping[Node, Floats]) -> float:
    """Sum of squares by which readings miss at given places, each held to 10 mm at most [1]."""
    known = [sketch for sketch in sketches if all(node in places for node in sketch.nodes)]
    if not known:
        return 0.0
    values, _ = values_of(known, places.__getitem__, {})
    wanted = np.array([sketch.observed_mm for sketch in known])
    u_mm = np.array([max(sketch.spread.u_mm, _ROUGHLY_MM) for sketch in known])
    return float(np.sum(((values - wanted) / u_mm) ** 2))


def _read_places(waiting: Mapping[Node, None], sketches: tuple[Sketch, ...]) -> dict[Node, Floats]:
    """Places of nodes of which all three coordinates were read."""
    read: dict[Node, dict[str, float]] = {}
    for sketch in sketches:
        if sketch.component in {"x", "y", "z"} and len(sketch.projections) == 1:
            ((node, _),) = sketch.projections
            if node in waiting:
                read.setdefault(node, {})[sketch.component] = sketch.observed_mm
    return {
        node: np.array([axes[axis] for axis in "xyz"])
        for node, axes in read.items()
        if len(axes) == len("xyz")
    }


@dataclass(frozen=True)
class _Spans:
    """Spans from each node: the other end and the length [mm]."""

    of_node: Mapping[Node, list[tuple[Node, float]]]

    @classmethod
    def of(cls, sketches: tuple[Sketch, ...]) -> _Spans:
        """Every span once for each of its ends; of repeats the last counts."""
        last: dict[tuple[Node, Node], float] = {}
        for sketch in sketches:
            if len(sketch.distances) == 1 and not sketch.projections:
                _, a, b = sketch.distances[0]
                pair = (a, b) if a <= b else (b, a)
                last[pair] = max(sketch.observed_mm - sketch.constant_mm, 1e-3)
        of_node: dict[Node, list[tuple[Node, float]]] = {}
        for (a, b), length in last.items():
            of_node.setdefault(a, []).append((b, length))
            of_node.setdefault(b, []).append((a, length))
        return cls(of_node)

    def to(self, node: Node, places: Mapping[Node, Floats]) -> list[tuple[Floats, float]]:
        """Ends that are placed, and how far they are."""
        ends = [
            (places[end], length) for end, length in self.of_node.get(node, ()) if end in places
        ]
        return ends[:_MOST_SPANS]


def _one_by_one(left: list[Node], places: dict[Node, Floats], spans: _Spans) -> list[Node]:
    """Place what has spans enough to what is placed, most spans first; what is left."""
    waiting = dict.fromkeys(left)
    count = {node: len(spans.to(node, places)) for node in left}
    while waiting:
        node = max(waiting, key=lambda one: count[one])
        reach = spans.to(node, places)
        if len(reach) < _ENOUGH or _in_one_line(np.array([end for end, _ in reach])):
            enough = [other for other in waiting if count[other] >= _ENOUGH and other != node]
            if len(reach) < _ENOUGH or not enough:
                return list(waiting)
            count[node] = 0  # its ends lie in one line: it has to wait for the others
            continue
        places[node] = _by_spans(reach)
        del waiting[node]
        for other, _ in spans.of_node.get(node, ()):
            if other in waiting:
                count[other] = len(spans.to(other, places))
    return []


def _in_one_line(ends: Floats) -> bool:
    values = np.linalg.svd(ends - ends.mean(axis=0), compute_uv=False)
    return bool(len(values) < 2 or values[1] < 0.02 * max(float(values[0]), 1.0))


def _together(left: list[Node], places: dict[Node, Floats], spans: _Spans) -> list[Node]:
    """Place the nodes that hang together with the first one; what is left."""
    group = _hanging_together(left[0], set(left), spans)
    anchors = list(
        dict.fromkeys(
            end for node in group for end, _ in spans.of_node.get(node, ()) if end in places
        )
    )[:_MOST_SPANS]
    if len(group) == 1:
        reach = spans.to(group[0], places)
        places[group[0]] = _by_spans(reach) if reach else _anywhere(places)
    else:
        _by_distances(group, anchors, places, spans)
    return [node for node in left if node not in places]


def _hanging_together(first: Node, waiting: set[Node], spans: _Spans) -> list[Node]:
    found, stack = {first: None}, [first]
    while stack:
        for other, _ in spans.of_node.get(stack.pop(), ()):
            if other in waiting and other not in found:
                found[other] = None
                stack.append(other)
    return list(found)


def _anywhere(places: Mapping[Node, Floats]) -> Floats:
    number = len(places)
    middle = np.mean(list(places.values()), axis=0) if places else np.zeros(3)
    beside: Floats = middle + 100.0 * (number % 7 + 1) * _DIRECTIONS[number % 6]
    return beside


def _by_distances(
    group: list[Node], anchors: list[Node], places: dict[Node, Floats], spans: _Spans
) -> None:
    """Distance geometry over a group and the placed nodes that it hangs on."""
    number = {node: k for k, node in enumerate([*group, *anchors])}
    ends = [
        (number[node], number[end], length)
        for node in group
        for end, length in spans.of_node.get(node, ())
        if end in number and (end in anchors or number[node] < number[end])
    ]
    known = np.array([places[node] for node in anchors]).reshape(-1, 3)
    first = len(group)
    for i in range(len(anchors)):
        for j in range(i):
            length = float(np.linalg.norm(known[i] - known[j]))
            if length > 0.0:
                ends.append((first + i, first + j, length))
    found = places_from_distances(
        len(number),
        np.array([(a, b) for a, b, _ in ends], dtype=np.intp),
        np.array([length for _, _, length in ends]),
    )
    middle = np.mean(list(places.values()), axis=0) if places else np.zeros(3)
    best = found - found.mean(axis=0) + middle
    if anchors:
        tries = []
        for image in (found, found * np.array([1.0, -1.0, 1.0])):
            turn, shift = onto(image[first:], known)
            laid = image @ turn.T + shift
            tries.append((float(np.sum((laid[first:] - known) ** 2)), laid))
        best = min(tries, key=lambda tried: tried[0])[1]
    for node in group:
        places[node] = best[number[node]]


def _by_spans(reach: list[tuple[Floats, float]]) -> Floats:
    """Least squares from six sides; the best of them."""
    ends = np.array([end for end, _ in reach])
    lengths = np.array([length for _, length in reach])

    def evaluate(x: Floats) -> tuple[Floats, Floats]:
        between = x - ends
        size = np.maximum(np.sqrt(np.einsum("ij,ij->i", between, between)), 1e-9)
        return size - lengths, between / size[:, None]

    middle = ends.mean(axis=0)
    tries = [
        solve(evaluate, middle + lengths.mean() * direction, most_iterations=50)
        for direction in _DIRECTIONS
    ]
    return min(tries, key=lambda tried: tried.sum_of_squares).x
