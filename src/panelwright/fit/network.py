"""From a repair's facts to the numbered unknowns and equations of its network."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.assumed import to_confirm
from panelwright.facts.models.base import millimetres
from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY
from panelwright.fit.equations import Equations
from panelwright.fit.geometry import KNOWN, Geometry, PosedPart
from panelwright.fit.given import (
    coordinate_sketches,
    home_sketches,
    node_of_coordinates,
    pair_sketches,
    sister_sketches,
)
from panelwright.fit.homes import COMBINED, SHEET, Home, homes_of
from panelwright.fit.hung import hanging
from panelwright.fit.notes import left_out
from panelwright.fit.numbering import Numbering, equations_of
from panelwright.fit.pasted import copies_of, pasted_problems
from panelwright.fit.places import named_places, neighbour
from panelwright.fit.readings import Reader
from panelwright.fit.rounding import coarse_problems
from panelwright.fit.settings import (
    ALWAYS,
    BEFORE,
    Settings,
    parts_read,
    settings_of,
)
from panelwright.fit.sketch import SISTER_VEHICLE, Node, Sketch, Vector
from panelwright.fit.spring import spring_u_mm
from panelwright.fit.starts import start_places
from panelwright.fit.tools import Instrument, instruments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]


_ELSEWHERE = frozenset({SHEET, COMBINED, SISTER_VEHICLE})
"""Owners of nodes that are no points of this vehicle."""


@dataclass(frozen=True)
class Pose:
    """One part in one setting: which points and places hang on it, in the order of its nodes."""

    part: str
    setting: int
    points: tuple[Home, ...]
    places: tuple[Node, ...]
    centred_on: frozenset[Node]
    """Places that make up c; none where the part has points with a home."""
    spring_u_mm: float = 0.0
    """How far its skin may be twisted or bowed."""


@dataclass(frozen=True)
class Network:
    """A repair's network, numbered.

    Parameters
    ----------
    sketches : tuple of Sketch
        In the order of the observations.
    number : mapping
        Number of every node.
    poses, posed : tuple
        Poses and their numbers, alike in order.
    start : array, shape (u,)
    """

    repair: Repair
    settings: Settings
    homes: Mapping[str, Home]
    tools: Mapping[str, Instrument]
    sketches: tuple[Sketch, ...]
    number: Mapping[Node, int]
    poses: tuple[Pose, ...]
    posed: tuple[PosedPart, ...]
    equations: Equations
    start: Floats
    problems: tuple[Problem, ...]
    copies: Mapping[int, int] = field(default_factory=dict)
    """Readings that were pasted in twice, and what each is a copy of."""

    @property
    def geometry(self) -> Geometry:
        """Its nodes."""
        return self.equations.geometry

    @cached_property
    def frame(self) -> Indices:
        """Root nodes that inner constraints are taken over: body points, else all points."""
        roots = [
            (node, number)
            for node, number in self.number.items()
            if number < len(self.geometry.roots) and node.owner not in _ELSEWHERE
        ]
        body = [number for node, number in roots if node.owner == BODY]
        return np.array(body or [number for _, number in roots], dtype=np.intp)

    @cached_property
    def place_xyz(self) -> Mapping[str, Floats]:
        """Where every station, contact and locator is, by its name, shape (3,) [mm]."""
        return {name: np.array(millimetres(place.xyz)) for name, place in named_places(self.repair)}

    @cached_property
    def place_part(self) -> Mapping[str, str]:
        """The part of every station, contact and locator, by its name."""
        return {name: place.part for name, place in named_places(self.repair)}

    def rough(self, node: Node) -> Floats | None:
        """The place that was given for a point or for its twin, shape (3,) [mm]."""
        xyz = _given_place(node, self.repair)
        return None if xyz is None else np.array(xyz)

    def latest_poses(self) -> Iterator[tuple[Pose, PosedPart]]:
        """Every fitted part in its latest setting, in the order of the file."""
        found = {
            pose.part: (pose, posed)
            for pose, posed in zip(self.poses, self.posed, strict=True)
            if pose.setting == self.settings.latest_of(pose.part)
        }
        for part in self.repair.parts:
            if part.id in found:
                yield found[part.id]


def network_of(repair: Repair) -> Network:
    """Number the unknowns and equations of a repair.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Network
        With what had to be left out among its problems.
    """
    hung = hanging(repair)
    repair = hung.repair
    settings, tools = settings_of(repair), instruments(repair)
    copies = copies_of(repair.readings)
    read, problems = Reader(repair, settings, tools, frozenset(copies), hung.off).sketches()
    touched = frozenset(node for sketch in read for node in sketch.nodes)
    homes, homeless = homes_of(repair, settings, touched)
    given = tuple(coordinate_sketches(repair, homes, settings))
    fixed = frozenset(_fixed_nodes(repair, homes, settings))
    known = touched | fixed | {node for sketch in given for node in sketch.nodes}
    sketches = (
        *read,
        *given,
        *pair_sketches(repair, settings, known),
        *sister_sketches(repair, settings, known),
        *home_sketches(homes),
    )
    poses = _in_order(_poses(repair, settings, homes, sketches))
    roots = _root_nodes(sketches, poses, fixed)
    placed = _places(repair, roots, sketches)
    numbering = Numbering.of(roots, placed, _known_axes(repair, roots, homes, settings), poses)
    equations = equations_of(numbering, sketches)
    start = np.zeros(equations.geometry.size)
    unknown = numbering.unknown != KNOWN
    start[numbering.unknown[unknown]] = numbering.roots[unknown]
    return Network(
        repair,
        settings,
        homes,
        tools,
        sketches,
        numbering.number,
        poses,
        numbering.posed,
        equations,
        start,
        (
            *problems,
            *pasted_problems(copies),
            *coarse_problems(repair, read),
            *homeless,
            *_unclear(repair, settings),
            *to_confirm(repair.assumed, "point", "station", "contact", "locator"),
        ),
        copies,
    )


def _fixed_nodes(repair: Repair, homes: Mapping[str, Home], settings: Settings) -> Iterator[Node]:
    """Points of which every coordinate is known."""
    for point in repair.points:
        node = node_of_coordinates(point, homes, settings)
        if node is None or point.u is None or point.id in homes:
            continue
        if all(u != "free" and u.mm == 0.0 for u in point.u):
            yield node


def _unclear(repair: Repair, settings: Settings) -> Iterator[Problem]:
    for index, reading in enumerate(repair.readings):
        for part in parts_read(reading, repair):
            if settings.is_unclear(reading, part):
                yield left_out(
                    f"reading[{index}]",
                    f"{part} has been moved since it was first fitted, and the reading has "
                    "neither setting nor at; it is counted in setting 1",
                )


def _poses(
    repair: Repair, settings: Settings, homes: Mapping[str, Home], sketches: tuple[Sketch, ...]
) -> Iterator[Pose]:
    """Every fitted part in every setting that is read, and in its latest."""
    read = {(node.owner, node.setting) for sketch in sketches for node in sketch.nodes}
    for part in repair.parts:
        if part.id not in settings.fitted:
            continue
        points = tuple(
            homes[point.id] for point in repair.points if point.on == part.id and point.id in homes
        )
        latest = settings.latest_of(part.id)
        for setting in sorted({latest} | {s for owner, s in read if owner == part.id}):
            places, own = _places_of(part.id, setting, repair)
            if setting != BEFORE and (points or own):
                centred_on = frozenset() if points else own
                spring_u = spring_u_mm(part, setting, repair, settings)
                yield Pose(part.id, setting, points, places, centred_on, spring_u)


def _places_of(part: str, setting: int, repair: Repair) -> tuple[tuple[Node, ...], frozenset[Node]]:
    """Nodes of all stations, contacts and locators that touch a part; and those of its own."""
    touching = {}
    for name, place in named_places(repair):
        if part in (place.part, neighbour(place)):
            touching[Node(part, setting, name, place=True)] = place.part == part
    return tuple(touching), frozenset(node for node, own in touching.items() if own)


def _in_order(poses: Iterator[Pose]) -> tuple[Pose, ...]:
    """Poses with those first that other parts' homes follow; homes are free of circles."""
    waiting = list(poses)
    ordered: list[Pose] = []
    while waiting:
        placed_later = {
            (pose.part, pose.setting, home.point) for pose in waiting for home in pose.points
        }
        ready = [
            pose
            for pose in waiting
            if not any(
                (home.source.owner, home.source.setting, home.source.id) in placed_later
                for home in pose.points
            )
        ]
        ordered.extend(ready)
        waiting = [pose for pose in waiting if pose not in ready]
    return tuple(ordered)


def _root_nodes(
    sketches: tuple[Sketch, ...], poses: tuple[Pose, ...], fixed: frozenset[Node]
) -> tuple[Node, ...]:
    """All nodes that hang on no pose, each once, in order of first use."""
    posed = {
        node
        for pose in poses
        for node in (
            *pose.places,
            *(Node(pose.part, pose.setting, home.point) for home in pose.points),
        )
    }
    used = chain(
        (node for sketch in sketches for node in sketch.nodes),
        (home.source for pose in poses for home in pose.points),
        (Node(SHEET, ALWAYS, place.id, place=True) for pose in poses for place in pose.places),
        sorted(fixed),
    )
    return tuple(dict.fromkeys(node for node in used if node not in posed))


def _places(
    repair: Repair, roots: tuple[Node, ...], sketches: tuple[Sketch, ...]
) -> Mapping[Node, Floats]:
    """Where every root node is, or starts."""
    at_place = {name: millimetres(place.xyz) for name, place in named_places(repair)}
    placed: dict[Node, Floats] = {}
    for node in roots:
        xyz = at_place[node.id] if node.place else _given_place(node, repair)
        if xyz is not None:
            placed[node] = np.array(xyz)
    wanted = [node for node in roots if node not in placed]
    return {**placed, **start_places(wanted, placed, sketches)}


def _given_place(node: Node, repair: Repair) -> Vector | None:
    """A point's own xyz, else its twin's mirrored."""
    point = repair.point_by_id[node.id]
    if point.xyz is not None:
        return millimetres(point.xyz)
    twin = repair.point_by_id.get(point.twin) if point.twin is not None else None
    if twin is None:
        twin = next((other for other in repair.points if other.twin == point.id), None)
    if twin is None or twin.xyz is None:
        return None
    x, y, z = millimetres(twin.xyz)
    return (x, -y, z)


def _known_axes(
    repair: Repair, roots: tuple[Node, ...], homes: Mapping[str, Home], settings: Settings
) -> Mapping[Node, tuple[bool, bool, bool]]:
    """Which axes of a root node are known; nodes that are not in it are free."""
    known = {node: (True, True, True) for node in roots if node.owner == SHEET}
    for point in repair.points:
        node = node_of_coordinates(point, homes, settings)
        if node is not None and point.u is not None:
            x, y, z = (u != "free" and u.mm == 0.0 for u in point.u)
            known[node] = (x, y, z)
    return known
