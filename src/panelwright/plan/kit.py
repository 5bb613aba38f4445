"""The parts list: what all repairs use up, against what is there."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import KitLine
from panelwright.plan.course import RENEWED
from panelwright.plan.kit_bond import adhesive_wants, coupon_wants
from panelwright.plan.library import settings, settings_source
from panelwright.plan.measure import metres_of, rivets_of
from panelwright.plan.wants import Want
from panelwright.sources import Basis, Source, merge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from zoneinfo import ZoneInfo

    from panelwright.facts.models.parts import Joint
    from panelwright.plan.answer import PlannedStep
    from panelwright.plan.course import Course

FILE = Source(Basis.SHOP, "stock by the repair file")


@dataclass
class _Sum:
    """Wants of one item, added up."""

    item: str
    unit: str
    need: float = 0.0
    have: float | None = None
    wants: list[Want] = field(default_factory=list)


def kit(
    courses: Sequence[Course], steps: Sequence[PlannedStep], zone: ZoneInfo
) -> tuple[KitLine, ...]:
    """One line for each item, in the order of use; needs of all repairs are added up.

    Parameters
    ----------
    courses : sequence of Course
        The repairs.
    steps : sequence of PlannedStep
        Their steps, for the days on which things are wanted; may be empty.
    zone : ZoneInfo
        Of the shop, for use-by dates.

    Returns
    -------
    tuple of KitLine
        What stands on several repairs' shelves under one name is one shelf: the larger stock
        counts, not the sum.
    """
    sums: dict[tuple[str, str], _Sum] = {}
    for course in courses:
        mine = [step for step in steps if step.repair == course.repair.name]
        for want in _wants(course, mine, zone):
            line = sums.setdefault((want.item, want.unit), _Sum(want.item, want.unit))
            line.need = max(line.need, want.need) if want.once else line.need + want.need
            if want.have is not None:
                line.have = want.have if line.have is None else max(line.have, want.have)
            line.wants.append(want)
    several = len(courses) > 1
    return tuple(_line(total, several=several) for total in sums.values())


def _line(total: _Sum, *, several: bool) -> KitLine:
    need = math.ceil(total.need - 1e-9) if total.unit not in _MEASURED else round(total.need, 1)
    for_ = [
        f"{want.repair}: {name}" if several else name for want in total.wants for name in want.for_
    ]
    notes = dict.fromkeys(want.note for want in total.wants if want.note)
    bad = any(want.bad for want in total.wants)
    return KitLine(
        item=total.item,
        need=float(need),
        have=total.have,
        unit=total.unit,
        for_=tuple(dict.fromkeys(for_)),
        short=bad or (total.have is not None and total.have < need),
        note="; ".join(notes),
        sources=merge(*(want.sources for want in total.wants)),
    )


_MEASURED = frozenset({"l", "ml", "m"})


def _wants(course: Course, steps: Sequence[PlannedStep], zone: ZoneInfo) -> Iterator[Want]:
    yield from _parts(course, steps)
    yield from _rivets(course)
    yield from adhesive_wants(course, steps, zone)
    yield from coupon_wants(course)
    yield from _tools(course)
    yield from _finish(course)
    yield from _pads(course)


def _parts(course: Course, steps: Sequence[PlannedStep]) -> Iterator[Want]:
    """Parts that are replaced or sectioned."""
    name = course.repair.name
    for part in course.repair.parts:
        if part.state not in RENEWED:
            continue
        have = {True: 1.0, False: 0.0, None: None}[part.on_hand]
        note, bad = "", part.on_hand is False
        if part.on_hand is None and part.arrives is None:
            note = "nobody said whether it is here: look, and order it"
        if part.arrives is not None and not part.on_hand:
            wanted = [
                s.start
                for s in steps
                if part.id in s.concerns and s.id.endswith(f"dry-fit-{part.id}")
            ]
            note = f"arrives {part.arrives:%a %d %b %H:%M}"
            note += f"; hung first {wanted[0]:%a %d %b %H:%M}" if wanted else ""
            bad, have = False, 0.0
        elif part.on_hand is False:
            note = "not here and no arrival date: order it; the plan takes it as here in time"
        yield Want(name, part.label, 1, "pieces", (part.id,), have, note, bad, (FILE,))


def _rivets(course: Course) -> Iterator[Want]:
    """Blind rivets of all remade joints, spare ones and two for the trial."""
    taken = settings()
    counts: dict[str, list[Joint]] = {}
    for joint in course.remade:
        name = _rivet_name(course, joint)
        if rivets_of(course, joint) and name is not None:
            counts.setdefault(name, []).append(joint)
    stock = {rivet.id: rivet for rivet in course.repair.rivets}
    for rivet, joints in counts.items():
        count = sum(rivets_of(course, joint) for joint in joints)
        spare = max(math.ceil(count * taken["spare_fraction"]), int(taken["spare_least"]))
        held = stock.get(rivet)
        label = held.name or held.id if held is not None else rivet
        item = f"blind rivet {label}" if "rivet" not in label.lower() else label
        note = f"{count} to set, {spare} spare, 2 for the trial"
        have = float(held.on_hand) if held is not None and held.on_hand is not None else None
        sources = merge(
            (settings_source(),),
            *(course.joint_answers[j.id].sources for j in joints if j.id in course.joint_answers),
        )
        for_ = tuple(joint.id for joint in joints)
        need = count + spare + 2
        yield Want(course.repair.name, item, need, "pieces", for_, have, note, sources=sources)


def _rivet_name(course: Course, joint: Joint) -> str | None:
    """The rivet of a joint; None where none is chosen, or its count is for the maker to say."""
    if {"rivet", "count"} & set(course.asks(joint)):
        return None
    answer = course.joint_answers.get(joint.id)
    if answer is not None and answer.rivet is not None:
        return answer.rivet.id
    if joint.remake is not None and joint.remake.rivet:
        return joint.remake.rivet
    return None


def without_rivet(course: Course) -> Iterator[Problem]:
    """Joints whose rivets are in no list because none is chosen, and nobody else says so."""
    for joint in course.remade:
        chosen = _rivet_name(course, joint) is not None or joint in course.asked
        if rivets_of(course, joint) and not chosen:
            words = (
                "no rivet is chosen for it, so neither its rivets nor their drill bit are in the "
                "parts list; give [[rivet]], or ask the maker"
            )
            yield Problem(f"joint {joint.id}", words, hard=False)


def _tools(course: Course) -> Iterator[Want]:
    """What drilling and dressing wear out; for aluminium only."""
    taken, name = settings(), course.repair.name
    if not course.opened:
        return
    holes: dict[str, int] = {}
    for joint in course.remade:
        answer = course.joint_answers.get(joint.id)
        rivet = answer.rivet if answer is not None else None
        if rivet is not None and rivet.hole_mm:
            item = f"drill bit {rivet.hole_mm:g} mm, for aluminium only"
            holes[item] = holes.get(item, 0) + rivets_of(course, joint)
    for item, count in holes.items():
        if count:
            need = math.ceil(count / taken["rivets_per_bit"]) + 1
            note = f"{count} holes and one spare"
            yield Want(name, item, need, "pieces", ("drill",), note=note, sources=_SET)
    metres = sum(metres_of(course, joint) for joint in course.remade)
    discs = math.ceil(metres * taken["abrasive_per_metre"]) + 1
    joints = tuple(joint.id for joint in course.remade)
    yield Want(name, "abrasive discs, for aluminium only", discs, "pieces", joints, sources=_SET)
    item, for_ = "class D extinguisher, at hand", ("every step with dust",)
    yield Want(name, item, 1, "pieces", for_, sources=_SET, once=True)


_SET = (settings_source(),)


def _finish(course: Course) -> Iterator[Want]:
    """Degreaser, sealer, wax, foam."""
    taken, name = settings(), course.repair.name
    metres = sum(metres_of(course, joint) for joint in course.remade)
    joints = tuple(joint.id for joint in course.remade)
    if metres:
        ml = metres * taken["degreaser_per_metre"]
        yield Want(name, "degreaser", ml, "ml", joints, sources=_SET)
        sealer = math.ceil(metres * taken["sealer_per_metre"] / taken["sealer_cartridge"])
        note = f"{metres:.2f} m of joint"
        yield Want(name, "seam sealer", sealer, "cartridges", joints, note=note, sources=_SET)
    if course.opened:
        areas = [course.part(p).area for p in course.panels]
        litres = sum(a.m2 * taken["wax_per_area"] if a else taken["wax_default"] for a in areas)
        if litres:
            yield Want(name, "cavity wax", litres, "l", course.panels, sources=_SET)
    room = course.answers.teardown
    for carried in room.carried if room is not None else ():
        if carried.kind in {"foam", "seal"} and carried.part in course.order:
            note = carried.move
            for_ = (carried.part,)
            yield Want(name, carried.what, 1, "pieces", for_, note=note, sources=carried.sources)


def _pads(course: Course) -> Iterator[Want]:
    """Sheets that the pads are cut from."""
    name, room = course.repair.name, course.answers.quiet
    for stock in room.stocks if room is not None else ():
        have = None if stock.on_hand is None else float(stock.on_hand)
        count = stock.need if stock.need is not None else len(stock.pads)
        note = "" if stock.need is not None else "sheet size not given: counted as one for each pad"
        sources = room.sources if room is not None else ()
        item = f"sound pad {stock.stock}"
        yield Want(name, item, count, "sheets", stock.pads, have, note, sources=sources)
    if room is None or not room.stocks:
        pads = len(course.repair.pads)
        if pads:
            yield Want(name, "sound pads", pads, "pieces", ("pads",), sources=(FILE,))
