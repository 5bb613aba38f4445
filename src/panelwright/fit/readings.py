"""What each kind of reading says, as equations between points and places."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import hypot, sqrt
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
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
from panelwright.fit.notes import left_out
from panelwright.fit.places import Displacement, Place, locator_directions, neighbour
from panelwright.fit.settings import SISTER
from panelwright.fit.sketch import AXES, SISTER_VEHICLE, Kind, Node, Sketch, Vector
from panelwright.fit.span_equation import SpanAsRead
from panelwright.fit.tools import Instrument, Spread, spread_of

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Check, Station
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.fit.settings import Settings
    from panelwright.quantities import Length

SEATED_U_MM = 0.3
"""How near a seated flange lies. Common practice, no source."""
CLEARANCE_MM = 0.5
"""Play of a pin in its hole where none is given. Common practice, no source."""
_BEYOND = {"tight": -1.0, "low": -1.0, "wide": 1.0, "high": 1.0}

Said = Iterator[Sketch | Problem]


@dataclass(frozen=True)
class Reader:
    """What is needed to understand the readings of a repair."""

    repair: Repair
    settings: Settings
    tools: Mapping[str, Instrument]
    copies: frozenset[int] = frozenset()
    """Readings that were pasted in twice: they are not counted again."""
    off: Mapping[str, str] = field(default_factory=dict)
    """Places on closures that are off, and which one that is."""

    def sketches(self) -> tuple[tuple[Sketch, ...], tuple[Problem, ...]]:
        """The equations of all readings, and what is wrong with those that give none."""
        sketches: list[Sketch] = []
        problems: list[Problem] = []
        for index, reading in enumerate(self.repair.readings):
            if index in self.copies:
                continue
            for said in self._said(index, reading):
                if isinstance(said, Problem):
                    problems.append(said)
                else:
                    corrections = tuple(replace(c, index=index) for c in said.corrections)
                    sketches.append(replace(said, index=index, corrections=corrections))
        return tuple(sketches), tuple(problems)

    def _said(self, index: int, reading: Reading) -> Said:
        where = f"reading[{index}]"
        if reading.with_ is not None and reading.with_ not in self.tools:
            yield left_out(
                f"{where}.with",
                f"tool {reading.with_!r} is not declared; its spread is taken as if none was named",
            )
        match reading:
            case SpanReading():
                yield from self._span(where, reading)
            case CompareReading():
                yield from self._compare(where, reading)
            case HeightReading():
                yield from self._height(where, reading)
            case PlaceReading():
                yield from self._place(where, reading)
            case StationReading():
                yield from self._station(where, reading)
            case ContactReading():
                yield from self._contact(where, reading)
            case LocatorReading():
                yield from self._locator(where, reading)

    def point(self, name: str, reading: Reading) -> Node:
        """The node of a point in the setting in which a reading counts."""
        if reading.when == "sister":
            return Node(SISTER_VEHICLE, SISTER, name)
        owner = self.repair.point_by_id[name].on
        return Node(owner, self.settings.of(reading, owner), name)

    def _missing(self, where: str, *names: str) -> Iterator[Problem]:
        for name in names:
            if name not in self.repair.point_by_id:
                yield left_out(where, f"point {name!r} is not there; the reading is left out")

    def _span(self, where: str, reading: SpanReading) -> Said:
        missing = list(self._missing(where, reading.from_, reading.to))
        if missing:
            yield from missing
        elif reading.from_ == reading.to:
            yield left_out(where, f"from and to are both {reading.to!r}; the reading is left out")
        elif reading.value.mm <= 0.0:
            yield left_out(
                f"{where}.value",
                f"{reading.value.mm:g} mm between {reading.from_} and {reading.to}, expected more "
                "than 0; the reading is left out",
            )
        else:
            nodes = self.point(reading.from_, reading), self.point(reading.to, reading)
            usual = "tape" if reading.pointers is None else "tram"
            spread = spread_of(reading, self.tools, usual)
            if spread.tool is None and reading.pointers is not None:
                spread = replace(spread, tool=self.tools[usual])
            yield from SpanAsRead(where, reading, nodes, spread, self.repair).said()

    def _compare(self, where: str, reading: CompareReading) -> Said:
        (a, b), (c, d) = reading.compare
        missing = list(self._missing(where, a, b, c, d))
        if missing:
            yield from missing
        elif a == b or c == d or {a, b} == {c, d}:
            yield left_out(where, "it compares a span with itself; the reading is left out")
        else:
            one = (1.0, self.point(a, reading), self.point(b, reading))
            other = (-1.0, self.point(c, reading), self.point(d, reading))
            spread = spread_of(reading, self.tools, "tape")
            # The offset of the tool is in both spans and cancels.
            if spread.tool is not None:
                spread = Spread(spread.u_mm, replace(spread.tool, offset_u_mm=0.0))
            yield Sketch(
                Kind.READING, 0, "compare", reading.difference.mm, spread, distances=(one, other)
            )

    def _height(self, where: str, reading: HeightReading) -> Said:
        missing = list(self._missing(where, reading.point))
        if missing:
            yield from missing
            return
        node = self.point(reading.point, reading)
        spread = spread_of(reading, self.tools, "tape")
        level = spread.tool if spread.tool is not None and spread.tool.kind == "level" else None
        if level is not None and not level.floor:
            yield left_out(
                where,
                f"a height with the level {level.id!r} says how high {reading.point} is in the "
                "bay, and bays slope: it does not count. If the vehicle stands level, say "
                'floor = "level" at that [[tool]]; else floor = "sloping", and the slope is found '
                "from the heights together",
            )
            return
        up = AXES[2][1]
        read = Sketch(Kind.READING, 0, "height", reading.height.mm, spread)
        if level is not None and level.floor == "sloping":
            yield replace(read, levelled=node)
        else:
            yield replace(read, projections=((node, up),))

    def _place(self, where: str, reading: PlaceReading) -> Said:
        missing = list(self._missing(where, reading.point))
        if missing:
            yield from missing
            return
        node = self.point(reading.point, reading)
        spread = spread_of(reading, self.tools, "photo")
        for (axis, direction), value in zip(AXES, millimetres(reading.xyz), strict=True):
            yield Sketch(Kind.READING, 0, axis, value, spread, projections=((node, direction),))

    def _station(self, where: str, reading: StationReading) -> Said:
        station = next((s for s in self.repair.stations if s.id == reading.station), None)
        if station is None or reading.when != "now":
            yield self._no_place(where, "station", reading.station, reading)
            return
        for component, said, check, towards in (
            ("gap", reading.gap, station.gap, station.gap_towards),
            ("flush", reading.flush, station.flush, station.flush_towards),
        ):
            if said is None:
                continue
            if check is None or towards is None:
                yield left_out(
                    f"{where}.{component}",
                    f"station {station.id!r} has no {component} with want, or no "
                    f"{component}_towards; the reading is left out",
                )
                continue
            yield self._against(where, reading, station, component, (said, check, towards))

    def _against(
        self,
        where: str,
        reading: StationReading,
        station: Station,
        component: str,
        told: tuple[Length | str, Check, Vector],
    ) -> Sketch | Problem:
        said, check, towards = told
        place_u_mm = check.u.mm if check.u is not None else None
        spread = spread_of(reading, self.tools, "gauge", place_u_mm)
        if isinstance(said, str):
            if check.tolerance is None:
                return left_out(
                    f"{where}.{component}",
                    f"{said!r} says nothing without a tolerance at station {station.id!r}; the "
                    "reading is left out",
                )
            value_mm, spread = _from_word(said, check.want.mm, check.tolerance.mm, spread)
        else:
            value_mm = said.mm
        displaced = self._displaced(reading, station, f"station {station.id}")
        sketch = displaced.along(component, towards, value_mm, spread, want_mm=check.want.mm)
        return replace(sketch, in_words=isinstance(said, str))

    def _contact(self, where: str, reading: ContactReading) -> Said:
        contact = next((c for c in self.repair.contacts if c.id == reading.contact), None)
        if contact is None or reading.when != "now":
            yield self._no_place(where, "contact", reading.contact, reading)
        elif reading.state == "forced":
            yield left_out(
                where,
                f"contact {contact.id!r} was forced shut: told, but not used as a position; let go "
                "and see whether it springs open",
            )
        elif reading.state == "open" and reading.lift is None:
            yield left_out(
                where,
                f"contact {contact.id!r} is open by an unknown amount: not used; measure the lift",
            )
        else:
            lift_mm = reading.lift.mm if reading.state == "open" and reading.lift else 0.0
            by_tool = reading.state == "open" and reading.with_ is not None
            seated_u_mm = None if by_tool else SEATED_U_MM
            spread = spread_of(reading, self.tools, "gauge", seated_u_mm)
            displaced = self._displaced(reading, contact, f"contact {contact.id}")
            sketch = displaced.along("lift", contact.normal, lift_mm, spread)
            yield replace(sketch, in_words=reading.state == "seated")

    def _locator(self, where: str, reading: LocatorReading) -> Said:
        locator = next((p for p in self.repair.locators if p.id == reading.locator), None)
        if locator is None or reading.when != "now":
            yield self._no_place(where, "locator", reading.locator, reading)
            return
        along, across = locator_directions(locator)
        if reading.state == "off" and reading.off is None:
            yield left_out(
                where,
                f"locator {locator.id!r} is off by an unknown amount: not used; give off = "
                "[along, across]",
            )
            return
        play_mm = locator.clearance.mm if locator.clearance is not None else CLEARANCE_MM
        by_tool = reading.state == "off" and reading.with_ is not None
        play_u_mm = None if by_tool else play_mm / sqrt(12.0)
        spread = spread_of(reading, self.tools, "gauge", play_u_mm)
        displaced = self._displaced(reading, locator, f"locator {locator.id}")
        off = reading.off if reading.state == "off" else None
        said = off is None
        if off is not None or locator.slot_along is None:
            sketch = displaced.along("along", along, off[0].mm if off else 0.0, spread)
            yield replace(sketch, in_words=said)
        sketch = displaced.along("across", across, off[1].mm if off else 0.0, spread)
        yield replace(sketch, in_words=said)

    def _no_place(self, where: str, kind: str, name: str, reading: Reading) -> Problem:
        if reading.when == "sister":
            return left_out(
                where,
                f"{kind} {name!r} was read on a sister vehicle: kept, but it says nothing about "
                "where the part is here",
            )
        if reading.when == "before":
            return left_out(
                where,
                f"{kind} {name!r} was read before the part came off: kept, but it says nothing "
                "about where the part is now",
            )
        closure = self.repair.part_by_id.get(self.off.get(f"{kind} {name}", ""))
        if closure is not None:
            return left_out(
                where,
                f"{closure.label} is off: {kind} {name!r} does not count until it hangs (event "
                'kind = "hung"); read it again then',
            )
        if name in self.repair.assumed.ids(kind):
            return left_out(
                where, f"{kind} {name!r} is assumed: confirm it, and the reading counts"
            )
        return left_out(where, f"{kind} {name!r} is not there; the reading is left out")

    def _displaced(self, reading: Reading, place: Place, name: str) -> Displacement:
        """The displacement of a part at a place against its neighbour."""
        own = Node(place.part, self.settings.of(reading, place.part), name, place=True)
        beside = neighbour(place)
        other = None
        if beside in self.settings.fitted and beside != place.part:
            other = Node(beside, self.settings.of(reading, beside), name, place=True)
        return Displacement(own, other, millimetres(place.xyz))


def _from_word(
    word: str, want_mm: float, tolerance_mm: float, spread: Spread
) -> tuple[float, Spread]:
    """Value and spread of a word: within tolerance, or between one and three tolerances beyond.

    Rectangular distributions (JCGM 100:2008, 4.3.7); the reach of "tight", "wide", "low" and
    "high" is common practice, no source.
    """
    value_mm = want_mm + 2.0 * tolerance_mm * _BEYOND.get(word, 0.0)
    return value_mm, Spread(hypot(tolerance_mm / sqrt(3.0), spread.u_mm), spread.tool)
