"""How much a span grows with the metal, and the tape with it."""

from __future__ import annotations

from functools import cache
from math import hypot
from typing import TYPE_CHECKING

from panelwright.fit.reading_answer import Correction
from panelwright.sources import Basis, Mark, Source
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.facts.models.readings import SpanReading
    from panelwright.facts.repair import Repair
    from panelwright.fit.tools import Instrument

REFERENCE_C = 20.0
"""Lengths are what they are at this temperature."""
TEMPERATURE_U_K = 2.0
"""How well metal and tape temperatures are known. Common practice, no source."""
ALUMINIUM = "aluminium"


@cache
def _metals() -> dict[str, tuple[float, tuple[str, ...], Source]]:
    """Expansion [1/K], words that tell the metal, and source, by metal."""
    table = load("metal_expansion")
    found = {}
    for number, row in enumerate(table.records()):
        per_k = f"{1e6 * table.number(number, 'expansion'):.3g}e-6 per K"
        words = f"{row['metal']} grows by {per_k} ({row['source']})"
        source = Source(table.source.basis, words, Mark(str(row["mark"] or "")))
        tells = tuple(str(row["words"]).split())
        found[str(row["metal"])] = (table.number(number, "expansion"), tells, source)
    return found


def metal_of(owner: str, repair: Repair) -> str | None:
    """The metal of the body or a part, as far as its expansion is known.

    Parameters
    ----------
    owner : str
        A part's id, or "body".
    repair : Repair

    Returns
    -------
    str or None
        A row of the table ``metal_expansion``; aluminium where nobody says what it is.
    """
    part = repair.part_by_id.get(owner)
    if part is None or not part.material:
        return ALUMINIUM
    words = set(part.material.lower().replace("-", " ").split())
    return next((metal for metal, (_, tells, _) in _metals().items() if words & set(tells)), None)


def warm_span(
    reading: SpanReading, owners: tuple[str, str], tool: Instrument | None, repair: Repair
) -> Correction | str | None:
    """What a span read warm is longer or shorter at 20 °C.

    The metal has grown by 1 + α·(T − 20 °C), the tool's own marks by its expansion and its
    temperature; that of the air where it is known, else 20 °C.

    Parameters
    ----------
    reading : SpanReading
    owners : tuple of str
        What its two points are on.
    tool : Instrument or None
    repair : Repair

    Returns
    -------
    Correction, str or None
        None where the reading has no temperature; words where the metal is not known.
    """
    if reading.temperature is None:
        return None
    metals = [metal_of(owner, repair) for owner in owners]
    if None in metals:
        named = next(o for o, metal in zip(owners, metals, strict=True) if metal is None)
        return (
            f"how much the material of {named} grows is not known, so the temperature of the "
            "reading changes nothing"
        )
    rows = [_metals()[str(metal)] for metal in metals]
    alpha = 0.5 * (rows[0][0] + rows[1][0])
    warm_k = reading.temperature.celsius - REFERENCE_C
    own = tool.expansion if tool is not None else 0.0
    tool_c = _tool_celsius(reading, repair)
    factor = (1.0 + alpha * warm_k) / (1.0 + own * (tool_c - REFERENCE_C))
    read_mm = reading.value.mm
    by_mm = read_mm / factor - read_mm
    unlike = 0.5 * abs(rows[0][0] - rows[1][0]) * warm_k
    u_mm = read_mm * hypot(hypot(alpha, own) * TEMPERATURE_U_K, unlike)
    metal = " and ".join(dict.fromkeys(str(name) for name in metals))
    words = (
        f"read at {reading.temperature.celsius:g} °C: {abs(by_mm):.2f} mm "
        f"{'taken off' if by_mm < 0.0 else 'added'} to have it at 20 °C ({metal}; tool at "
        f"{tool_c:g} °C)"
    )
    sources = tuple(dict.fromkeys(row[2] for row in rows))
    practice = Source(Basis.PRACTICE, f"metal and tool temperature: u {TEMPERATURE_U_K:g} K")
    return Correction(0, "temperature", by_mm, u_mm, words, (*sources, practice))


def _tool_celsius(reading: SpanReading, repair: Repair) -> float:
    if reading.tool_temperature is not None:
        return reading.tool_temperature.celsius
    air = repair.conditions.air
    return air.celsius if air is not None else REFERENCE_C
