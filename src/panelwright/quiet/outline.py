"""Outlines of pads: cleaned, refused in words where they cross themselves, measured."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

Corner = tuple[float, float]
Outline = tuple[Corner, ...]


@dataclass(frozen=True)
class Refused:
    """Why an outline is no outline, in words."""

    why: str


@dataclass(frozen=True)
class Box:
    """The upright rectangle around an outline, mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def _turn(a: Corner, b: Corner, c: Corner) -> int:
    """Sign of the turn a–b–c, exact: 1 left, −1 right, 0 straight."""
    left = (b[0] - a[0]) * (c[1] - a[1])
    right = (b[1] - a[1]) * (c[0] - a[0])
    twice = left - right
    if abs(twice) > 1e-12 * (abs(left) + abs(right)):
        return 1 if twice > 0 else -1
    ax, ay, bx, by, cx, cy = (Fraction(v) for point in (a, b, c) for v in point)
    exact = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    return (exact > 0) - (exact < 0)


def _between(a: Corner, b: Corner, c: Corner) -> bool:
    """Whether c, known to be in line with a and b, lies between them."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _meet(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    """Whether the edges a–b and c–d share any point."""
    abc, abd, cda, cdb = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if abc * abd < 0 and cda * cdb < 0:
        return True
    return (
        (abc == 0 and _between(a, b, c))
        or (abd == 0 and _between(a, b, d))
        or (cda == 0 and _between(c, d, a))
        or (cdb == 0 and _between(c, d, b))
    )


def _cleaned(corners: Sequence[Corner]) -> Outline:
    """Without repeated neighbours and without a last corner that repeats the first."""
    kept = [c for i, c in enumerate(corners) if i == 0 or c != corners[i - 1]]
    while len(kept) > 1 and kept[0] == kept[-1]:
        kept.pop()
    return tuple(kept)


def _corner(corner: Corner) -> str:
    return f"({corner[0]:g}, {corner[1]:g})"


def _crossing(outline: Outline) -> str | None:
    """The first pair of edges that cross, touch or double back, in words."""
    count = len(outline)
    for i in range(count):
        a, b = outline[i], outline[(i + 1) % count]
        c = outline[(i + 2) % count]
        if _turn(a, b, c) == 0 and not _between(a, c, b):
            return f"doubles back on itself at {_corner(b)} mm"
        for j in range(i + 2, count):
            if i == 0 and j == count - 1:
                continue
            p, q = outline[j], outline[(j + 1) % count]
            if _meet(a, b, p, q):
                return (
                    f"crosses or touches itself: edge {_corner(a)}–{_corner(b)} mm meets edge "
                    f"{_corner(p)}–{_corner(q)} mm"
                )
    return None


def read(corners: Sequence[Corner]) -> Outline | Refused:
    """An outline that encloses one area, or why there is none.

    Parameters
    ----------
    corners : sequence of (float, float)
        As traced, in either sense; the first may be repeated at the end. [mm]

    Returns
    -------
    tuple of (float, float) or Refused
        Without repeated corners. [mm]

    Examples
    --------
    >>> read([(0, 0), (10, 0), (20, 0)])
    Refused(why='has all its corners in one line; it encloses nothing')
    """
    outline = _cleaned([(float(x), float(y)) for x, y in corners])
    if len(set(outline)) < 3:
        return Refused(
            f"has {len(set(outline))} different corners; an outline needs at least three"
        )
    if all(_turn(outline[0], outline[1], corner) == 0 for corner in outline[2:]):
        return Refused("has all its corners in one line; it encloses nothing")
    crossing = _crossing(outline)
    if crossing is not None:
        return Refused(f"{crossing}; give the corners in order around the pad")
    return outline


def area_mm2(outline: Outline) -> float:
    """Enclosed area by the shoelace formula.

    Parameters
    ----------
    outline : tuple of (float, float)
        Corners in order, either sense, not crossing. [mm]

    Returns
    -------
    float
        [mm²]

    References
    ----------
    ½ |Σ (x_i y_{i+1} − x_{i+1} y_i)|, A. L. F. Meister 1769; standard geometry.

    Examples
    --------
    >>> area_mm2(((0, 0), (310, 0), (310, 180), (0, 180)))
    55800.0
    """
    x0, y0 = outline[0]
    twice = 0.0
    for (x1, y1), (x2, y2) in zip(outline, (*outline[1:], outline[0]), strict=True):
        twice += (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
    return abs(twice) / 2


def box(outline: Outline) -> Box:
    """The upright rectangle around an outline.

    Parameters
    ----------
    outline : tuple of (float, float)
        Corners in order. [mm]

    Returns
    -------
    Box
    """
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def placed(outline: Outline, x_mm: float, y_mm: float, *, turned: bool) -> Outline:
    """The outline with its box's corner at (x, y), turned anticlockwise by 90° or not.

    Parameters
    ----------
    outline : tuple of (float, float)
        Corners in order. [mm]
    x_mm, y_mm : float
        Where the corner of its box nearest the origin comes to lie. [mm]
    turned : bool
        A quarter turn; never turned over, for a pad sticks on one side.

    Returns
    -------
    tuple of (float, float)
        Corners in the same sense. [mm]
    """
    moved = tuple((-y, x) for x, y in outline) if turned else outline
    around = box(moved)
    dx, dy = x_mm - around.x_mm, y_mm - around.y_mm
    return tuple((x + dx, y + dy) for x, y in moved)
