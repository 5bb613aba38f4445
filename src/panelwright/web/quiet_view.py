"""What the page Quiet shows: plain values for its template, and the cutting layout as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from panelwright.quantities import Units, show_area, show_length
from panelwright.record import Unanswered
from panelwright.web.shown import percent

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.quiet.answer import Answer, Band, PartAnswer, Placement
    from panelwright.sources import Share, Source

INK, SOFT, SHEET, PAD, TEXT = "#16191d", "#5a626b", "#f4f6f7", "#d6e6f6", "#0b4a7f"
ROOM_MM = 60.0
"""Around a sheet, for its measures."""
LETTER_SHARE = 0.034
"""Height of the letters, of the sheet's longer side."""
_LETTER_WIDTH = 0.64
"""Of a letter's height, on average."""


@dataclass(frozen=True)
class Panel:
    """What pads do on one panel."""

    label: str
    words: str
    area: str
    mass: str
    covered: str
    bare: str
    with_pads: str
    quieter: str
    missing: tuple[str, ...]
    shares: tuple[Share, ...]
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Sheet:
    """A sheet of stock with the pads cut from it."""

    number: int
    title: str
    svg: str
    cuts: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True)
class Stock:
    """Sheets of one kind."""

    label: str
    need: str
    on_hand: str
    get: int


def counted(number: int, thing: str) -> str:
    """Say a number of things."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def instruction(answer: Answer | Unanswered, repair: Repair) -> tuple[str, str]:
    """Say what to do, and why."""
    if isinstance(answer, Unanswered):
        if not repair.pads:
            return "Trace the old sound pads.", "What was there works where the panel bends."
        return "Whether it drums cannot be said yet.", answer.why[0] if answer.why else ""
    pads = counted(len(answer.pads), "pad")
    if answer.sheets is None:
        return f"Say which sheet the {pads} come from.", "Then the cutting is laid out."
    get = sum(stock.get or 0 for stock in answer.stocks)
    sheets = counted(answer.sheets, "sheet")
    cut = counted(len(answer.placements), "pad")
    words = f"Cut {cut} from {sheets}, warm them, roll them down where the old ones were."
    return words, f"{counted(get, 'sheet')} still to get." if get else ""


def panels(answer: Answer, repair: Repair, units: Units) -> tuple[Panel, ...]:
    """Give the panels that pads go on."""
    names = {part.id: part.label for part in repair.parts}
    return tuple(_panel(part, names.get(part.part, part.part), units) for part in answer.parts)


def _panel(part: PartAnswer, label: str, units: Units) -> Panel:
    quieter = part.quieter_dB
    return Panel(
        label=label,
        words=part.words,
        area=show_area(part.pad_area_m2, units),
        mass="–" if part.pad_mass_kg is None else f"{part.pad_mass_kg:.2f} kg",
        covered="–" if part.coverage is None else percent(part.coverage),
        bare=_band(part.loss_bare),
        with_pads=_band(part.loss_with),
        quieter="–" if quieter is None else f"{quieter.low:.0f} to {quieter.high:.0f} dB",
        missing=part.missing,
        shares=part.shares,
        sources=part.sources,
    )


def _band(band: Band | None) -> str:
    return "–" if band is None else f"{band.likely:.3f} ({band.low:.3f} to {band.high:.3f})"


def stocks(answer: Answer, units: Units) -> tuple[Stock, ...]:
    """Give the sheets by kind."""
    return tuple(
        Stock(
            stock.stock
            if stock.sheet_mm is None
            else " × ".join(show_length(side, units) for side in stock.sheet_mm),
            "–" if stock.need is None else str(stock.need),
            "not counted" if stock.on_hand is None else str(stock.on_hand),
            stock.get or 0,
        )
        for stock in answer.stocks
    )


def sheets(answer: Answer, units: Units) -> tuple[Sheet, ...]:
    """Give each sheet with its cutting layout."""
    sizes = {stock.stock: stock.sheet_mm for stock in answer.stocks}
    found = []
    for number in sorted({put.sheet for put in answer.placements}):
        mine = sorted((p for p in answer.placements if p.sheet == number), key=_from_corner)
        size = sizes.get(mine[0].stock)
        if size is None:
            continue
        title = f"Sheet {number}: {' × '.join(show_length(side, units) for side in size)}"
        cuts = tuple(_cut(put, units) for put in mine)
        found.append(Sheet(number, title, layout(size, mine, units), cuts))
    return tuple(found)


def _from_corner(put: Placement) -> tuple[float, float]:
    return (put.y_mm, put.x_mm)


def _cut(put: Placement, units: Units) -> tuple[str, str, str, str]:
    turned = "a quarter turn" if put.turned else "as traced"
    return (put.pad, show_length(put.x_mm, units), show_length(put.y_mm, units), turned)


def layout(size_mm: tuple[float, float], puts: Sequence[Placement], units: Units) -> str:
    """Draw a sheet with its pads, one user unit a millimetre; its corner is below on the left.

    Parameters
    ----------
    size_mm : (float, float)
        Width and height of the sheet.
    puts : sequence of Placement
        The pads cut from it.
    units : Units
        Of the figures.
    """
    wide, high = size_mm
    letter = LETTER_SHARE * max(wide, high)
    marks = [
        (
            f'<rect x="0" y="0" width="{wide:g}" height="{high:g}" fill="{SHEET}" '
            f'stroke="{INK}" stroke-width="{0.1 * letter:.2f}"/>'
        )
    ]
    for put in puts:
        marks += _pad(put, high, letter)
    marks.append(_text((wide / 2.0, high + 1.4 * letter), show_length(wide, units), letter, SOFT))
    tall = show_length(high, units)
    marks.append(
        f'<g transform="translate({-0.6 * letter:.1f} {high / 2.0:.1f}) rotate(-90)">'
        f"{_text((0.0, 0.0), tall, letter, SOFT)}</g>"
    )
    box = f"{-ROOM_MM:g} {-0.2 * ROOM_MM:g} {wide + 1.3 * ROOM_MM:g} {high + 1.4 * ROOM_MM:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" font-family="Noto Sans">'
        f"{''.join(marks)}</svg>"
    )


def _pad(put: Placement, high: float, letter: float) -> list[str]:
    corners = " ".join(f"{x:.1f},{high - y:.1f}" for x, y in put.outline_mm)
    along = [x for x, _ in put.outline_mm]
    up = [high - y for _, y in put.outline_mm]
    width = max(along) - min(along)
    middle = ((min(along) + max(along)) / 2.0, (min(up) + max(up)) / 2.0)
    size = min(letter, width / (_LETTER_WIDTH * max(len(put.pad) + 2, 1)))
    arrow = " ↻" if put.turned else ""
    return [
        (
            f'<polygon points="{corners}" fill="{PAD}" stroke="{TEXT}" '
            f'stroke-width="{0.1 * letter:.2f}"/>'
        ),
        _text((middle[0], middle[1] + 0.35 * size), put.pad + arrow, size, TEXT),
    ]


def _text(at: tuple[float, float], words: str, size: float, colour: str) -> str:
    return (
        f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" font-size="{size:.1f}" text-anchor="middle" '
        f'fill="{colour}">{escape(words)}</text>'
    )
