"""Closures that are hung or off, and parts that are pinned: what counts while they are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.fit.places import named_places, neighbour

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.repair import Repair


@dataclass(frozen=True)
class Hanging:
    """A repair without what hangs on closures that are off.

    Parameters
    ----------
    repair : Repair
        Without places that touch such a part, and without homes on it.
    off : mapping
        The part that is off, by the name of each place that is left out, such as "station d1".
    """

    repair: Repair
    off: Mapping[str, str]


def is_hung(part: str, repair: Repair) -> bool:
    """Whether a part is on the vehicle: by the last event that says so, else by its table.

    Parameters
    ----------
    part : str
    repair : Repair

    Returns
    -------
    bool
        True of the body, and where nobody says anything.
    """
    said = _last_said(part, repair, "hung", "off", "moved")
    if said is not None:
        return said != "off"
    declared = repair.part_by_id.get(part)
    return declared is None or declared.hung


def is_pinned(part: str, repair: Repair) -> bool:
    """Whether a part is clamped or pinned all round; a new dry fit undoes it.

    Parameters
    ----------
    part : str
    repair : Repair

    Returns
    -------
    bool
    """
    said = _last_said(part, repair, "pinned", "moved", "off")
    if said is not None:
        return said == "pinned"
    declared = repair.part_by_id.get(part)
    return declared is not None and declared.pinned


def _last_said(part: str, repair: Repair, *kinds: str) -> str | None:
    """Kind of the last of these events; of the same time the later in the file."""
    said = [event for event in repair.events if event.part == part and event.kind in kinds]
    if not said:
        return None
    timed = [event for event in said if event.at is not None]
    if len(timed) == len(said):
        last = max(event.at for event in timed if event.at is not None)
        return [event.kind for event in timed if event.at == last][-1]
    return said[-1].kind


def hanging(repair: Repair) -> Hanging:
    """Leave out what hangs on closures that are off.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    Hanging
        With the very same repair where everything hangs.
    """
    parts = frozenset(part.id for part in repair.parts if not is_hung(part.id, repair))
    if not parts:
        return Hanging(repair, {})
    off = {}
    for name, place in named_places(repair):
        for part in (place.part, neighbour(place)):
            if part in parts:
                off[name] = part
    kept = replace(
        repair,
        points=tuple(
            point.model_copy(update={"home": None}) if point.on in parts else point
            for point in repair.points
        ),
        stations=tuple(s for s in repair.stations if f"station {s.id}" not in off),
        contacts=tuple(c for c in repair.contacts if f"contact {c.id}" not in off),
        locators=tuple(p for p in repair.locators if f"locator {p.id}" not in off),
    )
    return Hanging(kept, off)
