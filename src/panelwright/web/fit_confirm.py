"""What a starting layout assumes of points and places, to be confirmed or taken away."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.facts.assumed import confirmed, waiting
from panelwright.quantities import Units
from panelwright.web.fit_lengths import above_nought, length_of, shown
from panelwright.web.fit_targets import target_of_reading
from panelwright.web.writes import Say

if TYPE_CHECKING:
    from panelwright.facts.entry import Fact
    from panelwright.facts.fold import Folded
    from panelwright.facts.repair import Repair
    from panelwright.web.forms import Form

TITLES: Mapping[str, str] = {
    "point": "Points",
    "station": "Gaps and flushes",
    "contact": "Flanges that lie on",
    "locator": "Pins and holes",
}
WORDS: Mapping[str, str] = {
    "point": "Both sides at once. The panel’s points belong mirror-wise to the other side; a point "
    "that was hit never counts for the centre plane.",
    "station": "What the gap and the flush should be, and by how much they may differ: by the "
    "maker’s procedure, or measured on the other side.",
    "contact": "Where the panel must lie on its neighbour.",
    "locator": "What ties the panel: pins, slots, match-drilled holes.",
}


@dataclass(frozen=True)
class Field:
    """A value that can be corrected."""

    name: str
    label: str
    value: str


@dataclass(frozen=True)
class Item:
    """Something assumed: one table, or the two points of a pair.

    Attributes
    ----------
    id : str
        Id of its first fact, which names it in forms.
    sides : tuple of str
        Of a pair the ids of its points: either may have been hit.
    hit : str
        Which of them is said to be hit, separated by spaces.
    """

    id: str
    kind: str
    title: str
    words: str
    fields: tuple[Field, ...]
    facts: tuple[Fact, ...]
    sides: tuple[str, ...] = ()
    hit: str = ""

    @property
    def hits(self) -> tuple[tuple[str, str], ...]:
        """Give the choices of what was hit: value and word."""
        both = ((" ".join(self.sides), "both"),) if len(self.sides) > 1 else ()
        return (("-", "no"), *((side, side) for side in self.sides), *both)


def items_of(folded: Folded, units: Units) -> dict[str, tuple[Item, ...]]:
    """Give what waits to be confirmed, by table."""
    facts = waiting(folded)
    found: dict[str, list[Item]] = {kind: [] for kind in TITLES}
    for fact in facts:
        if fact.kind == "point":
            continue
        if fact.kind in found:
            found[fact.kind].append(_place(fact, folded.repair, units))
    found["point"] = list(_points([fact for fact in facts if fact.kind == "point"], folded, units))
    return {kind: tuple(items) for kind, items in found.items() if items}


def _text(fact: Fact, key: str) -> str:
    value = fact.body.get(key)
    return value if isinstance(value, str) else ""


def _points(facts: list[Fact], folded: Folded, units: Units) -> Iterator[Item]:
    by_id = {_text(fact, "id"): fact for fact in facts}
    seen: set[str] = set()
    for fact in facts:
        own, twin = _text(fact, "id"), _text(fact, "twin")
        if own in seen:
            continue
        pair = (fact, by_id[twin]) if twin in by_id else (fact,)
        seen |= {_text(one, "id") for one in pair}
        yield _pair(pair, folded.repair, units)


def _pair(facts: tuple[Fact, ...], repair: Repair, units: Units) -> Item:
    fields: tuple[Field, ...]
    homed = next((fact for fact in facts if fact.body.get("home")), None)
    names = [_text(fact, "id") for fact in facts]
    fields = ()
    said = "on the body"
    if homed is not None:
        on = repair.part_by_id.get(_text(homed, "on"))
        said = f"{_text(homed, 'id')} is on the {on.label if on else _text(homed, 'on')}"
        tolerance = homed.body.get("tolerance")
        if not isinstance(tolerance, Mapping):
            fields = (Field("tolerance", "It may be off by", shown(tolerance, units)),)
    hit = [_text(fact, "id") for fact in facts if fact.body.get("damaged")]
    label = _text(homed or facts[-1], "name")
    if len(facts) > 1:
        label = label.removeprefix("left ").removeprefix("right ")
    return Item(
        str(facts[0].id),
        "point",
        f"{' and '.join(names)}: {label}" if label else " and ".join(names),
        f"{said}.",
        fields,
        facts,
        tuple(names),
        " ".join(hit),
    )


def _place(fact: Fact, repair: Repair, units: Units) -> Item:
    part = repair.part_by_id.get(_text(fact, "part"))
    other = _text(fact, "beside") or _text(fact, "against") or "body"
    beside = repair.part_by_id.get(other)
    label = _text(fact, "name") or _text(fact, "id")
    own = part.label if part else _text(fact, "part")
    between = f"{own} against {beside.label if beside else other}"
    shape = ""
    if fact.kind == "locator":
        shape = ", slot" if fact.body.get("slot_along") else ", round hole"
    return Item(
        str(fact.id),
        fact.kind,
        f"{_text(fact, 'id')}: {label}",
        f"{between}{shape}.",
        tuple(_fields(fact, units)),
        (fact,),
    )


def _fields(fact: Fact, units: Units) -> Iterator[Field]:
    if fact.kind == "locator":
        yield Field("clearance", "Play of the pin", shown(fact.body.get("clearance"), units))
    if fact.kind != "station":
        return
    for name in ("gap", "flush"):
        check = fact.body.get(name)
        if isinstance(check, Mapping):
            yield Field(f"{name}_want", f"{name.capitalize()}", shown(check.get("want"), units))
            yield Field(
                f"{name}_tolerance",
                f"{name.capitalize()} may be off by",
                shown(check.get("tolerance"), units),
            )


Correct = Callable[[dict[str, object], "Form", Units], None]


def said_of(item: Item, form: Form, units: Units) -> list[Say]:
    """Give the facts that confirm an item, corrected as the form says."""
    found = []
    for fact in item.facts:
        body = confirmed(fact.body)
        _CORRECT[item.kind](body, form, units)
        found.append(Say(item.kind, body))
    return found


def as_it_stands(item: Item) -> list[Say]:
    """Give the facts that confirm an item without a change."""
    return [Say(item.kind, confirmed(fact.body)) for fact in item.facts]


def _point(body: dict[str, object], form: Form, units: Units) -> None:
    if "tolerance" in form.values and body.get("home"):
        need = "Say by how much it may be off."
        tolerance = length_of(form, "tolerance", units, body.get("tolerance"), need=need)
        above_nought(form, "tolerance", tolerance)
        body["tolerance"] = tolerance
    if "hit" in form.values:
        body.pop("damaged", None)
        if body.get("id") in form.values["hit"].split():
            body["damaged"] = True


def _station(body: dict[str, object], form: Form, units: Units) -> None:
    for name in ("gap", "flush"):
        check = body.get(name)
        if f"{name}_want" not in form.values or not isinstance(check, Mapping):
            continue
        said = dict(check)
        for key, need in (
            ("want", "Say what it should be."),
            ("tolerance", "Say by how much it may differ."),
        ):
            said[key] = length_of(form, f"{name}_{key}", units, check.get(key), need=need)
        above_nought(form, f"{name}_tolerance", said["tolerance"])
        body[name] = said


def _contact(_body: dict[str, object], _form: Form, _units: Units) -> None:
    """Nothing of it can be corrected here."""


def _locator(body: dict[str, object], form: Form, units: Units) -> None:
    if "clearance" in form.values:
        body["clearance"] = length_of(form, "clearance", units, body.get("clearance"))


_CORRECT: Mapping[str, Correct] = {
    "point": _point,
    "station": _station,
    "contact": _contact,
    "locator": _locator,
}


def is_read(item: Item, repair: Repair) -> bool:
    """Tell whether readings name it, so that it cannot be taken away before they are."""
    names = {_text(fact, "id") for fact in item.facts}
    for reading in repair.readings:
        target = target_of_reading(reading)
        if target is None:
            named, kind = {getattr(reading, "point", "")}, "point"
        else:
            named = set(target.names)
            kind = target.kind.value if target.kind.value in TITLES else "point"
        if kind == item.kind and named & names:
            return True
    return False
