"""Readings that name what is there and make sense."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.checks.names import known, missing
from panelwright.facts.models.readings import (
    CompareReading,
    ContactReading,
    HeightReading,
    LocatorReading,
    PlaceReading,
    SpanReading,
    StationReading,
)
from panelwright.facts.problem import Problem

BUILT_IN_TOOLS = frozenset({"tape", "tram", "caliper", "gauge", "level", "photo"})

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.document import Document


_ONE_NAME: dict[type, str] = {
    HeightReading: "point",
    PlaceReading: "point",
    StationReading: "station",
    ContactReading: "contact",
    LocatorReading: "locator",
}


def _reading_names(reading: object) -> list[tuple[str, str, str]]:
    """Key, name and table of everything that a reading refers to."""
    if isinstance(reading, SpanReading):
        return [("from", reading.from_, "point"), ("to", reading.to, "point")]
    if isinstance(reading, CompareReading):
        return [("compare", name, "point") for pair in reading.compare for name in pair]
    for kind, key in _ONE_NAME.items():
        if isinstance(reading, kind):
            return [(key, str(getattr(reading, key)), key)]
    return []


def _reading_sense(where: str, reading: object) -> Iterator[Problem]:
    if isinstance(reading, SpanReading):
        if reading.from_ == reading.to:
            yield Problem(where, f"from and to are both {reading.from_!r}; a span needs two points")
        if reading.value.mm <= 0:
            yield Problem(
                f"{where}.value",
                f"{reading.value.typed!r} between {reading.from_!r} and {reading.to!r}; "
                "a span is more than zero, so this reading is left out: take it again",
                hard=False,
            )
    if isinstance(reading, StationReading) and reading.gap is None and reading.flush is None:
        yield Problem(where, "neither gap nor flush is given; give one or both", hard=False)
    if isinstance(reading, ContactReading) and reading.state == "open" and reading.lift is None:
        yield Problem(
            where, 'the contact is open, but by how much? give lift = "1.5 mm"', hard=False
        )
    if isinstance(reading, LocatorReading) and reading.state == "off" and reading.off is None:
        yield Problem(
            where, "the locator is off, but by how much? give off = [along, across]", hard=False
        )


def readings_fit(document: Document) -> Iterator[Problem]:
    """Readings name what is there and make sense."""
    names = {
        "point": known(point.id for point in document.point),
        "station": known(station.id for station in document.station),
        "contact": known(contact.id for contact in document.contact),
        "locator": known(locator.id for locator in document.locator),
    }
    tools = known((tool.id for tool in document.tool), BUILT_IN_TOOLS)
    for number, reading in enumerate(document.reading):
        where = f"reading[{number}]"
        for key, name, table in _reading_names(reading):
            yield from missing(f"{where}.{key}", name, names[table], table)
        if reading.with_ is not None:
            yield from missing(f"{where}.with", reading.with_, tools, "tool")
        if reading.u is not None and reading.u.mm == 0:
            yield Problem(f"{where}.u", "an uncertainty of 0 claims a perfect reading; give more")
        yield from _reading_sense(where, reading)
