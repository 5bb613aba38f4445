"""What a reading's own spread is, and what it shares with the other readings of its tool.

The tool itself errs the same way in all its readings: offset and scale, or for a tape of a class
one error that grows with the length as its limit does. Seating and reading are new every time.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import hypot, sqrt
from typing import TYPE_CHECKING

from panelwright.fit.tapes import tape_limit_mm, tape_source, tape_u_mm
from panelwright.sources import Basis, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.models.geometry import Tool
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair

__all__ = [
    "LEAST_U_MM",
    "Instrument",
    "Spread",
    "built_in",
    "instruments",
    "spread_of",
    "tape_limit_mm",
    "tape_u_mm",
]

LEAST_U_MM = 1e-3
"""No hand reading is surer than a micrometre; a u of 0 is taken as this."""
FULL_METRE_MM = 1000.0


@dataclass(frozen=True)
class Instrument:
    """A tool's standard uncertainties: reading and seating, shared offset, shared scale.

    Parameters
    ----------
    source : Source
        Of `u_mm`.
    kind : str
        Such as "tape"; empty where nobody says what it is.
    tape_class : str
        "I", "II" or "III": `offset_u_mm` is then what the class allows at 1 m, and grows with the
        length as the class does; empty: none.
    hook : bool
        Whether one end of a length is the hook or butt.
    expansion : float
        Linear, by temperature [1/K].
    pointer_u_mm : float
        Of the set length of one pointer.
    floor : str
        Of a level: "level", "sloping", or "" where its heights do not count.
    """

    id: str
    u_mm: float
    offset_u_mm: float
    scale_u: float
    source: Source
    kind: str = ""
    tape_class: str = ""
    hook: bool = False
    expansion: float = 0.0
    pointer_u_mm: float = 0.0
    floor: str = ""

    def grows(self, length_mm: float) -> float:
        """How much larger its shared offset is at a length than at 1 m [1]."""
        if not self.tape_class:
            return 1.0
        return self.own_limit_mm(length_mm) / self.own_limit_mm(FULL_METRE_MM)

    def own_limit_mm(self, length_mm: float) -> float:
        """What its class allows at a length, from 0 [mm]; needs a class."""
        return tape_limit_mm(length_mm, self.tape_class, hooked_ends=int(self.hook))

    def u_at_mm(self, length_mm: float) -> float:
        """Standard uncertainty of one reading of a length, everything together [mm]."""
        shared = hypot(self.offset_u_mm * self.grows(length_mm), self.scale_u * length_mm)
        return hypot(self.u_mm, shared)

    @property
    def sources(self) -> tuple[Source, ...]:
        """On whose word its figures stand."""
        own = own_limits(self.kind)
        return (self.source, *((tape_source(),) if self.tape_class else ()), *own)


@cache
def own_limits(kind: str) -> tuple[Source, ...]:
    """Published limits of a kind of tool that lie within its spread, for comparison.

    Parameters
    ----------
    kind : str
        Such as "caliper".

    Returns
    -------
    tuple of Source
        One line, or none.
    """
    table = load("fit_tool_limits")
    rows = [row for row in table.records() if row["tool"] == kind]
    if not rows:
        return ()
    first, last = rows[0], rows[-1]
    words = (
        f"{kind}: the tool's own limit is {first['limit']:g} mm up to {first['up_to']:g} mm and "
        f"{last['limit']:g} mm up to {last['up_to']:g} mm (DIN 862); it lies within the u above"
    )
    return (Source(table.source.basis, words, table.source.mark),)


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
        tools[name] = Instrument(
            name,
            u,
            offset,
            scale,
            Source(table.source.basis, words),
            kind=name,
            expansion=table.number(number, "expansion"),
            pointer_u_mm=float(row["pointer_u"] or 0.0),
        )
    return tools


@dataclass(frozen=True)
class Spread:
    """Standard uncertainty of one scalar reading, and the tool whose offset and scale it has.

    `offset_by` and `scale_by` say how far the reading follows that offset and scale [1].
    """

    u_mm: float
    tool: Instrument | None
    offset_by: float = 1.0
    scale_by: float = 1.0


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
    return {**built_in(), **{tool.id: _declared(tool) for tool in repair.tools}}


def _declared(tool: Tool) -> Instrument:
    """A tool as its table says; what that leaves out is as usual for its kind."""
    usual = built_in().get(tool.kind or tool.id)
    kind = usual.kind if usual else ""
    told = Source(Basis.SHOP, f"tool {tool.id}" + (f": {tool.source}" if tool.source else ""))
    u_mm = tool.u.mm if tool.u is not None else (usual.u_mm if usual else LEAST_U_MM)
    u_mm = hypot(u_mm, rounding_u_mm(tool.resolution.mm))
    offset, scale, tape_class = _shared(tool, usual)
    pointer = tool.pointer_u.mm if tool.pointer_u is not None else None
    return Instrument(
        tool.id,
        u_mm,
        offset,
        scale,
        told if tool.u is not None or usual is None else usual.source,
        kind=kind,
        tape_class=tape_class,
        hook=tool.hook,
        expansion=tool.expansion if tool.expansion is not None else usual.expansion if usual else 0,
        pointer_u_mm=pointer if pointer is not None else usual.pointer_u_mm if usual else 0.0,
        floor=tool.floor or "",
    )


def rounding_u_mm(step_mm: float) -> float:
    """Standard uncertainty by rounding to a step: rectangular, step/√12.

    Parameters
    ----------
    step_mm : float
        From 0 [mm].

    Returns
    -------
    float
        [mm]

    References
    ----------
    JCGM 100:2008, 4.3.7 and F.2.2.1 (resolution of a digital indication; from memory).

    Examples
    --------
    >>> round(rounding_u_mm(25.4 / 16), 3)
    0.458
    """
    return step_mm / sqrt(12.0)


def _shared(tool: Tool, usual: Instrument | None) -> tuple[float, float, str]:
    """Offset [mm], scale and class of a declared tool."""
    said = {"offset_u", "scale_u"} & tool.model_fields_set
    if tool.class_ is not None and not said:
        hooked = int(tool.hook)
        return tape_u_mm(FULL_METRE_MM, tool.class_, hooked_ends=hooked), 0.0, tool.class_
    if tool.u is not None or said or usual is None:
        return tool.offset_u.mm, tool.scale_u, ""
    return usual.offset_u_mm, usual.scale_u, ""


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
