"""Three-view drawing of a part against its target positions, as SVG in millimetres.

Arrows run from the target position to where the point is, exaggerated; ellipses hold 95 % of
where it may be; dotted outlines are the tolerance. The scale and the exaggeration are stated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.quantities import Units
from panelwright.record import strokes
from panelwright.record.labels import TEXT_MM, Labels, Placed, Rectangle, text_width_mm
from panelwright.record.spot_marks import (
    ELLIPSE_STYLE,
    label,
    marker,
    named,
    push_ends,
    samples,
    spot_shapes,
)
from panelwright.record.spots import EXAGGERATIONS, Kind, Push, Spot, exaggeration
from panelwright.record.strokes import ACCENT, INK, PALE, SOFT, Spot2
from panelwright.record.views import TITLE_MM, View, three_views

if TYPE_CHECKING:
    from collections.abc import Sequence

LEGEND_MM = 55.0
"""Height of the legend, which stands in the corner that the views leave free."""


@dataclass(frozen=True)
class Band:
    """A part of a drawing from side to side."""

    svg: str
    height_mm: float


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
    bands: tuple[Band, ...]
    """The same drawing in two parts, upper views and lower, where no label crosses; else whole."""


def _frame(view: View, labels: Labels, spots: Sequence[Spot]) -> list[str]:
    """A view's frame, title and the directions that it shows."""
    x, y = view.left_mm + 1.6, view.top_mm + TEXT_MM + 1.4
    width = text_width_mm(view.title) * 1.1
    labels.taken.append(Rectangle(x, view.top_mm, x + width, view.top_mm + TITLE_MM - 1.0))
    style = f'fill="none" stroke="{PALE}" stroke-width="0.25"'
    frame = strokes.box(
        (view.left_mm + 0.2, view.top_mm + 0.2), view.width_mm - 0.8, view.height_mm - 0.8, style
    )
    return [frame, strokes.words(view.title, (x, y), bold=True), *_directions(view, labels, spots)]


CLEAR_MM = 9.0
"""Room that the small arrows want around them. [mm on paper]"""
DIRECTIONS = {0: ("rear", "front"), 1: ("right", "left"), 2: ("up", "down")}


def _directions(view: View, labels: Labels, spots: Sequence[Spot]) -> list[str]:
    """Small arrows that say where rear, right and up are, in the corner with most room."""
    right, low = view.left_mm + view.width_mm - 14.0, view.top_mm + view.height_mm - 2.8
    corners = ((right, low), (view.left_mm + 3.4, low), (right, view.top_mm + TITLE_MM + 6.0))
    places = [view.spot(spot.xyz_mm) for spot in spots]

    def room(corner: Spot2) -> float:
        middle = (corner[0] + 4.0, corner[1] - 2.5)
        return min((math.dist(middle, place) for place in places), default=math.inf)

    corner = next((one for one in corners if room(one) > CLEAR_MM), max(corners, key=room))
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


def long_drawn(k: float, units: Units) -> str:
    """How long a deviation is drawn, in words."""
    if units is Units.IN:
        return f"0.1 in off is drawn {strokes.number(0.1 * k)} in long"
    return f"1 mm off is drawn {strokes.number(k)} mm long"


def exaggerated(scale: int, k: float, units: Units = Units.MM) -> str:
    """The exaggeration in words."""
    return f"{long_drawn(k, units)}, {strokes.number(k * scale)} times the drawing's scale"


def _legend(corner: Spot2, scale: int, k: float, units: Units, pushes: Sequence[Push]) -> list[str]:
    """What the shapes mean, in the corner that the views leave free."""
    dotted = f'fill="none" stroke="{SOFT}" stroke-width="0.22" stroke-dasharray="0.5 0.7"'
    left, top = corner
    x = left + 5.0
    rows: list[tuple[list[str], str]] = [
        (
            strokes.arrow((x - 2.5, 0.0), (x + 2.5, 0.0), INK, 0.45),
            "target position to point",
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
        strokes.words(long_drawn(k, units), (left + 1.6, top + 8.0)),
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
    most: float = EXAGGERATIONS[0],
    units: Units = Units.MM,
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
    most : float
        Largest exaggeration. [mm on paper per mm]
    units : Units
        In which the exaggeration is said.
    """
    part = [spot for spot in spots if spot.kind is Kind.PART] or list(spots)
    left_side = sum(spot.xyz_mm[1] for spot in part) <= 0.0
    places = [spot.xyz_mm for spot in spots] + [push.xyz_mm for push in pushes]
    views = three_views(places, width_mm=width_mm, height_mm=height_mm, left_side=left_side)
    k = min(exaggeration(spots, pushes), most)
    side, _, top = views
    wide = max(view.left_mm + view.width_mm for view in views)
    high = top.top_mm + max(top.height_mm, LEGEND_MM)
    labels = Labels(Rectangle(0.8, 0.8, wide - 0.8, high - 0.8))
    legend = Rectangle(side.width_mm, top.top_mm, wide, high)
    labels.taken.append(legend)
    upper: list[str] = []
    lower = _legend((legend.left, legend.top), side.scale, k, units, pushes)
    arrows = [(view, push, push_ends(view, push, k)) for view in views for push in pushes]
    for view in views:
        into = lower if view is top else upper
        into += _frame(view, labels, spots) + spot_shapes(view, spots, k, labels)
    for view, _, ends in arrows:
        if ends is not None:
            (lower if view is top else upper).extend(strokes.arrow(*ends, ACCENT, 0.9))
            labels.busy += samples(*ends)
    for view, push, ends in arrows:
        at = (
            view.spot(push.xyz_mm)
            if ends is None
            else ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        )
        placed = labels.place(push.label, *at, view.inside)
        (lower if view is top else upper).extend(label(placed, colour=ACCENT, bold=True))
    for view in views:
        for text, at in named(view, spots):
            (lower if view is top else upper).extend(label(labels.place(text, *at, view.inside)))
    return Drawing(
        strokes.drawing(wide, high, [*lower, *upper]),
        wide,
        high,
        side.scale,
        k,
        tuple(labels.placed),
        f"Scale 1 : {side.scale}; {exaggerated(side.scale, k, units)}.",
        _bands(views, labels, (upper, lower), wide, high),
    )


def _bands(
    views: tuple[View, View, View],
    labels: Labels,
    shapes: tuple[list[str], list[str]],
    wide: float,
    high: float,
) -> tuple[Band, ...]:
    """Upper and lower views apart, unless a label had to leave its own."""
    seam = views[2].top_mm
    inside = all(
        (placed.y < seam) == (placed.box.bottom <= seam)
        and (placed.y >= seam) == (placed.box.top >= seam)
        for placed in labels.placed
    )
    upper, lower = shapes
    if not inside:
        return (Band(strokes.drawing(wide, high, [*lower, *upper]), high),)
    return (
        Band(strokes.drawing(wide, seam, upper), seam),
        Band(strokes.drawing(wide, high - seam, lower, top=seam), high - seam),
    )
