"""How points, their spread and moves are drawn in one view; millimetres on paper."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

from panelwright.record import strokes
from panelwright.record.labels import TEXT_MM, Rectangle, around, text_width_mm
from panelwright.record.spots import ELLIPSE_95, Kind, Push, Spot
from panelwright.record.strokes import ACCENT, INK, SOFT, WASH, Spot2

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.record.labels import Labels, Placed
    from panelwright.record.views import View

VERDICT_COLOURS = {"inside": "#0b5cad", "outside": "#a34700", "undecided": "#16191d"}
"""Blue and orange stay apart for every kind of colour vision; the shape tells as well."""


ELLIPSE_STYLE = f'fill="{ACCENT}" fill-opacity="0.1" stroke="{ACCENT}" stroke-width="0.25"'


def eigen(variances: tuple[float, float, float]) -> tuple[float, float, float]:
    """Semi-axes of the standard ellipse and its turn [rad] from a 2 by 2 covariance."""
    a, b, c = variances
    middle, half = (a + c) / 2, math.hypot((a - c) / 2, b)
    return (
        math.sqrt(max(middle + half, 0.0)),
        math.sqrt(max(middle - half, 0.0)),
        0.5 * math.atan2(2 * b, a - c),
    )


def _tolerance(view: View, spot: Spot, k: float) -> list[str]:
    style = f'fill="none" stroke="{SOFT}" stroke-width="0.22" stroke-dasharray="0.5 0.7"'
    x, y = view.spot(spot.xyz_mm)
    if spot.tolerance_mm is None:
        return []
    if isinstance(spot.tolerance_mm, float | int):
        return [strokes.circle((x, y), k * spot.tolerance_mm, style)]
    wide, high = (
        next(
            (
                k * half
                for half, part in zip(spot.tolerance_mm, axis, strict=True)
                if half is not None and abs(part) > 0.5
            ),
            None,
        )
        for axis in (view.across, view.up)
    )
    if wide is None and high is None:
        return []
    if wide is not None and high is not None:
        return [strokes.box((x - wide, y - high), 2 * wide, 2 * high, style)]
    bars = (
        [(wide, 0.0), (-wide, 0.0)]
        if wide is not None
        else [(0.0, high or 0.0), (0.0, -(high or 0.0))]
    )
    return [
        strokes.line(
            (x + dx - (2 if dy else 0), y + dy - (2 if dx else 0)),
            (x + dx + (2 if dy else 0), y + dy + (2 if dx else 0)),
            SOFT,
            0.22,
            "0.5 0.7",
        )
        for dx, dy in bars
    ]


def _ellipse(view: View, spot: Spot, k: float, tip: Spot2) -> list[str]:
    if spot.covariance_mm2 is None:
        return []
    wide, narrow, turn = eigen(view.covariance(spot.covariance_mm2))
    axes = (k * ELLIPSE_95 * wide, k * ELLIPSE_95 * narrow)
    return [strokes.ellipse(tip, axes, math.degrees(turn), ELLIPSE_STYLE)]


def marker(at: Spot2, kind: Kind, verdict: str) -> str:
    """A point: grey dot of the body; ring inside, diamond undecided, square outside."""
    if kind is Kind.BODY:
        return strokes.circle(at, 0.75, f'fill="{SOFT}"')
    style = f'fill="white" stroke="{VERDICT_COLOURS.get(verdict, INK)}" stroke-width="0.5"'
    x, y = at
    if verdict == "outside":
        return strokes.box((x - 0.95, y - 0.95), 1.9, 1.9, style)
    if verdict == "undecided":
        corners = ((x, y - 1.35), (x + 1.35, y), (x, y + 1.35), (x - 1.35, y))
        return strokes.polygon(corners, style)
    return strokes.circle(at, 1.0, style)


def _tip(view: View, spot: Spot, k: float) -> Spot2:
    x, y = view.spot(spot.xyz_mm)
    across, up = view.flat(spot.off_mm or (0.0, 0.0, 0.0))
    return (x + k * across, y - k * up)


def samples(tail: Spot2, tip: Spot2) -> list[Rectangle]:
    """Small squares along a line, for labels to keep away from."""
    steps = max(1, math.ceil(math.dist(tail, tip)))
    return [
        around(
            tail[0] + (tip[0] - tail[0]) * i / steps, tail[1] + (tip[1] - tail[1]) * i / steps, 0.5
        )
        for i in range(steps + 1)
    ]


def spot_shapes(view: View, spots: Sequence[Spot], k: float, labels: Labels) -> list[str]:
    """Points of one view with tolerance, ellipse and arrow; what they cover is kept from labels."""
    own = [spot for spot in spots if spot.kind is Kind.PART]
    outline = strokes.hull([view.spot(spot.xyz_mm) for spot in own])
    shapes = [strokes.polygon(outline, f'fill="{WASH}"')] if len(outline) > 2 else []
    for spot in own:
        shapes += _tolerance(view, spot, k) + _ellipse(view, spot, k, _tip(view, spot, k))
    for spot in sorted(spots, key=lambda spot: spot.kind is Kind.PART):
        place, tip = view.spot(spot.xyz_mm), _tip(view, spot, k)
        shapes += strokes.arrow(place, tip, INK, 0.45)
        mark = marker(place, spot.kind, spot.verdict)
        shapes.append(f"<g data-spot={quoteattr(spot.label)}>{mark}</g>")
        labels.taken.append(around(*place, 1.0))
        labels.busy += samples(place, tip)
    return shapes


def push_ends(view: View, push: Push, k: float) -> tuple[Spot2, Spot2] | None:
    """A move's ends, set off sideways so that it does not hide the point's own arrow."""
    x, y = view.spot(push.xyz_mm)
    across, up = (k * push.by_mm * c for c in view.flat(push.along))
    length = math.hypot(across, up)
    if length < 0.8:
        return None
    tail = (x + 2.6 * up / length, y + 2.6 * across / length)
    return tail, (tail[0] + across, tail[1] - up)


def named(view: View, spots: Sequence[Spot]) -> list[tuple[str, Spot2]]:
    """One label for spots that fall together in this view, the widest first: it needs most room."""
    groups: list[tuple[list[str], Spot2]] = []
    for spot in spots:
        at = view.spot(spot.xyz_mm)
        for names, there in groups:
            if math.dist(at, there) < 1.0 and len(", ".join([*names, spot.label])) <= 14:
                names.append(spot.label)
                break
        else:
            groups.append(([spot.label], at))
    labels = [(", ".join(names), at) for names, at in groups]
    return sorted(labels, key=lambda one: -text_width_mm(one[0]))


def label(placed: Placed | None, *, colour: str = INK, bold: bool = False) -> list[str]:
    """A placed label on light ground, with a line to its spot where it stands off."""
    if placed is None:
        return []
    box = placed.box
    shapes = []
    if placed.leader:
        near = (min(max(placed.x, box.left), box.right), min(max(placed.y, box.top), box.bottom))
        shapes.append(strokes.line((placed.x, placed.y), near, SOFT, 0.18))
    at = (box.left + 0.3, box.bottom - 0.27 * TEXT_MM)
    ground = (box.right - box.left, box.bottom - box.top - 0.3)
    shapes.append(strokes.box((box.left, box.top), *ground, 'fill="white" fill-opacity="0.7"'))
    return [*shapes, strokes.words(placed.text, at, colour=colour, bold=bold)]
