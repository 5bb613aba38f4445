"""Usual mistakes that would explain a reading that does not fit: hints, never corrections.

Marks of a tape misread, a tape that was held from a mark and not from its end, inches taken for
centimetres, left for right, one point for its neighbour. Which mistakes are usual: common practice,
no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot, inf
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.homes import node_now
from panelwright.fit.sketch import Node, Sketch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed
    from panelwright.fit.network import Network
    from panelwright.quantities import Length

    Floats = NDArray[np.float64]

NEAR = 1.959964
"""A mistake explains a reading that it brings within so many u of what the others say (95 %)."""
NEIGHBOUR_MM = 500.0
"""Points nearer than this may be taken one for the other. Common practice, no source."""
MOST = 2
_INCH = re.compile("in|ft|foot|feet|[\"'″′”’]", re.IGNORECASE)
_INCH_MM = 25.4
METRIC = ((10.0, "10 mm"), (50.0, "50 mm"), (100.0, "100 mm"))
IMPERIAL = ((_INCH_MM, "1 in"), (12.0 * _INCH_MM, "1 ft"))
FROM_A_MARK = {"100 mm", "1 in", "1 ft"}
FACTORS = (
    (2.54, "an inch read as a centimetre?"),
    (1.0 / 2.54, "a centimetre read as an inch?"),
    (10.0, "centimetres entered as millimetres?"),
    (0.1, "millimetres entered as centimetres?"),
    (_INCH_MM, "inches entered as millimetres?"),
    (1.0 / _INCH_MM, "millimetres entered as inches?"),
)
SIGNED = {
    "compare": "which of the two is longer exchanged?",
    "flush": "low and high exchanged?",
    "y": "left and right exchanged?",
    "along": "the way in which it is off exchanged?",
    "across": "the way in which it is off exchanged?",
}
"""Components whose sign is easily turned round."""


@dataclass(frozen=True)
class Misread:
    """A reading against what the others say of it.

    Parameters
    ----------
    sketch : Sketch
    typed : Length or None
        The number as it was entered; None where it was told as a word.
    read_mm, others_mm : float
        What the tool showed, and what it should have shown [mm].
    u_mm : float
        Standard uncertainty of `others_mm` [mm].
    """

    sketch: Sketch
    typed: Length | None
    read_mm: float
    others_mm: float
    u_mm: float


def hints_of(misread: Misread, network: Network, adjusted: Adjusted | None) -> tuple[str, ...]:
    """Usual mistakes that explain a reading within its uncertainty, likeliest first.

    Parameters
    ----------
    misread : Misread
    network : Network
    adjusted : Adjusted or None
        Its unknowns without the reading; None: points are not compared.

    Returns
    -------
    tuple of str
        At most two, each with a question; none where nothing usual explains it.
    """
    if misread.typed is None:
        return ()
    found = [*_amounts(misread), *_factors(misread), *_signs(misread)]
    if adjusted is not None:
        placed = network.geometry.place(adjusted.x)
        found += _other_points(misread, network, adjusted, placed)
    likely = sorted((miss, words) for miss, words in found if miss <= NEAR)
    return tuple(words for _, words in likely[:MOST])


Hints = Iterator[tuple[float, str]]
"""How many u from explaining it, and the question."""


def _amounts(misread: Misread) -> Hints:
    """Whole amounts by which a tape is misread."""
    u_mm = hypot(misread.u_mm, misread.sketch.spread.u_mm)
    off = misread.read_mm - misread.others_mm
    typed = misread.typed.typed if misread.typed is not None else ""
    inches = isinstance(typed, str) and _INCH.search(typed) is not None
    for amount, name in IMPERIAL if inches else METRIC:
        if NEAR * u_mm > 0.5 * amount:
            continue  # it would explain nearly anything
        way = "too much" if off > 0.0 else "too little"
        asked = "a mark misread?"
        if off > 0.0 and name in FROM_A_MARK and misread.sketch.component in ("span", "height"):
            asked = f"measured from the {name} mark?"
        yield abs(abs(off) - amount) / u_mm, f"{name} {way}: {asked}"


def _factors(misread: Misread) -> Hints:
    if misread.sketch.component in SIGNED or misread.read_mm <= 0.0:
        return
    for factor, words in FACTORS:
        u_mm = hypot(misread.u_mm, factor * misread.sketch.spread.u_mm)
        if NEAR * u_mm < 0.5 * abs(factor - 1.0) * misread.read_mm:
            yield abs(misread.others_mm - factor * misread.read_mm) / u_mm, words


def _signs(misread: Misread) -> Hints:
    words = SIGNED.get(misread.sketch.component)
    if words is not None:
        u_mm = hypot(misread.u_mm, misread.sketch.spread.u_mm)
        yield abs(misread.others_mm + misread.read_mm) / u_mm, words


def _other_points(misread: Misread, network: Network, adjusted: Adjusted, placed: Placed) -> Hints:
    """Spans between other points that the reading would fit."""
    if misread.sketch.component != "span":
        return
    spans = _Spans(misread, network, adjusted, placed)
    (_, a, b), *_ = misread.sketch.distances
    twins = {end: spans.twin(end) for end in (a, b)}
    for one, other in ((twins[a], b), (a, twins[b]), (twins[a], twins[b])):
        if one is not None and other is not None:
            words = f"left and right exchanged? {one.id} to {other.id} would fit."
            yield spans.miss(one, other), words
    for end, kept in ((a, b), (b, a)):
        for near in spans.neighbours(end):
            if near not in (kept, *twins.values()):
                one, other = (near, kept) if end is a else (kept, near)
                words = f"{near.id} taken for {end.id}? {one.id} to {other.id} would fit."
                yield spans.miss(near, kept), words


@dataclass(frozen=True)
class _Spans:
    """Spans between known nodes against one reading."""

    misread: Misread
    network: Network
    adjusted: Adjusted
    placed: Placed

    def twin(self, node: Node) -> Node | None:
        """The opposite-side point, in the same setting where it is on the same part."""
        points = self.network.repair.point_by_id
        twin = points.get(points[node.id].twin or "")
        if twin is None:
            twin = next((p for p in points.values() if p.twin == node.id), None)
        if twin is None:
            return None
        same = Node(node.owner, node.setting, twin.id)
        now = node_now(twin, self.network.settings)
        return next((n for n in (same, now) if n in self.network.number), None)

    def neighbours(self, node: Node) -> Iterator[Node]:
        """Other points within reach of a mistake, of the body or in the same dry fit."""
        at = self.placed.xyz[self.network.number[node]]
        now = self.network.settings
        for other, number in self.network.number.items():
            point = self.network.repair.point_by_id.get(other.id)
            if other.place or point is None or other.id == node.id:
                continue
            together = (other.owner, other.setting) == (node.owner, node.setting)
            if not together and other != node_now(point, now):
                continue
            if float(np.linalg.norm(self.placed.xyz[number] - at)) < NEIGHBOUR_MM:
                yield other

    def miss(self, a: Node, b: Node) -> float:
        """By how many u the reading misses the span of two nodes; infinite if that is open."""
        if a == b:
            return inf
        i, k = self.network.number[a], self.network.number[b]
        arm = self.placed.xyz[i] - self.placed.xyz[k]
        length = float(np.linalg.norm(arm))
        if length == 0.0:
            return inf
        row = (arm / length) @ (self.placed.follow[i] - self.placed.follow[k])
        if self.adjusted.leaves_open(row):
            return inf
        sketch = self.misread.sketch
        variance = float(row @ self.adjusted.covariance @ row)
        u_mm = hypot(sketch.spread.u_mm, np.sqrt(max(variance, 0.0)))
        return abs(sketch.observed_mm - sketch.constant_mm - length) / u_mm
