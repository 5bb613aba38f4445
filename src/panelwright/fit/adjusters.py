"""From adjusters, parts and places of a repair to tasks, one for each group that hangs together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import dist
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.checks.adjusters import same_as, stuck, twice
from panelwright.facts.models.adjusting import NEAR_MM
from panelwright.facts.models.base import millimetres
from panelwright.facts.models.geometry import Contact, Locator
from panelwright.fit.adjuster_items import Judged, items_of, parts_in_order
from panelwright.fit.adjuster_scene import Gathered, Scene, Seen
from panelwright.fit.adjuster_task import Bound, Knob, Task
from panelwright.fit.notes import left_out
from panelwright.fit.part_answer import Verdict
from panelwright.fit.places import locator_directions, named_places, neighbour
from panelwright.fit.readings import CLEARANCE_MM, SEATED_U_MM

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.adjusting import Adjuster
    from panelwright.facts.models.bonding import Event
    from panelwright.facts.problem import Problem
    from panelwright.fit.sketch import Vector

    Floats = NDArray[np.float64]

AT_ITS_PLACE_MM = 100.0
"""A flange or pin no further from an adjuster is moved by it. Common practice, no source."""
_ALONG = 0.5
"""Cosine of 60°: a flange whose normal is no further from an adjuster's direction gives way."""


@dataclass(frozen=True)
class Group:
    """A task with what its items are judged by."""

    task: Task
    judged: tuple[Judged, ...]


@dataclass(frozen=True)
class _Held:
    """A flange or pin along one direction, with its play."""

    label: str
    seen: Seen
    play_mm: float


Numbered = Sequence[tuple[int, "Adjuster"]]


def groups_of(scene: Scene) -> tuple[tuple[Group, ...], tuple[Problem, ...]]:
    """Parts with adjusters, by what hangs together through gaps between them.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    tuple of Group
        Those where something is not known to be inside.
    tuple of Problem
        Adjusters that play no part, or stand still.
    """
    usable, problems = _usable(scene)
    own = {adjuster.part for _, adjuster in usable}
    groups = []
    for parts in _connected(scene, own, usable):
        group = _group(scene, parts, [(n, a) for n, a in usable if a.part in parts])
        if group is not None:
            groups.append(group)
    return tuple(groups), problems


def _usable(scene: Scene) -> tuple[Numbered, tuple[Problem, ...]]:
    repair = scene.network.repair
    adjusters = [as_it_stands(adjuster, repair.events) for adjuster in repair.adjusters]
    usable, problems = [], []
    for number, adjuster in enumerate(adjusters):
        where = f"adjuster[{number}]"
        if adjuster.part not in scene.states:
            problems.append(
                left_out(
                    where,
                    f"{adjuster.part!r} is not fitted yet, so {adjuster.label} is left out: give "
                    "a point of the part its home, or read a gap, contact or pin of it",
                )
            )
        elif (earlier := same_as(adjusters, number)) is not None:
            problems.append(left_out(where, twice(earlier)))
        else:
            usable.append((number, adjuster))
            if (wrong := stuck(adjuster)) is not None:
                problems.append(left_out(f"{where}.{wrong[0]}", wrong[1]))
    return usable, tuple(problems)


def as_it_stands(adjuster: Adjuster, events: Sequence[Event]) -> Adjuster:
    """An adjuster where the last dry fit that says so left it.

    Parameters
    ----------
    adjuster : Adjuster
    events : sequence of Event

    Returns
    -------
    Adjuster
    """
    told = [
        (event.setting or 0, said.to)
        for event in events
        if event.kind == "moved" and event.part == adjuster.part
        for said in event.adjusted
        if adjuster.is_called(said.adjuster)
    ]
    if not told:
        return adjuster
    _, at = max(told, key=lambda one: one[0])
    return adjuster.model_copy(update={"at": at})


def _connected(scene: Scene, own: set[str], usable: Numbered) -> Iterator[frozenset[str]]:
    """Parts with adjusters that a gap between them, or one standing on the other, ties."""
    ties = [(s.part, neighbour(s)) for s in scene.network.repair.stations]
    ties += [(adjuster.part, adjuster.against) for _, adjuster in usable]
    group = {part: frozenset({part}) for part in parts_in_order(scene, frozenset(own))}
    for one, other in ties:
        if one in group and other in group:
            joined = group[one] | group[other]
            group.update(dict.fromkeys(joined, joined))
    yield from dict.fromkeys(group.values())


def _group(scene: Scene, parts: frozenset[str], adjusters: Numbered) -> Group | None:
    free = parts_in_order(scene, parts)
    pushed = tuple(part for part, fit in scene.fits.items() if part not in parts and fit.moves)
    gathered = Gathered(
        scene,
        (
            *(scene.mover(part, is_free=True) for part in free),
            *(scene.mover(part, is_free=False) for part in pushed),
        ),
    )
    judged = items_of(gathered, parts)
    if all(_is_inside(scene, one) for one in judged):
        return None
    knobs = tuple(_knob(gathered, number, adjuster) for number, adjuster in adjusters)
    held = tuple(_flanges_and_pins(gathered, parts, adjusters))
    holds = tuple(_hinges(gathered, adjusters))
    items = tuple(item for one in judged for item in one.items)
    task = Task(free, gathered.rows, items, knobs, _bounds(gathered, held), holds)
    return Group(task, judged)


def _bounds(gathered: Gathered, held: tuple[_Held, ...]) -> tuple[Bound, ...]:
    """Limits about where everything is once the parts beside have gone home."""
    rows = gathered.rows
    stays = np.concatenate([np.zeros(6) if m.is_free else m.home for m in rows.movers])
    moved, _ = rows.at(stays)
    return tuple(
        Bound(
            one.label,
            one.seen.row,
            min(-one.play_mm, one.seen.now_mm + moved[one.seen.row]) - one.seen.now_mm,
            max(one.play_mm, one.seen.now_mm + moved[one.seen.row]) - one.seen.now_mm,
        )
        for one in held
    )


def _is_inside(scene: Scene, judged: Judged) -> bool:
    item = judged.items[0]
    fit = scene.fits[item.part]
    places = fit.points if item.kind == "point" else fit.stations
    return all(place.verdict is Verdict.INSIDE for place in places if place.id == item.id)


def _sides(adjuster: Adjuster, along: Floats) -> tuple[tuple[str, Floats, Floats], ...]:
    place = np.array(millimetres(adjuster.xyz))
    return (adjuster.part, place, along), (adjuster.against, place, -along)


def _knob(gathered: Gathered, number: int, adjuster: Adjuster) -> Knob:
    scene = gathered.scene
    place, along = np.array(millimetres(adjuster.xyz)), np.array(adjuster.along)
    follow = scene.follow(adjuster.part, place, along)
    if adjuster.against in scene.states:
        follow = follow - scene.follow(adjuster.against, place, along)
    low, high = (end.mm - adjuster.at.mm for end in adjuster.range)
    wrong = stuck(adjuster)
    u_mm = scene.spread_of(follow)
    notes = [wrong[1]] if wrong is not None else []
    if u_mm is None:
        notes.append("these readings do not show how far off the part is there")
    setting = scene.states[adjuster.part].pose.setting
    if setting > 1 and "at" not in adjuster.model_fields_set:
        notes.append(f"where it stands in dry fit {setting} is not given (at): taken as 0 mm")
    return Knob(
        adjuster,
        number,
        gathered.row(_sides(adjuster, along)),
        low if wrong is None else 0.0,
        high if wrong is None else 0.0,
        adjuster.step.mm if adjuster.step is not None else 0.0,
        u_mm,
        "; ".join(notes),
    )


def _flanges_and_pins(
    gathered: Gathered, parts: frozenset[str], adjusters: Numbered
) -> Iterator[_Held]:
    """A part neither leaves its flanges and pins further than now or than their play, nor presses.

    What an adjuster moves is left to it: flanges and pins at its place, and those that it frees.
    """
    for name, place in named_places(gathered.scene.network.repair):
        if not isinstance(place, Contact | Locator) or place.part not in gathered.scene.states:
            continue
        if not {place.part, neighbour(place)} & parts:
            continue
        for direction, play_mm in _held(place):
            if any(_gives_way(place, direction, adjuster) for _, adjuster in adjusters):
                continue
            seen = gathered.between(name, place.part, neighbour(place), direction)
            if seen.u_mm is not None:
                yield _Held(place.name or place.id, seen, play_mm)


def _held(place: Contact | Locator) -> Iterator[tuple[Vector, float]]:
    """Directions that a flange or pin holds, with its play [mm]."""
    if isinstance(place, Contact):
        yield place.normal, SEATED_U_MM
        return
    along, across = locator_directions(place)
    play_mm = place.clearance.mm if place.clearance is not None else CLEARANCE_MM
    if place.slot_along is None:
        yield along, play_mm
    yield across, play_mm


def _gives_way(place: Contact | Locator, direction: Vector, adjuster: Adjuster) -> bool:
    if place.id in adjuster.frees:
        return True
    apart = dist(millimetres(place.xyz), millimetres(adjuster.xyz))
    alike = abs(sum(a * b for a, b in zip(direction, adjuster.along, strict=True)))
    own = adjuster.part in (place.part, neighbour(place))
    return own and apart <= AT_ITS_PLACE_MM and alike >= _ALONG


def _hinges(gathered: Gathered, adjusters: Numbered) -> Iterator[Bound]:
    """A hinge holds the part at its place in every direction in which it is not adjusted."""
    waiting = [adjuster for _, adjuster in adjusters if adjuster.what == "hinge"]
    while waiting:
        first = waiting[0]
        at = millimetres(first.xyz)
        hinge = [
            one
            for one in waiting
            if (one.part, one.against) == (first.part, first.against)
            and dist(at, millimetres(one.xyz)) <= NEAR_MM
        ]
        waiting = [one for one in waiting if one not in hinge]
        _, values, axes = np.linalg.svd(np.array([one.along for one in hinge]))
        adjusted = int(np.sum(values > 1e-3))
        for axis in axes[adjusted:]:
            yield Bound(first.label, gathered.row(_sides(first, axis)), 0.0, 0.0)
