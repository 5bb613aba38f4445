"""Directions in which the readings hold a point not at all, or so weakly that nobody may use it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.repair import BODY
from panelwright.fit.answer import HeldWeakly
from panelwright.fit.notes import left_out
from panelwright.fit.spread import vector
from panelwright.fit.words import joined, sits_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.facts.problem import Problem
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]

WEAK_MM = 10.0
"""A direction held no better than this serves no tolerance of a body. Common practice, no source.
"""
OPEN_MM = 1000.0
"""A direction held no better than this is not held."""
_NOUGHT = 1e-6
_FLAT = 0.01
_ALIKE = 0.99
_ENOUGH = 4


def held_weakly(network: Network, adjusted: Adjusted, placed: Placed) -> tuple[HeldWeakly, ...]:
    """The worst direction of every point that is held weakly in one.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
    placed : Placed
        The network's nodes there.

    Returns
    -------
    tuple of HeldWeakly
        In the order of the network; points of parts that are judged by their pose are left out.
    """
    roots = len(network.geometry.roots)
    found = []
    for node, number in network.number.items():
        is_here = node.owner == BODY or node.owner in network.repair.part_by_id
        if number >= roots or node.place or not is_here:
            continue
        follow = placed.follow[number]
        free = follow @ adjusted.undetermined
        if free.size and np.abs(free).max() > _NOUGHT:
            along = np.linalg.svd(free)[0][:, 0]
            found.append(_held(node.id, along, None))
            continue
        values, axes = np.linalg.eigh(follow @ adjusted.covariance @ follow.T)
        u_mm = float(np.sqrt(max(float(values[-1]), 0.0)))
        if u_mm > WEAK_MM:
            found.append(_held(node.id, axes[:, -1], u_mm if u_mm < OPEN_MM else None))
    return tuple(found)


def in_one_plane(
    network: Network, placed: Placed, weak: tuple[HeldWeakly, ...]
) -> Iterator[Problem]:
    """Points that lie in one plane and are held weakly across it: one line for all.

    Parameters
    ----------
    network : Network
    placed : Placed
        The network's nodes.
    weak : tuple of HeldWeakly

    Yields
    ------
    Problem
    """
    by_id = {held.point: np.array(held.along) for held in weak}
    nodes = [node for node in network.number if node.id in by_id and not node.place]
    if len(nodes) < _ENOUGH:
        return
    at = placed.xyz[[network.number[node] for node in nodes]]
    _, sizes, axes = np.linalg.svd(at - at.mean(axis=0), full_matrices=False)
    across = [abs(float(by_id[node.id] @ axes[2])) for node in nodes]
    if sizes[2] < _FLAT * sizes[1] and min(across) > _ALIKE:
        yield left_out(
            "reading",
            f"all that was read of {joined([node.id for node in nodes[:8]])} lies in one plane: "
            "spans say next to nothing across it. Read a height, or spans to a point well off "
            "that plane",
        )


def _held(point: str, along: Floats, u_mm: float | None) -> HeldWeakly:
    way = sits_words(along)
    words = f"these readings do not show whether {point} sits {way}"
    if u_mm is not None:
        words = f"{point} is held weakly: {way} it is known to no better than u {u_mm:.0f} mm"
    along = along * (1.0 if along[int(np.argmax(np.abs(along)))] > 0.0 else -1.0)
    return HeldWeakly(point, vector(along), u_mm, words)
