"""Hand-over to paint: what was done to which surface, limits of heat, what is owed after paint."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.quantities import show_area, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Bullets,
    Column,
    Heading,
    Owed,
    OwedList,
    Row,
    Said,
    Section,
    SignOff,
    Table,
    Tone,
)
from panelwright.record.notes import usual
from panelwright.sources import Basis, Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.parts import Part
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.teardown.answer import Carried

TRADE = Source(Basis.PRACTICE, "what is owed after paint, in the order of the trade")

AFTER_PAINT = (
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


def _surface(job: Job, part: Part) -> Row:
    todo = {
        "replace": "new panel: whole outside; cut edges, drilled holes and rivet heads coated",
        "section": "new section: the section and its seam; bare edges and rivet heads coated",
        "repair": "repaired area, as marked on the panel; bare metal pre-treated",
    }
    area = "–" if part.area is None else show_area(part.area.m2, job.units)
    return Row(
        (
            Said(part.label, strong=True),
            Said(part.material or "not recorded"),
            Said(area),
            Said(todo[part.state]),
        )
    )


def _surfaces(job: Job) -> tuple[Block, ...]:
    bonded = {
        layer for joint in job.repair.joints if joint.kind in PAINTED for layer in joint.layers
    }
    parts = [part for part in job.repair.parts if part.state in WORKED_ON and part.id in bonded]
    columns = (
        Column("surface", 1.4),
        Column("material", 1.2),
        Column("area"),
        Column("what paint finds", 2.4),
    )
    if not parts:
        return (Heading("Surfaces"), Bullets((Said("No panel is replaced or repaired."),)))
    return (Heading("Surfaces"), Table(columns, tuple(_surface(job, part) for part in parts)))


def _carried(job: Job) -> tuple[Carried, ...]:
    teardown = job.answers.teardown
    return () if isinstance(teardown, Unanswered) else teardown.carried


def _masking(job: Job) -> Iterator[Said]:
    yield Said(
        "Bonded seams, squeeze-out and seam sealer: no solvent left to stand on them.", (TRADE,)
    )
    yield Said("Drain holes, threads, earth points and contact faces of bolted parts.", (TRADE,))
    for item in _carried(job):
        yield Said(f"{item.what} on {job.part(item.part)}: {item.move}", item.sources)


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
    for item in sensors:
        yield Said(
            f"{item.what} on {job.part(item.part)}: filler and paint thickness before it only "
            "within the maker's limit for that zone; this file gives none: ask the maker.",
            item.sources,
            tone=Tone.OPEN,
        )
    if not sensors:
        yield Said("No sensor is recorded behind a painted surface; check the maker's list.")


def _owed(job: Job) -> tuple[Owed, ...]:
    after = [step for step in job.steps if step.stage == 12]
    common = usual([step.sources for step in job.steps])
    if after:
        return tuple(
            Owed(Said(step.name, () if step.sources == common else step.sources), step.by.value)
            for step in after
            if not step.done and step.by is not Who.NOBODY
        )
    drive = job.repair.vehicle.drive
    owed = [
        Owed(Said(what, (TRADE,)), owner)
        for what, owner in AFTER_PAINT
        if drive in ("battery", "hybrid") or "high voltage" not in what
    ]
    owed += [
        Owed(Said(f"{item.what}: {item.afterwards}", item.sources), "technician")
        for item in _carried(job)
        if item.afterwards
    ]
    return tuple(owed)


def hand_over_section(job: Job) -> Section:
    """Everything that paint needs to know."""
    return Section(
        "Hand-over to paint",
        (
            *_surfaces(job),
            Heading("Mask and protect"),
            Bullets(tuple(_masking(job))),
            Heading("Heat"),
            Bullets(tuple(_heat(job))),
            Heading("Sensor zones: filler and paint"),
            Bullets(tuple(_sensors(job))),
            Heading("Owed after paint"),
            OwedList(_owed(job)),
            SignOff(("Handed over, lead", "Received, paint")),
        ),
        fresh=True,
    )
