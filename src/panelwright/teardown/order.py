"""In which order parts come off: outermost first, the file's order where nothing else decides."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from panelwright.teardown.graph import Graph

Edges = frozenset[tuple[str, str]]
"""Pairs (earlier, later)."""


@dataclass(frozen=True)
class Order:
    """Parts as they come off.

    Parameters
    ----------
    parts : tuple of str
        Ids, first to last.
    rings : tuple of tuple of str
        Rings of parts that hide each other, first id repeated at the end.
    interlocked : tuple of tuple of str
        Rings of parts that lie over each other, likewise: all their joints are opened first.
    """

    parts: tuple[str, ...]
    rings: tuple[tuple[str, ...], ...]
    interlocked: tuple[tuple[str, ...], ...]


def hiding(graph: Graph, names: Iterable[str]) -> Edges:
    """Who must be off before whom because it hides it.

    Parameters
    ----------
    graph : Graph
    names : iterable of str
        The parts to look at.

    Returns
    -------
    set of (str, str)
        (hider, hidden).
    """
    chosen = frozenset(names)
    return frozenset(
        (hider, name) for name in chosen for hider in graph.hiders.get(name, ()) if hider in chosen
    )


def overlapping(graph: Graph, names: Iterable[str]) -> Edges:
    """Who lies over whom in a joint that both open.

    Parameters
    ----------
    graph : Graph
    names : iterable of str
        The parts that come off.

    Returns
    -------
    set of (str, str)
        (outer layer, inner layer).
    """
    chosen = frozenset(names)
    pairs: set[tuple[str, str]] = set()
    for name in chosen:
        for joint in graph.opened_by(name):
            own = joint.layers.index(name)
            for layer in joint.layers[:own]:
                if layer in chosen and layer != name and joint in graph.opened_by(layer):
                    pairs.add((layer, name))
    return frozenset(pairs)


def _followers(edges: Edges, left: Iterable[str]) -> dict[str, list[str]]:
    rank = {name: number for number, name in enumerate(left)}
    table: dict[str, list[str]] = {name: [] for name in rank}
    for earlier, later in edges:
        if earlier in rank and later in rank:
            table[earlier].append(later)
    for names in table.values():
        names.sort(key=lambda name: rank[name])
    return table


def _ring(followers: Mapping[str, Sequence[str]], start: str) -> tuple[str, ...] | None:
    """The shortest ring through `start`, first id repeated at the end; None where there is none."""
    came_from: dict[str, str] = {}
    front = [start]
    while front:
        ahead = []
        for name in front:
            for later in followers[name]:
                if later == start:
                    path = [start, name]
                    while path[-1] != start:
                        path.append(came_from[path[-1]])
                    return tuple(reversed(path)) if name != start else (start, start)
                if later not in came_from:
                    came_from[later] = name
                    ahead.append(later)
        front = ahead
    return None


def _reaches(followers: Mapping[str, Sequence[str]], start: str) -> frozenset[str]:
    seen: set[str] = set()
    front = [start]
    while front:
        for later in followers[front.pop()]:
            if later not in seen:
                seen.add(later)
                front.append(later)
    return frozenset(seen)


def _backwards(followers: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    table: dict[str, list[str]] = {name: [] for name in followers}
    for earlier, laters in followers.items():
        for later in laters:
            table[later].append(earlier)
    return table


def _first_knot(followers: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Parts that wait only for each other, where every part waits for some other."""
    leaders = _backwards(followers)
    name = next(iter(followers))
    while True:
        before, after = _reaches(leaders, name), _reaches(followers, name)
        if before <= after:
            return tuple(other for other in followers if other in before)
        # One that `name` waits for and that does not wait for it has fewer before it.
        name = next(other for other in followers if other in before and other not in after)


def _untie(left: Sequence[str], hard: Edges, soft: Edges) -> tuple[str, tuple[str, ...], bool]:
    """Which part of a knot goes first, the ring it is on, and whether that is one of hiding."""
    every = _followers(hard | soft, left)
    knot = _first_knot(every)
    hiders = _followers(hard, knot)
    held = {later for laters in hiders.values() for later in laters}
    for name in knot:
        if name not in held:
            return name, _ring(_followers(hard | soft, knot), name) or (), False
    for name in knot:
        ring = _ring(hiders, name)
        if ring is not None:
            return name, ring, True
    raise AssertionError("where each part of a knot is hidden by another, some ring closes")


def order(names: Sequence[str], hard: Edges, soft: Edges) -> Order:
    """Sort parts so that what hides or lies over another comes off first.

    Parameters
    ----------
    names : sequence of str
        Ids in the file's order, which decides ties.
    hard : set of (str, str)
        (hider, hidden).
    soft : set of (str, str)
        (outer layer, inner layer); given up within a ring of layers, where the parts interlock
        and come off together once their joints are open.

    Returns
    -------
    Order
        Every name once, also where parts hide each other in a ring: there the first in the file
        goes first and the ring is named.
    """
    every = _followers(hard | soft, names)
    waits = Counter(later for laters in every.values() for later in laters)
    left = list(names)
    done: list[str] = []
    rings: list[tuple[str, ...]] = []
    interlocked: list[tuple[str, ...]] = []
    while left:
        free = next((name for name in left if not waits[name]), None)
        if free is None:
            free, ring, hides = _untie(left, hard, soft)
            (rings if hides else interlocked).append(ring)
        left.remove(free)
        done.append(free)
        waits.subtract(every[free])
    return Order(tuple(done), tuple(rings), tuple(interlocked))
