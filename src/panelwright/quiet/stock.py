"""Which sheets the pads are cut from, how many, and where each pad lies on them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.quiet.answer import Placement, Stock
from panelwright.quiet.outline import Outline, box, placed
from panelwright.quiet.packing import Layout, Piece, Sheet, fewest_by_area, layout

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.parts import Pad


@dataclass(frozen=True)
class Wanted:
    """A pad to cut: its name in the answer, the file's entry, its outline and area."""

    name: str
    pad: Pad
    outline: Outline
    area_mm2: float


@dataclass(frozen=True)
class Cutting:
    """All stock with its layouts."""

    stocks: tuple[Stock, ...]
    placements: tuple[Placement, ...]
    sheets: int | None
    stock_of: tuple[str, ...]
    problems: tuple[Problem, ...]


Key = tuple[float, float, float | None, float | None, float | None, float | None]


def _key(pad: Pad) -> Key | None:
    if pad.sheet is None:
        return None
    thickness = None if pad.thickness is None else pad.thickness.mm
    return (pad.sheet[0].mm, pad.sheet[1].mm, thickness, pad.mass, pad.modulus, pad.loss)


def _label(pad: Pad, taken: Sequence[str]) -> str:
    words = []
    if pad.sheet is None:
        words.append("sheet of unknown size")
    else:
        words.append(f"sheet {pad.sheet[0].mm:g} × {pad.sheet[1].mm:g} mm")
    if pad.thickness is not None:
        words.append(f"{pad.thickness.mm:g} mm thick")
    if pad.mass is not None:
        words.append(f"{pad.mass:g} kg/m²")
    label = ", ".join(words)
    number = 2
    while label in taken:
        label = f"{', '.join(words)} ({number})"
        number += 1
    return label


def _on_hand(label: str, pads: Sequence[Wanted]) -> tuple[int | None, tuple[Problem, ...]]:
    counts = {wanted.pad.on_hand for wanted in pads if wanted.pad.on_hand is not None}
    if not counts:
        return None, ()
    if len(counts) == 1:
        return counts.pop(), ()
    words = ", ".join(str(count) for count in sorted(counts))
    what = f"sheets on hand are given as {words} for one stock; the least is taken"
    return min(counts), (Problem(f"pads of {label}", what),)


def _placements(
    label: str, pads: Sequence[Wanted], found: Layout, before: int
) -> tuple[Placement, ...]:
    outlines = {wanted.name: wanted.outline for wanted in pads}
    return tuple(
        Placement(
            sheet=before + put.sheet + 1,
            stock=label,
            pad=put.name,
            x_mm=put.x_mm,
            y_mm=put.y_mm,
            turned=put.turned,
            outline_mm=placed(outlines[put.name], put.x_mm, put.y_mm, turned=put.turned),
        )
        for put in found.puts
    )


def _pieces(pads: Sequence[Wanted]) -> tuple[Piece, ...]:
    boxes = [box(wanted.outline) for wanted in pads]
    return tuple(
        Piece(wanted.name, around.width_mm, around.height_mm, wanted.area_mm2)
        for wanted, around in zip(pads, boxes, strict=True)
    )


def _too_large(found: Layout, sheet: Sheet) -> tuple[Problem, ...]:
    return tuple(
        Problem(
            f"pad {name}",
            f"does not fit a sheet of {sheet.width_mm:g} × {sheet.height_mm:g} mm either way "
            "round; trace it in two pieces, or name a larger sheet",
        )
        for name in found.too_large
    )


def _known(
    label: str, pads: Sequence[Wanted], sheet: Sheet, before: int
) -> tuple[Stock, tuple[Placement, ...], tuple[Problem, ...]]:
    pieces = _pieces(pads)
    found = layout(pieces, sheet)
    on_hand, odd = _on_hand(label, pads)
    stock = Stock(
        stock=label,
        sheet_mm=(sheet.width_mm, sheet.height_mm),
        need=found.sheets,
        at_least=fewest_by_area(pieces, sheet) if found.too_large else found.at_least,
        on_hand=on_hand,
        get=max(0, found.sheets - (on_hand or 0)),
        pads=tuple(wanted.name for wanted in pads),
    )
    placements = _placements(label, pads, found, before)
    return stock, placements, odd + _too_large(found, sheet)


def _unknown(label: str, pads: Sequence[Wanted]) -> tuple[Stock, tuple[Problem, ...]]:
    on_hand, odd = _on_hand(label, pads)
    names = tuple(wanted.name for wanted in pads)
    area = math.fsum(wanted.area_mm2 for wanted in pads) / 1e6
    what = (
        f"no sheet size given for {', '.join(names)} ({area:.3f} m² in all); "
        'give sheet = ["500 mm", "200 mm"] to see how many sheets it takes'
    )
    return Stock(label, None, None, None, on_hand, None, names), (*odd, Problem("pads", what))


def cutting(pads: Sequence[Wanted]) -> Cutting:
    """Sort pads by the sheet they are cut from and lay each kind out.

    Parameters
    ----------
    pads : sequence of Wanted
        With readable outlines.

    Returns
    -------
    Cutting
        Sheets are numbered from 1 over all kinds of stock; `sheets` counts those whose size is
        known and is None where none is.
    """
    groups: dict[Key | None, list[Wanted]] = {}
    for wanted in pads:
        groups.setdefault(_key(wanted.pad), []).append(wanted)
    stocks: list[Stock] = []
    placements: list[Placement] = []
    problems: list[Problem] = []
    label_of: dict[str, str] = {}
    before = 0
    for key, group in groups.items():
        label = _label(group[0].pad, [stock.stock for stock in stocks])
        label_of.update({wanted.name: label for wanted in group})
        if key is None:
            stock, odd = _unknown(label, group)
        else:
            stock, puts, odd = _known(label, group, Sheet(key[0], key[1]), before)
            placements += puts
            before += stock.need or 0
        stocks.append(stock)
        problems += odd
    known = any(stock.sheet_mm is not None for stock in stocks)
    return Cutting(
        tuple(stocks),
        tuple(placements),
        before if known else None,
        tuple(label_of[wanted.name] for wanted in pads),
        tuple(problems),
    )
