"""A span as it is read: from hole edges, with pointers of different length, on warm metal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import hypot, sqrt
from typing import TYPE_CHECKING

from panelwright.fit.metals import warm_span
from panelwright.fit.notes import left_out
from panelwright.fit.reading_answer import Correction
from panelwright.fit.sketch import Kind, Sketch
from panelwright.sources import Basis, Source

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Point
    from panelwright.facts.models.readings import SpanReading
    from panelwright.facts.problem import Problem
    from panelwright.facts.repair import Repair
    from panelwright.fit.sketch import Node
    from panelwright.fit.tools import Spread

EDGE_U_MM = 0.1
"""Where the edge of a hole is, against half its diameter. Common practice, no source."""
_SIGN = {"near": -1.0, "far": 1.0}


@dataclass(frozen=True)
class SpanAsRead:
    """One span reading with its two points, already known to be there."""

    where: str
    reading: SpanReading
    nodes: tuple[Node, Node]
    spread: Spread
    repair: Repair

    def said(self) -> Iterator[Sketch | Problem]:
        """The equation, and what there is to say; no equation where the reading makes no sense."""
        wrong = self._wrong()
        if wrong is not None:
            yield wrong
            return
        warm = warm_span(
            self.reading, (self.nodes[0].owner, self.nodes[1].owner), self.spread.tool, self.repair
        )
        if isinstance(warm, str):
            yield left_out(f"{self.where}.temperature", warm)
        corrections: list[Correction] = [warm] if isinstance(warm, Correction) else []
        observed_mm = self.reading.value.mm + sum(c.by_mm for c in corrections)
        spread = self.spread
        if spread.tool is not None:
            spread = replace(spread, offset_by=spread.tool.grows(observed_mm))
        if self.reading.pointers is not None:
            observed_mm, spread, by_pointers = self._straight(observed_mm, spread)
            corrections.append(by_pointers)
        edges = tuple(self._edges())
        u_mm = spread.u_mm
        for correction in corrections:
            if correction.kind != "pointers":
                u_mm = hypot(u_mm, correction.u_mm)
        for edge in edges:
            u_mm = hypot(u_mm, edge.u_mm)
        a, b = self.nodes
        yield Sketch(
            Kind.READING,
            0,
            "span",
            observed_mm,
            replace(spread, u_mm=u_mm),
            -sum((edge.by_mm for edge in edges), 0.0),
            distances=((1.0, a, b),),
            corrections=(*corrections, *edges),
        )

    def _ends(self) -> Iterator[tuple[str, Point, str]]:
        """Key, point and edge of each end that was read from an edge."""
        points = self.repair.point_by_id
        for key, name, edge in (
            ("from_edge", self.reading.from_, self.reading.from_edge),
            ("to_edge", self.reading.to, self.reading.to_edge),
        ):
            if edge in _SIGN:
                yield key, points[name], str(edge)

    def _wrong(self) -> Problem | None:
        reading, tool = self.reading, self.spread.tool
        for key, point, edge in self._ends():
            if point.hole is None:
                return left_out(
                    f"{self.where}.{key}",
                    f"{edge} edge of {point.id}, but point {point.id} has no hole with a "
                    'diameter: say hole = "12 mm" there; the reading is left out',
                )
            if reading.pointers is not None:
                return left_out(
                    f"{self.where}.{key}",
                    f"a tram's pointer sits in the middle of the hole, so the {edge} edge of "
                    f"{point.id} cannot be meant; the reading is left out",
                )
            if edge == "far" and point.hole.mm >= reading.value.mm:
                return left_out(
                    f"{self.where}.{key}",
                    f"{reading.value.mm:g} mm does not reach across the hole of {point.id}, "
                    f"{point.hole.mm:g} mm; the reading is left out",
                )
        if reading.pointers is not None and (tool is None or tool.kind not in {"tram", ""}):
            named = f"a {tool.kind}" if tool is not None else "a tool that is not named"
            return left_out(
                f"{self.where}.pointers",
                f"pointers belong to a tram, and this was read with {named}: say "
                'with = "tram", or leave the pointers out; the reading is left out',
            )
        return None

    def _straight(self, along_mm: float, spread: Spread) -> tuple[float, Spread, Correction]:
        """From the length along the beam to the span between the pointers' tips.

        span² = along² + (difference of the pointers)²; what the tool shares acts on the length
        along the beam.
        """
        low, high = (pointer.mm for pointer in self.reading.pointers or ())
        rise_mm = high - low
        span_mm = hypot(along_mm, rise_mm)
        level = along_mm / span_mm
        tool = spread.tool
        pointer_u_mm = sqrt(2.0) * (tool.pointer_u_mm if tool is not None else 0.0)
        by_rise_u_mm = abs(rise_mm) / span_mm * pointer_u_mm
        words = (
            f"tram with pointers of {low:g} and {high:g} mm: {along_mm:.1f} mm along the beam is "
            f"{span_mm:.1f} mm from point to point"
        )
        practice = Source(
            Basis.PRACTICE, f"set length of a pointer: u {pointer_u_mm / sqrt(2):g} mm"
        )
        correction = Correction(0, "pointers", span_mm - along_mm, by_rise_u_mm, words, (practice,))
        spread = replace(
            spread,
            u_mm=hypot(level * spread.u_mm, by_rise_u_mm),
            scale_by=spread.scale_by * level**2,
            offset_by=spread.offset_by * level,
        )
        return span_mm, spread, correction

    def _edges(self) -> Iterator[Correction]:
        """What leads from the edges to the middles of the holes."""
        for _, point, edge in self._ends():
            by_mm = -_SIGN[edge] * 0.5 * (point.hole.mm if point.hole is not None else 0.0)
            words = (
                f"from the {edge} edge of the hole of {point.id}, {2.0 * abs(by_mm):g} mm: "
                f"{abs(by_mm):g} mm {'added' if by_mm > 0.0 else 'taken off'} to its middle"
            )
            source = Source(
                Basis.PRACTICE, f"edge of a hole against half its diameter: u {EDGE_U_MM:g} mm"
            )
            yield Correction(0, "edge", by_mm, EDGE_U_MM, words, (source,))
