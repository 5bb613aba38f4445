"""Hand-over to paint: what was done to which surface, limits of heat, what is owed after paint."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import show_area, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Beside,
    Bullets,
    Column,
    Heading,
    Owed,
    OwedList,
    Paragraph,
    Row,
    RunIn,
    Said,
    Section,
    SignOff,
    Table,
    Tone,
)
from panelwright.record.job import AFTER_PAINT, inside, is_wait
from panelwright.record.pages.steps import common, grouped, step_line, thing
from panelwright.sources import Basis, Source, merge

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.parts import Part
    from panelwright.plan.answer import PlannedStep
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.teardown.answer import Carried

FULL_CURE = "full-cure"
"""How the ids of the waits for full strength begin."""

TRADE = Source(Basis.PRACTICE, "what is owed after paint, in the order of the trade")

OWED_BY_TRADE = (
    ("Cavity wax in every closed section that was opened or heated", "technician"),
    ("Refit closures, lamps and trim; gaps and flush checked again", "technician"),
    ("Water leak test", "technician"),
    ("Wind noise and rattle on the road", "lead"),
    ("Scan after repair, faults read and cleared", "technician"),
    ("Re-energise high voltage", "qualified person"),
    ("Road test and release", "lead"),
)

PAINTED = ("rivet-bond", "bond", "weld", "hem", "sleeve")
"""Kinds of joint by which a part belongs to the painted body; what is bolted on comes off."""
WORKED_ON = ("replace", "section", "repair")


FINDS = {
    "replace": "new panel: whole outside; cut edges, holes and rivet heads coated",
    "section": "new section: the section and its seam; bare edges and rivet heads coated",
    "repair": "repaired area, as marked on the panel; bare metal pre-treated",
}
"""What paint finds on a part, by what became of it."""


def _surface(job: Job, part: Part) -> str:
    area = "area not recorded" if part.area is None else show_area(part.area.m2, job.units)
    return f"{part.label} ({part.material or 'material not recorded'}, {area})"


def _surfaces(job: Job) -> tuple[Block, ...]:
    bonded = {
        layer for joint in job.repair.joints if joint.kind in PAINTED for layer in joint.layers
    }
    found: dict[str, list[str]] = {}
    for part in job.repair.parts:
        if part.state in WORKED_ON and part.id in bonded:
            found.setdefault(FINDS[part.state], []).append(_surface(job, part))
    if not found:
        return (Paragraph(Said("No panel is replaced or repaired.")),)
    rows = tuple(
        Row((Said(", ".join(surfaces), strong=True), Said(finds)))
        for finds, surfaces in found.items()
    )
    return (Table((Column("surface", 1.4), Column("what paint finds", 1.0)), rows),)


def _carried(job: Job) -> tuple[Carried, ...]:
    teardown = job.answers.teardown
    return () if isinstance(teardown, Unanswered) else teardown.carried


def _masking(job: Job) -> Iterator[Said]:
    yield Said(
        "Bonded seams, squeeze-out and seam sealer: no solvent left to stand on them.", (TRADE,)
    )
    yield Said("Drain holes, threads, earth points and contact faces of bolted parts.", (TRADE,))
    moves: dict[str, list[Carried]] = {}
    for item in _carried(job):
        moves.setdefault(item.move, []).append(item)
    for move, items in moves.items():
        yield Said(f"{_where(job, items)}: {move}", merge(*(item.sources for item in items)))


def _where(job: Job, items: list[Carried]) -> str:
    return ", ".join(f"{item.what} on {job.part(item.part)}" for item in items)


def _heat(job: Job) -> Iterator[Said]:
    for adhesive in job.repair.adhesives:
        name = adhesive.name or adhesive.id
        if adhesive.bake_limit is not None:
            source = Source(Basis.DATA_SHEET, adhesive.source or f"adhesive {adhesive.id}")
            limit = show_temperature(adhesive.bake_limit.celsius, job.units)
            yield Said(
                f"Adhesive {name}: panel not above {limit} in the booth.", (source,), strong=True
            )
        else:
            yield Said(
                f"Adhesive {name}: no bake limit in this file. Ask its maker before baking.",
                tone=Tone.OPEN,
                strong=True,
            )
    yield from _cured(job)
    if job.repair.vehicle.drive in ("battery", "hybrid"):
        yield Said(
            "Traction battery: booth temperature and time only as the vehicle maker allows. "
            "This file gives no figure: ask the maker before baking.",
            tone=Tone.OPEN,
            strong=True,
        )


def _cured(job: Job) -> Iterator[Said]:
    """When the bond is fully cured, because the booth must not come before handling strength."""
    bond = job.answers.bond
    if isinstance(bond, Unanswered):
        return
    for joint in bond.joints:
        full = joint.clock.full
        if full is not None:
            yield Said(
                f"Joint {job.joint(joint.joint)}: full cure by {job.when.stamp(full.late)} "
                "(late bound).",
                joint.sources,
            )


def _sensors(job: Job) -> Iterator[Said]:
    sensors = [item for item in _carried(job) if item.kind == "sensor"]
    if sensors:
        yield Said(
            f"{_where(job, sensors)}: filler and paint thickness before it only within the maker's "
            "limit for that zone; this file gives none: ask the maker.",
            merge(*(item.sources for item in sensors)),
            tone=Tone.OPEN,
        )
    if not sensors:
        yield Said("No sensor is recorded behind a painted surface; check the maker's list.")


def _full_strength(job: Job) -> Iterator[Said]:
    """When every bonded joint has its full strength, in one line with the latest time."""
    waits = [s for s in job.steps if s.stage == AFTER_PAINT and s.id.startswith(FULL_CURE)]
    if waits:
        last = job.when.stamp(max(step.end for step in waits))
        yield Said(f"full strength of {_joints(job, waits)}: {last} at the latest")


def _joints(job: Job, waits: list[PlannedStep]) -> str:
    """The joints that are waited for; all of them in two words."""
    bond = job.answers.bond
    if not isinstance(bond, Unanswered) and len(waits) == len(bond.joints) > 1:
        return "every bonded joint"
    return ", ".join(thing(job, step) or step.name for step in waits)


def _waits(job: Job) -> tuple[Block, ...]:
    """What is waited for after the hand-over, in one paragraph."""
    said = list(_full_strength(job))
    for step in job.steps:
        if step.stage == AFTER_PAINT and is_wait(step) and not step.id.startswith(FULL_CURE):
            name = inside(step.name)
            said.append(Said(f"{name}: until {job.when.stamp(step.end)}"))
    return (RunIn(tuple(said), Said("Wait for:", strong=True)),) if said else ()


def _planned(job: Job) -> Iterator[Owed]:
    """The steps after paint; those of one act that follow each other share a line."""
    shared = common(job)
    after = (step for step in job.steps if step.stage == AFTER_PAINT and not is_wait(step))
    for group in grouped(job, tuple(after)):
        line, step = step_line(job, group, shared), group[0]
        yield Owed(
            run=line.run,
            when=job.when.stamp(step.start),
            what=line.name,
            owner=line.by or step.by.value,
            cautions=line.cautions,
            hold=step.hold,
            done=all(one.done for one in group),
            record=line.items[0].record if len(group) == 1 else "",
            items=line.items if len(group) > 1 else (),
        )


def _owed(job: Job) -> tuple[Owed, ...]:
    if any(step.stage == AFTER_PAINT for step in job.steps):
        return tuple(_planned(job))
    drive = job.repair.vehicle.drive
    owed = [
        Owed("", "", Said(what, (TRADE,)), owner)
        for what, owner in OWED_BY_TRADE
        if drive in ("battery", "hybrid") or "high voltage" not in what
    ]
    owed += [
        Owed("", "", Said(f"{item.what}: {item.afterwards}", item.sources), "technician")
        for item in _carried(job)
        if item.afterwards
    ]
    return tuple(owed)


def hand_over_section(job: Job) -> Section:
    """Everything that paint needs to know."""
    masking = (Heading("Mask and protect"), Bullets(tuple(_masking(job))))
    heat = (Heading("Heat"), Bullets(tuple(_heat(job))))
    sensors = (Heading("Sensor zones: filler and paint"), Bullets(tuple(_sensors(job))))
    return Section(
        "Hand-over to paint",
        (
            *_surfaces(job),
            Beside(masking, (*heat, *sensors), 0.58),
            SignOff(("Handed over, lead", "Received, paint")),
            Heading("Owed after paint"),
            OwedList(_owed(job)),
            *_waits(job),
        ),
    )
