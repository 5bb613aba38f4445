"""Readings: how they fit together, which to check again, which to take next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.record.blocks import (
    Align,
    Box,
    BoxKind,
    Column,
    Row,
    RunIn,
    Said,
    Size,
    Table,
    Tone,
)
from panelwright.record.figures import signed
from panelwright.record.job import counted
from panelwright.record.pages.fit_words import unchecked_said, worth_said

if TYPE_CHECKING:
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.reading_answer import ReadingRow
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
        return f"{a}–{b} / {c}–{d}"
    return f"{getattr(reading, 'from_', '?')}–{getattr(reading, 'to', '?')}"


def _name(job: Job, row: ReadingRow) -> str:
    component = "" if row.component in ("span", "compare") else f" {row.component}"
    return f"{row.index + 1} {reading_words(job, row.index)}{component}"


def _cells(job: Job, row: ReadingRow) -> tuple[Said, ...]:
    name = _name(job, row)
    said = Said(f"{name}: recheck", tone=Tone.NOT_OK, strong=True) if row.suspect else Said(name)
    weight = "–" if row.w is None else f"{abs(row.w):.1f}"
    return (said, Said(signed(job.units, row.residual_mm)), Said(weight))


SETS, FEWER, LONG = 4, 3, 20
"""Readings side by side in the table; fewer where a name has more letters than that."""


def reading_table(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    """Every reading with its residual, down the columns; a suspect one says so."""
    rows = fit.readings
    if not rows:
        return ()
    longest = max(len(_name(job, row)) for row in rows)
    sets = min(FEWER if longest > LONG else SETS, len(rows))
    high = math.ceil(len(rows) / sets)
    empty = (Said(""),) * 3
    cells = [_cells(job, row) for row in rows]
    cells += [empty] * (high * sets - len(cells))
    columns = (
        Column("reading", 1.0),
        Column(f"off, {job.units.value}", 0.0, Align.RIGHT),
        Column("w", 0.0, Align.RIGHT),
    )
    lines = tuple(
        Row(tuple(cell for number in range(sets) for cell in cells[number * high + line]))
        for line in range(high)
    )
    return (Table(columns * sets, lines, tight=True),)


def readings_said(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    """How the readings fit together."""
    test = fit.global_test
    words = f"{counted(len(fit.readings), 'scalar reading')}, {fit.dof} more than needed. "
    if test.ok is None:
        words += "Nothing checks them against each other."
    elif test.low is not None and test.high is not None:
        fits = "they fit together" if test.ok else "they do not fit together as stated"
        words += f"Global test {test.statistic:.1f}, expected {test.low:.1f} to {test.high:.1f}: "
        words += f"{fits}."
    tone = Tone.OPEN if test.ok is None else Tone.OK if test.ok else Tone.NOT_OK
    key = "Off: adjusted less observed; w: off over what it may be, above 3.29: recheck."
    said = [Said(words, tone=tone), Said(f"Datum: {fit.datum}."), Said(key)]
    if fit.suspects_note:
        said.append(Said(fit.suspects_note, tone=Tone.OPEN))
    said += [Said(words, tone=Tone.OPEN) for words in unchecked_said(fit, job.units)]
    return (RunIn(tuple(said), Said("Readings:", strong=True), Size.SMALL),)


def next_readings(job: Job, fit: FitAnswer) -> tuple[Block, ...]:
    """What is worth reading next, and what would decide each open verdict."""
    lines = [Said(words) for words in worth_said(fit, job.units)]
    decided = [Said(f"{decider.words}.") for decider in fit.deciders]
    found = []
    if lines:
        found.append(Box(BoxKind.INFO, "Worth reading next, best first", tuple(lines)))
    if decided:
        title = "What would decide each open verdict"
        found.append(Box(BoxKind.INFO, title, tuple(decided)))
    return tuple(found)
