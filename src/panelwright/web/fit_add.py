"""Points and places that somebody adds: ways are chosen by words, places by a point nearby."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.facts.models.base import millimetres
from panelwright.facts.repair import BODY
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.quantities import Length, Units
from panelwright.web.writes import Say

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.record import Unanswered
    from panelwright.web.forms import Form

Body = dict[str, object]


class Added(StrEnum):
    """What can be added."""

    PAIR = "pair"
    POINT = "point"
    STATION = "station"
    CONTACT = "contact"
    LOCATOR = "locator"


TITLES: Mapping[Added, str] = {
    Added.PAIR: "A pair of points, left and right",
    Added.POINT: "A point in the middle, or without an opposite",
    Added.STATION: "A gap-and-flush check",
    Added.CONTACT: "A flange that must lie on",
    Added.LOCATOR: "A pin, slot or bolt hole",
}

WAYS: Mapping[str, tuple[int, int, int]] = {
    "forward": (-1, 0, 0),
    "rearward": (1, 0, 0),
    "to the left": (0, -1, 0),
    "to the right": (0, 1, 0),
    "up": (0, 0, 1),
    "down": (0, 0, -1),
}
LINES: Mapping[str, tuple[int, int, int]] = {
    "fore and aft": (1, 0, 0),
    "across": (0, 1, 0),
    "up and down": (0, 0, 1),
}
ROUND = "round"


def free_number(prefix: str, ids: Iterable[str]) -> int:
    """Give the first number that no id with this prefix has.

    Examples
    --------
    >>> free_number("L", ["L1", "L2", "R3", "L7b"])
    3
    """
    found = (re.fullmatch(rf"{re.escape(prefix)}(\d+)", one) for one in ids)
    taken = {int(match[1]) for match in found if match is not None}
    return next(n for n in range(1, len(taken) + 2) if n not in taken)


def said_of(
    kind: Added, form: Form, repair: Repair, fit: FitAnswer | Unanswered, units: Units
) -> list[Say]:
    """Give the facts that a form adds; its problems are noted in the form."""
    read: Mapping[Added, Callable[[], list[Say]]] = {
        Added.PAIR: lambda: _pair(form, repair, fit, units),
        Added.POINT: lambda: _point(form, repair, fit, units),
        Added.STATION: lambda: [_station(form, repair, fit, units)],
        Added.CONTACT: lambda: [_contact(form, repair, fit)],
        Added.LOCATOR: lambda: [_locator(form, repair, fit, units)],
    }
    return read[kind]()


def _ids(repair: Repair) -> list[str]:
    return [point.id for point in repair.points]


def _parts(repair: Repair) -> list[str]:
    return [BODY, *(part.id for part in repair.parts)]


def _name(form: Form) -> str | None:
    return form.text("name", need="Say where it is, as you would tell a colleague.", most=120)


def _pair(form: Form, repair: Repair, fit: FitAnswer | Unanswered, units: Units) -> list[Say]:
    ids = _ids(repair)
    number = max(free_number("L", ids), free_number("R", ids))
    while {f"L{number}", f"R{number}"} & set(ids):
        number += 1
    name = _name(form)
    hit = form.value("hit").split()
    place = place_near(form, repair, fit, need="")
    found = []
    for side, other, word in (("L", "R", "left"), ("R", "L", "right")):
        on = form.choice(f"{word}_on", _parts(repair), need="Choose what it is on.")
        body: Body = {"id": f"{side}{number}", "name": f"{word} {name}", "on": on or BODY}
        body["twin"] = f"{other}{number}"
        if place is not None:
            x, y, z = place
            body["xyz"] = [x, -abs(y) if side == "L" else abs(y), z]
        if word in hit:
            body["damaged"] = True
        found.append(body)
    _homes(form, found, units)
    return [Say("point", body) for body in found]


def _homes(form: Form, pair: list[Body], units: Units) -> None:
    """Say where the point of a part belongs: opposite its twin on the body."""
    on_parts = [body for body in pair if body["on"] != BODY]
    if len(on_parts) != 1:
        return
    tolerance = form.length("tolerance", units, need="Say by how much it may be off.")
    if tolerance is not None and Length.parse(tolerance).mm <= 0:
        form.wrong("tolerance", f"{tolerance}: more than zero, please.")
    on_parts[0]["home"] = "twin"
    on_parts[0]["tolerance"] = tolerance


def _point(form: Form, repair: Repair, fit: FitAnswer | Unanswered, units: Units) -> list[Say]:
    name = _name(form)
    on = form.choice("on", _parts(repair), need="Choose what it is on.") or BODY
    body: Body = {"id": f"C{free_number('C', _ids(repair))}", "name": name, "on": on}
    place = place_near(form, repair, fit, need="")
    if place is not None:
        body["xyz"] = list(place)
    if on != BODY:
        body["home"] = "before"
        body["tolerance"] = form.length("tolerance", units, need="Say by how much it may be off.")
    return [Say("point", body)]


def _meets(form: Form, repair: Repair, other: str) -> Body:
    """Give name, part and neighbour of a place."""
    name = _name(form)
    part = form.choice("part", [one.id for one in repair.parts], need="Choose the part.")
    beside = form.choice(other, _parts(repair), need="Choose what it meets.")
    if part is not None and part == beside:
        form.wrong(other, "A part cannot be its own neighbour.")
    return {"name": name, "part": part, other: beside}


def _place(form: Form, repair: Repair, fit: FitAnswer | Unanswered) -> list[float] | None:
    place = place_near(form, repair, fit, need="Choose the point that it is nearest to.")
    return None if place is None else list(place)


def _station(form: Form, repair: Repair, fit: FitAnswer | Unanswered, units: Units) -> Say:
    number = free_number("d", _known(repair, "station", repair.stations))
    body = _meets(form, repair, "beside")
    gap_way = form.choice("gap_towards", WAYS, need="Choose which way opens the gap.")
    flush_way = form.choice("flush_towards", WAYS, need="Choose which way is outward.")
    if gap_way is not None and gap_way == flush_way:
        form.wrong("flush_towards", "Gap and flush cannot open the same way.")
    return Say(
        "station",
        {
            "id": f"d{number}",
            **body,
            "xyz": _place(form, repair, fit),
            "gap_towards": _way(gap_way),
            "flush_towards": _way(flush_way),
            "gap": _check(form, "gap", units),
            "flush": _check(form, "flush", units),
        },
    )


def _check(form: Form, name: str, units: Units) -> Body:
    want = form.length(f"{name}_want", units, need="Say what it should be.")
    tolerance = form.length(f"{name}_tolerance", units, need="Say by how much it may differ.")
    if tolerance is not None and Length.parse(tolerance).mm <= 0:
        form.wrong(f"{name}_tolerance", f"{tolerance}: more than zero, please.")
    return {"want": want, "tolerance": tolerance}


def _contact(form: Form, repair: Repair, fit: FitAnswer | Unanswered) -> Say:
    number = free_number("c", _known(repair, "contact", repair.contacts))
    body = _meets(form, repair, "against")
    way = form.choice("normal", WAYS, need="Choose which way it lifts off.")
    return Say(
        "contact",
        {"id": f"c{number}", **body, "xyz": _place(form, repair, fit), "normal": _way(way)},
    )


def _locator(form: Form, repair: Repair, fit: FitAnswer | Unanswered, units: Units) -> Say:
    number = free_number("p", _known(repair, "locator", repair.locators))
    body = _meets(form, repair, "against")
    axis = form.choice("axis", LINES, need="Choose how the pin lies.")
    slot = form.choice("slot_along", [ROUND, *LINES], need="Choose round hole or slot.")
    if axis is not None and axis == slot:
        form.wrong("slot_along", "A slot does not run along its own pin.")
    return Say(
        "locator",
        {
            "id": f"p{number}",
            **body,
            "xyz": _place(form, repair, fit),
            "axis": list(LINES[axis]) if axis else None,
            "slot_along": list(LINES[slot]) if slot and slot != ROUND else None,
            "clearance": form.length("clearance", units),
        },
    )


def _known(repair: Repair, kind: str, places: Iterable[object]) -> list[str]:
    return [*(str(getattr(one, "id", "")) for one in places), *repair.assumed.ids(kind)]


def _way(word: str | None) -> list[int] | None:
    return list(WAYS[word]) if word else None


def place_near(
    form: Form, repair: Repair, fit: FitAnswer | Unanswered, *, need: str
) -> tuple[float, float, float] | None:
    """Give the place of the point that was chosen, as it is adjusted or as it was said [mm]."""
    name = form.choice("near", [point.id for point in repair.points], need=need)
    if name is None or name not in repair.point_by_id:
        return None
    places = {point.id: point.xyz_mm for point in fit.points} if isinstance(fit, FitAnswer) else {}
    place = places.get(name)
    said = repair.point_by_id[name].xyz
    if place is None and said is not None:
        place = millimetres(said)
    if place is None:
        form.wrong(
            "near", f"Nobody knows yet where {name} is; read spans to it, or choose another."
        )
        return None
    x, y, z = (round(value, 1) for value in place)
    return x, y, z
