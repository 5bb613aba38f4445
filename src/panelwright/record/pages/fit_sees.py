"""What each kind of check sees of a part by itself, and what the cross-measure leaves open."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.fit.sees import CROSS, MOTION_NAMES, sees_words
from panelwright.record.blocks import Align, Column, Row, RunIn, Said, Size, Table

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import PartFit, Sees
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def sees_table(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    """The table of all parts, and in words what the cross-measure alone would not show."""
    if not fit.sees:
        return ()
    several = len({row.part for row in fit.sees}) > 1
    columns = (
        Column("what each kind of check sees by itself, %", 1.0),
        Column("readings", 0.0, Align.RIGHT),
        *(Column(name, 0.0, Align.RIGHT) for name in MOTION_NAMES),
        Column("of 6", 0.0, Align.RIGHT),
    )
    rows = tuple(_row(job, row, several=several) for row in fit.sees)
    key = (
        "Share of the doubt about each motion that this kind takes away alone; of 6: motions that "
        "it holds."
    )
    said = [Said(key), *map(Said, sees_said(job, fit)), *_held(job, fit)]
    return (Table(columns, rows, tight=True), RunIn(tuple(said), size=Size.SMALL))


def sees_said(job: Job, fit: FitAnswer) -> tuple[str, ...]:
    """What the cross-measure alone would not show, a sentence for each part."""
    cross = (row for row in fit.sees if row.kind == CROSS)
    words = (sees_words(replace(row, part=f"the {job.part(row.part)}"), job.units) for row in cross)
    return tuple(f"{said[:1].upper()}{said[1:]}." for said in words)


def _row(job: Job, row: Sees, *, several: bool) -> Row:
    kind = f"{job.part(row.part)}: {row.kind}" if several else row.kind
    shares = (Said(f"{100.0 * share:.0f}") for share in row.share)
    read = str(row.readings) if row.readings else "not read"
    return Row((Said(kind), Said(read), *shares, Said(str(row.motions), strong=True)))


def _held(job: Job, fit: FitAnswer) -> tuple[Said, ...]:
    """Parts of which every motion is checked well enough; the others say what is not."""
    return tuple(
        Said(f"All six motions of the {job.part(part.id)} are checked by these readings together.")
        for part in fit.parts
        if not part.unseen and _most(fit, part) == len(MOTION_NAMES)
    )


def _most(fit: FitAnswer, part: PartFit) -> int:
    return max((row.motions for row in fit.sees if row.part == part.id), default=0)
