"""What bonding uses up: cartridges, nozzles, brushes, coupon strips, gloves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.plan.library import settings, settings_source
from panelwright.plan.wants import Want
from panelwright.sources import merge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from zoneinfo import ZoneInfo

    from panelwright.facts.models.bonding import Adhesive
    from panelwright.facts.models.parts import Joint
    from panelwright.plan.answer import PlannedStep
    from panelwright.plan.course import Course


def adhesive_wants(course: Course, steps: Sequence[PlannedStep], zone: ZoneInfo) -> Iterator[Want]:
    """Cartridges by adhesive, with a nozzle for each cartridge of each closing and one spare."""
    by_adhesive: dict[str, list[Joint]] = {}
    for joint in course.bonded:
        if "adhesive" in course.asks(joint):
            continue
        adhesive = course.repair.adhesive_of(joint)
        by_adhesive.setdefault(adhesive.id if adhesive else "", []).append(joint)
    for id_, joints in by_adhesive.items():
        adhesive = course.repair.adhesive_by_id.get(id_)
        yield _cartridges(course, adhesive, joints, _used_on(course, joints, steps, zone))
        yield from _with_each_mix(course, adhesive, joints)


def _ml(course: Course, joints: Sequence[Joint]) -> tuple[float, bool]:
    """Millilitres that the joints room asks for, and whether it knows them all."""
    known = [course.joint_answers.get(joint.id) for joint in joints]
    amounts = [answer.adhesive_ml for answer in known if answer is not None]
    given = [ml for ml in amounts if ml is not None]
    return sum(given), len(given) == len(joints)


def _cartridges(
    course: Course, adhesive: Adhesive | None, joints: Sequence[Joint], used: date | None
) -> Want:
    name = course.repair.name
    for_ = tuple(joint.id for joint in joints)
    ml, whole = _ml(course, joints)
    label = (adhesive.name or adhesive.id) if adhesive is not None else "not chosen: ask the maker"
    item = label if "adhesive" in label.lower() else f"adhesive {label}"
    notes = [f"{ml:.0f} ml with squeeze-out and first mix"] if ml else []
    if not whole:
        notes.append("not every joint's amount is known")
    bad = False
    if adhesive is not None and adhesive.use_by is not None and used is not None:
        bad = used > adhesive.use_by
        state = f"too old on {used:%d %b %Y}, when it is used: get a fresh batch" if bad else "good"
        notes.append(f"use by {adhesive.use_by:%d %b %Y}: {state}")
    sources = merge(
        *(course.joint_answers[j.id].sources for j in joints if j.id in course.joint_answers)
    )
    if adhesive is None or adhesive.cartridge is None:
        notes.append("cartridge size not given")
        return Want(name, item, ml, "ml", for_, None, "; ".join(notes), bad, sources)
    need = sum(cartridges(course, adhesive, mix) for mix in mixes(course, joints).values())
    have = None if adhesive.on_hand is None else float(adhesive.on_hand)
    notes.append(f"{adhesive.cartridge.ml:g} ml each, opened ones are not kept for the next panel")
    return Want(name, item, need, "cartridges", for_, have, "; ".join(notes), bad, sources)


def mixes(course: Course, joints: Sequence[Joint]) -> dict[str, list[Joint]]:
    """Joints by the panel that closes them: each is one mix."""
    found: dict[str, list[Joint]] = {}
    for joint in joints:
        found.setdefault(course.closes[joint.id], []).append(joint)
    return found


def cartridges(course: Course, adhesive: Adhesive | None, joints: Sequence[Joint]) -> int:
    """Cartridges for one mix; one where amount or size is not known."""
    ml, _ = _ml(course, joints)
    if adhesive is None or adhesive.cartridge is None or ml <= 0:
        return 1
    return math.ceil(ml / adhesive.cartridge.ml - 1e-9)


def _used_on(
    course: Course, joints: Sequence[Joint], steps: Sequence[PlannedStep], zone: ZoneInfo
) -> date | None:
    """Last day on which the adhesive is used."""
    parts = {course.closes[joint.id] for joint in joints}
    days = [
        step.start.astimezone(zone).date()
        for step in steps
        if step.proves.startswith("event bead-begun") and parts & set(step.concerns)
    ]
    return max(days, default=None)


def _with_each_mix(
    course: Course, adhesive: Adhesive | None, joints: Sequence[Joint]
) -> Iterator[Want]:
    name, source = course.repair.name, (settings_source(),)
    by_panel = mixes(course, joints)
    parts = tuple(by_panel)
    count = sum(cartridges(course, adhesive, mix) for mix in by_panel.values())
    nozzles = count + len(by_panel)
    note = "one for each cartridge, one spare for each mix"
    yield Want(name, "mixing nozzles", nozzles, "pieces", parts, note=note, sources=source)
    yield Want(name, "adhesive brushes", 2 * len(by_panel), "pieces", parts, sources=source)
    yield Want(name, "nitrile gloves", 4 * len(by_panel), "pairs", parts, sources=source)


def coupon_wants(course: Course) -> Iterator[Want]:
    """Strips of the panel's own alloy for peel coupons."""
    strips = settings()["coupon_strips"]
    for part in course.panels:
        if not course.bonded_of(part):
            continue
        material = course.part(part).material or "the panel's own alloy"
        thickness = course.part(part).thickness
        size = f", {thickness.mm:g} mm" if thickness is not None else ""
        yield Want(
            course.repair.name,
            f"coupon strips of {material}{size}",
            strips,
            "pieces",
            (part,),
            note="for three peel coupons, from the old panel's clean metal if need be",
            sources=(settings_source(),),
        )
