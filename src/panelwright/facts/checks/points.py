"""Points, their twins and homes, and the places where parts meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.facts.checks.names import known, missing
from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.document import Document
    from panelwright.facts.models.geometry import Point


def _home_fits(where: str, point: Point) -> Iterator[Problem]:
    if "twin" in point.homes and point.twin is None:
        yield Problem(f"{where}.home", "home is the twin, but no twin is named")
    if "xyz" in point.homes and point.xyz is None:
        yield Problem(f"{where}.home", "home is xyz, but no xyz is given")
    if point.home is not None and not point.homes:
        yield Problem(
            f"{where}.home",
            'home is an empty list; expected one or more of "twin", "xyz", '
            '"before", "sister", or leave it out',
        )


def points_fit(document: Document) -> Iterator[Problem]:
    """Points, twins, homes and neighbours refer to what is there."""
    parts = known((part.id for part in document.part), (BODY,))
    points = known(point.id for point in document.point)
    twins = {point.id: point.twin for point in document.point}
    for number, point in enumerate(document.point):
        where = f"point[{number}]"
        yield from missing(f"{where}.on", point.on, parts, "part")
        if point.twin is not None:
            yield from missing(f"{where}.twin", point.twin, points, "point")
            if point.twin == point.id:
                yield Problem(f"{where}.twin", f"{point.id!r} cannot be its own opposite number")
            elif twins.get(point.twin) not in (None, point.id):
                yield Problem(
                    f"{where}.twin",
                    f"{point.twin!r} has {twins[point.twin]!r} as its own twin, not {point.id!r}",
                )
        yield from _home_fits(where, point)
    places = (
        ("station", [(s.part, s.beside) for s in document.station]),
        ("contact", [(c.part, c.against) for c in document.contact]),
        ("locator", [(loc.part, loc.against) for loc in document.locator]),
        ("adjuster", [(a.part, BODY) for a in document.adjuster]),
    )
    for table, pairs in places:
        for number, (part, beside) in enumerate(pairs):
            yield from missing(f"{table}[{number}].part", part, parts - {BODY}, "part")
            if beside not in parts:
                yield Problem(
                    f"{table}[{number}]",
                    f"the neighbour {beside!r} is no part of this file; it is taken as unmoved",
                    hard=False,
                )
            if part == beside:
                yield Problem(f"{table}[{number}]", f"{part!r} cannot be its own neighbour")
    for number, sister in enumerate(document.sister):
        yield from missing(f"sister[{number}].point", sister.point, points, "point")
    for number, blocked in enumerate(document.blocked):
        yield from missing(f"blocked[{number}].from", blocked.from_, points, "point")
        yield from missing(f"blocked[{number}].to", blocked.to, points, "point")
