"""Readings, verdicts and moves, on a three-view drawing and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.fit.answer import BodyStatus, Verdict
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Box,
    BoxKind,
    Heading,
    Paragraph,
    Said,
    Section,
    Size,
    Together,
    Tone,
)
from panelwright.record.job import missing
from panelwright.record.pages.fit_drawing import LETTERS, drawing
from panelwright.record.pages.fit_readings import next_readings, readings
from panelwright.record.pages.fit_tables import TONES, points, stations

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import PartFit
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job


def _verdict(part: PartFit) -> tuple[Verdict, str]:
    every = [point.verdict for point in part.points] + [s.verdict for s in part.stations]
    counts = {verdict: every.count(verdict) for verdict in Verdict}
    words = ", ".join(f"{counts[v]} {v.value}" for v in Verdict if counts[v])
    if not every:
        return Verdict.UNDECIDED, "nothing to judge"
    if counts[Verdict.OUTSIDE]:
        return Verdict.OUTSIDE, words
    return (Verdict.UNDECIDED if counts[Verdict.UNDECIDED] else Verdict.INSIDE), words


SENTENCES = {
    Verdict.INSIDE: "The panel is where it belongs.",
    Verdict.OUTSIDE: "The panel is not where it belongs.",
    Verdict.UNDECIDED: "These readings do not prove yet that the panel is where it belongs.",
}


def _moves(part: PartFit) -> tuple[Block, ...]:
    if not part.moves:
        return ()
    lines = tuple(
        Said(f"{letter}: {move.words}", strong=True)
        for letter, move in zip(LETTERS, part.moves, strict=False)
    )
    return (Box(BoxKind.INFO, "Move, then read again", lines),)


def _unseen(part: PartFit) -> tuple[Block, ...]:
    lines = tuple(Said(unseen.words) for unseen in part.unseen)
    if not lines:
        return ()
    return (Box(BoxKind.MISSING, "Not checked by these readings", lines),)


def _part(job: Job, fit: FitAnswer, part: PartFit) -> tuple[Block, ...]:
    verdict, counts = _verdict(part)
    setting = f"dry fit {part.setting}" if part.setting else "before removal"
    return (
        Together(
            (
                Heading(f"{job.part(part.id)}, {setting}"),
                Paragraph(
                    Said(f"{SENTENCES[verdict]} {counts}.", tone=TONES[verdict], strong=True),
                    size=Size.LEAD,
                ),
                *_moves(part),
                *drawing(job, fit, part),
            )
        ),
        *points(job, fit, part),
        *stations(job, part),
        *_unseen(part),
    )


def _body(fit: FitAnswer) -> Iterator[Block]:
    tones = {
        BodyStatus.TRUE: Tone.OK,
        BodyStatus.RACKED: Tone.NOT_OK,
        BodyStatus.NOT_CHECKED: Tone.OPEN,
    }
    yield Heading("Is the body itself true?")
    yield Paragraph(Said(fit.body.words, tone=tones[fit.body.status]))


def fit_section(job: Job) -> Section:
    """Where the panel sits and what the readings cannot see."""
    fit = job.answers.fit
    if isinstance(fit, Unanswered):
        return Section("Fit", (missing("Where the panel sits", fit),))
    parts = tuple(block for part in fit.parts for block in _part(job, fit, part))
    if not parts:
        parts = (
            Paragraph(Said("No part has a target position or a reading yet.", tone=Tone.OPEN)),
        )
    problems = tuple(Said(f"{p.where}: {p.what}") for p in fit.problems)
    boxes: tuple[Block, ...] = ()
    if problems:
        boxes = (Box(BoxKind.MISSING, "Left out of the fit", problems),)
    return Section(
        "Fit", (*parts, *_body(fit), *readings(job, fit), *next_readings(fit), *boxes), fresh=True
    )
