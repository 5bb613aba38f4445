"""What is given beside the readings: coordinates with uncertainty, and undamaged pairs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
from panelwright.fit.homes import Home, node_now
from panelwright.fit.settings import BEFORE
from panelwright.fit.sketch import AXES, Kind, Node, Sketch, scaled
from panelwright.fit.tools import LEAST_U_MM, Spread

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Point
    from panelwright.facts.repair import Repair
    from panelwright.fit.settings import Settings


def node_of_coordinates(point: Point, homes: Mapping[str, Home], settings: Settings) -> Node | None:
    """The node that a point's given coordinates speak of; None where they are its home.

    Parameters
    ----------
    point : Point
    homes : mapping
        Homes by point.
    settings : Settings

    Returns
    -------
    Node or None
    """
    if point.xyz is None or point.u is None:
        return None
    home = point.home if point.id in homes else None
    if home == "xyz":
        return None
    if home == "before":
        return Node(point.on, BEFORE, point.id)
    return node_now(point, settings)


def coordinate_sketches(
    repair: Repair, homes: Mapping[str, Home], settings: Settings
) -> Iterator[Sketch]:
    """One equation for every coordinate that is given with an uncertainty above 0.

    A coordinate with u 0 is known: it is no equation, except on a fitted part with a home, whose
    points always hang on its pose.

    Parameters
    ----------
    repair : Repair
    homes : mapping
        Homes by point.
    settings : Settings

    Yields
    ------
    Sketch
    """
    for point in repair.points:
        node = node_of_coordinates(point, homes, settings)
        if node is None or point.xyz is None or point.u is None:
            continue
        hangs = point.id in homes and node.setting != BEFORE
        for (axis, direction), value, u in zip(AXES, millimetres(point.xyz), point.u, strict=True):
            if u == "free" or (u.mm == 0.0 and not hangs):
                continue
            spread = Spread(max(u.mm, LEAST_U_MM), None)
            yield Sketch(
                Kind.COORDINATE,
                -1,
                axis,
                value,
                spread,
                projections=((node, direction),),
                about=(point.id,),
            )


def pairs(repair: Repair, settings: Settings) -> Iterator[tuple[Point, Point]]:
    """Undamaged pairs that neither lie on a fitted part: they tell where the centre plane is.

    That a pair is undamaged must have been said by somebody: assumed points make none.

    Parameters
    ----------
    repair : Repair
    settings : Settings

    Yields
    ------
    tuple of (Point, Point)
        Each pair once.
    """
    seen: set[frozenset[str]] = set()
    for point in repair.points:
        twin = repair.point_by_id.get(point.twin) if point.twin is not None else None
        if twin is None or twin.id == point.id or frozenset((point.id, twin.id)) in seen:
            continue
        seen.add(frozenset((point.id, twin.id)))
        fitted = {point.on, twin.on} & settings.fitted
        unsure = point.damaged or twin.damaged or point.assumed or twin.assumed
        if not (unsure or fitted):
            yield point, twin


def pair_sketches(repair: Repair, settings: Settings, known: frozenset[Node]) -> Iterator[Sketch]:
    """Three equations for each pair of which both points are read or given.

    x_L − x_R = 0, y_L + y_R = 0, z_L − z_R = 0.

    Parameters
    ----------
    repair : Repair
    settings : Settings
    known : frozenset of Node
        Nodes that a reading touches or whose coordinates are given.

    Yields
    ------
    Sketch
    """
    spread = Spread(max(repair.symmetry.u.mm, LEAST_U_MM), None)
    for point, twin in pairs(repair, settings):
        one, other = node_now(point, settings), node_now(twin, settings)
        if one not in known or other not in known:
            continue
        for axis, direction in AXES:
            sign = 1.0 if axis == "y" else -1.0
            yield Sketch(
                Kind.PAIR,
                -1,
                axis,
                0.0,
                spread,
                projections=((one, direction), (other, scaled(direction, sign))),
                about=(point.id, twin.id),
            )
