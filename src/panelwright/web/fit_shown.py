"""What readings showed, in the person's units and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.models.readings import (
    CompareReading,
    ContactReading,
    HeightReading,
    LocatorReading,
    SpanReading,
    StationReading,
)
from panelwright.quantities import Length, Units, show_length
from panelwright.web.fit_ways import ways_of

if TYPE_CHECKING:
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair


def value_words(reading: Reading, repair: Repair, units: Units) -> str:
    """Say what a reading showed, in the person's units."""
    match reading:
        case SpanReading():
            return _shown(reading.value, units)
        case CompareReading():
            return _difference(reading, units)
        case HeightReading():
            return _shown(reading.height, units)
        case StationReading() | ContactReading() | LocatorReading():
            return _place_words(reading, repair, units)
    return ", ".join(_shown(one, units) for one in reading.xyz)


def _place_words(
    reading: StationReading | ContactReading | LocatorReading, repair: Repair, units: Units
) -> str:
    match reading:
        case StationReading():
            said = (("gap", reading.gap), ("flush", reading.flush))
            return ", ".join(f"{word} {_shown(v, units)}" for word, v in said if v is not None)
        case ContactReading():
            if reading.state == "open" and reading.lift is not None:
                return f"open by {_shown(reading.lift, units)}"
            return {"forced": "forced shut"}.get(reading.state, reading.state)
        case LocatorReading():
            return _off_words(reading, repair, units)


def _difference(reading: CompareReading, units: Units) -> str:
    (a, b), (c, d) = reading.compare
    mm = reading.difference.mm
    if mm == 0:
        return "alike"
    longer = f"{a} to {b}" if mm > 0 else f"{c} to {d}"
    return f"{longer} is longer by {_shown(reading.difference, units).lstrip('-−')}"


def _off_words(reading: LocatorReading, repair: Repair, units: Units) -> str:
    locator = next((one for one in repair.locators if one.id == reading.locator), None)
    if reading.off is None or locator is None:
        return reading.state
    said = [
        f"{_shown(length, units).lstrip('-−')} {way.minus if length.mm < 0 else way.plus}"
        for length, way in zip(reading.off, ways_of(locator), strict=True)
        if length.mm != 0
    ]
    return f"off: {' and '.join(said)}" if said else "off by nothing"


def _shown(value: Length | str, units: Units) -> str:
    """Show as typed where that is in the person's units, so that fractions stay fractions."""
    if isinstance(value, str):
        return value
    typed = str(value.typed)
    return typed if typed.endswith(f" {units.value}") else show_length(value.mm, units)
