"""Does closing fit in the work time, and what may be done from when: for the cure's section."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from panelwright.bond.may_do import May, begun, may_do
from panelwright.plan import Answers
from panelwright.plan.closing import closings
from panelwright.plan.closing_answer import Fits
from panelwright.plan.closing_words import (
    length_words,
    pace_words,
    way_words,
)
from panelwright.plan.pace import paces, runs_of
from panelwright.quantities import show_minutes, show_temperature
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Bullets,
    Column,
    Heading,
    Paragraph,
    Row,
    Said,
    Size,
    Table,
    Tone,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.bond.answer import BondAnswer
    from panelwright.bond.may_do import MayDo
    from panelwright.plan.closing_answer import Closing, Pause
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

TONES = {
    Fits.YES: Tone.OK,
    Fits.TIGHT: Tone.OPEN,
    Fits.NO: Tone.NOT_OK,
    Fits.UNKNOWN: Tone.OPEN,
}
COLUMNS = (
    Column("panel", 1.4),
    Column("needed by one person,\nin 9 of 10 cases at most", 1.4),
    Column("can be worked,\nearly bound", 1.2),
    Column("does it fit", 1.2),
    Column("first bead\nat the latest", 1.2),
    Column("pause with one\nnozzle, in all", 1.1),
)
MIX = "After a longer pause: a new nozzle. The data sheet and the maker's procedure govern."
BEFORE_ALL = datetime(1970, 1, 1, tzinfo=UTC)
"""A moment at which nothing may be done yet: every line then says from when."""


def closing_blocks(job: Job, bond: BondAnswer) -> tuple[Block, ...]:
    """A table of the panels that are still to be closed, with what helps where one does not fit."""
    found = _closings(job, bond)
    if not found:
        return ()
    said = tuple(line for one in found for line in _lines(job, one))
    paces_said = dict.fromkeys(words for one in found for words in pace_words(one, job.units))
    last = Said(f"{'; '.join(paces_said)}. {MIX}")
    return (
        Heading("Does it fit in the work time?"),
        Table(COLUMNS, tuple(_row(job, one) for one in found)),
        *((Bullets(said, 1 if len(said) == 1 else 2),) if said else ()),
        Paragraph(last, Size.SMALL),
    )


def _closings(job: Job, bond: BondAnswer) -> tuple[Closing, ...]:
    off, made = job.answers.teardown, job.answers.joints
    answers = Answers(
        job.repair,
        None if isinstance(off, Unanswered) else off,
        None if isinstance(made, Unanswered) else made,
        None,
        bond,
        None,
    )
    now = job.options.as_of
    here = None if now is None else job.when.here(now)
    return closings(answers, paces(runs_of(job.repair)), here)


def _row(job: Job, one: Closing) -> Row:
    likely, late = (show_minutes(math.ceil(m)) for m in (one.need.likely_min, one.need.late_min))
    bead = f"{length_words(one, job.units)}, {one.rivets} rivets"
    works = Said("not known", tone=Tone.OPEN)
    if one.work_min is not None and one.celsius is not None:
        at = show_temperature(one.celsius, job.units)
        works = Said(f"{show_minutes(math.floor(one.work_min))} at {at}", strong=True)
    verdict = one.fits.value
    margin = one.margin_min
    if margin is not None and margin >= 0.0:
        verdict += f", {show_minutes(math.floor(margin))} to spare"
    return Row(
        (
            Said(one.label, one.sources, strong=True),
            Said(f"{likely}, {late} ({bead})"),
            works,
            Said(verdict, tone=TONES[one.fits]),
            Said("–" if one.start is None else job.when.stamp(one.start.at)),
            Said("–" if one.pause is None else _pause(one.pause)),
        )
    )


def _pause(pause: Pause) -> str:
    if pause.all_min < 1.0:
        return "none"
    both = (show_minutes(math.floor(m)) for m in (pause.nozzle_min, pause.all_min))
    return ", ".join(both)


def _lines(job: Job, one: Closing) -> Iterator[Said]:
    for problem in one.problems:
        yield Said(f"{one.label}: {problem.what}", tone=Tone.OPEN)
    for way in one.ways:
        yield Said(f"{one.label}: {way_words(way, job.units)}")


MAY_COLUMNS = (
    Column("what", 1.6),
    Column("not before, late bound", 1.2),
    Column("needs", 1.0),
    Column("", 1.8),
)


def may_blocks(job: Job, bond: BondAnswer) -> tuple[Block, ...]:
    """From when things may be done to the joints on which adhesive is."""
    found = may_do(job.repair, bond, begun(bond), BEFORE_ALL)
    if not found:
        return ()
    rows = tuple(_may_row(job, one) for one in found)
    return (Heading("What may be done, and not before when"), Table(MAY_COLUMNS, rows))


def _may_row(job: Job, one: MayDo) -> Row:
    when = Said(one.may.value, tone=Tone.NOT_OK if one.may is May.NO else Tone.OPEN)
    if one.at is not None:
        when = Said(job.when.stamp(one.at), strong=True)
    elif one.after_min is not None:
        when = Said(f"{show_minutes(math.ceil(one.after_min))} after closing", strong=True)
    sources = (one.source,) if one.source is not None else ()
    last = f"{job.joint(one.joint)} decides"
    return Row(
        (
            Said(one.words, sources, strong=True),
            when,
            Said(one.state or "–"),
            Said(f"{last}; {one.why}" if one.why else last),
        )
    )
