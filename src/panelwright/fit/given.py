"""What is given beside the readings: coordinates with uncertainty, and undamaged pairs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
from panelwright.fit.homes import Home, node_now
from panelwright.fit.settings import BEFORE, SISTER
from panelwright.fit.sketch import AXES, SISTER_VEHICLE, Kind, Node, Sketch, scaled
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
    sources = point.homes if point.id in homes else ()
    if "xyz" in sources:
        return None
    if "before" in sources:
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


SISTER_U_MM = 1.0
"""Of coordinates on a sister vehicle where none is given. Common practice, no source."""
DEFINED_MM = 0.01
"""How nearly a combined home keeps to the mean of its sources; far below what anyone reads."""


def sister_sketches(repair: Repair, settings: Settings, known: frozenset[Node]) -> Iterator[Sketch]:
    """What is given of a sister vehicle: coordinates, and that its body is as this one should be.

    Three equations for every sound point of the body that is known on both, x_sister − x = 0 with
    `symmetry.sister`: they carry its places over to this vehicle.

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
    there = {node for node in known if node.owner == SISTER_VEHICLE}
    for sister in repair.sisters:
        if sister.point not in repair.point_by_id:
            continue
        node = Node(SISTER_VEHICLE, SISTER, sister.point)
        there.add(node)
        u_mm = [SISTER_U_MM if u == "free" else u.mm for u in sister.u or ("free",) * 3]
        for (axis, direction), value, u in zip(AXES, millimetres(sister.xyz), u_mm, strict=True):
            yield Sketch(
                Kind.SISTER,
                -1,
                axis,
                value,
                Spread(max(u, LEAST_U_MM), None),
                projections=((node, direction),),
                about=(sister.point, "given"),
            )
    spread = Spread(max(repair.symmetry.sister.mm, LEAST_U_MM), None)
    for node in sorted(there):
        point = repair.point_by_id[node.id]
        here = node_now(point, settings)
        if point.damaged or point.assumed or point.on in settings.fitted or here not in known:
            continue
        for axis, direction in AXES:
            yield Sketch(
                Kind.SISTER,
                -1,
                axis,
                0.0,
                spread,
                projections=((node, direction), (here, scaled(direction, -1.0))),
                about=(point.id, "alike"),
            )


def home_sketches(homes: Mapping[str, Home]) -> Iterator[Sketch]:
    """The definition of every combined home: home − Σ weight·mirror·source = 0, by axis.

    Parameters
    ----------
    homes : mapping
        Homes by point.

    Yields
    ------
    Sketch
    """
    spread = Spread(DEFINED_MM, None)
    for home in homes.values():
        if not home.of:
            continue
        weights = home.weights()
        for k, (axis, direction) in enumerate(AXES):
            sources = tuple(
                (one.source, scaled(direction, -weight[k] * one.mirror[k]))
                for one, weight in zip(home.of, weights, strict=True)
                if weight[k] > 0.0
            )
            yield Sketch(
                Kind.HOME,
                -1,
                axis,
                0.0,
                spread,
                projections=((home.source, direction), *sources),
                about=(home.point,),
            )
