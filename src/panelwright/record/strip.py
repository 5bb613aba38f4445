"""A joint's flange to scale, flat enough to stand on the joint's sheet; and the key to all.

Old holes are hollow, new rivets filled, stretches to avoid hatched. A bar of 100 mm of paper, drawn
once for all joints, tells whether the print is to scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.quantities import Units, show_length
from panelwright.record import strokes
from panelwright.record.labels import TEXT_MM, text_width_mm
from panelwright.record.strokes import ACCENT, INK, PALE, SOFT, WASH

if TYPE_CHECKING:
    from panelwright.joints.answer import JointAnswer

WIDTH_MM = 88.0
"""Half the width of a page: two joints stand side by side."""
LEFT_MM = 3.0
ROOM_MM = 80.0
"""Of paper for the flange itself."""
SCALES = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0, 50.0)
"""1 : scale."""
COARSEST_ROW = 8.0
"""Beyond it the joint is drawn in two rows, and in three where two are too coarse as well."""
MOST_ROWS = 3
HIGHEST_MM = 6.0
"""Of the flange on paper, where its length allows."""
BELOW_MM = 4.6
CHECK_BAR_MM = 100.0
KEY_WIDTH_MM, KEY_MM = 180.0, 6.5
HATCH_MM = 1.6


@dataclass(frozen=True)
class Strip:
    """A drawing and its size on paper."""

    svg: str
    width_mm: float
    height_mm: float
    scale: float


@dataclass(frozen=True)
class _Row:
    """From–to along the joint, and where its flange lies on paper."""

    joint: JointAnswer
    units: Units
    scale: float
    low_mm: float
    high_mm: float
    top: float
    flange_mm: float

    def x(self, along_mm: float) -> float:
        return LEFT_MM + (along_mm - self.low_mm) / self.scale

    @property
    def high(self) -> float:
        return self.flange_mm / self.scale

    @property
    def line(self) -> float:
        """Height on paper of the rivets' line; the flange's edge is below."""
        edge = self.joint.edge_mm
        return self.top + self.high - (edge / self.scale if edge else self.high / 2)

    def holds(self, along_mm: float) -> bool:
        return self.low_mm <= along_mm < self.high_mm or (
            along_mm == self.high_mm == self.joint.length_mm
        )


def _figure(mm: float, units: Units) -> str:
    value = show_length(mm, units).partition(" ")[0]
    return value.rstrip("0").rstrip(".") if "." in value else value


def _hatched(row: _Row, low: float, high: float) -> list[str]:
    left, right = row.x(max(low, row.low_mm)), row.x(min(high, row.high_mm))
    shapes = [
        strokes.box(
            (left, row.top),
            right - left,
            row.high,
            f'fill="white" stroke="{SOFT}" stroke-width="0.2"',
        )
    ]
    count = math.floor((right - left) / HATCH_MM)
    shapes += [
        strokes.line(
            (left + HATCH_MM * i, row.top + row.high),
            (min(left + HATCH_MM * (i + 1), right), row.top),
            SOFT,
            0.15,
        )
        for i in range(count + 1)
        if left + HATCH_MM * i < right
    ]
    return shapes


def _flange(row: _Row) -> list[str]:
    left, right = row.x(row.low_mm), row.x(row.high_mm)
    bottom = row.top + row.high
    shapes = [
        strokes.box((left, row.top), right - left, row.high, f'fill="{WASH}" stroke="none"'),
        strokes.line((left, row.top), (right, row.top), SOFT, 0.2, "3 1"),
        strokes.line((left, bottom), (right, bottom), INK, 0.5),
    ]
    for low, high in row.joint.avoid_mm:
        if low < row.high_mm and high > row.low_mm:
            shapes += _hatched(row, low, high)
    step = 100.0 if row.units is Units.MM else 101.6
    for tick in range(math.ceil(row.low_mm / step), math.floor(row.high_mm / step) + 1):
        x = row.x(step * tick)
        shapes.append(strokes.line((x, bottom), (x, bottom + 1.4), SOFT, 0.2))
        text = _figure(step * tick, row.units)
        at = (x - text_width_mm(text) / 2 + 0.3, bottom + 1.6 + TEXT_MM)
        shapes.append(strokes.words(text, at, colour=SOFT))
    return shapes


def _old(row: _Row) -> list[str]:
    radius = max((row.joint.old_diameter_mm or 5.0) / 2 / row.scale, 0.5)
    dash = ' stroke-dasharray="0.3 0.3"' if row.joint.old_assumed else ""
    style = f'fill="white" stroke="{SOFT}" stroke-width="0.25"{dash}'
    return [
        strokes.circle((row.x(at), row.line), radius, style)
        for at in row.joint.old_at_mm
        if row.holds(at)
    ]


def _turned(row: _Row, widest_mm: float) -> bool:
    """Whether figures must stand upright to have room."""
    pitch = row.joint.pitch_mm.min
    return pitch is not None and pitch / row.scale < widest_mm + 0.8


def _rivets(row: _Row, *, turned: bool) -> list[str]:
    rivet = row.joint.rivet
    radius = max((rivet.diameter_mm if rivet and rivet.diameter_mm else 4.8) / 2 / row.scale, 0.6)
    shapes: list[str] = []
    for at in row.joint.at_mm:
        if not row.holds(at):
            continue
        x, text = row.x(at), _figure(at, row.units)
        shapes.append(strokes.line((x, row.top - 1.2), (x, row.line - radius), PALE, 0.15))
        shapes.append(strokes.circle((x, row.line), radius, f'fill="{ACCENT}"'))
        shapes.append(
            strokes.line((x, row.line - radius - 0.6), (x, row.line + radius + 0.6), ACCENT, 0.15)
        )
        if turned:
            place = f"translate({strokes.number(x + 0.9)} {strokes.number(row.top - 1.8)})"
            word = strokes.words(text, (0.0, 0.0), colour=ACCENT)
            shapes.append(f'<g transform="{place} rotate(-90)">{word}</g>')
        else:
            left = x - text_width_mm(text) / 2 + 0.3
            shapes.append(strokes.words(text, (left, row.top - 1.8), colour=ACCENT))
    return shapes


def strip_key(units: Units = Units.MM) -> Strip:
    """What the shapes of the flanges mean, and a bar of 100 mm of paper to check the print."""
    unit, y, end = "mm" if units is Units.MM else "in", 1.6, LEFT_MM + CHECK_BAR_MM
    shapes = [strokes.line((LEFT_MM, y), (end, y), INK, 0.35)]
    shapes += [strokes.line((x, y - 1.1), (x, y + 1.1), INK, 0.35) for x in (LEFT_MM, end)]
    bar = "100 mm on paper: if not, print again at 100 %"
    shapes.append(strokes.words(bar, (LEFT_MM + 1.0, y + 3.9), colour=SOFT))
    x = end + 4.0
    filled = f'fill="{ACCENT}"'
    hollow = f'fill="white" stroke="{SOFT}" stroke-width="0.25"'
    shapes += [
        strokes.circle((x, y), 0.8, filled),
        strokes.words(f"new rivet, {unit} from the end", (x + 2.0, y + 0.9), colour=SOFT),
        strokes.circle((x, y + 3.4), 0.8, hollow),
        strokes.words("old hole, dashed: place assumed", (x + 2.0, y + 4.3), colour=SOFT),
        strokes.box((x + 46.0, y - 1.0), 2.4, 2.0, hollow),
        strokes.line((x + 46.0, y + 1.0), (x + 48.4, y - 1.0), SOFT, 0.15),
        strokes.words("hatched: keep free", (x + 49.4, y + 0.9), colour=SOFT),
    ]
    return Strip(strokes.drawing(KEY_WIDTH_MM, KEY_MM, shapes), KEY_WIDTH_MM, KEY_MM, 1.0)


def _rows(length_mm: float) -> int:
    """Rows so that none is coarser than need be."""
    if length_mm <= ROOM_MM * COARSEST_ROW:
        return 1
    return 2 if length_mm <= 2 * ROOM_MM * COARSEST_ROW * 1.25 else MOST_ROWS


def _scale(length_mm: float, flange_mm: float) -> float:
    """The largest usual scale at which a row has room and the flange stays flat."""
    fits = [s for s in SCALES if length_mm / s <= ROOM_MM]
    flat = [s for s in fits if flange_mm / s <= HIGHEST_MM]
    return next(iter(flat or fits), SCALES[-1])


def strip(joint: JointAnswer, units: Units = Units.MM) -> Strip | None:
    """Draw a joint's flange to scale.

    Parameters
    ----------
    joint : JointAnswer
    units : Units
        Of the figures; the drawing itself is to scale either way.

    Returns
    -------
    Strip or None
        None where length or flange width is not known.
    """
    if joint.length_mm is None or joint.flange_mm is None:
        return None
    rows = _rows(joint.length_mm)
    each = joint.length_mm / rows
    scale = _scale(each, joint.flange_mm)
    draft = _Row(joint, units, scale, 0.0, each, 0.0, joint.flange_mm)
    widest = max((text_width_mm(_figure(at, units)) for at in joint.at_mm), default=0.0)
    turned = _turned(draft, widest)
    above = widest + 2.4 if turned else TEXT_MM + 2.0
    pace = above + draft.high + BELOW_MM
    shapes: list[str] = []
    for number in range(rows):
        top = number * pace + above
        row = _Row(joint, units, scale, number * each, (number + 1) * each, top, joint.flange_mm)
        shapes += _flange(row) + _old(row) + _rivets(row, turned=turned)
    height = rows * pace
    return Strip(strokes.drawing(WIDTH_MM, height, shapes), WIDTH_MM, height, scale)
