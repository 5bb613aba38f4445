"""Where a point of a fitted part belongs, and how surely a panel's shape follows it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import hypot, inf, isinf, sqrt
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.fit.notes import left_out
from panelwright.fit.settings import ALWAYS, BEFORE, SISTER
from panelwright.fit.sketch import SISTER_VEHICLE, Node, Vector
from panelwright.fit.tools import LEAST_U_MM

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import HomeSource, Point
    from panelwright.facts.repair import Repair
    from panelwright.fit.settings import Settings

SHEET = "sheet"
"""Owner of the fixed places that a dimension sheet, a station or a contact names."""
COMBINED = "combined homes"
"""Owner of the homes that are the mean of several sources."""
READ_U_MM = 1.0
"""How surely a tape places the source of a home, for the weights of a mean alone. Common practice,
no source."""
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
    kind : str
        "twin", "xyz", "before", "sister", or "combined".
    weight_u_mm : Vector
        Standard uncertainty by which it is weighted against other sources by axis.
    of : tuple of Home
        What a combined home is the mean of.
    """

    point: str
    source: Node
    mirror: Vector
    shape_u_mm: Vector
    kind: str = ""
    weight_u_mm: Vector = (0.0, 0.0, 0.0)
    of: tuple[Home, ...] = ()

    def weights(self) -> tuple[Vector, ...]:
        """Weight of each source of a combined home by axis; they add up to 1."""
        by_axis = [_weights([one.weight_u_mm[axis] for one in self.of]) for axis in range(3)]
        return tuple((x, y, z) for x, y, z in zip(*by_axis, strict=True))


def _weights(u_mm: list[float]) -> list[float]:
    """1/u² each, over their sum; alike where every source is free."""
    each = [0.0 if isinf(u) else 1.0 / max(u, LEAST_U_MM) ** 2 for u in u_mm]
    total = sum(each)
    return [w / total for w in each] if total > 0.0 else [1.0 / len(each)] * len(each)


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
        told = [_home(point, kind, repair, settings, read) for kind in point.homes]
        problems += [home for home in told if isinstance(home, Problem)]
        homes = [home for home in told if isinstance(home, Home)]
        if homes:
            found[point.id] = homes[0] if len(homes) == 1 else _combined(point, homes)
    for point_id, problem in tuple(_circular(found, repair)):
        del found[point_id]
        problems.append(problem)
    return found, tuple(problems)


def _combined(point: Point, homes: list[Home]) -> Home:
    """The weighted mean of several homes; its shape is as sure as they are together."""
    node = Node(COMBINED, ALWAYS, point.id)
    mean = Home(point.id, node, SAME, (0.0, 0.0, 0.0), "combined", of=tuple(homes))
    weights = mean.weights()
    x, y, z = (
        sqrt(
            sum(
                (weight[axis] * home.shape_u_mm[axis]) ** 2
                for weight, home in zip(weights, homes, strict=True)
                if weight[axis] > 0.0
            )
        )
        for axis in range(3)
    )
    return replace(mean, shape_u_mm=(x, y, z))


def _home(
    point: Point, kind: HomeSource, repair: Repair, settings: Settings, read: frozenset[Node]
) -> Home | Problem:
    where = f"point {point.id}"
    match kind:
        case "twin":
            return _twin_home(point, repair, settings, read)
        case "xyz" if point.xyz is None:
            return left_out(where, 'home is "xyz" but xyz is left out; it has no home')
        case "xyz":
            u_mm = _sheet_u(point, repair)
            return Home(point.id, Node(SHEET, ALWAYS, point.id), SAME, u_mm, "xyz", u_mm)
        case "sister":
            return _sister_home(point, repair, read)
        case _:
            source = Node(point.on, BEFORE, point.id)
            given = _has_given_axis(point) and "xyz" not in point.homes
            if source in read or given:
                return Home(point.id, source, SAME, (0.0, 0.0, 0.0), "before", _read_u(0.0))
            return left_out(
                where,
                'home is "before" but no reading with when = "before" reaches it; it has no home',
            )


def _sister_home(point: Point, repair: Repair, read: frozenset[Node]) -> Home | Problem:
    source = Node(SISTER_VEHICLE, SISTER, point.id)
    if source not in read and all(one.point != point.id for one in repair.sisters):
        return left_out(
            f"point {point.id}",
            'home is "sister" but no reading with when = "sister" reaches it, and no [[sister]] '
            "gives its coordinates; it has no home",
        )
    u_mm = repair.symmetry.sister.mm
    return Home(point.id, source, SAME, (u_mm, u_mm, u_mm), "sister", _read_u(u_mm))


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
    return Home(point.id, source, MIRRORED, (u_mm, u_mm, u_mm), "twin", _read_u(u_mm, twin))


def _read_u(shape_u_mm: float, source: Point | None = None) -> Vector:
    """Uncertainty of a home that was measured: of its shape, and of where its source lies."""
    given = source.u if source is not None and _has_given_axis(source) else None
    u_mm = [READ_U_MM if u == "free" else u.mm for u in given] if given else [READ_U_MM] * 3
    x, y, z = (hypot(shape_u_mm, u) for u in u_mm)
    return (x, y, z)


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
    flat = ((point_id, one) for point_id, home in homes.items() for one in home.of or (home,))
    told: set[str] = set()
    for point_id, home in flat:
        if point_id in told:
            continue
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
            told.add(point_id)
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
