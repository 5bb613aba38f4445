"""Three-view drawing of a part against its target positions, as SVG in millimetres.

Arrows run from the target position to where the point is, exaggerated; ellipses hold 95 % of
where it may be; dotted outlines are the tolerance. The scale and the exaggeration are stated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.record import strokes
from panelwright.record.labels import TEXT_MM, Labels, Placed, Rectangle, around, text_width_mm
from panelwright.record.strokes import ACCENT, INK, PALE, SOFT, WASH, Spot2
from panelwright.record.views import TITLE_MM, Matrix, Vector, View, three_views

if TYPE_CHECKING:
    from collections.abc import Sequence

ELLIPSE_95 = math.sqrt(-2.0 * math.log(0.05))
"""Semi-axis of the 95 % ellipse over the standard uncertainty: √χ²(0.95; 2) = 2.4477."""

LARGEST_MM = 11.0
"""On paper, of the largest arrow, ellipse or tolerance."""

EXAGGERATIONS = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0, 0.8, 0.5, 0.3, 0.2, 0.1)
"""Millimetres on paper for one millimetre off."""

VERDICT_COLOURS = {"inside": "#17693b", "outside": "#a3161a", "undecided": "#8a5200"}


ELLIPSE_STYLE = f'fill="{ACCENT}" fill-opacity="0.1" stroke="{ACCENT}" stroke-width="0.25"'
LEGEND_MM = 55.0


class Kind(StrEnum):
    """What a point belongs to."""

    BODY = "body"
    PART = "part"


@dataclass(frozen=True)
class Spot:
    """One point of the drawing.

    Parameters
    ----------
    label : str
    xyz_mm : Vector
        Target position of a part's point, place of a body point.
    kind : Kind
    off_mm : Vector or None
        From the target position to where the point is.
    covariance_mm2 : 3 by 3 or None
        Of `off_mm`; None where the readings do not show it.
    tolerance_mm : float, tuple by axis, or None
        Radius, or half widths of which some may be None.
    verdict : str
        "inside", "outside", "undecided" or empty.
    """

    label: str
    xyz_mm: Vector
    kind: Kind = Kind.BODY
    off_mm: Vector | None = None
    covariance_mm2: Matrix | None = None
    tolerance_mm: float | tuple[float | None, float | None, float | None] | None = None
    verdict: str = ""


@dataclass(frozen=True)
class Push:
    """A move: at `xyz_mm`, along a unit direction, by millimetres."""

    label: str
    xyz_mm: Vector
    along: Vector
    by_mm: float


@dataclass(frozen=True)
class Drawing:
    """A finished drawing with what must be said about it."""

    svg: str
    width_mm: float
    height_mm: float
    scale: int
    paper_mm_per_mm: float
    placed: tuple[Placed, ...]
    caption: str


def _eigen(variances: tuple[float, float, float]) -> tuple[float, float, float]:
    """Semi-axes of the standard ellipse and its turn [rad] from a 2 by 2 covariance."""
    a, b, c = variances
    middle, half = (a + c) / 2, math.hypot((a - c) / 2, b)
    return (
        math.sqrt(max(middle + half, 0.0)),
        math.sqrt(max(middle - half, 0.0)),
        0.5 * math.atan2(2 * b, a - c),
    )


def _sizes(spot: Spot) -> list[float]:
    sizes = []
    if spot.off_mm is not None:
        sizes.append(math.hypot(*spot.off_mm))
    if spot.covariance_mm2 is not None:
        trace = sum(spot.covariance_mm2[i][i] for i in range(3))
        sizes.append(ELLIPSE_95 * math.sqrt(max(trace, 0.0)))
    if isinstance(spot.tolerance_mm, float | int):
        sizes.append(float(spot.tolerance_mm))
    elif spot.tolerance_mm is not None:
        sizes += [half for half in spot.tolerance_mm if half is not None]
    return sizes


def exaggeration(spots: Sequence[Spot], pushes: Sequence[Push]) -> float:
    """Millimetres on paper for one millimetre off, so that the largest still fits."""
    sizes = [size for spot in spots for size in _sizes(spot)]
    sizes += [abs(push.by_mm) for push in pushes]
    largest = max(sizes, default=0.0)
    if largest <= 0.0:
        return EXAGGERATIONS[0]
    return next((k for k in EXAGGERATIONS if k * largest <= LARGEST_MM), EXAGGERATIONS[-1])


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
    wide, narrow, turn = _eigen(view.covariance(spot.covariance_mm2))
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


def _samples(tail: Spot2, tip: Spot2) -> list[Rectangle]:
    steps = max(1, math.ceil(math.dist(tail, tip)))
    return [
        around(
            tail[0] + (tip[0] - tail[0]) * i / steps, tail[1] + (tip[1] - tail[1]) * i / steps, 0.5
        )
        for i in range(steps + 1)
    ]


def _spots(view: View, spots: Sequence[Spot], k: float, labels: Labels) -> list[str]:
    own = [spot for spot in spots if spot.kind is Kind.PART]
    outline = strokes.hull([view.spot(spot.xyz_mm) for spot in own])
    shapes = [strokes.polygon(outline, f'fill="{WASH}"')] if len(outline) > 2 else []
    for spot in own:
        shapes += _tolerance(view, spot, k) + _ellipse(view, spot, k, _tip(view, spot, k))
    for spot in spots:
        place, tip = view.spot(spot.xyz_mm), _tip(view, spot, k)
        shapes += strokes.arrow(place, tip, INK, 0.45)
        shapes.append(marker(place, spot.kind, spot.verdict))
        labels.taken.append(around(*place, 1.0))
        labels.busy += _samples(place, tip)
    return shapes


def _push(view: View, push: Push, k: float) -> tuple[Spot2, Spot2] | None:
    """A move's ends, set off sideways so that it does not hide the point's own arrow."""
    x, y = view.spot(push.xyz_mm)
    across, up = (k * push.by_mm * c for c in view.flat(push.along))
    length = math.hypot(across, up)
    if length < 0.8:
        return None
    tail = (x + 2.6 * up / length, y + 2.6 * across / length)
    return tail, (tail[0] + across, tail[1] - up)


def _named(view: View, spots: Sequence[Spot]) -> list[tuple[str, Spot2]]:
    """One label for spots that fall together in this view."""
    groups: list[tuple[list[str], Spot2]] = []
    for spot in spots:
        at = view.spot(spot.xyz_mm)
        for names, there in groups:
            if math.dist(at, there) < 1.0 and len(", ".join([*names, spot.label])) <= 14:
                names.append(spot.label)
                break
        else:
            groups.append(([spot.label], at))
    return [(", ".join(names), at) for names, at in groups]


def _label(placed: Placed | None, *, colour: str = INK, bold: bool = False) -> list[str]:
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


def _frame(view: View, labels: Labels) -> list[str]:
    """A view's frame, title and the directions that it shows."""
    x, y = view.left_mm + 1.6, view.top_mm + TEXT_MM + 1.4
    width = text_width_mm(view.title) * 1.1
    labels.taken.append(Rectangle(x, view.top_mm, x + width, view.top_mm + TITLE_MM - 1.0))
    style = f'fill="none" stroke="{PALE}" stroke-width="0.25"'
    frame = strokes.box(
        (view.left_mm + 0.2, view.top_mm + 0.2), view.width_mm - 0.8, view.height_mm - 0.8, style
    )
    return [frame, strokes.words(view.title, (x, y), bold=True), *_directions(view, labels)]


DIRECTIONS = {0: ("rear", "front"), 1: ("right", "left"), 2: ("up", "down")}


def _directions(view: View, labels: Labels) -> list[str]:
    """Small arrows that say where rear, right and up are in a view."""
    corner = (view.left_mm + view.width_mm - 14.0, view.top_mm + view.height_mm - 2.8)
    shapes: list[str] = []
    for axis, (dx, dy) in ((view.across, (4.0, 0.0)), (view.up, (0.0, -4.0))):
        index = max(range(3), key=lambda i: abs(axis[i]))
        name = DIRECTIONS[index][0 if axis[index] > 0 else 1]
        tip = (corner[0] + dx, corner[1] + dy)
        shapes += strokes.arrow(corner, tip, SOFT, 0.25)
        at = (tip[0] + 0.6, tip[1] + 0.8) if dx else (tip[0] - 1.2, tip[1] - 0.8)
        shapes.append(strokes.words(name, at, colour=SOFT))
    labels.taken.append(Rectangle(corner[0] - 2, corner[1] - 8, corner[0] + 13.5, corner[1] + 2.6))
    return shapes


def exaggerated(scale: int, k: float) -> str:
    """The exaggeration in words."""
    return (
        f"1 mm off is drawn {strokes.number(k)} mm long, "
        f"{strokes.number(k * scale)} times the drawing's scale"
    )


def _legend(left: float, top: float, scale: int, k: float, pushes: Sequence[Push]) -> list[str]:
    """What the shapes mean, in the corner that the views leave free."""
    dotted = f'fill="none" stroke="{SOFT}" stroke-width="0.22" stroke-dasharray="0.5 0.7"'
    x = left + 5.0
    rows: list[tuple[list[str], str]] = [
        (
            strokes.arrow((x - 2.5, 0.0), (x + 2.5, 0.0), INK, 0.45),
            "from the target position to the point",
        ),
        ([strokes.ellipse((x, 0.0), (2.4, 1.3), 0.0, ELLIPSE_STYLE)], "where it may be, 95 %"),
        ([strokes.circle((x, 0.0), 1.6, dotted)], "tolerance"),
        ([marker((x, 0.0), Kind.PART, "inside")], "inside"),
        ([marker((x, 0.0), Kind.PART, "undecided")], "undecided"),
        ([marker((x, 0.0), Kind.PART, "outside")], "outside"),
        ([marker((x, 0.0), Kind.BODY, "")], "point of the body"),
    ]
    if pushes:
        rows.insert(
            1, (strokes.arrow((x - 2.5, 0.0), (x + 2.5, 0.0), ACCENT, 0.9), "move, with its letter")
        )
    shapes = [
        strokes.words(f"Scale 1 : {scale}", (left + 1.6, top + 4.0), bold=True),
        strokes.words(f"1 mm off is drawn {strokes.number(k)} mm long", (left + 1.6, top + 8.0)),
        strokes.words(
            f"({strokes.number(k * scale)} times the drawing's scale)", (left + 1.6, top + 11.6)
        ),
    ]
    for index, (symbol, meaning) in enumerate(rows):
        y = top + 17.0 + 4.4 * index
        shapes.append(f'<g transform="translate(0 {strokes.number(y)})">{"".join(symbol)}</g>')
        shapes.append(strokes.words(meaning, (left + 9.5, y + 0.9)))
    return shapes


def draw(
    spots: Sequence[Spot],
    pushes: Sequence[Push] = (),
    *,
    width_mm: float = 176.0,
    height_mm: float = 138.0,
) -> Drawing:
    """Draw side, rear and top view of a part's points.

    Parameters
    ----------
    spots : sequence of Spot
        At least one.
    pushes : sequence of Push
        Moves, labelled by letters.
    width_mm, height_mm : float
        Room on paper. [mm]
    """
    part = [spot for spot in spots if spot.kind is Kind.PART] or list(spots)
    left_side = sum(spot.xyz_mm[1] for spot in part) <= 0.0
    places = [spot.xyz_mm for spot in spots] + [push.xyz_mm for push in pushes]
    views = three_views(places, width_mm=width_mm, height_mm=height_mm, left_side=left_side)
    k = exaggeration(spots, pushes)
    side, _, top = views
    wide = max(view.left_mm + view.width_mm for view in views)
    high = top.top_mm + max(top.height_mm, LEGEND_MM)
    labels = Labels(Rectangle(0.8, 0.8, wide - 0.8, high - 0.8))
    legend = Rectangle(side.width_mm, top.top_mm, wide, high)
    labels.taken.append(legend)
    shapes = _legend(legend.left, legend.top, side.scale, k, pushes)
    arrows = [(view, push, _push(view, push, k)) for view in views for push in pushes]
    for view in views:
        shapes += _frame(view, labels) + _spots(view, spots, k, labels)
    for _, _, ends in arrows:
        if ends is not None:
            shapes += strokes.arrow(*ends, ACCENT, 0.9)
            labels.busy += _samples(*ends)
    for view, push, ends in arrows:
        at = (
            view.spot(push.xyz_mm)
            if ends is None
            else ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        )
        shapes += _label(labels.place(push.label, *at), colour=ACCENT, bold=True)
    for view in views:
        for text, at in _named(view, spots):
            shapes += _label(labels.place(text, *at))
    return Drawing(
        strokes.drawing(wide, high, shapes),
        wide,
        high,
        side.scale,
        k,
        tuple(labels.placed),
        f"Scale 1 : {side.scale}; {exaggerated(side.scale, k)}.",
    )
