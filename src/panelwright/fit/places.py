"""Stations, contacts and locators: where a part meets its neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from panelwright.facts.models.geometry import Contact, Locator, Station
from panelwright.fit.sketch import AXES, Kind, Node, Sketch, Vector, cross, dot, scaled

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.tools import Spread

Place = Station | Contact | Locator


def named_places(repair: Repair) -> Iterator[tuple[str, Place]]:
    """All places of a repair, each under a name that no other has.

    Parameters
    ----------
    repair : Repair

    Yields
    ------
    tuple of (str, Place)
        Such as "station d1" and that station.
    """
    yield from ((f"station {place.id}", place) for place in repair.stations)
    yield from ((f"contact {place.id}", place) for place in repair.contacts)
    yield from ((f"locator {place.id}", place) for place in repair.locators)


@dataclass(frozen=True)
class Displacement:
    """How far a part is displaced at a place, less its neighbour's displacement there."""

    own: Node
    other: Node | None
    xyz_mm: Vector

    def terms(self, towards: Vector) -> tuple[tuple[tuple[Node, Vector], ...], float]:
        """Projections and constant that make the displacement along a direction."""
        if self.other is None:
            return ((self.own, towards),), -dot(towards, self.xyz_mm)
        return ((self.own, towards), (self.other, scaled(towards, -1.0))), 0.0

    def along(
        self,
        component: str,
        towards: Vector,
        observed_mm: float,
        spread: Spread,
        *,
        want_mm: float = 0.0,
    ) -> Sketch:
        """The equation that `want` plus the displacement along a direction was observed."""
        projections, constant = self.terms(towards)
        return Sketch(
            Kind.READING,
            0,
            component,
            observed_mm,
            spread,
            constant + want_mm,
            projections=projections,
        )


def neighbour(place: Place) -> str:
    """What a place is read against: a part or the body.

    Parameters
    ----------
    place : Station, Contact or Locator

    Returns
    -------
    str
        A part's id, or "body".
    """
    return place.beside if isinstance(place, Station) else place.against


def locator_directions(locator: Locator) -> tuple[Vector, Vector]:
    """Unit directions along the slot and across it; for a round hole any two across its axis.

    Parameters
    ----------
    locator : Locator

    Returns
    -------
    tuple of (Vector, Vector)
        Along and across [1].
    """
    axis = locator.axis
    if locator.slot_along is not None:
        return _unit(locator.slot_along), _unit(cross(axis, locator.slot_along))
    flattest = min(AXES, key=lambda named: abs(dot(named[1], axis)))[1]
    across = cross(axis, flattest)
    return _unit(cross(across, axis)), _unit(across)


def _unit(vector: Vector) -> Vector:
    size = sqrt(dot(vector, vector))
    return scaled(vector, 1.0 / size) if size > 0.0 else vector
