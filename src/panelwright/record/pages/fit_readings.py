"""Readings: how they fit together, which to check again, which to take next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.record.blocks import (
    Align,
    Box,
    BoxKind,
    Column,
    Heading,
    Paragraph,
    Row,
    Said,
    Table,
    Tone,
)
from panelwright.record.figures import signed
from panelwright.record.job import counted

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import ReadingRow
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def reading_words(job: Job, index: int) -> str:
    """A reading of the file, as a person would name it."""
    if not 0 <= index < len(job.repair.readings):
        return f"reading {index + 1}"
    reading = job.repair.readings[index]
    named = {
        "station": "check",
        "contact": "contact",
        "locator": "locator",
        "point": "point",
    }
    for key, word in named.items():
        value = getattr(reading, key, None)
        if value is not None:
            return f"{word} {value}"
    compare = getattr(reading, "compare", None)
    if compare is not None:
        (a, b), (c, d) = compare
        return f"{a}–{b} against {c}–{d}"
    return f"{getattr(reading, 'from_', '?')}–{getattr(reading, 'to', '?')}"


def _suspect(job: Job, row: ReadingRow) -> Row:
    return Row(
        (
            Said(str(row.index + 1), strong=True),
            Said(reading_words(job, row.index)),
            Said(row.component),
            Said(signed(job.units, row.residual_mm)),
            Said("–" if row.w is None else f"{abs(row.w):.1f}"),
            Said("recheck", tone=Tone.NOT_OK, strong=True),
        )
    )


def readings(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    """How the readings fit together, and which to check again."""
    suspects = [row for row in fit.readings if row.suspect]
    test = fit.global_test
    words = f"{counted(len(fit.readings), 'scalar reading')}, {fit.dof} more than needed. "
    if test.ok is None:
        words += "Nothing checks them against each other."
    elif test.low is not None and test.high is not None:
        fits = "they fit together" if test.ok else "they do not fit together as stated"
        words += f"Global test {test.statistic:.1f}, expected {test.low:.1f} to {test.high:.1f}: "
        words += f"{fits}."
    tone = Tone.OPEN if test.ok is None else Tone.OK if test.ok else Tone.NOT_OK
    blocks: list[Block] = [
        Heading("Readings"),
        Paragraph(Said(words, tone=tone)),
        Paragraph(Said(f"Datum: {fit.datum}.", tone=Tone.QUIET)),
    ]
    if fit.suspects_note:
        blocks.append(Paragraph(Said(fit.suspects_note, tone=Tone.OPEN)))
    if suspects:
        columns = (
            Column("no."),
            Column("reading", 1.5),
            Column("component"),
            Column(f"residual, {job.units.value}", 0.0, Align.RIGHT),
            Column("w (limit 3.29)", 0.0, Align.RIGHT),
            Column(""),
        )
        blocks.append(Table(columns, tuple(_suspect(job, row) for row in suspects)))
    return tuple(blocks)


def next_readings(fit: FitAnswer) -> tuple[Block, ...]:
    """What is worth reading next, where anything is."""
    lines = tuple(
        Said(f"{reading.words} (takes away {100 * reading.gain:.0f} % of the doubt)")
        for reading in fit.next[:5]
        if reading.gain >= 0.005
    )
    if not lines:
        return ()
    return (Box(BoxKind.INFO, "Worth reading next, best first", lines),)
