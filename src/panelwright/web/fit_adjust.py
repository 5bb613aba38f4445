"""Adjusters as forms take them: where one is and which way it goes are tapped, never typed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.canonical import plain
from panelwright.facts.checks.adjusters import same_as, stuck
from panelwright.facts.document import data_of
from panelwright.facts.file import document_from
from panelwright.facts.models.base import millimetres
from panelwright.facts.repair import BODY
from panelwright.fit.answer import Answer as FitAnswer
from panelwright.fit.words import place_words
from panelwright.quantities import Units, show_length
from panelwright.web.fit_add import WAYS, free_number
from panelwright.web.fit_lengths import above_nought, length_of, shown
from panelwright.web.fit_ways import way_of
from panelwright.web.writes import Say, facts_of, withdrawal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.entry import Fact
    from panelwright.facts.models.adjusting import Adjuster
    from panelwright.facts.models.geometry import Contact, Locator, Station
    from panelwright.facts.repair import Repair
    from panelwright.record import Unanswered
    from panelwright.web.forms import Form
    from panelwright.web.visit import There

    Floats = NDArray[np.float64]
    Fit = FitAnswer | Unanswered

KINDS: Mapping[str, str] = {
    "slot": "slot or slotted hole",
    "shim": "shims",
    "hinge": "hinge",
}
AS_IT_IS = "as it is"
SIDES = (
    *("front edge", "rear edge", "top edge", "bottom edge", "left edge", "right edge"),
    *("front top corner", "front bottom corner", "rear top corner", "rear bottom corner"),
    "middle",
)
_ENDS: Mapping[str, tuple[int, bool]] = {
    "front": (0, False),
    "rear": (0, True),
    "left": (1, False),
    "right": (1, True),
    "bottom": (2, False),
    "top": (2, True),
}
"""Words of a side: the axis, and whether it is that axis's high end."""
_ALONG = 0.9998
"""Cosine of 1°: nearer a way than that, it is that way."""
_WRONG: Mapping[str, tuple[str, str]] = {
    "range": ("low", "The least is more than the most: which of them is wrong?"),
    "at": ("at", "It stands outside its range: which of them is wrong?"),
    "step": ("step", "A step as large as this does not fit its range."),
}
"""By key of the repair file: the field, and what is said there."""


@dataclass(frozen=True)
class AdjusterItem:
    """An adjuster that is entered.

    Attributes
    ----------
    fact : str
        Id of its fact, which names it in forms.
    values : mapping
        What its form shows.
    problem : str
        What keeps it from being set; empty where nothing does.
    """

    fact: str
    title: str
    words: str
    values: Mapping[str, str]
    problem: str


def adjusters_here(there: There) -> tuple[AdjusterItem, ...]:
    """Give the adjusters of a repair, in the order in which they were entered."""
    repair, fit = there.known.repair, there.answers.fit(there.known)
    pairs = zip(adjuster_facts(there), repair.adjusters, strict=True)
    return tuple(_item(there, fact, one, fit) for fact, one in pairs)


def adjuster_facts(there: There) -> tuple[Fact, ...]:
    """Give the facts of the repair's adjusters, in the same order."""
    return tuple(fact for fact in there.known.folded.facts if fact.kind == "adjuster")


def _item(there: There, fact: Fact, one: Adjuster, fit: Fit) -> AdjusterItem:
    repair, units = there.known.repair, there.units
    values = {
        "name": one.name or one.id or "",
        "kind": one.what,
        "part": one.part,
        "against": one.against,
        "side": AS_IT_IS,
        "way": way_word(one) or AS_IT_IS,
        "low": shown(one.range[0], units),
        "high": shown(one.range[1], units),
        "step": shown(one.step, units),
        "at": shown(one.at, units),
        **{f"frees-{name}": "yes" for name in one.frees},
    }
    wrong = stuck(one)
    problem = _WRONG[wrong[0]][1] if wrong is not None else ""
    return AdjusterItem(str(fact.id), one.label, _said(repair, one, fit, units), values, problem)


def way_word(one: Adjuster) -> str:
    """Give the word of the way that an adjuster goes; empty where it goes aslant."""
    along = np.array(one.along)
    return next((word for word, way in WAYS.items() if float(along @ np.array(way)) > _ALONG), "")


def _said(repair: Repair, one: Adjuster, fit: Fit, units: Units) -> str:
    part = repair.part_by_id.get(one.part)
    places = places_of_part(repair, fit, one.part)
    where = place_words(np.array(millimetres(one.xyz)), places) if len(places) > 1 else "place"
    word = way_word(one) or f"aslant, mostly {way_of(one.along).plus}"
    low, high = (show_length(end.mm, units) for end in one.range)
    step = f" in steps of {show_length(one.step.mm, units)}" if one.step is not None else ""
    beside = repair.part_by_id.get(one.against)
    on = beside.label if beside else one.against
    return (
        f"{KINDS[one.what].capitalize()} at the {where} of the {part.label if part else one.part}, "
        f"on the {on}; takes it {word}, {low} to {high}{step}; first stood at "
        f"{show_length(one.at.mm, units)}."
    )


def places_of_part(repair: Repair, fit: Fit, part: str) -> Floats:
    """Give every place of a part that is known, shape (n, 3) [mm]."""
    own = [point.id for point in repair.points if point.on == part]
    found = [place for name in own if (place := _placed(repair, fit, name)) is not None]
    found += [millimetres(place.xyz) for _, place in _places(repair) if place.part == part]
    return np.array(found, dtype=np.float64).reshape(-1, 3)


def _placed(repair: Repair, fit: Fit, name: str) -> tuple[float, float, float] | None:
    """Give where a point is, as it is adjusted or as it was said."""
    if isinstance(fit, FitAnswer):
        adjusted = next((one.xyz_mm for one in fit.points if one.id == name), None)
        if adjusted is not None:
            return adjusted
    said = repair.point_by_id[name].xyz
    return None if said is None else millimetres(said)


def _places(repair: Repair) -> Iterator[tuple[str, Station | Contact | Locator]]:
    for kind, places in (
        ("station", repair.stations),
        ("contact", repair.contacts),
        ("locator", repair.locators),
    ):
        for place in places:
            yield f"{kind}:{place.id}", place


def near_options(repair: Repair, fit: Fit) -> tuple[tuple[str, str], ...]:
    """Give the points and places that an adjuster can be at: value and words."""
    points = [
        (f"point:{p.id}", f"{p.id}: {p.name}" if p.name else p.id)
        for p in repair.points
        if _placed(repair, fit, p.id) is not None
    ]
    places = [
        (key, f"{one.id}: {one.name}" if one.name else one.id) for key, one in _places(repair)
    ]
    return (*points, *places)


def goes_with(repair: Repair) -> tuple[tuple[str, str], ...]:
    """Give the flanges and pins that could go with an adjuster: id and words."""
    places = [one for key, one in _places(repair) if not key.startswith("station:")]
    return tuple((one.id, f"{one.id}: {one.name}" if one.name else one.id) for one in places)


def side_of(places: Floats, side: str) -> tuple[float, float, float]:
    """Give where a side of a part is: the end of what is known of it, else the middle.

    Parameters
    ----------
    places : array, shape (n, 3)
        Known places of the part [mm].
    side : str
        One of `SIDES`.
    """
    low, high = places.min(axis=0), places.max(axis=0)
    found = 0.5 * (low + high)
    for word in side.split():
        if word in _ENDS:
            axis, is_high = _ENDS[word]
            found[axis] = high[axis] if is_high else low[axis]
    x, y, z = (round(float(value), 1) for value in found)
    return x, y, z


def said_of(there: There, form: Form) -> list[Say]:
    """Give the facts of an adjuster that a form adds or corrects; problems are noted in the form.

    A corrected one keeps the name by which earlier dry fits call it, as its id.
    """
    repair, fit = there.known.repair, there.answers.fit(there.known)
    number = _number(there, form)
    old = None if number is None else repair.adjusters[number]
    before = {} if number is None else _told(adjuster_facts(there)[number])
    body = {**before, **_what(form, repair, old), **_where(form, repair, fit, old)}
    body |= _how_far(form, there.units, before)
    body["frees"] = [name for name, _ in goes_with(repair) if form.value(f"frees-{name}")]
    if not body["frees"]:
        body.pop("frees")
    taken = [one.id or "" for one in repair.adjusters]
    body["id"] = (old.id or old.label) if old else f"a{free_number('a', taken)}"
    if form.ok:
        _look(there, form, body, number)
    gone = [] if number is None else [withdrawal(str(adjuster_facts(there)[number].id), CORRECTED)]
    return [*gone, Say("adjuster", {k: v for k, v in body.items() if v is not None})]


CORRECTED = "corrected"


def _told(fact: Fact) -> dict[str, object]:
    told = plain(fact.body)
    return told if isinstance(told, dict) else {}


def _number(there: There, form: Form) -> int | None:
    """Give which adjuster a form corrects; None for a new one."""
    item = form.value("item")
    if not item:
        return None
    names = [str(fact.id) for fact in adjuster_facts(there)]
    if item not in names:
        form.wrong("", "This adjuster is not there any more; somebody may have changed it.")
        return None
    return names.index(item)


def _what(form: Form, repair: Repair, old: Adjuster | None) -> dict[str, object]:
    name = form.text("name", need="Say what you call it: bracket on the corner post.", most=120)
    others = [one for one in repair.adjusters if one is not old]
    if name is not None and any(one.is_called(name) for one in others):
        form.wrong("name", "Another one is called that; give it a name of its own.")
    kind = form.choice("kind", KINDS, need="Choose what it is.")
    part = form.choice("part", [one.id for one in repair.parts], need="Choose the part.")
    on = [BODY, *(one.id for one in repair.parts)]
    against = form.choice("against", on, need="Choose what it stands on.")
    if part is not None and part == against:
        form.wrong("against", "A part cannot stand on itself.")
    stands_on = None if against == BODY else against
    return {"name": name, "kind": kind, "part": part, "against": stands_on}


def _where(form: Form, repair: Repair, fit: Fit, old: Adjuster | None) -> dict[str, object]:
    stays = (AS_IT_IS,) if old is not None else ()
    near = form.choice("near", [key for key, _ in near_options(repair, fit)], need="")
    side = form.choice("side", (*stays, *SIDES), need="")
    way = form.choice("way", (*stays, *WAYS), need="Choose which way it takes the part.")
    if near and side not in (None, AS_IT_IS):
        form.wrong("near", "Choose a point or place, or a side of the part, not both.")
    if not near and side is None:
        form.wrong("side", "Choose a side of the part, or a point or place.")
    found: dict[str, object] = {}
    if near and form.ok:
        found["xyz"] = list(_at(repair, fit, near))
    elif side not in (None, AS_IT_IS) and form.value("part"):
        places = places_of_part(repair, fit, form.value("part"))
        if len(places) < 2:
            form.wrong("side", "Nobody knows yet where this part is: choose a point or place.")
        elif side is not None:
            found["xyz"] = list(side_of(places, side))
    if way is not None and way in WAYS:
        found["along"] = list(WAYS[way])
    return found


def _at(repair: Repair, fit: Fit, key: str) -> tuple[float, float, float]:
    kind, _, name = key.partition(":")
    if kind == "point":
        found = _placed(repair, fit, name)
    else:
        found = next(millimetres(place.xyz) for own, place in _places(repair) if own == key)
    assert found is not None  # noqa: S101 - only such are offered
    x, y, z = (round(value, 1) for value in found)
    return x, y, z


def _how_far(form: Form, units: Units, before: Mapping[str, object]) -> dict[str, object]:
    ends = before.get("range")
    low, high = ends if isinstance(ends, list) and len(ends) == 2 else (None, None)
    least = length_of(form, "low", units, low, need="How far does it go at the least?")
    most = length_of(form, "high", units, high, need="How far does it go at the most?")
    step = length_of(form, "step", units, before.get("step"))
    above_nought(form, "step", step)
    if form.value("kind") == "shim" and step is None:
        form.wrong("step", "How thick is one shim?")
    at = length_of(form, "at", units, before.get("at"))
    return {"range": [least, most], "step": step, "at": at}


def _look(there: There, form: Form, body: dict[str, object], number: int | None) -> None:
    """Say at its field what could not be set, or is there already."""
    first = there.known.log.facts[0].id
    told = {key: value for key, value in body.items() if value is not None}
    one = document_from(data_of(facts_of(there, [first], [Say("adjuster", told)]))).adjuster[0]
    wrong = stuck(one)
    if wrong is not None:
        form.wrong(*_WRONG[wrong[0]])
    others = [a for n, a in enumerate(there.known.repair.adjusters) if n != number]
    earlier = same_as([*others, one], len(others))
    if earlier is not None:
        form.wrong("way", f"{others[earlier].label} is at this place and goes this way already.")
