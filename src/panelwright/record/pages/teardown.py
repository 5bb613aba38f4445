"""What comes off and what may hide behind it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from panelwright.record.answer import Unanswered
from panelwright.record.blocks import Column, Paragraph, Row, Said, Table, Tone
from panelwright.record.job import LAST, missing

if TYPE_CHECKING:
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.teardown.answer import Answer as TeardownAnswer
    from panelwright.teardown.answer import Removal


def _looks(job: Job, teardown: TeardownAnswer, part: str | None) -> str:
    return "; ".join(job.part(look.part) for look in teardown.look if look.after == part)


def _removal(job: Job, teardown: TeardownAnswer, number: int, removal: Removal) -> Row:
    looks = _looks(job, teardown, removal.part)
    return Row(
        (
            Said(str(number), strong=True),
            Said(removal.name or job.part(removal.part), strong=True),
            Said(removal.action.value),
            Said(", ".join(job.joint(joint) for joint in removal.opens) or "–"),
            Said(looks or "–", tone=Tone.OPEN if looks else Tone.PLAIN, strong=bool(looks)),
        )
    )


BECOMES: Mapping[str, str] = {
    "keep": "stays",
    "repair": "repair in place",
    "section": "section",
    "replace": "replace",
    "inspect": "inspect",
    "remove-and-refit": "off and on again",
}
"""What becomes of a part."""


def _found(job: Job) -> tuple[Block, ...]:
    """What was found, in the order of time; where nobody said when, as it was entered."""
    findings = sorted(job.repair.findings, key=lambda one: one.at or LAST)
    if not findings:
        return ()
    rows = tuple(
        Row(
            (
                Said(job.part(one.part), strong=True),
                Said(one.what),
                Said(BECOMES.get(one.state or "", "–")),
                Said(job.part(one.after) if one.after else "–"),
                Said(", ".join(filter(None, (job.when.stamp(one.at) if one.at else "", one.by)))),
            )
        )
        for one in findings
    )
    columns = (
        Column("found on", 1.0),
        Column("what", 1.6),
        Column("what becomes of it"),
        Column("seen with this off", 1.0),
        Column("when, by whom", 1.0),
    )
    return (Table(columns, rows),)


def teardown_blocks(job: Job) -> tuple[Block, ...]:
    """The parts in the order in which they come off, and where to look then."""
    teardown = job.answers.teardown
    if isinstance(teardown, Unanswered):
        return (missing("What comes off", teardown),)
    if not teardown.removals:
        return (Paragraph(Said("Nothing has to come off.")), *_found(job))
    rows = tuple(
        _removal(job, teardown, number, removal)
        for number, removal in enumerate(teardown.removals, start=1)
    )
    columns = (
        Column(""),
        Column("part, as it comes off", 1.0),
        Column("what becomes of it"),
        Column("joints opened", 2.0),
        Column("then inspect behind", 1.1),
    )
    now = _looks(job, teardown, None)
    boxes: tuple[Block, ...] = ()
    if now:
        boxes = (Paragraph(Said(f"Can be inspected now: {now}.", tone=Tone.OPEN)),)
    return (*boxes, Table(columns, rows), *_found(job))
