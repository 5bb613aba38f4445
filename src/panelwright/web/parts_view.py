"""What the page Parts list shows: shortages first, then what is there, then what nobody counted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.plan.answer import amount_in_words
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Adhesive
    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import KitLine, PlanAnswer
    from panelwright.sources import Source

MOST_NAMED = 4
"""Parts and joints that one line names."""


class Thing(StrEnum):
    """Tables whose stock is counted here."""

    PART = "part"
    RIVET = "rivet"
    ADHESIVE = "adhesive"


@dataclass(frozen=True)
class Line:
    """One line of the parts list.

    Attributes
    ----------
    kind : Thing or None
        Which table's stock it is; None for what is only listed.
    id : str
        Of that table.
    arrives : datetime or None
        Of a part that is not here.
    """

    number: int
    item: str
    need: str
    have: str
    for_: str
    note: str
    sign: Sign
    word: str
    kind: Thing | None
    id: str
    arrives: datetime | None
    on_hand: int | None
    sources: tuple[Source, ...]


@dataclass(frozen=True)
class Lists:
    """The lines by how they stand."""

    short: tuple[Line, ...]
    there: tuple[Line, ...]
    uncounted: tuple[Line, ...]
    at_hand: tuple[Line, ...]
    """What the shop has on its shelves: nobody counts it here, but it must be at hand."""


@dataclass(frozen=True)
class Shelf:
    """An adhesive with its dates."""

    id: str
    label: str
    batch: str
    use_by: str
    sign: Sign
    word: str


def lists(plan: PlanAnswer, repair: Repair) -> Lists:
    """Give the parts list; stock as it is said now, though the plan may still be made anew."""
    stock = _stock(repair)
    lines = tuple(_line(n, line, repair, stock) for n, line in enumerate(plan.kit))
    return Lists(
        tuple(line for line in lines if line.sign is Sign.BAD),
        tuple(line for line in lines if line.sign is Sign.GOOD),
        tuple(line for line in lines if line.sign is Sign.ASK and line.kind is not None),
        tuple(line for line in lines if line.sign is Sign.ASK and line.kind is None),
    )


def _stock(repair: Repair) -> Mapping[tuple[str, str], tuple[Thing, str, int | None]]:
    """Give by a line's item, and unit where it has one, the table that its stock stands in."""
    found: dict[tuple[str, str], tuple[Thing, str, int | None]] = {}
    for rivet in repair.rivets:
        label = rivet.name or rivet.id
        for item in (label, f"blind rivet {label}"):
            found[item, "pieces"] = (Thing.RIVET, rivet.id, rivet.on_hand)
    for glue in repair.adhesives:
        label = glue.name or glue.id
        for item in (label, f"adhesive {label}"):
            found[item, "cartridges"] = (Thing.ADHESIVE, glue.id, glue.on_hand)
    for part in repair.parts:
        here = None if part.on_hand is None else int(part.on_hand)
        found[part.label, "pieces"] = (Thing.PART, part.id, here)
    return found


def _line(
    number: int,
    line: KitLine,
    repair: Repair,
    stock: Mapping[tuple[str, str], tuple[Thing, str, int | None]],
) -> Line:
    kind, identity, on_hand = stock.get((line.item, line.unit), (None, "", None))
    part = repair.part_by_id.get(identity) if kind is Thing.PART else None
    arrives = part.arrives if part is not None and not part.on_hand else None
    have = line.have if kind is None else on_hand
    useless = line.short and line.have is not None and line.have >= line.need
    missing = (have is not None and have < line.need) or arrives is not None
    sign, word = _state(short=missing or useless, have=have, arrives=arrives)
    stale = part is not None and part.on_hand is True
    return Line(
        number=number,
        item=f"{line.item[:1].upper()}{line.item[1:]}",
        need=amount_in_words(line.need, line.unit),
        have="not counted" if have is None else f"{have:g}",
        for_=_for(line, repair),
        note="" if stale else line.note,
        sign=sign,
        word=word,
        kind=kind,
        id=identity,
        arrives=arrives,
        on_hand=on_hand,
        sources=line.sources,
    )


def _state(*, short: bool, have: float | None, arrives: datetime | None) -> tuple[Sign, str]:
    if short:
        return Sign.BAD, "on its way" if arrives is not None else "short"
    return (Sign.ASK, "not counted") if have is None else (Sign.GOOD, "there")


def _for(line: KitLine, repair: Repair) -> str:
    """Name what a line is for, as many as fit."""
    joints = {joint.id: joint.label for joint in repair.joints}
    names = [
        repair.part_by_id[key].label if key in repair.part_by_id else joints.get(key, key)
        for key in line.for_
    ]
    told = [name for name in dict.fromkeys(names) if name != line.item]
    more = f" and {len(told) - MOST_NAMED} more" if len(told) > MOST_NAMED else ""
    return ", ".join(told[:MOST_NAMED]) + more


def shelves(repair: Repair, today: date) -> tuple[Shelf, ...]:
    """Give the adhesives with batch and date."""
    return tuple(_shelf(glue, today) for glue in repair.adhesives)


def _shelf(glue: Adhesive, today: date) -> Shelf:
    sign, word = Sign.ASK, "no date"
    if glue.use_by is not None:
        old = glue.use_by < today
        sign, word = (Sign.BAD, "too old") if old else (Sign.GOOD, "good")
    use_by = "" if glue.use_by is None else glue.use_by.isoformat()
    return Shelf(glue.id, glue.name or glue.id, glue.batch or "", use_by, sign, word)


def instruction(found: Lists | None, *, old: bool) -> tuple[str, str, str]:
    """Say what to get first, and why; `old` tells that an adhesive is past its date."""
    if found is None:
        return "One moment: the parts list follows from the plan.", "It comes by itself.", ""
    if old:
        return "Get fresh adhesive: this batch is too old.", "Old adhesive does not hold.", "bad"
    if found.short:
        return (*_get(found.short), "")
    if found.uncounted:
        return "Count what nobody has counted.", "Nothing that was counted is short.", ""
    return (*_counted(found), "")


def _counted(found: Lists) -> tuple[str, str]:
    """Say what is left where nothing is short and nothing waits to be counted."""
    if found.at_hand:
        why = "Everything that is counted is there." if found.there else ""
        return "Lay out what must be at hand.", why
    if found.there:
        return "Everything is there.", ""
    return "Nothing has to be got.", "No part is replaced and no joint is made again."


def _get(short: tuple[Line, ...]) -> tuple[str, str]:
    """Say what to get first: what is on its way only where nothing else is short."""
    first = next((line for line in short if line.word == "short"), short[0])
    others = len(short) - 1
    more = f"{others} more {'line is' if others == 1 else 'lines are'} short." if others else ""
    verb = "Get" if first.word == "short" else "Wait for"
    item = first.item if first.item[1:2].isupper() else f"{first.item[:1].lower()}{first.item[1:]}"
    return f"{verb} {item}.", more
