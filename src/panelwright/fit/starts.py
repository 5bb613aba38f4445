"""Places to start from for points that were given none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjust import solve

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.sketch import Node, Sketch

    Floats = NDArray[np.float64]

_DIRECTIONS = np.concatenate([np.eye(3), -np.eye(3)])
_SAME_PLACE_MM = 10.0


@dataclass(frozen=True)
class Start:
    """A place to start from, and whether another place fits the spans as well."""

    xyz_mm: Floats
    ambiguous: bool


def start_places(
    wanted: Iterable[Node], placed: Mapping[Node, Floats], sketches: Iterable[Sketch]
) -> Mapping[Node, Start]:
    """Place nodes by their spans to nodes that are placed, those with most spans first.

    Parameters
    ----------
    wanted : iterable of Node
    placed : mapping
        Places of other nodes, shape (3,) [mm].
    sketches : iterable of Sketch

    Returns
    -------
    mapping
        A start for every wanted node; at the mean of all places where no span helps.
    """
    spans = [
        (sketch.distances[0][1], sketch.distances[0][2], sketch.observed_mm)
        for sketch in sketches
        if len(sketch.distances) == 1 and not sketch.projections
    ]
    places = dict(placed)
    found: dict[Node, Start] = {}
    waiting = list(wanted)
    while waiting:
        reaches = [_reach(node, spans, places) for node in waiting]
        best = max(range(len(waiting)), key=lambda k: len(reaches[k]))
        node, reach = waiting.pop(best), reaches[best]
        found[node] = _by_spans(reach) if reach else _anywhere(places, len(found))
        places[node] = found[node].xyz_mm
    return found


def _reach(
    node: Node, spans: list[tuple[Node, Node, float]], places: Mapping[Node, Floats]
) -> list[tuple[Floats, float]]:
    ends = [(b, length) for a, b, length in spans if a == node]
    ends += [(a, length) for a, b, length in spans if b == node]
    return [(places[end], length) for end, length in ends if end in places]


def _anywhere(places: Mapping[Node, Floats], number: int) -> Start:
    middle = np.mean(list(places.values()), axis=0) if places else np.zeros(3)
    return Start(middle + 100.0 * (number + 1) * _DIRECTIONS[number % 6], ambiguous=True)


def _by_spans(reach: list[tuple[Floats, float]]) -> Start:
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
    tries.sort(key=lambda tried: tried.sum_of_squares)
    best = tries[0]
    as_good = [
        tried
        for tried in tries
        if tried.sum_of_squares <= best.sum_of_squares + len(reach)
        and np.linalg.norm(tried.x - best.x) > _SAME_PLACE_MM
    ]
    return Start(best.x, ambiguous=bool(as_good))
