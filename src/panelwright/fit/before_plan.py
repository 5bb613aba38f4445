"""Every reading that could be taken before cutting and at the dry fit, as one network.

The repair is taken with all of these readings as if they were read already; the network that
follows tells what each of them would say.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import dist
from typing import TYPE_CHECKING, Any

import numpy as np

from panelwright.facts.models.readings import (
    ContactReading,
    LocatorReading,
    PlaceReading,
    SpanReading,
    StationReading,
)
from panelwright.fit.at_hand import SHORTEST_MM, at_hand
from panelwright.fit.candidate import What
from panelwright.fit.homes import homes_of
from panelwright.fit.network import network_of
from panelwright.fit.settings import BEFORE, settings_of
from panelwright.fit.sketch import Kind
from panelwright.fit.tools import instruments

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Point
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.fit.at_hand import AtHand
    from panelwright.fit.network import Network
    from panelwright.fit.sketch import Node

    Floats = NDArray[np.float64]
    Place = tuple[float, float, float]

MOST_POINTS = 40
"""Points that stay are tried each with each up to so many, in the order of the file."""


@dataclass(frozen=True)
class Plan:
    """A network with everything that could be read.

    Parameters
    ----------
    network : Network
    what : tuple of What
        Readings to choose from before cutting.
    rows : tuple of array, each of shape (r, u)
        What each says, over its uncertainty; r is 1, or 3 for coordinates.
    nodes : tuple of frozenset of Node
        What each touches.
    always : array, shape (m, u)
        What is read, given or will be read at the dry fit, over its uncertainty, priors last.
    homed_anyway : frozenset of str
        Points that have a home whatever is chosen.
    """

    network: Network
    what: tuple[What, ...]
    rows: tuple[Floats, ...]
    nodes: tuple[frozenset[Node], ...]
    always: Floats
    homed_anyway: frozenset[str]

    @property
    def everything(self) -> Floats:
        """All rows, shape (n, u)."""
        return np.concatenate([self.always, *self.rows])

    def has_home(self, point: str, chosen: tuple[int, ...]) -> bool:
        """Whether a point has a home with a choice of readings: something reaches its source."""
        if point in self.homed_anyway:
            return True
        home = self.network.homes[point]
        sources = {one.source for one in home.of or (home,)}
        return any(sources & self.nodes[k] for k in chosen)


def plan_of(repair: Repair, parts: tuple[str, ...], *more_tools: str) -> Plan:
    """Everything that could be read before some parts come off and when they are fitted.

    Parameters
    ----------
    repair : Repair
    parts : tuple of str
        Parts that are still on.
    more_tools : str
        Built-in tools to count in although they are not at hand.

    Returns
    -------
    Plan
    """
    hand = at_hand(repair, instruments(repair), *more_tools)
    places = dict(_rough_places(repair))
    asked = list(_before(repair, parts, hand, places))
    fitting = list(_at_dry_fit(repair, parts, hand, places))
    first = len(repair.readings)
    trial = replace(
        repair, readings=(*repair.readings, *(reading for _, reading in asked), *fitting)
    )
    network = network_of(trial)
    _, jacobian = network.equations.weighted(network.start)
    by_reading: dict[int, list[int]] = {}
    for row, sketch in enumerate(network.sketches):
        by_reading.setdefault(sketch.index, []).append(row)
    chosen = [
        (what, by_reading[first + k])
        for k, (what, _) in enumerate(asked)
        if first + k in by_reading
    ]
    optional = {row for _, rows in chosen for row in rows}
    touched = frozenset(
        node
        for row, sketch in enumerate(network.sketches)
        if row not in optional and sketch.kind is Kind.READING
        for node in sketch.nodes
    )
    homed, _ = homes_of(repair, network.settings, touched)
    return Plan(
        network,
        tuple(what for what, _ in chosen),
        tuple(jacobian[rows] for _, rows in chosen),
        tuple(
            frozenset(node for row in rows for node in network.sketches[row].nodes)
            for _, rows in chosen
        ),
        np.delete(jacobian, sorted(optional), axis=0),
        frozenset(homed),
    )


def _rough_places(repair: Repair) -> Iterator[tuple[str, Place]]:
    """Where each point is about: its own xyz, else its twin's mirrored."""
    for point in repair.points:
        if point.xyz is not None:
            x, y, z = (value.mm for value in point.xyz)
            yield point.id, (x, y, z)
            continue
        twin = repair.point_by_id.get(point.twin or "")
        if twin is not None and twin.xyz is not None:
            x, y, z = (value.mm for value in twin.xyz)
            yield point.id, (x, -y, z)


def _before(
    repair: Repair, parts: tuple[str, ...], hand: AtHand, places: Mapping[str, Place]
) -> Iterator[tuple[What, Reading]]:
    """Spans between what stays, and to the old part's own points where these are a home."""
    stay = _staying(repair, places)
    old = [p for p in repair.points if p.on in parts and "before" in p.homes and p.id in places]
    pairs = [*combinations(stay, 2), *((point, other) for point in old for other in stay)]
    taken = _taken(repair)
    blocked = {frozenset((pair.from_, pair.to)) for pair in repair.blocked}
    for one, other in pairs:
        ends = frozenset((one.id, other.id))
        length = dist(places[one.id], places[other.id])
        for tool in hand.spanning():
            reaches = SHORTEST_MM < length < hand.reach_mm[tool.id]
            if reaches and ends not in blocked and (ends, tool.id) not in taken:
                what = What("span", (one.id, other.id), tool.id, hand.minutes[tool.id], length)
                yield what, _span(one.id, other.id, length, tool.id, {"when": "before"})
    for tool in hand.of_kind("photo"):
        for point in (*stay, *old):
            x, y, z = places[point.id]
            said = {"point": point.id, "xyz": (x, y, z), "with": tool.id, "when": "before"}
            what = What("place", (point.id,), tool.id, hand.minutes[tool.id])
            yield what, PlaceReading.model_validate(said)


def _staying(repair: Repair, places: Mapping[str, Place]) -> list[Point]:
    """Points that stay where they are, damaged ones left out."""
    settings = settings_of(repair)
    return [
        point
        for point in repair.points
        if point.on in settings.staying
        and point.id in places
        and not (point.damaged or point.assumed)
    ][:MOST_POINTS]


def _taken(repair: Repair) -> set[tuple[frozenset[str], str]]:
    """Spans that were read before cutting or of the body alone, with their tool."""
    settings = settings_of(repair)
    found = set()
    for reading in repair.readings:
        if isinstance(reading, SpanReading) and reading.when != "sister":
            ends = {reading.from_, reading.to}
            owners = [repair.point_by_id[end].on for end in ends if end in repair.point_by_id]
            if all(o in settings.staying or settings.of(reading, o) == BEFORE for o in owners):
                found.add((frozenset(ends), reading.with_ or "tape"))
    return found


def _at_dry_fit(
    repair: Repair, parts: tuple[str, ...], hand: AtHand, places: Mapping[str, Place]
) -> Iterator[Reading]:
    """What can be read of the parts once they hang: spans with the surest tool, flanges, gaps."""
    now: dict[str, Any] = {"setting": 1}
    blocked = {frozenset((pair.from_, pair.to)) for pair in repair.blocked}
    stay = _staying(repair, places)
    own = [point for point in repair.points if point.on in parts and point.id in places]
    for point in own:
        for other in stay:
            length = dist(places[point.id], places[other.id])
            tools = [t for t in hand.spanning() if SHORTEST_MM < length < hand.reach_mm[t.id]]
            if tools and frozenset((point.id, other.id)) not in blocked:
                surest = min(tools, key=lambda tool: tool.u_at_mm(length))
                yield _span(point.id, other.id, length, surest.id, now)
    for station in repair.stations:
        if station.part in parts:
            said = {
                key: check.want.mm
                for key, check, towards in (
                    ("gap", station.gap, station.gap_towards),
                    ("flush", station.flush, station.flush_towards),
                )
                if check is not None and towards is not None
            }
            yield StationReading.model_validate(
                {"station": station.id, "with": "gauge", **said, **now}
            )
    for contact in repair.contacts:
        if contact.part in parts:
            yield ContactReading.model_validate({"contact": contact.id, "state": "seated", **now})
    for locator in repair.locators:
        if locator.part in parts:
            yield LocatorReading.model_validate({"locator": locator.id, "state": "aligned", **now})


def _span(one: str, other: str, length: float, tool: str, said: dict[str, Any]) -> SpanReading:
    return SpanReading.model_validate(
        {"from": one, "to": other, "value": length, "with": tool, **said}
    )
