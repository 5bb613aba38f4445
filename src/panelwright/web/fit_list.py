"""The readings to take in a stage, one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
from panelwright.facts.repair import BODY
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.next_words import worth_words
from panelwright.web.fit_before import before_of
from panelwright.web.fit_stages import Stage, Stages
from panelwright.web.fit_targets import (
    Read,
    Target,
    is_there,
    parts_of,
    target_of_next,
    target_of_reading,
)

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import HomeSource, Point
    from panelwright.facts.models.readings import Reading
    from panelwright.facts.repair import Repair
    from panelwright.fit.next_answer import NextReading
    from panelwright.record import Unanswered

SHORTEST_MM, LONGEST_MM = 50.0, 3000.0
"""Spans that one person takes with a tape. Common practice, no source."""
MOST_PAIRS = 4
"""Pairs of the body that are compared each with each; more would not be finished in a morning."""
REACHES = 4
"""Spans that place a point which is wanted where it was before."""
LEAST_GAIN = 0.005
"""A proposal that takes away less of the doubt is not worth the walk."""


@dataclass(frozen=True)
class Wanted:
    """A reading on the list.

    Attributes
    ----------
    target : Target
    index : int or None
        Of the reading of this stage that is there already, in the order of the repair.
    why : str
        Why it is on the list.
    about_mm : float or None
        About how long a span is.
    """

    target: Target
    index: int | None = None
    why: str = ""
    about_mm: float | None = None


def is_worth(reading: NextReading) -> bool:
    """Tell whether a proposal is worth the walk."""
    return reading.gain >= LEAST_GAIN or reading.settles >= LEAST_GAIN


def wanted(
    repair: Repair, stages: Stages, stage: Stage, fit: FitAnswer | Unanswered
) -> tuple[Wanted, ...]:
    """Give the readings to take in a stage, in the order in which they are taken."""
    taken = _taken(repair, stages, stage)
    lines = _asked(repair, stages, stage, fit)
    found: dict[frozenset[object], Wanted] = {}
    own = [(Target(t.kind, t.names), "read in this stage") for t, _ in taken.values()]
    for target, why in _in_order(lines, own, fit, stages, stage):
        if target.same in found or not is_there(target, repair):
            continue
        there = taken.get(target.same)
        found[target.same] = Wanted(
            there[0] if there else target,
            there[1] if there else None,
            why,
            about_mm(target, repair, fit),
        )
    return tuple(found.values())


def _asked(
    repair: Repair, stages: Stages, stage: Stage, fit: FitAnswer | Unanswered
) -> Iterator[tuple[Target, str]]:
    """Give what a stage asks for by itself."""
    if stage.is_fit:
        return _fitting(repair, stages, stage)
    return _on_sister(repair) if stage.number else _before(repair, fit)


def _in_order(
    lines: Iterable[tuple[Target, str]],
    own: list[tuple[Target, str]],
    fit: FitAnswer | Unanswered,
    stages: Stages,
    stage: Stage,
) -> Iterator[tuple[Target, str]]:
    """Give what is asked for, then what was read besides, then what the fit proposes."""
    yield from lines
    yield from own
    if isinstance(fit, FitAnswer) and stage.is_fit and stage == stages.all[-1]:
        for reading in fit.next:
            target = target_of_next(reading)
            if target is not None and is_worth(reading):
                yield target, worth_words(reading, len(fit.deciders))


def _taken(
    repair: Repair, stages: Stages, stage: Stage
) -> dict[frozenset[object], tuple[Target, int]]:
    """Give the newest reading of each target in a stage: the target as it was read, its index."""
    found: dict[frozenset[object], tuple[Target, int]] = {}
    for index, reading in enumerate(repair.readings):
        target = target_of_reading(reading)
        if target is not None and stages.number_of(reading, repair) == stage.number:
            found[target.same] = (target, index)
    return found


def _fitting(repair: Repair, stages: Stages, stage: Stage) -> Iterator[tuple[Target, str]]:
    """Give what every dry fit reads: flanges, pins, gaps, and the spans of the one before."""
    parts = {part for part in stages.fitted if stages.latest_of(part) >= stage.number}
    for kind, places, why in (
        (Read.CONTACT, repair.contacts, "the flange must lie on"),
        (Read.LOCATOR, repair.locators, "pins tie the part"),
        (Read.STATION, repair.stations, "gap-and-flush check"),
    ):
        for place in places:
            if place.part in parts:
                yield Target(kind, (place.id,)), why
    for number in range(stage.number - 1, -1, -1):
        again = [
            target
            for target in _spans_of(repair, stages, number)
            if parts & set(parts_of(target, repair))
        ]
        yield from ((target, f"as {Stage(number).words.lower()}") for target in again)
        if again:
            return


def _spans_of(repair: Repair, stages: Stages, number: int) -> Iterator[Target]:
    for reading in repair.readings:
        target = target_of_reading(reading)
        if (
            target is not None
            and target.kind in (Read.SPAN, Read.COMPARE, Read.HEIGHT)
            and stages.number_of(reading, repair) == number
        ):
            yield target


def _before(repair: Repair, fit: FitAnswer | Unanswered) -> Iterator[tuple[Target, str]]:
    """Give what is lost once it is cut, what tells whether the body is true, then old places."""
    planned = before_of(repair, fit)
    for one in planned.readings if planned is not None else ():
        if one.from_ is not None and one.to is not None:
            yield Target(Read.SPAN, (one.from_, one.to)), one.loses
    blocked = {frozenset((pair.from_, pair.to)) for pair in repair.blocked}
    for a, b, why in (*_across(repair), *_old_places(repair)):
        if frozenset((a.id, b.id)) not in blocked and _reaches(a, b):
            yield Target(Read.SPAN, (a.id, b.id)), why


def _on_sister(repair: Repair) -> Iterator[tuple[Target, str]]:
    """Give spans that place what belongs where it is on a sister vehicle."""
    blocked = {frozenset((pair.from_, pair.to)) for pair in repair.blocked}
    for a, b in _spans_from(repair, "sister"):
        if frozenset((a.id, b.id)) not in blocked and _reaches(a, b):
            yield Target(Read.SPAN, (a.id, b.id)), "the part goes where it is there"


def _across(repair: Repair) -> Iterator[tuple[Point, Point, str]]:
    """Give openings and diagonals between undamaged pairs, and the middle to both sides."""
    pairs = tuple(_pairs(repair))[:MOST_PAIRS]
    for one, other in pairs:
        yield one, other, "opening"
    for (one, one_twin), (other, other_twin) in combinations(pairs, 2):
        yield one, other_twin, "diagonal"
        yield one_twin, other, "diagonal, the other way"
    middle = [p for p in repair.points if p.on == BODY and p.twin is None and not p.damaged]
    for point in middle:
        near = [pair for pair in pairs if _reaches(point, pair[0])]
        for side in min(near, key=lambda pair: _length(point, pair[0]) or math.inf, default=()):
            yield point, side, "from the middle, the same on both sides"


def _pairs(repair: Repair) -> Iterator[tuple[Point, Point]]:
    seen: set[str] = set()
    for point in repair.points:
        twin = repair.point_by_id.get(point.twin or "")
        if twin is None or point.id in seen:
            continue
        seen |= {point.id, twin.id}
        if point.on == twin.on == BODY and not (point.damaged or twin.damaged):
            yield point, twin


def _old_places(repair: Repair) -> Iterator[tuple[Point, Point, str]]:
    for point, other in _spans_from(repair, "before"):
        yield point, other, "the new part goes where this was"


def _spans_from(repair: Repair, home: HomeSource) -> Iterator[tuple[Point, Point]]:
    """Give spans from each point with such a home to sound points of the body near it."""
    body = [p for p in repair.points if p.on == BODY and not p.damaged]
    for point in repair.points:
        if home not in point.homes or point.on == BODY:
            continue
        near = sorted(body, key=lambda other: _length(point, other) or math.inf)
        yield from ((point, other) for other in near[:REACHES])


def _length(a: Point, b: Point) -> float | None:
    if a.xyz is None or b.xyz is None:
        return None
    return math.dist(millimetres(a.xyz), millimetres(b.xyz))


def _reaches(a: Point, b: Point) -> bool:
    length = _length(a, b)
    return length is None or SHORTEST_MM < length < LONGEST_MM


SURE_MM = 20.0
"""A span between points placed less surely than this is not foretold."""


def about_mm(target: Target, repair: Repair, fit: FitAnswer | Unanswered) -> float | None:
    """Give about how long a span is, where both its ends are placed well enough."""
    if target.kind is not Read.SPAN or not isinstance(fit, FitAnswer):
        return None
    placed = {point.id: point for point in fit.points}
    ends = [placed.get(name) for name in target.names]
    places = [
        end.xyz_mm
        for end in ends
        if end is not None
        and end.xyz_mm is not None
        and all(u is not None and u < SURE_MM for u in end.u_mm)
    ]
    if len(places) != 2 or not is_there(target, repair):
        return None
    return math.dist(places[0], places[1])


def next_after(lines: tuple[Wanted, ...], key: str) -> Wanted | None:
    """Give the first reading that is not there yet after one of the list; None at the end."""
    keys = [line.target.key for line in lines]
    start = keys.index(key) + 1 if key in keys else 0
    return next((line for line in lines[start:] if line.index is None), None)


def readings_of(repair: Repair, lines: tuple[Wanted, ...]) -> dict[str, Reading]:
    """Give by key the readings of a list that are there."""
    return {
        line.target.key: repair.readings[line.index] for line in lines if line.index is not None
    }
