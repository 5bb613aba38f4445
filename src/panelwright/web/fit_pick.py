"""Choosing what to read by tapping: a kind, then points or a place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import unquote

from panelwright.web.fit_screen import Choice
from panelwright.web.fit_targets import (
    NAMES,
    POINTS,
    TITLES,
    Read,
    Target,
    is_there,
    places_of,
)
from panelwright.web.fit_view import read_path

if TYPE_CHECKING:
    from panelwright.facts.models.geometry import Point
    from panelwright.facts.repair import Repair

_ASKED = {
    Read.SPAN: ("From which point?", "{0} to which point?"),
    Read.COMPARE: (
        "First span: from which point?",
        "First span: {0} to which point?",
        "{0} to {1} against which span: from which point?",
        "{0} to {1} against {2} to which point?",
    ),
    Read.HEIGHT: ("The height of which point?",),
    Read.STATION: ("Gap and flush: where?",),
    Read.CONTACT: ("Which flange?",),
    Read.LOCATOR: ("Which pin or hole?",),
}


@dataclass(frozen=True)
class Option:
    """A name to tap."""

    id: str
    name: str
    path: str


@dataclass(frozen=True)
class Group:
    """Names that belong together."""

    label: str
    options: tuple[Option, ...]


@dataclass(frozen=True)
class Pick:
    """What is to be chosen next."""

    words: str
    mirror: Choice | None
    groups: tuple[Group, ...]
    back: str


def partial_of(key: str) -> Target | None:
    """Give a target of which not all names are chosen yet; None where the key is none."""
    word, *names = key.split(":")
    if word not in {kind.value for kind in Read} or not all(names):
        return None
    kind = Read(word)
    if len(names) > NAMES.get(kind, 1):
        return None
    return Target(kind, tuple(unquote(name) for name in names))


def kinds_there(repair: Repair, path: str, more: str = "") -> tuple[Choice, ...]:
    """Give the kinds of readings that this repair has points or places for."""
    return tuple(
        Choice(TITLES[kind], f"{read_path(path, kind.value)}{more}")
        for kind in Read
        if (len(repair.points) >= NAMES.get(kind, 1) if kind in POINTS else places_of(repair, kind))
    )


def pick_of(repair: Repair, partial: Target, path: str, more: str = "") -> Pick:
    """Give what is to be tapped next; `more` goes behind each address."""
    back = Target(partial.kind, partial.names[:-1]).key if partial.names else ""
    return Pick(
        _ASKED[partial.kind][len(partial.names)].format(*partial.names),
        _mirror(repair, partial, path, more),
        tuple(_groups(repair, partial, path, more)),
        f"{read_path(path, back)}{more}" if back else f"{path}/read",
    )


def _mirror(repair: Repair, partial: Target, path: str, more: str) -> Choice | None:
    """Give the span across the centre plane, where the opposite points are known."""
    if partial.kind is not Read.COMPARE or len(partial.names) != 2:
        return None
    a, b = (opposite(repair, name) for name in partial.names)
    target = Target(Read.COMPARE, (*partial.names, a, b))
    if not is_there(target, repair):
        return None
    return Choice(f"The other side: {a} to {b}", f"{read_path(path, target.key)}{more}")


def opposite(repair: Repair, name: str) -> str:
    """Give the point across the centre plane; the point itself where it has none."""
    twin = repair.point_by_id[name].twin
    return twin if twin in repair.point_by_id and twin is not None else name


def _groups(repair: Repair, partial: Target, path: str, more: str) -> list[Group]:
    if partial.kind not in POINTS:
        options = tuple(
            _option(partial, place.id, place.name or "", path, more)
            for place in places_of(repair, partial.kind)
        )
        return [Group("", options)]
    by_part: dict[str, list[Point]] = {}
    for point in repair.points:
        if point.id not in partial.names or len(partial.names) == 2:
            by_part.setdefault(point.on, []).append(point)
    return [
        Group(
            _on(repair, part),
            tuple(_option(partial, one.id, one.name or "", path, more) for one in points),
        )
        for part, points in sorted(by_part.items(), key=lambda item: item[0] == "body")
    ]


def _on(repair: Repair, part: str) -> str:
    found = repair.part_by_id.get(part)
    label = found.label if found else part
    return f"On the {label}"


def _option(partial: Target, identity: str, name: str, path: str, more: str) -> Option:
    key = Target(partial.kind, (*partial.names, identity)).key
    return Option(identity, name, f"{read_path(path, key)}{more}")
