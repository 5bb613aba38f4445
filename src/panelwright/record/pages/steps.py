"""What comes off and where to look, then every step in order with cautions and a place to sign."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Box,
    BoxKind,
    Column,
    Paragraph,
    Row,
    Said,
    Section,
    Size,
    StepLine,
    StepList,
    Table,
    Tone,
)
from panelwright.record.job import counted, missing
from panelwright.record.notes import usual

if TYPE_CHECKING:
    from panelwright.plan.answer import PlannedStep
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job
    from panelwright.teardown.answer import Answer as TeardownAnswer
    from panelwright.teardown.answer import Removal


def _signed(job: Job, step: PlannedStep) -> str:
    """Who signed a step and when, where an event says so."""
    bare = step.id.removeprefix(f"{step.repair}/").removeprefix(f"{step.repair}:")
    for event in job.signatures:
        if event.step in (step.id, bare):
            when = f", {job.when.stamp(event.at)}" if event.at else ""
            return f"{event.by}{when}"
    return ""


FULL_AGAIN = 8
"""Steps after which a caution is said in full again; between, its first clause stands."""


def _by(step: PlannedStep) -> str:
    if step.by is Who.NOBODY:
        return ""
    who = step.person or step.by.value
    return f"{who} and {step.people - 1} more" if step.people > 1 else who


def _clause(words: str) -> str:
    return words.split(":", 1)[0].rstrip(".")


class _Cautions:
    """Says each caution in full at first and after every few steps, else by its first clause."""

    def __init__(self) -> None:
        self._said: dict[str, int] = {}

    def at(self, number: int, step: PlannedStep) -> tuple[str, ...]:
        found = []
        for caution in step.cautions:
            last = self._said.get(caution.id)
            if step.hold or last is None or number - last > FULL_AGAIN:
                self._said[caution.id] = number
                found.append(caution.words)
            else:
                found.append(_clause(caution.words))
        return tuple(found)


def _when(job: Job, step: PlannedStep) -> str:
    if step.by is Who.NOBODY:
        return f"until {job.when.stamp(step.end)}"
    return job.when.span(step.start, step.end)


def step_lines(job: Job) -> tuple[StepLine, ...]:
    """The steps of the plan, numbered."""
    numbers = {step.id: number for number, step in enumerate(job.steps, start=1)}
    cautions, common = _Cautions(), usual([step.sources for step in job.steps])
    return tuple(
        StepLine(
            number=numbers[step.id],
            when=_when(job, step),
            by=_by(step),
            name=Said(step.name, () if step.sources == common else step.sources, strong=step.hold),
            detail=Said(f"record: {step.proves}" if step.proves else ""),
            cautions=cautions.at(numbers[step.id], step),
            hold=step.hold,
            done=step.done,
            wait=step.by in (Who.NOBODY, Who.LAMP) and not step.hold,
            signed=_signed(job, step),
        )
        for step in job.steps
    )


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


def _teardown(job: Job) -> tuple[Block, ...]:
    teardown = job.answers.teardown
    if isinstance(teardown, Unanswered):
        return (missing("What comes off", teardown),)
    if not teardown.removals:
        return (Paragraph(Said("Nothing has to come off.")),)
    rows = tuple(
        _removal(job, teardown, number, removal)
        for number, removal in enumerate(teardown.removals, start=1)
    )
    columns = (
        Column(""),
        Column("part, as it comes off", 1.2),
        Column("what becomes of it"),
        Column("joints opened", 1.2),
        Column("then inspect behind", 1.2),
    )
    now = _looks(job, teardown, None)
    boxes: tuple[Block, ...] = ()
    if now:
        boxes = (Paragraph(Said(f"Can be inspected now: {now}.", tone=Tone.OPEN)),)
    return (*boxes, Table(columns, rows))


def teardown_section(job: Job) -> Section:
    """What comes off and what may hide behind it."""
    return Section("What comes off, and where to look", _teardown(job), fresh=True)


def steps_section(job: Job) -> Section:
    """Steps in order."""
    plan = job.answers.plan
    if isinstance(plan, Unanswered):
        return Section("Steps in order", (missing("Steps", plan),))
    lines = step_lines(job)
    if not lines:
        box = Box(BoxKind.MISSING, "No steps", (Said("The plan holds no step of this repair."),))
        return Section("Steps in order", (box,))
    common = usual([step.sources for step in job.steps])
    done, holds = sum(line.done for line in lines), sum(line.hold for line in lines)
    lead = (
        f"{counted(len(lines), 'step')}, {done} done, {counted(holds, 'hold point')}. Tick, sign "
        "and time each one. A black bar is a hold point: nothing goes on until it is signed. "
        "Planned times; the work decides."
    )
    said = Said("Steps and their usual times, where a step names no other source:", common)
    source = (Paragraph(said, size=Size.SMALL),) if common else ()
    return Section("Steps in order", (*source, StepList(lines)), lead=lead)
