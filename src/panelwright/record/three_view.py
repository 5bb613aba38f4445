"""Three-view drawing of a part against its target positions, as SVG in millimetres.

Arrows run from the target position to where the point is, exaggerated; ellipses hold 95 % of
where it may be; dotted outlines are the tolerance. The scale and the exaggeration are stated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from xml.sax.saxutils import escape

from panelwright.record.glyphs import FAMILIES
from panelwright.record.labels import TEXT_MM, Labels, Placed, Rectangle, around, text_width_mm
from panelwright.record.views import MARGIN_MM, TITLE_MM, Matrix, Vector, View, three_views

ELLIPSE_95 = math.sqrt(-2.0 * math.log(0.05))
"""Semi-axis of the 95 % ellipse over the standard uncertainty: √χ²(0.95; 2) = 2.4477."""

LARGEST_MM = 9.0
"""On paper, of the largest arrow, ellipse or tolerance."""

EXAGGERATIONS = (20.0, 15.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.5, 1.0, 0.8, 0.5, 0.3, 0.2, 0.1)
"""Millimetres on paper for one millimetre off."""

INK, SOFT, ACCENT = "#16191d", "#5a626b", "#0b4a7f"
VERDICT_COLOURS = {"inside": "#17693b", "outside": "#a3161a", "undecided": "#8a5200"}


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


def exaggeration(spots: tuple[Spot, ...], pushes: tuple[Push, ...]) -> float:
    """Millimetres on paper for one millimetre off, so that the largest still fits."""
    sizes = [size for spot in spots for size in _sizes(spot)]
    sizes += [abs(push.by_mm) for push in pushes]
    largest = max(sizes, default=0.0)
    if largest <= 0.0:
        return EXAGGERATIONS[0]
    return next((k for k in EXAGGERATIONS if k * largest <= LARGEST_MM), EXAGGERATIONS[-1])


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _line(x1: float, y1: float, x2: float, y2: float, stroke: str, width: float) -> str:
    ends = " ".join(
        f'{key}="{_number(value)}"' for key, value in zip(("x1", "y1", "x2", "y2"),
                                                          (x1, y1, x2, y2), strict=True)
    )
    return f'<line {ends} stroke="{stroke}" stroke-width="{_number(width)}"/>'


def _arrow(
    tail: tuple[float, float], tip: tuple[float, float], colour: str, width: float
) -> list[str]:
    """A straight arrow; a dot in a ring where it runs towards or away from the eye."""
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    length = math.hypot(dx, dy)
    if length < 0.4:
        return []
    head = min(1.2 + 2.0 * width, 0.6 * length)
    ux, uy = dx / length, dy / length
    base = (tip[0] - head * ux, tip[1] - head * uy)
    corners = [
        tip,
        (base[0] - 0.42 * head * uy, base[1] + 0.42 * head * ux),
        (base[0] + 0.42 * head * uy, base[1] - 0.42 * head * ux),
    ]
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in corners)
    return [
        _line(*tail, *base, colour, width),
        f'<polygon points="{points}" fill="{colour}"/>',
    ]


def _tolerance(view: View, spot: Spot, k: float) -> list[str]:
    x, y = view.spot(spot.xyz_mm)
    style = f'fill="none" stroke="{SOFT}" stroke-width="0.22" stroke-dasharray="0.5 0.7"'
    if spot.tolerance_mm is None:
        return []
    if isinstance(spot.tolerance_mm, float | int):
        radius = _number(k * spot.tolerance_mm)
        return [f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{radius}" {style}/>']
    halves = [
        next((abs(half) for half, a in zip(spot.tolerance_mm, axis, strict=True)
              if half is not None and abs(a) > 0.5), None)
        for axis in (view.across, view.up)
    ]
    wide, high = (None if half is None else k * half for half in halves)
    if wide is None or high is None:
        return []
    return [
        f'<rect x="{_number(x - wide)}" y="{_number(y - high)}" '
        f'width="{_number(2 * wide)}" height="{_number(2 * high)}" {style}/>'
    ]


def _ellipse(view: View, spot: Spot, k: float, tip: tuple[float, float]) -> list[str]:
    if spot.covariance_mm2 is None:
        return []
    wide, narrow, turn = _eigen(view.covariance(spot.covariance_mm2))
    place = f"translate({_number(tip[0])} {_number(tip[1])}) rotate({_number(-math.degrees(turn))})"
    rx, ry = (_number(max(k * ELLIPSE_95 * axis, 0.05)) for axis in (wide, narrow))
    return [
        f'<ellipse rx="{rx}" ry="{ry}" transform="{place}" fill="{ACCENT}" fill-opacity="0.09" '
        f'stroke="{ACCENT}" stroke-width="0.25"/>'
    ]


def _marker(x: float, y: float, spot: Spot) -> str:
    if spot.kind is Kind.BODY:
        return f'<circle cx="{_number(x)}" cy="{_number(y)}" r="0.75" fill="{SOFT}"/>'
    colour = VERDICT_COLOURS.get(spot.verdict, INK)
    place = f'cx="{_number(x)}" cy="{_number(y)}"'
    return f'<circle {place} r="1" fill="white" stroke="{colour}" stroke-width="0.5"/>'


def _tip(view: View, spot: Spot, k: float) -> tuple[float, float]:
    x, y = view.spot(spot.xyz_mm)
    across, up = view.flat(spot.off_mm or (0.0, 0.0, 0.0))
    return (x + k * across, y - k * up)


def _samples(tail: tuple[float, float], tip: tuple[float, float]) -> list[Rectangle]:
    steps = max(1, math.ceil(math.dist(tail, tip)))
    return [
        around(
            tail[0] + (tip[0] - tail[0]) * i / steps, tail[1] + (tip[1] - tail[1]) * i / steps, 0.5
        )
        for i in range(steps + 1)
    ]


def _spots(view: View, spots: tuple[Spot, ...], k: float, labels: Labels) -> list[str]:
    shapes: list[str] = []
    for spot in spots:
        if spot.kind is Kind.PART:
            shapes += _tolerance(view, spot, k) + _ellipse(view, spot, k, _tip(view, spot, k))
    for spot in spots:
        place = view.spot(spot.xyz_mm)
        tip = _tip(view, spot, k)
        shapes += _arrow(place, tip, INK, 0.45)
        shapes.append(_marker(*place, spot))
        labels.taken.append(around(*place, 0.9))
        labels.busy += _samples(place, tip)
    return shapes


def _pushes(view: View, pushes: tuple[Push, ...], k: float, labels: Labels) -> list[str]:
    """Moves, set off sideways from the point so that they do not hide its arrow."""
    shapes: list[str] = []
    for push in pushes:
        x, y = view.spot(push.xyz_mm)
        across, up = (k * push.by_mm * c for c in view.flat(push.along))
        length = math.hypot(across, up)
        if length < 0.8:
            continue
        aside_x, aside_y = 2.6 * up / length, 2.6 * across / length
        tail = (x + aside_x, y + aside_y)
        tip = (tail[0] + across, tail[1] - up)
        shapes += _arrow(tail, tip, ACCENT, 0.9)
        labels.busy += _samples(tail, tip)
    return shapes


def _named(view: View, spots: tuple[Spot, ...]) -> list[tuple[str, float, float]]:
    """One label for spots that fall together in this view."""
    groups: list[tuple[list[str], float, float]] = []
    for spot in spots:
        x, y = view.spot(spot.xyz_mm)
        for names, gx, gy in groups:
            if math.dist((x, y), (gx, gy)) < 1.0 and len(", ".join([*names, spot.label])) <= 14:
                names.append(spot.label)
                break
        else:
            groups.append(([spot.label], x, y))
    return [(", ".join(names), x, y) for names, x, y in groups]


def _text(text: str, x: float, y: float, style: str = f'fill="{INK}"') -> str:
    return (
        f'<text x="{_number(x)}" y="{_number(y)}" font-size="{_number(TEXT_MM)}" '
        f'font-family="{", ".join(FAMILIES)}" {style}>{escape(text)}</text>'
    )


def _label(placed: Placed, style: str = f'fill="{INK}"') -> list[str]:
    shapes = []
    box = placed.box
    if placed.leader:
        near_x = min(max(placed.x, box.left), box.right)
        near_y = min(max(placed.y, box.top), box.bottom)
        shapes.append(_line(placed.x, placed.y, near_x, near_y, SOFT, 0.18))
    return [*shapes, _text(placed.text, box.left + 0.3, box.bottom - 0.27 * TEXT_MM, style)]


def _frame(view: View, labels: Labels) -> list[str]:
    """Title of a view and, in the upright ones, a line for the ground direction."""
    x, y = view.left_mm + 1.0, view.top_mm + TEXT_MM + 0.8
    labels.taken.append(
        Rectangle(x, view.top_mm, x + text_width_mm(view.title), view.top_mm + TITLE_MM - 1.5)
    )
    frame = (
        f'<rect x="{_number(view.left_mm + 0.4)}" y="{_number(view.top_mm + 0.2)}" '
        f'width="{_number(view.width_mm - 0.8)}" height="{_number(view.height_mm - 0.8)}" '
        f'fill="none" stroke="#b9c0c7" stroke-width="0.2"/>'
    )
    return [frame, _text(view.title, x, y, 'font-weight="bold"')]


def _directions(view: View, labels: Labels) -> list[str]:
    """Small arrows that say where rear, right and up are in a view."""
    names = {0: ("rear", "front"), 1: ("right", "left"), 2: ("up", "down")}
    corner = (view.left_mm + view.width_mm - 11.0, view.top_mm + view.height_mm - 2.6)
    shapes: list[str] = []
    for axis, (dx, dy) in ((view.across, (4.0, 0.0)), (view.up, (0.0, -4.0))):
        index = max(range(3), key=lambda i: abs(axis[i]))
        name = names[index][0 if axis[index] > 0 else 1]
        tip = (corner[0] + dx, corner[1] + dy)
        shapes += _arrow(corner, tip, SOFT, 0.25)
        at = (tip[0] + 0.6, tip[1] + 0.8) if dx else (tip[0] - 1.0, tip[1] - 0.7)
        shapes.append(_text(name, *at))
    labels.taken.append(
        Rectangle(corner[0] - 2, corner[1] - 8.5, corner[0] + 11.0, corner[1] + 2.6)
    )
    return shapes


def _caption(scale: int, k: float, pushes: tuple[Push, ...]) -> str:
    moves = " Thick arrows with letters: moves." if pushes else ""
    return (
        f"Scale 1 : {scale}. Off, tolerance and uncertainty drawn {_number(k)} mm on paper for "
        f"each millimetre ({_number(k * scale)} times the drawing's scale). Thin arrow: from the "
        f"target position to where the point is. Shaded ellipse: 95 % of where it may be. Dotted: "
        f"tolerance.{moves} Grey dots: body."
    )


def draw(
    spots: tuple[Spot, ...],
    pushes: tuple[Push, ...] = (),
    *,
    width_mm: float = 178.0,
    height_mm: float = 150.0,
) -> Drawing:
    """Draw side, rear and top view of a part's points.

    Parameters
    ----------
    spots : tuple of Spot
        At least one.
    pushes : tuple of Push
        Moves, labelled by letters.
    width_mm, height_mm : float
        Room on paper. [mm]
    """
    part = [spot for spot in spots if spot.kind is Kind.PART] or list(spots)
    left_side = sum(spot.xyz_mm[1] for spot in part) <= 0.0
    places = [spot.xyz_mm for spot in spots] + [push.xyz_mm for push in pushes]
    views = three_views(places, width_mm=width_mm, height_mm=height_mm, left_side=left_side)
    k = exaggeration(spots, pushes)
    wide = max(view.left_mm + view.width_mm for view in views)
    high = max(view.top_mm + view.height_mm for view in views)
    labels = Labels(Rectangle(0.8, 0.8, wide - 0.8, high - 0.8))
    shapes: list[str] = []
    for view in views:
        shapes += _frame(view, labels) + _directions(view, labels)
        shapes += _spots(view, spots, k, labels) + _pushes(view, pushes, k, labels)
    for view in views:
        for push in pushes:
            at = view.spot(push.xyz_mm)
            placed = labels.place(push.label, *at)
            shapes += _label(placed, f'font-weight="bold" fill="{ACCENT}"') if placed else []
        for text, x, y in _named(view, spots):
            placed = labels.place(text, x, y)
            shapes += _label(placed) if placed else []
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(wide)}mm" '
        f'height="{_number(high)}mm" viewBox="0 0 {_number(wide)} {_number(high)}">'
        + "".join(shapes)
        + "</svg>"
    )
    return Drawing(
        svg, wide, high, views[0].scale, k, tuple(labels.placed),
        _caption(views[0].scale, k, pushes),
    )
