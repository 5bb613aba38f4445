"""The supplement for the office: what more damage changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.record.blocks import (
    Bullets,
    Column,
    Heading,
    Paragraph,
    Row,
    Said,
    Section,
    SignOff,
    Size,
    Table,
    Tone,
)

if TYPE_CHECKING:
    from panelwright.record.answer import SupplementSheet
    from panelwright.record.blocks import Block

COLUMNS = (Column("what", 2.0), Column("as planned before", 1.4), Column("as it is now", 1.4))


def supplement_section(sheet: SupplementSheet) -> Section:
    """One sheet to send to the office."""
    found: tuple[Block, ...] = ()
    if sheet.findings:
        found = (Heading("Found"), Bullets(tuple(Said(finding) for finding in sheet.findings)))
    rows = tuple(
        Row((Said(change.what, strong=True), Said(change.before or "–"), Said(change.after or "–")))
        for change in sheet.changes
    )
    changes: tuple[Block, ...] = (Paragraph(Said("Nothing changes.", tone=Tone.OK)),)
    if rows:
        changes = (Table(COLUMNS, rows),)
    return Section(
        "Supplement",
        (
            Paragraph(Said(sheet.summary, strong=True), size=Size.LEAD),
            *found,
            Heading("What changes"),
            *changes,
            SignOff(("Supplement sent, office", "Supplement approved")),
        ),
        fresh=True,
        lead="Damage found after the first plan, and what it does to work, parts and time.",
    )
