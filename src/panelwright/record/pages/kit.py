"""The parts list with shortages; adhesive and its dates; sound pads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import show_area, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Align,
    Column,
    Heading,
    Paragraph,
    Row,
    RunIn,
    Said,
    Section,
    Size,
    Table,
    TickItem,
    TickList,
    Tone,
)
from panelwright.record.job import counted, missing
from panelwright.record.notes import usual
from panelwright.record.pages.open_points import amount
from panelwright.record.when import day_of

if TYPE_CHECKING:
    from panelwright.facts.models.bonding import Adhesive
    from panelwright.plan.answer import KitLine
    from panelwright.quiet.answer import PartAnswer
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.sources import Source

MOST_NAMED = 4
"""Parts and joints that one line of the parts list names."""

SHORT_COLUMNS = (
    Column("short", 1.4),
    Column("need", 0.0, Align.RIGHT),
    Column("have", 0.0, Align.RIGHT),
    Column("for", 1.3),
    Column("note", 2.2),
)


def _for(job: Job, line: KitLine) -> str:
    """What a line is for: names, as many as fit, or that it is for every joint."""
    prefix = f"{job.repair.name}: "
    keys = [name.removeprefix(prefix) for name in line.for_]
    joints = job.answers.joints
    every = set() if isinstance(joints, Unanswered) else {joint.id for joint in joints.joints}
    if len(keys) > MOST_NAMED and every == set(keys):
        return f"all {len(keys)} joints of the joint sheets"
    names = list(dict.fromkeys(_whose(job, key) for key in keys))
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _short(job: Job, line: KitLine, common: tuple[Source, ...]) -> Row:
    have = "–" if line.have is None else amount(line.have, "")
    return Row(
        (
            Said(line.item, strong=True, tone=Tone.NOT_OK),
            Said(amount(line.need, line.unit), () if line.sources == common else line.sources),
            Said(have),
            Said(_for(job, line)),
            Said(line.note),
        ),
    )


def _tick(job: Job, line: KitLine, common: tuple[Source, ...]) -> TickItem:
    for_ = _for(job, line)
    words = f"for {for_}" if for_ and for_ != line.item else ""
    if line.have is not None:
        words = f"have {amount(line.have, '')}; {words}".removesuffix("; ")
    note = "; ".join(part for part in (words, line.note) if part)
    return TickItem(
        Said(amount(line.need, line.unit), strong=True),
        Said(line.item, () if line.sources == common else line.sources),
        Said(note),
    )


def _whose(job: Job, name: str) -> str:
    if name in job.repair.part_by_id:
        return job.part(name)
    return job.joint(name)


def _kit(job: Job) -> tuple[Block, ...]:
    plan = job.answers.plan
    if isinstance(plan, Unanswered):
        return (missing("Parts list", plan),)
    if not plan.kit:
        return (Paragraph(Said("Nothing has to be got.")),)
    short = [line for line in plan.kit if line.short]
    rest = [line for line in plan.kit if not line.short]
    common = usual([line.sources for line in plan.kit])
    blocks: list[Block] = []
    if short:
        blocks.append(Table(SHORT_COLUMNS, tuple(_short(job, line, common) for line in short)))
    if rest:
        source = Said("amounts that name no other source:", common) if common else None
        ticks = tuple(_tick(job, line, common) for line in rest)
        blocks += [Heading("Tick what is there; count it where no stock is named", source)]
        blocks += [TickList(ticks)]
    return tuple(blocks)


def _adhesive(job: Job, adhesive: Adhesive) -> RunIn:
    limit = adhesive.limit
    heat = "not recorded" if limit is None else show_temperature(limit.celsius, job.units)
    bake = adhesive.bake_limit
    baked = "ask its maker" if bake is None else show_temperature(bake.celsius, job.units)
    use_by = day_of(adhesive.use_by) if adhesive.use_by else "not recorded"
    said = (
        adhesive.kind or "kind not recorded",
        f"batch {adhesive.batch or 'not recorded'}",
        f"use by {use_by}",
        f"limit while curing {heat}",
        f"bake limit {baked}",
    )
    lead = Said(f"Adhesive {adhesive.name or adhesive.id}:", strong=True)
    return RunIn(tuple(Said(words) for words in said), lead)


def _pad(job: Job, part: PartAnswer) -> Said:
    words = [f"{job.part(part.part)}: {counted(len(part.pads), 'pad')}"]
    words.append(show_area(part.pad_area_m2, job.units))
    if part.pad_mass_kg is not None:
        words.append(f"{part.pad_mass_kg:.2f} kg")
    if part.coverage is not None:
        words.append(f"{100 * part.coverage:.0f} % covered")
    if part.quieter_dB is not None:
        words.append(f"quieter by {part.quieter_dB.low:.0f} to {part.quieter_dB.high:.0f} dB")
    words += [f"missing: {missed}" for missed in part.missing]
    return Said(", ".join(words), part.sources)


def _pads(job: Job) -> tuple[Block, ...]:
    quiet = job.answers.quiet
    if isinstance(quiet, Unanswered):
        return (missing("Sound pads", quiet),)
    if not quiet.parts:
        return ()
    said = [_pad(job, part) for part in quiet.parts]
    if quiet.sheets is not None:
        said.append(Said(f"cut from {counted(quiet.sheets, 'sheet')}"))
    found: list[Block] = [RunIn(tuple(said), Said("Sound pads:", strong=True))]
    if quiet.cautions:
        lines = tuple(Said(words) for words in quiet.cautions)
        found.append(RunIn(lines, Said("▲ Pads:", strong=True), Size.SMALL))
    return tuple(found)


def _shortages(job: Job) -> Said | None:
    """How much is short, in words."""
    plan = job.answers.plan
    if isinstance(plan, Unanswered) or not plan.kit:
        return None
    short = sum(line.short for line in plan.kit)
    words = f"{counted(short, 'item')} short." if short else "Nothing is known to be short."
    return Said(words, tone=Tone.NOT_OK if short else Tone.OK, strong=True)


def kit_section(job: Job) -> Section:
    """Everything that must be at hand."""
    adhesives = (_adhesive(job, adhesive) for adhesive in job.repair.adhesives)
    blocks = (*_kit(job), *adhesives, *_pads(job))
    return Section("Parts list", blocks, after=_shortages(job))
