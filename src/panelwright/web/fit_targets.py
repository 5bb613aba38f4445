"""What can be read of a repair: a span, side against side, a height, or a place of a flange."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from panelwright.facts.models.readings import (
    CompareReading,
    ContactReading,
    HeightReading,
    LocatorReading,
    SpanReading,
    StationReading,
)

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Contact, Locator, Station
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.fit.next_answer import NextReading


class Read(StrEnum):
    """Kinds of readings that are taken by hand."""

    SPAN = "span"
    COMPARE = "compare"
    HEIGHT = "height"
    STATION = "station"
    CONTACT = "contact"
    LOCATOR = "locator"


NAMES = {Read.SPAN: 2, Read.COMPARE: 4}
"""How many names a kind needs; one where it is not here."""

POINTS = frozenset({Read.SPAN, Read.COMPARE, Read.HEIGHT})
"""Kinds whose names are points."""

TITLES = {
    Read.SPAN: "Span between two points",
    Read.COMPARE: "Side against side",
    Read.HEIGHT: "Height of a point",
    Read.STATION: "Gap and flush",
    Read.CONTACT: "Does the flange lie on?",
    Read.LOCATOR: "Does the pin line up?",
}


@dataclass(frozen=True)
class Target:
    """What a reading reads: its kind and the names of points or of a place.

    Of a comparison the names are a, b, c, d: span a–b against span c–d.
    """

    kind: Read
    names: tuple[str, ...]

    @property
    def key(self) -> str:
        """Give it as one word for addresses and forms."""
        return ":".join([self.kind.value, *(quote(name, safe="") for name in self.names)])

    @property
    def same(self) -> frozenset[object]:
        """Give what two targets share that read the same thing the other way round."""
        if self.kind is Read.COMPARE:
            a, b, c, d = self.names
            return frozenset({self.kind, frozenset({a, b}), frozenset({c, d})})
        return frozenset({self.kind, *self.names})

    @property
    def is_whole(self) -> bool:
        """Tell whether all its names are chosen."""
        return len(self.names) == NAMES.get(self.kind, 1)


def target_of(key: str) -> Target | None:
    """Give the target of a key; None where it is no key of one."""
    word, *names = key.split(":")
    if word not in {kind.value for kind in Read} or not all(names):
        return None
    target = Target(Read(word), tuple(unquote(name) for name in names))
    return target if target.is_whole else None


def target_of_reading(reading: Reading) -> Target | None:
    """Give what a reading reads; None for coordinates, which are not taken by hand."""
    match reading:
        case SpanReading():
            return Target(Read.SPAN, (reading.from_, reading.to))
        case CompareReading():
            (a, b), (c, d) = reading.compare
            return Target(Read.COMPARE, (a, b, c, d))
        case HeightReading():
            return Target(Read.HEIGHT, (reading.point,))
        case StationReading() | ContactReading() | LocatorReading():
            return _place_read(reading)
    return None


def _place_read(reading: StationReading | ContactReading | LocatorReading) -> Target:
    match reading:
        case StationReading():
            return Target(Read.STATION, (reading.station,))
        case ContactReading():
            return Target(Read.CONTACT, (reading.contact,))
        case LocatorReading():
            return Target(Read.LOCATOR, (reading.locator,))


def target_of_next(reading: NextReading) -> Target | None:
    """Give what the fit proposes to read next."""
    if reading.from_ is not None and reading.to is not None:
        return Target(Read.SPAN, (reading.from_, reading.to))
    if reading.compare is not None:
        (a, b), (c, d) = reading.compare
        return Target(Read.COMPARE, (a, b, c, d))
    if reading.kind == "place":
        return None  # not taken by hand
    for kind, name in (
        (Read.STATION, reading.station),
        (Read.CONTACT, reading.contact),
        (Read.LOCATOR, reading.locator),
        (Read.HEIGHT, reading.point),
    ):
        if name is not None:
            return Target(kind, (name,))
    return None


def places_of(repair: Repair, kind: Read) -> tuple[Station | Contact | Locator, ...]:
    """Give the places of a kind that nobody needs to confirm."""
    match kind:
        case Read.STATION:
            return repair.stations
        case Read.CONTACT:
            return repair.contacts
        case Read.LOCATOR:
            return repair.locators
    return ()


def is_there(target: Target, repair: Repair) -> bool:
    """Tell whether the repair holds everything that a target names, and it makes sense."""
    if target.kind not in POINTS:
        return any(place.id == target.names[0] for place in places_of(repair, target.kind))
    if not all(name in repair.point_by_id for name in target.names):
        return False
    if target.kind is Read.COMPARE:
        a, b, c, d = target.names
        return a != b and c != d and {a, b} != {c, d}
    return len(set(target.names)) == len(target.names)


def parts_of(target: Target, repair: Repair) -> tuple[str, ...]:
    """Give the parts (and the body) that a target touches."""
    if target.kind in POINTS:
        found = [repair.point_by_id[n].on for n in target.names if n in repair.point_by_id]
    else:
        found = [
            side
            for place in places_of(repair, target.kind)
            if place.id == target.names[0]
            for side in (place.part, getattr(place, "beside", "") or getattr(place, "against", ""))
        ]
    return tuple(dict.fromkeys(found))


def place_label(target: Target, repair: Repair) -> str:
    """Give what people call the place that a target names."""
    found = [p for p in places_of(repair, target.kind) if p.id == target.names[0]]
    return (found[0].name or found[0].id) if found else target.names[0]


def words(target: Target, repair: Repair) -> str:
    """Say a target in a few words, such as "L5 to R2"."""
    match target.kind:
        case Read.SPAN:
            return f"{target.names[0]} to {target.names[1]}"
        case Read.COMPARE:
            a, b, c, d = target.names
            return f"{a} to {b} against {c} to {d}"
        case Read.HEIGHT:
            return f"Height of {target.names[0]}"
        case Read.STATION:
            return f"Gap and flush: {place_label(target, repair)}"
        case Read.CONTACT:
            return f"Flange: {place_label(target, repair)}"
    return f"Pin: {place_label(target, repair)}"


def instruction(target: Target, repair: Repair, tool: str) -> str:
    """Say what to do to read a target."""
    match target.kind:
        case Read.SPAN:
            return f"{target.names[0]} to {target.names[1]}, with the {tool}"
        case Read.COMPARE:
            a, b, c, d = target.names
            return f"{a} to {b} against {c} to {d}, with the {tool}"
        case Read.HEIGHT:
            return f"Height of {target.names[0]}, with the {tool}"
        case Read.STATION:
            return f"Gap and flush at {place_label(target, repair)}"
        case Read.CONTACT:
            return f"Does the {_bare(place_label(target, repair))} lie on?"
    return f"Does the {_bare(place_label(target, repair))} line up?"


def _bare(label: str) -> str:
    return label.removeprefix("the ").removeprefix("The ")


def detail(target: Target, repair: Repair) -> str:
    """Say where it is: the points by what people call them, or the parts that meet."""
    if target.kind in POINTS:
        named = [
            f"{name}: {repair.point_by_id[name].name}"
            for name in dict.fromkeys(target.names)
            if name in repair.point_by_id and repair.point_by_id[name].name
        ]
        return "; ".join(named) + "." if named else ""
    labels = [
        "body" if part == "body" else repair.part_by_id[part].label
        for part in parts_of(target, repair)
        if part == "body" or part in repair.part_by_id
    ]
    place = target.names[0]
    return f"{place}: {' against '.join(labels)}." if labels else f"{place}."


TOOL_WORDS = {"tram": "trammel", "caliper": "calliper"}
_USUAL = {
    Read.SPAN: ("tape", "tram", "caliper"),
    Read.COMPARE: ("tape", "tram"),
    Read.HEIGHT: ("tape", "level"),
}


def tools_for(kind: Read, repair: Repair) -> tuple[tuple[str, str], ...]:
    """Give the tools for a kind of reading, the usual one first: id and word."""
    usual = _USUAL.get(kind, ("gauge", "caliper"))
    own = [tool.id for tool in repair.tools if tool.id not in BUILT_IN]
    return tuple((tool, TOOL_WORDS.get(tool, tool)) for tool in (*usual, *own))


BUILT_IN = frozenset({"tape", "tram", "caliper", "gauge", "level", "photo"})


def usual_tool(target: Target, repair: Repair) -> str:
    """Give the tool that was used for this last, or for its kind, or that is usual."""
    offered = [tool for tool, _ in tools_for(target.kind, repair)]
    same = [tool for t, tool in _used(repair) if t.same == target.same and tool in offered]
    kind = [tool for t, tool in _used(repair) if t.kind is target.kind and tool in offered]
    return [*offered[:1], *kind[-1:], *same[-1:]][-1]


def _used(repair: Repair) -> Iterator[tuple[Target, str]]:
    for reading in repair.readings:
        target = target_of_reading(reading)
        if target is not None and reading.with_ is not None:
            yield target, reading.with_
