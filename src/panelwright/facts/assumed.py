"""What a starting layout proposes: places to start from, never homes or limits.

A table with `assumed = true` says what there is likely to be and about where. Until somebody says
the same table without that mark, its measures, target position, tolerance, wants and directions
stand for nothing: the repair that the rooms see does not hold them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.fold import Folded
    from panelwright.facts.models.base import Assumable
    from panelwright.facts.models.document import Document
    from panelwright.facts.models.geometry import Contact, Locator, Point, Station
    from panelwright.facts.models.parts import Joint, Part

MARK = "assumed"
KINDS = ("part", "joint", "point", "station", "contact", "locator")
"""The tables that can carry the mark."""

_STARTS_FROM: Mapping[str, frozenset[str]] = {
    "part": frozenset({"id", "name", "state", "structural", "flex", "hides", "carries", MARK}),
    "joint": frozenset({"id", "name", "layers", "kind", MARK}),
    "point": frozenset({"id", "name", "on", "xyz", "twin", "damaged", MARK}),
}
"""What counts of an assumed table: what there is and how it hangs together, not how large."""

_UNTIL_CONFIRMED: Mapping[str, str] = {
    "part": "what they are, hide and carry is a place to start from; their measures do not count",
    "joint": "their layers and kind are a place to start from; their measures do not count",
    "point": "places to start from, not homes or limits; they get no verdict and tell no symmetry",
    "station": "what gap and flush should be there is not known; they get no verdict",
    "contact": "whether and where the part lies on there is not known; readings of them wait",
    "locator": "whether and where the part is tied there is not known; readings of them wait",
}

T = TypeVar("T", bound="Assumable")


@dataclass(frozen=True)
class Assumed:
    """Everything of a repair that waits for somebody to confirm it, as it was proposed."""

    parts: tuple[Part, ...] = ()
    joints: tuple[Joint, ...] = ()
    points: tuple[Point, ...] = ()
    stations: tuple[Station, ...] = ()
    contacts: tuple[Contact, ...] = ()
    locators: tuple[Locator, ...] = ()

    def ids(self, kind: str) -> tuple[str, ...]:
        """Give the ids of one of `KINDS`, in the order of the file."""
        of_kind: Mapping[str, tuple[Part | Joint | Point | Station | Contact | Locator, ...]] = {
            "part": self.parts,
            "joint": self.joints,
            "point": self.points,
            "station": self.stations,
            "contact": self.contacts,
            "locator": self.locators,
        }
        return tuple(item.id for item in of_kind[kind])


def assumed_of(document: Document) -> Assumed:
    """Collect what a document only assumes."""
    return Assumed(
        parts=_marked(document.part),
        joints=_marked(document.joint),
        points=_marked(document.point),
        stations=_marked(document.station),
        contacts=_marked(document.contact),
        locators=_marked(document.locator),
    )


def _marked(items: tuple[T, ...]) -> tuple[T, ...]:
    return tuple(item for item in items if item.assumed)


def sure(items: tuple[T, ...]) -> tuple[T, ...]:
    """Give the items that nobody needs to confirm."""
    return tuple(item for item in items if not item.assumed)


def to_start_from(kind: str, items: tuple[T, ...]) -> tuple[T, ...]:
    """Give all items, of the assumed ones only what may be started from.

    Parameters
    ----------
    kind : str
        "part", "joint" or "point": without these there is nothing to ask about. The other tables
        are nothing but homes and limits, so `sure` is for them.
    items : tuple
        Tables of that kind.
    """
    return tuple(_bared(item, _STARTS_FROM[kind]) if item.assumed else item for item in items)


def _bared(item: T, kept: frozenset[str]) -> T:
    fields = type(item).model_fields
    told = {name: field for name, field in fields.items() if name not in kept}
    return item.model_copy(
        update={name: field.get_default(call_default_factory=True) for name, field in told.items()}
    )


def to_confirm(assumed: Assumed, *kinds: str) -> tuple[Problem, ...]:
    """Say what waits to be confirmed and what is left open until then: one line a table."""
    return tuple(_told(assumed, kinds or KINDS))


def _told(assumed: Assumed, kinds: tuple[str, ...]) -> Iterator[Problem]:
    for kind in kinds:
        ids = assumed.ids(kind)
        if not ids:
            continue
        named = ", ".join(ids[:6]) + (f" and {len(ids) - 6} more" if len(ids) > 6 else "")
        what = f"assumed, confirm: {named}. Until then: {_UNTIL_CONFIRMED[kind]}"
        yield Problem(kind, what, hard=False)


def confirmed(body: Mapping[str, object]) -> dict[str, object]:
    """Give the table that confirms an assumed one: the same, said without the mark.

    Parameters
    ----------
    body : mapping
        Of the fact that proposes it; whatever is wrong on this vehicle is corrected in the result.

    Examples
    --------
    >>> confirmed({"id": "L1", "on": "outer", "assumed": True})
    {'id': 'L1', 'on': 'outer'}
    """
    return {key: value for key, value in body.items() if key != MARK}


def waiting(folded: Folded) -> tuple[Fact, ...]:
    """Give the facts that stand and only propose: those that `confirmed` is for."""
    return tuple(
        fact for fact in folded.facts if fact.kind in KINDS and fact.body.get(MARK) is True
    )
