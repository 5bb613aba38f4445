"""What a reading's own spread is, and what it shares with the other readings of its tool."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import sqrt
from typing import TYPE_CHECKING

from panelwright.sources import Basis, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair

LEAST_U_MM = 1e-3
"""No hand reading is surer than a micrometre; a u of 0 is taken as this."""


@dataclass(frozen=True)
class Instrument:
    """A tool's standard uncertainties: reading and seating, shared offset, shared scale."""

    id: str
    u_mm: float
    offset_u_mm: float
    scale_u: float
    source: Source


@cache
def built_in() -> Mapping[str, Instrument]:
    """Tools that need not be declared.

    Returns
    -------
    mapping
        Instruments by id, from the table ``fit_tools``.
    """
    table = load("fit_tools")
    tools = {}
    for number, row in enumerate(table.records()):
        name = str(row["tool"])
        u, offset, scale = (table.number(number, key) for key in ("u", "offset_u", "scale_u"))
        words = f"{name}: u {u:g} mm, offset {offset:g} mm, scale {scale:g}"
        tools[name] = Instrument(name, u, offset, scale, Source(table.source.basis, words))
    return tools


@dataclass(frozen=True)
class Spread:
    """Standard uncertainty of one scalar reading, and the tool whose offset and scale it has."""

    u_mm: float
    tool: Instrument | None


def instruments(repair: Repair) -> Mapping[str, Instrument]:
    """The tools that this repair can name: built in, and those it declares in their place.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    mapping
        Instruments by id.
    """
    declared = {
        tool.id: Instrument(
            tool.id,
            tool.u.mm,
            tool.offset_u.mm,
            tool.scale_u,
            Source(Basis.SHOP, f"tool {tool.id}" + (f": {tool.source}" if tool.source else "")),
        )
        for tool in repair.tools
    }
    return {**built_in(), **declared}


def spread_of(
    reading: Reading,
    tools: Mapping[str, Instrument],
    usual: str,
    place_u_mm: float | None = None,
) -> Spread:
    """Spread of a reading: its own u first, then the place's, then its tool's.

    Parameters
    ----------
    reading : Reading
    tools : mapping
        Tools by id.
    usual : str
        Tool where the reading names none.
    place_u_mm : float or None
        What the station says of readings there, above 0 [mm].

    Returns
    -------
    Spread
        A reading with a `u` of its own that names no tool shares nothing with others.
    """
    named = tools.get(reading.with_) if reading.with_ is not None else None
    own = reading.u.mm if reading.u is not None else place_u_mm
    tool = named if named is not None or own is not None else tools[usual]
    u_mm = own if own is not None else (tool.u_mm if tool is not None else 0.0)
    return Spread(max(u_mm, LEAST_U_MM), tool)


def tape_limit_mm(length_mm: float, tape_class: str, *, hooked_ends: int = 0) -> float:
    """Largest permissible error of a tape or rule, MPE = a + b·L (+ c for each end surface).

    Parameters
    ----------
    length_mm : float
        Nominal length, from 0 [mm]; rounded up to the next whole metre.
    tape_class : str
        "I", "II" or "III", as printed on the tape.
    hooked_ends : int
        How many ends of the length are a hook or butt: 0 or 1.

    Returns
    -------
    float
        [mm]

    References
    ----------
    Directive 2014/32/EU, Annex X (MI-008), chapter I, table 1.

    Examples
    --------
    >>> round(tape_limit_mm(2000.0, "II"), 3)
    0.7
    """
    rows = {row["class"]: row for row in load("tape_limits_2014_32_eu").records()}
    row = rows[tape_class]
    a, b, c = (float(row[key] or 0.0) for key in ("a", "b", "c"))
    metres = -(-length_mm // 1000.0)
    return a + b * metres + c * hooked_ends


def tape_u_mm(length_mm: float, tape_class: str, *, hooked_ends: int = 0) -> float:
    """Standard uncertainty from a tape's permissible error, taken as rectangular: MPE/√3.

    Parameters
    ----------
    length_mm : float
        Nominal length, from 0 [mm].
    tape_class : str
        "I", "II" or "III".
    hooked_ends : int
        0 or 1.

    Returns
    -------
    float
        [mm]; of the instrument alone, without seating and reading.

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular distribution); Directive 2014/32/EU, Annex X (MI-008).

    Examples
    --------
    >>> round(tape_u_mm(2000.0, "II"), 3)
    0.404
    """
    return tape_limit_mm(length_mm, tape_class, hooked_ends=hooked_ends) / sqrt(3.0)
