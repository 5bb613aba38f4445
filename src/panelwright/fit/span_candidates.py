"""Spans that a tool can reach, and spans of one side against the other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from panelwright.facts.repair import BODY
from panelwright.fit.at_hand import SHORTEST_MM
from panelwright.fit.candidate import Block, What
from panelwright.fit.homes import node_now
from panelwright.fit.tools import LEAST_U_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.at_hand import AtHand
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Node
    from panelwright.fit.tool_columns import ToolColumns
    from panelwright.fit.tools import Instrument

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

T = TypeVar("T")
MOST = 4000
"""Spans that are ranked; of more, as a repair of hundreds of points has, every so many-th is."""
MIDDLE_MM = 20.0
"""A point without a twin so near to the centre plane is its own. Common practice, no source."""


def span_candidates(
    network: Network, placed: Placed, parts: set[str], hand: AtHand, columns: ToolColumns
) -> Iterator[Block]:
    """Spans from points of the parts to points of the body, with every tool that reaches.

    A span that was read already is not proposed with a tool that is no surer.

    Parameters
    ----------
    network, placed
        The network and its nodes.
    parts : set of str
    hand : AtHand
    columns : ToolColumns
        Columns of tools that nobody read with yet are added to it.

    Yields
    ------
    Block
    """
    own, body = _ends(network, parts)
    if not own or not body:
        return
    pairs = _thinned([(a, b) for a in own for b in body])
    number = np.array([(network.number[a], network.number[b]) for a, b in pairs], dtype=np.intp)
    names = [(a.id, b.id) for a, b in pairs]
    length, rows = _spans(placed, number)
    lengths = length.tolist()
    least = _least_u_mm(network, number)
    for tool in hand.spanning():
        fits = (length > SHORTEST_MM) & (length < hand.reach_mm[tool.id])
        kept = np.flatnonzero(fits & (least > max(tool.u_mm, LEAST_U_MM))).tolist()
        if not kept:
            continue
        minutes = hand.minutes[tool.id]
        yield Block(
            tuple(What("span", names[k], tool.id, minutes, lengths[k]) for k in kept),
            _as_read(rows[kept], length[kept], length[kept], tool, columns),
            np.full(len(kept), max(tool.u_mm, LEAST_U_MM) ** 2),
        )


def compare_candidates(
    network: Network, placed: Placed, parts: set[str], hand: AtHand, columns: ToolColumns
) -> Iterator[Block]:
    """A span on the side of the part less its mirror image on the other side, with the tape.

    Parameters
    ----------
    network, placed
        The network and its nodes.
    parts : set of str
    hand : AtHand
    columns : ToolColumns

    Yields
    ------
    Block
    """
    quads = _thinned(_mirrored(network, parts))
    if not quads:
        return
    number = np.array([[network.number[node] for node in quad] for quad in quads], dtype=np.intp)
    one, rows = _spans(placed, number[:, :2])
    other, mirrored = _spans(placed, number[:, 2:])
    for tool in hand.of_kind("tape"):
        reach = hand.reach_mm[tool.id]
        kept = np.flatnonzero((np.minimum(one, other) > SHORTEST_MM) & (one < reach))
        if not len(kept):
            continue
        difference = (one - other)[kept]
        read = _as_read(rows[kept] - mirrored[kept], difference, None, tool, columns)
        yield Block(
            tuple(
                What("compare", tuple(n.id for n in quads[k]), tool.id, 2 * hand.minutes[tool.id])
                for k in kept
            ),
            read,
            np.full(len(kept), max(tool.u_mm, LEAST_U_MM) ** 2),
        )


def _thinned(found: list[T]) -> list[T]:
    """No more than can be ranked at once, evenly over all."""
    return found[:: -(-len(found) // MOST) or 1]


def _spans(placed: Placed, number: Indices) -> tuple[Floats, Floats]:
    """Lengths and derivatives of spans between nodes, shapes (k,) and (k, u)."""
    a, b = number.T
    between = placed.xyz[a] - placed.xyz[b]
    length = np.sqrt(np.einsum("ij,ij->i", between, between))
    unit = between / np.where(length > 0.0, length, 1.0)[:, None]
    directions = np.zeros((len(number), len(placed.xyz), 3))
    at = np.arange(len(number))
    directions[at, a], directions[at, b] = unit, -unit
    return length, placed.chain(directions.reshape(len(number), -1))


def _as_read(
    rows: Floats,
    true: Floats,
    growing: Floats | None,
    tool: Instrument,
    columns: ToolColumns,
) -> Floats:
    """Derivatives of what a tool reads: true·(1 + scale) + offset, which may grow with length.

    Without `growing` the offset cancels, as between two spans.
    """
    scale = columns.scale_of(tool)
    offset = columns.offset_of(tool) if growing is not None else None
    read = columns.widened(rows) * columns.factor(tool)
    if scale is not None:
        read[:, scale] += true
    if offset is not None and growing is not None:
        read[:, offset] += [tool.grows(length) for length in growing.tolist()]
    return read


def _ends(network: Network, parts: set[str]) -> tuple[list[Node], list[Node]]:
    """Nodes of points of the parts in their latest dry fit, and of the body."""
    latest = network.settings.latest_of
    nodes = [node for node in network.number if not node.place]
    own = [n for n in nodes if n.owner in parts and n.setting == latest(n.owner)]
    return own, [node for node in nodes if node.owner == BODY]


def _least_u_mm(network: Network, number: Indices) -> Floats:
    """Least uncertainty that each span was read with [mm]; infinite: never; 0: out of reach."""
    least = np.full((network.geometry.count,) * 2, np.inf)
    for sketch in network.sketches:
        if len(sketch.distances) == 1:
            _, a, b = sketch.distances[0]
            i, j = network.number[a], network.number[b]
            least[i, j] = least[j, i] = min(sketch.spread.u_mm, least[i, j])
    named: dict[str, list[int]] = {}
    for node, k in network.number.items():
        if not node.place:
            named.setdefault(node.id, []).append(k)
    for pair in network.repair.blocked:
        for i in named.get(pair.from_, ()):
            for j in named.get(pair.to, ()):
                least[i, j] = least[j, i] = 0.0
    found: Floats = least[number[:, 0], number[:, 1]]
    return found


def _mirrored(network: Network, parts: set[str]) -> list[tuple[Node, Node, Node, Node]]:
    """Spans with their mirror images, neither compared before nor out of reach."""
    own, body = _ends(network, parts)
    number = network.number
    blocked = {frozenset((pair.from_, pair.to)) for pair in network.repair.blocked}
    compared = {
        tuple(sorted(_pair(number[a], number[b]) for _, a, b in sketch.distances))
        for sketch in network.sketches
        if len(sketch.distances) == 2
    }
    far = [(b, number[b], d, number[d]) for b in body if (d := _across(b, network)) is not None]
    found = []
    for a in own:
        c = _across(a, network)
        if c is None:
            continue
        i, k = number[a], number[c]
        for b, j, d, m in far:
            spans = tuple(sorted((_pair(i, j), _pair(k, m))))
            if j == k or spans[0] == spans[1] or spans in compared:
                continue
            if blocked and {frozenset((a.id, b.id)), frozenset((c.id, d.id))} & blocked:
                continue
            compared.add(spans)
            found.append((a, b, c, d))
    return found


def _pair(i: int, j: int) -> tuple[int, int]:
    return (i, j) if i < j else (j, i)


def _across(node: Node, network: Network) -> Node | None:
    """The node of a point's twin; of a point in the middle, itself."""
    point = network.repair.point_by_id[node.id]
    if point.twin is None:
        known = point.xyz is not None and abs(point.xyz[1].mm) < MIDDLE_MM
        return node if known else None
    twin = network.repair.point_by_id.get(point.twin)
    if twin is None:
        return None
    there = node_now(twin, network.settings)
    return there if there in network.number else None
