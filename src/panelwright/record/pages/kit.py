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
    Said,
    Section,
    Size,
    Table,
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

KIT_COLUMNS = (
    Column("item", 1.7),
    Column("need", 0.0, Align.RIGHT),
    Column("have", 0.0, Align.RIGHT),
    Column(""),
    Column("for", 1.8),
    Column("note", 1.7),
)


def _state(line: KitLine) -> Said:
    if line.short:
        return Said("short", tone=Tone.NOT_OK, strong=True)
    if line.have is None:
        return Said("count", tone=Tone.OPEN)
    return Said("there", tone=Tone.OK)


def _line(job: Job, line: KitLine, common: tuple[Source, ...]) -> Row:
    prefix = f"{job.repair.name}: "
    names = [_whose(job, name.removeprefix(prefix)) for name in line.for_]
    for_ = ", ".join(names[:MOST_NAMED])
    if len(names) > MOST_NAMED:
        for_ += f" and {len(names) - MOST_NAMED} more"
    have = "–" if line.have is None else amount(line.have, "")
    return Row(
        (
            Said(line.item, strong=line.short),
            Said(amount(line.need, line.unit), () if line.sources == common else line.sources),
            Said(have),
            _state(line),
            Said(for_),
            Said(line.note),
        ),
        strong=line.short,
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
    said = Said("Amounts that name no other source:", common)
    source = (Paragraph(said, size=Size.SMALL),) if common else ()
    words = f"{counted(len(short), 'item')} short." if short else "Nothing is known to be short."
    tone = Tone.NOT_OK if short else Tone.OK
    return (
        Paragraph(Said(words, tone=tone, strong=True)),
        *source,
        Table(KIT_COLUMNS, tuple(_line(job, line, common) for line in (*short, *rest))),
    )


def _adhesive(job: Job, adhesive: Adhesive) -> Row:
    limit = "–" if adhesive.limit is None else show_temperature(adhesive.limit.celsius, job.units)
    bake = adhesive.bake_limit
    baked = "ask its maker" if bake is None else show_temperature(bake.celsius, job.units)
    return Row(
        (
            Said(adhesive.name or adhesive.id, strong=True),
            Said(adhesive.kind or "–"),
            Said(adhesive.batch or "not recorded"),
            Said(day_of(adhesive.use_by) if adhesive.use_by else "not recorded"),
            Said(limit),
            Said(baked),
        )
    )


def _adhesives(job: Job) -> tuple[Block, ...]:
    if not job.repair.adhesives:
        return ()
    columns = (
        Column("adhesive", 2.0),
        Column("kind", 1.5),
        Column("batch", 1.2),
        Column("use by", 1.2),
        Column("limit while curing"),
        Column("bake limit"),
    )
    rows = tuple(_adhesive(job, adhesive) for adhesive in job.repair.adhesives)
    return (Heading("Adhesive"), Table(columns, rows))


def _pad(job: Job, part: PartAnswer) -> Row:
    quieter = part.quieter_dB
    said = "–" if quieter is None else f"{quieter.low:.0f} to {quieter.high:.0f} dB"
    mass = "–" if part.pad_mass_kg is None else f"{part.pad_mass_kg:.2f} kg"
    coverage = "–" if part.coverage is None else f"{100 * part.coverage:.0f} %"
    return Row(
        (
            Said(job.part(part.part), strong=True),
            Said(counted(len(part.pads), "pad")),
            Said(show_area(part.pad_area_m2, job.units)),
            Said(mass),
            Said(coverage),
            Said(said, part.sources),
            Said("; ".join(part.missing)),
        )
    )


def _pads(job: Job) -> tuple[Block, ...]:
    quiet = job.answers.quiet
    if isinstance(quiet, Unanswered):
        return (Heading("Sound pads"), missing("Sound pads", quiet))
    if not quiet.parts:
        return ()
    columns = (
        Column("panel", 1.6),
        Column("pads"),
        Column("area"),
        Column("mass"),
        Column("covered"),
        Column("quieter by"),
        Column("missing", 1.6),
    )
    sheets = ""
    if quiet.sheets is not None:
        sheets = f"Cut from {counted(quiet.sheets, 'sheet')}."
    cautions = tuple(Paragraph(Said(f"▲ {words}")) for words in quiet.cautions)
    rows = tuple(_pad(job, part) for part in quiet.parts)
    return (Heading("Sound pads", Said(sheets)), Table(columns, rows), *cautions)


def kit_section(job: Job) -> Section:
    """Everything that must be at hand."""
    return Section("Parts list", (*_kit(job), *_adhesives(job), *_pads(job)))
