"""Strokes of a drawing as SVG, millimetres on paper, y down."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from panelwright.record.glyphs import FAMILIES
from panelwright.record.labels import TEXT_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

INK, SOFT, PALE, WASH, ACCENT = "#16191d", "#5a626b", "#b9c0c7", "#eef1f4", "#0b4a7f"
Spot2 = tuple[float, float]


def number(value: float) -> str:
    """A coordinate to a thousandth of a millimetre, without trailing zeros."""
    words = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if words == "-0" else words


def line(start: Spot2, end: Spot2, colour: str, width: float, dash: str = "") -> str:
    """A straight line."""
    names = zip(("x1", "y1", "x2", "y2"), (*start, *end), strict=True)
    ends = " ".join(f'{name}="{number(value)}"' for name, value in names)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<line {ends} stroke="{colour}" stroke-width="{number(width)}"{dashed}/>'


def polygon(corners: Sequence[Spot2], style: str) -> str:
    """A closed outline."""
    points = " ".join(f"{number(x)},{number(y)}" for x, y in corners)
    return f'<polygon points="{points}" {style}/>'


def circle(middle: Spot2, radius: float, style: str) -> str:
    """A circle."""
    x, y = middle
    return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" {style}/>'


def box(corner: Spot2, wide: float, high: float, style: str) -> str:
    """A rectangle from its upper left corner."""
    x, y = corner
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(wide)}" '
        f'height="{number(high)}" {style}/>'
    )


def ellipse(middle: Spot2, axes: Spot2, turn_deg: float, style: str) -> str:
    """An ellipse turned anticlockwise."""
    place = f"translate({number(middle[0])} {number(middle[1])}) rotate({number(-turn_deg)})"
    rx, ry = (number(max(axis, 0.05)) for axis in axes)
    return f'<ellipse rx="{rx}" ry="{ry}" transform="{place}" {style}/>'


def arrow(tail: Spot2, tip: Spot2, colour: str, width: float) -> list[str]:
    """A straight arrow; nothing where it is too short to be seen."""
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    length = math.hypot(dx, dy)
    if length < 0.4:
        return []
    head = min(1.2 + 2.0 * width, 0.6 * length)
    ux, uy = dx / length, dy / length
    base = (tip[0] - head * ux, tip[1] - head * uy)
    side = 0.42 * head
    corners = (
        tip,
        (base[0] - side * uy, base[1] + side * ux),
        (base[0] + side * uy, base[1] - side * ux),
    )
    return [line(tail, base, colour, width), polygon(corners, f'fill="{colour}"')]


def words(text: str, at: Spot2, *, colour: str = INK, bold: bool = False) -> str:
    """A text from its left end on the baseline."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{number(at[0])}" y="{number(at[1])}" font-size="{number(TEXT_MM)}" '
        f'font-family="{", ".join(FAMILIES)}" fill="{colour}"{weight}>{escape(text)}</text>'
    )


def hull(spots: Sequence[Spot2]) -> list[Spot2]:
    """Convex hull of spots, by Andrew's monotone chain."""
    ordered = sorted(set(spots))
    if len(ordered) < 3:
        return ordered

    def half(points: Sequence[Spot2]) -> list[Spot2]:
        chain: list[Spot2] = []
        for x, y in points:
            while (
                len(chain) >= 2
                and (
                    (chain[-1][0] - chain[-2][0]) * (y - chain[-2][1])
                    - (chain[-1][1] - chain[-2][1]) * (x - chain[-2][0])
                )
                <= 0
            ):
                chain.pop()
            chain.append((x, y))
        return chain[:-1]

    return half(ordered) + half(ordered[::-1])


def drawing(wide: float, high: float, shapes: Sequence[str], *, top: float = 0.0) -> str:
    """A whole drawing, its user unit one millimetre; `top` where its upper edge lies."""
    w, h = number(wide), number(high)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 {number(top)} {w} {h}">' + "".join(shapes) + "</svg>"
    )
