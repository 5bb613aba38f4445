"""Readings, verdicts and moves, on a three-view drawing and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.fit.before_words import before_said
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.part_answer import Verdict
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Beside,
    Box,
    BoxKind,
    Heading,
    Paragraph,
    RunIn,
    Said,
    Section,
    Size,
    Tone,
)
from panelwright.record.job import missing
from panelwright.record.pages.fit_drawing import LETTERS, drawing
from panelwright.record.pages.fit_readings import next_readings, reading_table, readings_said
from panelwright.record.pages.fit_sees import sees_table
from panelwright.record.pages.fit_tables import TONES, fit_notes, point_table, station_table
from panelwright.record.pages.fit_words import (
    body_said,
    move_said,
    reach_said,
    settings_said,
    unseen_said,
)
from panelwright.record.pages.open_points import problem_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.part_answer import PartFit
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def _verdict(part: PartFit) -> tuple[Verdict, str]:
    every = [point.verdict for point in part.points] + [s.verdict for s in part.stations]
    counts = {verdict: every.count(verdict) for verdict in Verdict}
    words = ", ".join(f"{counts[v]} {v.value}" for v in Verdict if counts[v])
    if not every:
        return Verdict.UNDECIDED, "nothing to judge"
    if part.swings:
        words += "; a motion is not seen at all"
    return part.verdict, words


SENTENCES = {
    Verdict.INSIDE: "The panel is where it belongs.",
    Verdict.OUTSIDE: "The panel is not where it belongs.",
    Verdict.UNDECIDED: "These readings do not prove yet that the panel is where it belongs.",
}


def _moves(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    sets, reached = settings_said(part, job.units), reach_said(fit, part, job.units)
    pushes = tuple(
        Said(f"{letter}: {move_said(move, job.units)}", strong=True)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )
    if not sets and not pushes:
        return ()
    if fit.moves_wait:
        first = "Read again what is to be rechecked before it is moved: every move rests on it, too"
        return (Box(BoxKind.INFO, first, ()),)
    lines = (*(Said(words, strong=True) for words in sets), *pushes, *map(Said, reached))
    title = "Set the adjusters, push where none takes it, then read again"
    return (Box(BoxKind.INFO, title if sets else "Move, then read again", lines),)


def _unseen(job: Job, part: PartFit) -> tuple[Block, ...]:
    lines = tuple(Said(unseen_said(unseen, job.units)) for unseen in part.unseen)
    if not lines:
        return ()
    return (Box(BoxKind.MISSING, "Not checked by these readings", lines),)


def _part(job: Job, fit: FitAnswer, part: PartFit, more: tuple[Block, ...]) -> tuple[Block, ...]:
    """One part: what to do, the drawing with words under it, the tables beside it."""
    verdict, counts = _verdict(part)
    setting = f"dry fit {part.setting}" if part.setting else "before removal"
    words = (*fit_notes(job, fit, part), *_unseen(job, part), *more)
    left = (*drawing(job, fit, part), *words)
    tables = (*point_table(job, part), *station_table(job, part))
    shown: tuple[Block, ...] = (Beside(left, tables, SHARE),) if tables else left
    sentence = Said(f"{SENTENCES[verdict]} {counts}.", tone=TONES[verdict], strong=True)
    return (
        Heading(f"{job.part(part.id)}, {setting}"),
        Paragraph(sentence, size=Size.LEAD),
        *_moves(job, fit, part),
        *shown,
    )


SHARE = 0.555
"""Of the width for the drawing; the tables have the rest."""


def _body(job: Job, fit: FitAnswer) -> Iterator[Block]:
    tones = {
        BodyStatus.TRUE: Tone.OK,
        BodyStatus.RACKED: Tone.NOT_OK,
        BodyStatus.NOT_CHECKED: Tone.OPEN,
    }
    said = Said(body_said(fit.body, job.units), tone=tones[fit.body.status])
    yield RunIn((said,), Said("Is the body itself true?", strong=True), Size.SMALL)


def _before(job: Job) -> tuple[Block, ...]:
    """Readings to take while the old part is still on, each with what is lost without it."""
    said = before_said(job.before)
    if not said:
        return ()
    return (Box(BoxKind.INFO, said[0].removesuffix("."), tuple(map(Said, said[1:]))),)


def fit_section(job: Job) -> Section:
    """Where the panel sits and what the readings cannot see."""
    fit = job.answers.fit
    if isinstance(fit, Unanswered):
        # Its reasons name the readings before cutting, too: they stand in their own box.
        told = before_said(job.before)
        why = Unanswered(tuple(words for words in fit.why if words not in told))
        return Section("Fit", (*_before(job), missing("Where the panel sits", why)))
    problems = tuple(Said(problem_words(p, job.units)) for p in fit.problems)
    boxes: tuple[Block, ...] = ()
    if problems:
        boxes = (
            RunIn(problems, Said("Left out of the fit:", tone=Tone.OPEN, strong=True), Size.SMALL),
        )
    words = (*_body(job, fit), *readings_said(job, fit), *boxes)
    if not fit.parts:
        nothing = Said("No part has a target position or a reading yet.", tone=Tone.OPEN)
        return Section("Fit", (*_before(job), Paragraph(nothing), *words, *reading_table(job, fit)))
    *others, last = fit.parts
    parts = [block for part in others for block in _part(job, fit, part, ())]
    parts += _part(job, fit, last, words)
    readings = (*reading_table(job, fit), *sees_table(job, fit), *next_readings(job, fit))
    return Section("Fit", (*_before(job), *parts, *readings))
