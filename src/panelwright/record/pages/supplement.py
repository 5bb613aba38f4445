"""The supplement for the office: what more damage changed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.plan.supplement import Kind
from panelwright.record.blocks import (
    Align,
    Bullets,
    Card,
    Cards,
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
    from panelwright.plan.supplement import Change, Supplement
    from panelwright.record.blocks import Block

# What the office reads first stands first.
TITLES = {
    Kind.FINDING: "Found",
    Kind.TIME: "Time",
    Kind.PART: "Parts",
    Kind.JOINT: "Joints",
    Kind.KIT: "Parts list",
    Kind.STEP: "Work",
}


MANY = (Kind.KIT, Kind.STEP)
"""Kinds of which there may be dozens: two columns of short lines instead of a table."""
NOTHING = ("", "–", "-")


def _short(change: Change) -> Said:
    """A change in one line: what, and from what to what."""
    if change.before in NOTHING:
        return Said(f"{change.what}: {change.after}")
    after = "left out" if change.after in NOTHING else change.after
    return Said(f"{change.what}: {change.before} → {after}")


def _group(sheet: Supplement, kind: Kind) -> tuple[Block, ...]:
    changes = [change for change in sheet.changes if change.kind is kind]
    if not changes:
        return ()
    if kind in MANY:
        return (Heading(TITLES[kind]), Bullets(tuple(_short(change) for change in changes), 2))
    rows = tuple(
        Row((Said(change.what, strong=True), Said(change.before), Said(change.after)))
        for change in changes
    )
    columns = (
        Column(TITLES[kind].lower(), 2.6),
        Column("before", 1.0, Align.LEFT),
        Column("now", 1.4, Align.LEFT),
    )
    return (Table(columns, rows),)


def supplement_section(sheet: Supplement) -> Section:
    """One sheet to send to the office."""
    more = sheet.work_after_h - sheet.work_before_h
    cards = Cards(
        (
            Card("WORK BEFORE", Said(f"{sheet.work_before_h:.1f} h", strong=True)),
            Card("WORK NOW", Said(f"{sheet.work_after_h:.1f} h", strong=True)),
            Card("MORE WORK", Said(f"{more:+.1f} h".replace("-", "−"), strong=True)),
        )
    )
    groups = tuple(block for kind in TITLES for block in _group(sheet, kind))
    nothing = (Paragraph(Said("Nothing changes.", tone=Tone.OK)),)
    return Section(
        "Supplement",
        (
            Paragraph(Said(sheet.summary, strong=True), size=Size.LEAD),
            cards,
            *(groups or nothing),
            SignOff(("Sent to the office", "Approved")),
        ),
        fresh=True,
        lead="Damage found after the first plan, and what it does to work, parts and time.",
    )
