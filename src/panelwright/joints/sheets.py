"""Strength of body sheet by alloy, temper and whether it has been through the paint oven."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from panelwright.sources import Basis, Mark, Source
from panelwright.tables import load

_ALLOY = re.compile(r"(?<![\d.])([1-8]\d{3})(?!\d)[\s-]*([FOHTW]\d*)?")


class SheetState(StrEnum):
    """Whether a sheet is taken as it is delivered or as the factory's paint oven left it."""

    DELIVERED = "delivered"
    BAKED = "baked"


@dataclass(frozen=True)
class Sheet:
    """Strength of one sheet.

    Parameters
    ----------
    alloy, temper : str
        As the table has them.
    ultimate_low_MPa, ultimate_high_MPa : float
        Low and high end of what is published [MPa].
    source : Source
    note : str
        What was taken and why, in words.
    """

    alloy: str
    temper: str
    ultimate_low_MPa: float
    ultimate_high_MPa: float
    source: Source
    note: str


@dataclass(frozen=True)
class _Row:
    alloy: str
    temper: str
    state: str
    low: float
    high: float
    source: Source


@cache
def _rows() -> tuple[_Row, ...]:
    table = load("aluminium_sheet")
    rows = []
    for number, record in enumerate(table.records()):
        text = f"sheet {record['alloy']}-{record['temper']}: {record['source']}"
        rows.append(
            _Row(
                str(record["alloy"]),
                str(record["temper"]),
                str(record["state"]),
                table.number(number, "ultimate_low_MPa"),
                table.number(number, "ultimate_high_MPa"),
                Source(Basis.PUBLISHED, text, Mark(str(record["mark"]))),
            )
        )
    return tuple(rows)


def known_sheets() -> tuple[str, ...]:
    """Alloys and tempers of the table, as they are written in a repair file.

    Returns
    -------
    tuple of str
    """
    return tuple(f"EN AW-{row.alloy}-{row.temper}" for row in _rows())


def alloy_of(material: str | None) -> tuple[str, str] | None:
    """Alloy and temper of an aluminium designation.

    Parameters
    ----------
    material : str or None
        Such as ``EN AW-6016-T4``.

    Returns
    -------
    tuple of (str, str) or None
        Four digits, and the temper, which may be empty.
    """
    found = _ALLOY.search(material or "")
    return (found[1], found[2] or "") if found else None


def _baked(rows: list[_Row], temper: str) -> _Row | None:
    """The row of a bake-hardened sheet, where the alloy hardens and the table has it."""
    if temper and temper[0] != "T":
        return None
    return next((row for row in rows if row.state == SheetState.BAKED), None)


def sheet_strength(material: str | None, state: SheetState) -> Sheet | None:
    """Strength of a sheet in one state, low end first.

    Parameters
    ----------
    material : str or None
        Designation such as ``EN AW-6016-T4``; without temper the weakest one is taken.
    state : SheetState
        DELIVERED: a new panel, T4 as it comes. BAKED: a sheet that has been through the factory's
        paint oven, where 6000-series sheet hardens towards T6; 5000-series sheet does not.

    Returns
    -------
    Sheet or None
        None where the alloy is not in the table.
    """
    alloy = alloy_of(material)
    rows = [row for row in _rows() if alloy and row.alloy == alloy[0]]
    if not alloy or not rows:
        return None
    temper = alloy[1]
    family = "T6" if temper[:2] in {"T6", "T8"} else temper[:2] if temper[:1] == "T" else temper
    exact = next((row for row in rows if row.temper == family), None)
    row = exact or min(rows, key=lambda each: each.low)
    note = "" if exact else ", the weakest of the alloy because the temper is not in the table"
    if state is SheetState.BAKED:
        hardened = _baked(rows, temper)
        hardens = alloy[0].startswith("6")
        if hardened is not None:
            row, note = hardened, ", bake-hardened in the factory's paint oven"
        elif hardens:
            note += ", as delivered because no bake-hardened strength was found"
    elif row.state == SheetState.DELIVERED:
        note += ", as delivered, before any paint bake"
    words = f"{row.alloy}-{row.temper}{note}: at least {row.low:g} MPa"
    return Sheet(row.alloy, row.temper, row.low, row.high, row.source, words)
