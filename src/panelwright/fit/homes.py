"""Where a point of a fitted part belongs, and how surely a panel's shape follows it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.fit.notes import left_out
from panelwright.fit.settings import ALWAYS, BEFORE
from panelwright.fit.sketch import Node, Vector

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Point
    from panelwright.facts.repair import Repair
    from panelwright.fit.settings import Settings

SHEET = "sheet"
"""Owner of the fixed places that a dimension sheet, a station or a contact names."""
SAME: Vector = (1.0, 1.0, 1.0)
MIRRORED: Vector = (1.0, -1.0, 1.0)


@dataclass(frozen=True)
class Home:
    """Where one point belongs.

    Parameters
    ----------
    point : str
    source : Node
        The node that the home is taken from.
    mirror : Vector
        Signs that make the home of it.
    shape_u_mm : Vector
        Standard uncertainty of the part's shape there by axis; 0: none, infinite: free.
    """

    point: str
    source: Node
    mirror: Vector
    shape_u_mm: Vector


def node_now(point: Point, settings: Settings) -> Node:
    """The node of a point in the latest setting of what it is on.

    Parameters
    ----------
    point : Point
    settings : Settings

    Returns
    -------
    Node
    """
    return Node(point.on, settings.latest_of(point.on), point.id)


def has_home(point: Point, settings: Settings) -> bool:
    """Whether a point is asked for a home: only fitted parts go home.

    Parameters
    ----------
    point : Point
    settings : Settings

    Returns
    -------
    bool
    """
    return point.home is not None and point.on in settings.fitted


def homes_of(
    repair: Repair, settings: Settings, read: frozenset[Node]
) -> tuple[Mapping[str, Home], tuple[Problem, ...]]:
    """The home of every point that has one, and why others have none.

    Parameters
    ----------
    repair : Repair
    settings : Settings
    read : frozenset of Node
        Nodes that some reading touches.

    Returns
    -------
    mapping
        Homes by point.
    tuple of Problem
    """
    found: dict[str, Home] = {}
    problems: list[Problem] = []
    for point in repair.points:
        if not has_home(point, settings):
            continue
        home = _home(point, repair, settings, read)
        if isinstance(home, Home):
            found[point.id] = home
        else:
            problems.append(home)
    for point_id, problem in tuple(_circular(found, repair)):
        del found[point_id]
        problems.append(problem)
    return found, tuple(problems)


def _home(
    point: Point, repair: Repair, settings: Settings, read: frozenset[Node]
) -> Home | Problem:
    where = f"point {point.id}"
    match point.home:
        case "twin":
            return _twin_home(point, repair, settings, read)
        case "xyz" if point.xyz is None:
            return left_out(where, 'home is "xyz" but xyz is left out; it has no home')
        case "xyz":
            return Home(point.id, Node(SHEET, ALWAYS, point.id), SAME, _sheet_u(point, repair))
        case _:
            source = Node(point.on, BEFORE, point.id)
            if source in read or _has_given_axis(point):
                return Home(point.id, source, SAME, (0.0, 0.0, 0.0))
            return left_out(
                where,
                'home is "before" but no reading with when = "before" reaches it; it has no home',
            )


def _twin_home(
    point: Point, repair: Repair, settings: Settings, read: frozenset[Node]
) -> Home | Problem:
    where = f"point {point.id}"
    twin = repair.point_by_id.get(point.twin) if point.twin is not None else None
    if twin is None:
        return left_out(
            where, f'home is "twin" but twin {point.twin!r} is not there; it has no home'
        )
    if twin.damaged:
        return left_out(where, f"its twin {twin.id!r} is damaged; it has no home")
    if twin.assumed:
        return left_out(
            where, f"its twin {twin.id!r} is only assumed; it has no home: confirm {twin.id}"
        )
    source = node_now(twin, settings)
    if source not in read and not _has_given_axis(twin) and not has_home(twin, settings):
        return left_out(
            where,
            f"no reading reaches its twin {twin.id!r} and no coordinates of it are given with u; "
            f"it has no home: read {twin.id}",
        )
    u_mm = repair.symmetry.u.mm
    return Home(point.id, source, MIRRORED, (u_mm, u_mm, u_mm))


def _sheet_u(point: Point, repair: Repair) -> Vector:
    """The sheet's uncertainty by axis; where the point gives none, as sure as symmetry."""
    if point.u is None:
        u_mm = repair.symmetry.u.mm
        return (u_mm, u_mm, u_mm)
    x, y, z = (inf if u == "free" else u.mm for u in point.u)
    return (x, y, z)


def _has_given_axis(point: Point) -> bool:
    return point.xyz is not None and point.u is not None and any(u != "free" for u in point.u)


def _circular(homes: Mapping[str, Home], repair: Repair) -> Iterator[tuple[str, Problem]]:
    """Homes that would follow the very part that they are to place."""
    needs: dict[str, set[str]] = {}
    for point_id, home in homes.items():
        source, owner = repair.point_by_id.get(home.source.id), repair.point_by_id[point_id].on
        follows_part = (
            source is not None
            and home.source.owner == source.on
            and home.source.setting != BEFORE
            and source.id in homes
        )
        if not follows_part:
            continue
        other = home.source.owner
        if other == owner or owner in _reachable(needs, other):
            yield (
                point_id,
                left_out(
                    f"point {point_id}",
                    f"its home follows {home.source.id} on {other}, whose own home follows "
                    f"{owner}; it has no home",
                ),
            )
        else:
            needs.setdefault(owner, set()).add(other)


def _reachable(needs: Mapping[str, set[str]], start: str) -> set[str]:
    """The parts that a part's homes follow, directly or through others; itself too."""
    found: set[str] = set()
    waiting = [start]
    while waiting:
        part = waiting.pop()
        if part not in found:
            found.add(part)
            waiting.extend(needs.get(part, ()))
    return found
