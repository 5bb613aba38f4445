"""A joint's flange drawn to scale: a template to mark out from, wrapped into rows and sheets.

Old holes are hollow, new rivets filled, stretches to avoid hatched. Rows overlap by 10 mm of
paper, so that cut strips can be laid over each other. Every sheet carries a check bar of 100 mm
of paper along both axes: a print whose bars are not 100 mm long is not to scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import TYPE_CHECKING

from panelwright.joints import svg
from panelwright.joints.answer_parts import LayoutStatus, Origin
from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from panelwright.joints.answer import JointAnswer

PAGE_WIDTH_MM = 180.0
PAGE_HEIGHT_MM = 250.0
_LEFT, _ROW = 10.0, 150.0
_OVERLAP = 10.0
_HEAD, _FOOT = 26.0, 16.0
_ABOVE, _BELOW = 19.0, 11.0
_BAR = 100.0
_ROOM_FOR_FIGURE = 8.0
_OLD_MM = 5.0
"""Drawn for an old hole whose diameter nobody gives."""


class Scale(Enum):
    """Paper against joint."""

    FULL = 1.0
    HALF = 0.5
    FIFTH = 0.2

    @property
    def words(self) -> str:
        """As it stands on the drawing."""
        return f"1:{round(1.0 / self.value)}"


@dataclass(frozen=True)
class Sheet:
    """One drawing.

    Parameters
    ----------
    svg : str
        With its size in millimetres.
    width_mm, height_mm : float
        [mm].
    number, of : int
        Which sheet of how many.
    """

    svg: str
    width_mm: float
    height_mm: float
    number: int
    of: int


@dataclass(frozen=True)
class _Row:
    """A stretch of the joint on paper: from–to [mm of joint], top edge [mm of paper]."""

    joint: JointAnswer
    start_mm: float
    end_mm: float
    top: float
    scale: float
    units: Units
    last: bool

    @property
    def height(self) -> float:
        """Flange width on paper [mm]."""
        return (self.joint.flange_mm or 0.0) * self.scale

    @property
    def bottom(self) -> float:
        """Paper height of the flange's edge [mm]."""
        return self.top + self.height

    @property
    def rivet_line(self) -> float:
        """Paper height of the rivets' line [mm]."""
        edge = self.joint.edge_mm
        return self.bottom - edge * self.scale if edge else self.top + self.height / 2.0

    def x(self, along_mm: float) -> float:
        """Paper place of a place on the joint [mm]."""
        return _LEFT + (along_mm - self.start_mm) * self.scale

    def holds(self, along_mm: float) -> bool:
        """Whether a place on the joint lies in this row."""
        return self.start_mm - 1e-9 <= along_mm <= self.end_mm + 1e-9

    def words(self, mm: float) -> str:
        """A length without its unit, which stands in the sheet's head; trailing zeros left out."""
        value, _, _ = show_length(mm, self.units).partition(" ")
        return value.rstrip("0").rstrip(".") if "." in value else value


def _outline(row: _Row) -> list[str]:
    """Flange, edge, and a ruler along it."""
    left, right = row.x(row.start_mm), row.x(row.end_mm)
    edge, cut = svg.Pen(0.4), svg.Pen(0.2, svg.PALE, "2 1.5")
    opened = row.joint.opened_mm or (0.0, 0.0)
    first = row.start_mm <= opened[0] + 1e-9
    marks = [
        svg.line((left, row.top), (right, row.top), svg.Pen(0.2, svg.INK, "4 1")),
        svg.line((left, row.bottom), (right, row.bottom), edge),
        svg.line((left, row.top), (left, row.bottom), edge if first else cut),
        svg.line((right, row.top), (right, row.bottom), edge if row.last else cut),
    ]
    for tick in range(math.ceil(row.start_mm / 10.0 - 1e-9), int(row.end_mm / 10.0 + 1e-9) + 1):
        x, long = row.x(10.0 * tick), tick % 5 == 0
        foot = row.bottom + (2.2 if long else 1.2)
        marks.append(svg.line((x, row.bottom), (x, foot), svg.Pen(0.15)))
        if long:
            letters = svg.Letters(2.2, "middle", svg.PALE)
            marks.append(svg.text((x, foot + 2.2), row.words(10.0 * tick), letters))
    return marks


def _avoid(row: _Row) -> list[str]:
    marks = []
    for stretch in row.joint.avoid_mm:
        low, high = max(min(stretch), row.start_mm), min(max(stretch), row.end_mm)
        if high <= low:
            continue
        corner, size = (row.x(low), row.top), ((high - low) * row.scale, row.height)
        marks += svg.hatching(corner, size, 2.0)
        marks.append(svg.rectangle(corner, size, svg.Pen(0.2, svg.PALE)))
    return marks


def _old_holes(row: _Row) -> list[str]:
    diameter = (row.joint.old_diameter_mm or _OLD_MM) * row.scale
    dash = "1 0.8" if row.joint.old_assumed else ""
    return [
        svg.circle((row.x(at), row.rivet_line), diameter, svg.Pen(0.25, svg.INK, dash))
        for at in row.joint.old_at_mm
        if row.holds(at)
    ]


def _rivets(row: _Row) -> list[str]:
    """Filled rivets with a cross on the centre, and their distance from the joint's start."""
    rivet = row.joint.rivet
    diameter = (rivet.diameter_mm if rivet and rivet.diameter_mm else 2.0) * row.scale
    pitch = row.joint.pitch_mm.min
    turned = pitch is not None and pitch * row.scale < _ROOM_FOR_FIGURE
    letters = svg.Letters(2.6, "start" if turned else "middle", svg.NEW, turned)
    y, reach = row.rivet_line, diameter / 2.0 + 1.0
    marks = []
    for at in (place for place in row.joint.at_mm if row.holds(place)):
        x = row.x(at)
        hair = svg.Pen(0.1, svg.NEW)
        marks += [
            svg.circle((x, y), diameter, svg.Pen(0.1, svg.NEW), svg.NEW),
            svg.line((x - reach, y), (x + reach, y), hair),
            svg.line((x, y - reach), (x, y + reach), hair),
            svg.line((x, row.top - 1.0), (x, y - reach), svg.Pen(0.1, svg.PALE, "1 1")),
            svg.text(
                (x + (0.9 if turned else 0.0), row.top - (2.0 if turned else 1.8)),
                row.words(at),
                letters,
            ),
        ]
    return marks


def _arrows(start: tuple[float, float], end: tuple[float, float]) -> list[str]:
    """A dimension line with a short stroke across each end."""
    pen = svg.Pen(0.15)
    (x1, y1), (x2, y2) = start, end
    across = (0.0, 0.9) if y1 == y2 else (0.9, 0.0)
    ends = [
        svg.line((x - across[0], y - across[1]), (x + across[0], y + across[1]), pen)
        for x, y in (start, end)
    ]
    return [svg.line((x1, y1), (x2, y2), pen), *ends]


def _pitches(row: _Row) -> list[str]:
    """Distances from rivet to rivet, above the row."""
    places = [at for at in row.joint.at_mm if row.holds(at)]
    y = row.top - 11.0
    letters = svg.Letters(2.4, "middle")
    marks = []
    for earlier, later in pairwise(places):
        marks += _arrows((row.x(earlier), y), (row.x(later), y))
        if (later - earlier) * row.scale >= _ROOM_FOR_FIGURE:
            middle = (row.x(earlier) + row.x(later)) / 2.0
            marks.append(svg.text((middle, y - 0.9), row.words(later - earlier), letters))
    return marks


def _edge(row: _Row) -> list[str]:
    """Distance of the rivets' line from the flange's edge, left of the row."""
    edge = row.joint.edge_mm
    if edge is None:
        return []
    x = _LEFT - 4.0
    y = (row.rivet_line + row.bottom) / 2.0
    letters = svg.Letters(2.4, "middle", turned=True)
    return [
        *_arrows((x, row.rivet_line), (x, row.bottom)),
        svg.line((x, row.rivet_line), (_LEFT + 2.0, row.rivet_line), svg.Pen(0.1, svg.PALE)),
        svg.text((x - 1.0, y), row.words(edge), letters),
    ]


def _drawn_row(row: _Row) -> list[str]:
    unit = "mm" if row.units is Units.MM else "in"
    span = f"{row.words(row.start_mm)} to {row.words(row.end_mm)} {unit} from the joint's start"
    return [
        *_avoid(row),
        *_outline(row),
        *_old_holes(row),
        *_rivets(row),
        *_pitches(row),
        *_edge(row),
        svg.text((_LEFT, row.top - 15.5), span, svg.Letters(2.4, colour=svg.PALE)),
    ]


def _status(joint: JointAnswer) -> str:
    """What the drawing is worth, in words."""
    if joint.at_mm:
        word = joint.origins.positions
        return "places by the procedure" if word is Origin.PROCEDURE else "places: proposal"
    if joint.layout is LayoutStatus.INFEASIBLE:
        return "no rivets drawn: they have no room, see the joint's page"
    if joint.origins.positions is Origin.ASK:
        return "no rivets drawn: ask the maker where they go"
    return "no rivets drawn"


def _head(joint: JointAnswer, scale: Scale, units: Units, page: str) -> list[str]:
    unit = "mm" if units is Units.MM else "in"
    rivet = f"{joint.count} × {joint.rivet.name}" if joint.rivet and joint.count else "no rivet"
    assumed = ", dashed: place assumed, measure" if joint.old_assumed else ""
    small = svg.Letters(2.6)
    legend = f"hollow: old hole{assumed}; filled: new rivet; hatched: keep free"
    return [
        svg.text((_LEFT, 7.0), f"Joint {joint.id}: {' + '.join(joint.layers)}", svg.Letters(3.6)),
        svg.text((_LEFT, 12.0), f"{rivet}; {_status(joint)}", small),
        svg.text((_LEFT, 16.0), f"scale {scale.words}; figures in {unit}; {legend}", small),
        svg.text(
            (_LEFT, 20.0),
            f"thick line: the flange's edge; old holes drawn on the rivets' line; {page}",
            small,
        ),
    ]


def _check_bars(height: float) -> list[str]:
    """100 mm of paper along both axes."""
    y, x = height - 8.0, PAGE_WIDTH_MM - 8.0
    pen = svg.Pen(0.3)
    words = "100 mm on paper; if not, print again at 100 %. An aid, not an approval."
    return [
        svg.line((_LEFT, y), (_LEFT + _BAR, y), pen),
        svg.line((_LEFT, y - 1.5), (_LEFT, y + 1.5), pen),
        svg.line((_LEFT + _BAR, y - 1.5), (_LEFT + _BAR, y + 1.5), pen),
        svg.text((_LEFT, y + 4.5), words, svg.Letters(2.4)),
        svg.line((x, height - 14.0 - _BAR), (x, height - 14.0), pen),
        svg.line((x - 1.5, height - 14.0 - _BAR), (x + 1.5, height - 14.0 - _BAR), pen),
        svg.line((x - 1.5, height - 14.0), (x + 1.5, height - 14.0), pen),
        svg.text(
            (x + 3.5, height - 64.0), "100 mm on paper", svg.Letters(2.4, "middle", turned=True)
        ),
    ]


def row_stretches(low_mm: float, high_mm: float, scale: Scale) -> tuple[tuple[float, float], ...]:
    """How a joint is cut into rows.

    Parameters
    ----------
    low_mm, high_mm : float
        From where to where it is drawn [mm].
    scale : Scale

    Returns
    -------
    tuple of (float, float)
        From–to of each row [mm]; neighbours overlap by 10 mm of paper.

    Examples
    --------
    >>> row_stretches(0.0, 200.0, Scale.FULL)
    ((0.0, 150.0), (140.0, 200.0))
    """
    row, step = _ROW / scale.value, (_ROW - _OVERLAP) / scale.value
    count = max(math.ceil((high_mm - low_mm - row) / step - 1e-9) + 1, 1)
    starts = [low_mm + number * step for number in range(count)]
    return tuple((start, min(start + row, high_mm)) for start in starts)


def flange_sheets(
    joint: JointAnswer, scale: Scale = Scale.FULL, units: Units = Units.MM
) -> tuple[Sheet, ...]:
    """Draw a joint's flange to scale.

    Parameters
    ----------
    joint : JointAnswer
    scale : Scale
        FULL is a template to mark out from.
    units : Units
        Of the figures; the drawing itself is to scale.

    Returns
    -------
    tuple of Sheet
        Each 180 mm wide; empty where length or flange width is not known. The same joint gives
        the same bytes.
    """
    if joint.opened_mm is None or joint.flange_mm is None:
        return ()
    stretches = row_stretches(*joint.opened_mm, scale)
    pace = joint.flange_mm * scale.value + _ABOVE + _BELOW
    each = max(int((PAGE_HEIGHT_MM - _HEAD - _FOOT) / pace), 1)
    pages = [stretches[start : start + each] for start in range(0, len(stretches), each)]
    sheets = []
    for number, page in enumerate(pages, start=1):
        height = max(_HEAD + len(page) * pace + _FOOT, _HEAD + _BAR + _FOOT)
        marks = _head(joint, scale, units, f"sheet {number} of {len(pages)}")
        for place, (start, end) in enumerate(page):
            top = _HEAD + _ABOVE + place * pace
            last = (start, end) == stretches[-1]
            marks += _drawn_row(_Row(joint, start, end, top, scale.value, units, last))
        marks += _check_bars(height)
        title = f"Joint {joint.id}, scale {scale.words}, sheet {number} of {len(pages)}"
        drawing = svg.document((PAGE_WIDTH_MM, height), title, marks)
        sheets.append(Sheet(drawing, PAGE_WIDTH_MM, height, number, len(pages)))
    return tuple(sheets)
