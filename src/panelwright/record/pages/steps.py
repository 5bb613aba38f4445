"""Every step in order with its cautions: a box to tick, and a line to sign at hold points."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panelwright.fit.before_words import lost_words
from panelwright.plan.answer import Who
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import (
    Act,
    Box,
    BoxKind,
    Said,
    Section,
    StepDay,
    StepItem,
    StepLine,
    StepList,
    Tone,
)
from panelwright.record.job import AFTER_PAINT, counted, inside, is_wait, missing, runs
from panelwright.record.notes import usual
from panelwright.record.pages.cautions import caution_names, legend
from panelwright.record.pages.teardown import teardown_blocks

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from panelwright.plan.answer import PlannedStep
    from panelwright.record.job import Job
    from panelwright.sources import Source

DONE = "Done"
"""Stands in place of a day: when a step was done, only its record says."""
GAP = "…"
"""Stands in a name for what tells one step from its fellows."""


def who_does(step: PlannedStep) -> str:
    """Who does a step; empty for the technician of a shop that has one."""
    if step.by is Who.NOBODY:
        return ""
    who = step.person or step.by.value
    if step.people > 1:
        return f"{who} and {step.people - 1} more"
    return "" if who == Who.TECHNICIAN.value else who


IN_FULL = 2
"""How often an act is told in full; after that by its short name, with where it was told."""


@dataclass
class Common:
    """What the lines of the list share: names of cautions, the usual sources, acts told."""

    cautions: Mapping[str, str]
    sources: tuple[Source, ...]
    told: dict[str, list[int]] = field(default_factory=dict)

    def name(self, job: Job, step: PlannedStep, *, several: bool) -> str:
        """What a line is called: in full, or shorter where its act was told before."""
        template, what = _template(job, step), thing(job, step)
        numbers = self.told.setdefault(template, [])
        if what and step.short and not step.hold and not step.done and len(numbers) >= IN_FULL:
            things = "" if several else f", {what}"
            return f"{step.short}{things} (as step {numbers[0]})"
        numbers.append(job.numbers.get(step.id, 0))
        return template if several else step.name

    def of(self, step: PlannedStep) -> tuple[Source, ...]:
        """Sources to be said at a step."""
        return () if step.sources == self.sources else step.sources


def common(job: Job) -> Common:
    """What the lines of the list share."""
    return Common(caution_names(job), usual([step.sources for step in job.steps]))


def thing(job: Job, step: PlannedStep) -> str:
    """The part or joint that a step's name speaks of; empty where it speaks of none."""
    labels = {label for key in step.concerns for label in (job.part(key), job.joint(key))}
    return max((label for label in labels if label in step.name), key=len, default="")


def _template(job: Job, step: PlannedStep) -> str:
    """A step's name with a gap in place of its part or joint."""
    what = thing(job, step)
    return step.name.replace(what, GAP, 1) if what else step.name


def grouped(job: Job, steps: tuple[PlannedStep, ...]) -> list[list[PlannedStep]]:
    """Steps of one act on several things that follow each other on one day; waits apart.

    A wait between two of them does not part them; a hold point always stands alone.
    """
    groups: list[list[PlannedStep]] = []
    latest: dict[bool, tuple[tuple[object, ...], list[PlannedStep]]] = {}
    for step in steps:
        wait = is_wait(step)
        moment = job.when.stamp(step.end) if wait else job.when.day(step.start)
        moment = DONE if step.done else moment
        told = tuple(caution.words for caution in step.cautions)
        key = (_template(job, step), moment, who_does(step), step.proves, told, step.sources)
        before = latest.get(wait)
        if before is not None and before[0] == key and not step.hold and thing(job, step):
            before[1].append(step)
        else:
            group = [step]
            groups.append(group)
            latest[wait] = (key, group)
    return groups


def _item(job: Job, step: PlannedStep, what: str) -> StepItem:
    recorded = job.recorded(step)
    if step.done and not recorded:
        recorded = "done, no name recorded" if step.hold else ""
    number = job.numbers.get(step.id, 0)
    at = "" if step.done else job.when.clock(step.start)
    return StepItem(number, at, what, done=step.done, record=recorded)


def _wait_words(job: Job, group: list[PlannedStep]) -> str:
    step = group[0]
    things = ", ".join(thing(job, one) for one in group) if len(group) > 1 else ""
    name = f"{_template(job, step)}: {things}" if things else step.name
    name = inside(name)
    return f"until {job.when.stamp(step.end)}: {name}"


def step_line(job: Job, group: list[PlannedStep], shared: Common) -> StepLine:
    """One line of the list: a step, or several of one act."""
    first, several = group[0], len(group) > 1
    act = Act.WAIT if is_wait(first) else Act.HOLD if first.hold else Act.WORK
    name = shared.name(job, first, several=several)
    all_done = all(step.done for step in group)
    return StepLine(
        act=act,
        run="" if act is Act.WAIT else runs([job.numbers[step.id] for step in group]),
        items=tuple(_item(job, step, thing(job, step) if several else "") for step in group),
        name=Said(
            _wait_words(job, group) if act is Act.WAIT else name,
            shared.of(first),
            strong=act is Act.HOLD,
            tone=Tone.QUIET if act is Act.WAIT else Tone.PLAIN,
        ),
        detail=Said("" if all_done else _detail(job, group)),
        by="" if act is Act.WAIT else who_does(first),
        cautions=() if all_done else tuple(shared.cautions[c.words] for c in first.cautions),
    )


def _detail(job: Job, group: list[PlannedStep]) -> str:
    """What proves a step; before cutting also how many readings, and what is lost without."""
    said = [f"record: {group[0].proves}"] if group[0].proves else []
    if job.before is not None and any(step.id == job.before_at for step in group):
        said += [one for one in (inside(job.before.words), lost_words(job.before)) if one]
        said.append("they are listed under Fit")
    return "; ".join(said)


def _plainly_done(job: Job, group: list[PlannedStep]) -> bool:
    """Whether all that is left to say of steps is that they are done."""
    return all(
        step.done and not step.hold and not is_wait(step) and not job.recorded(step)
        for step in group
    )


MOST_IN_RUN = 5
"""Done steps in one run, so that it can be parted at the end of a column."""


def _done_lines(job: Job, steps: list[PlannedStep]) -> Iterator[tuple[PlannedStep, StepLine]]:
    """Done steps in short runs: their numbers and names."""
    for start in range(0, len(steps), MOST_IN_RUN):
        some = steps[start : start + MOST_IN_RUN]
        items = tuple(_item(job, step, step.name) for step in some)
        run = runs([item.number for item in items])
        yield some[0], StepLine(Act.DONE, run, items, Said(""), Said(""), "", ())


def _gathered(job: Job, shared: Common) -> Iterator[tuple[PlannedStep, StepLine]]:
    """The lines of the list, each with its first step; a wait that is over is left out."""
    before = (step for step in job.listed if step.stage != AFTER_PAINT)
    steps = tuple(step for step in before if not (step.done and is_wait(step)))
    done: list[PlannedStep] = []
    for group in grouped(job, steps):
        if _plainly_done(job, group):
            done += group
            continue
        if not is_wait(group[0]):
            yield from _done_lines(job, done)
            done = []
        yield group[0], step_line(job, group, shared)
    yield from _done_lines(job, done)


def _entries(job: Job, shared: Common) -> Iterator[StepDay | StepLine]:
    today = ""
    for step, line in _gathered(job, shared):
        day = DONE if step.done else job.when.day(step.start)
        if day != today and line.act is not Act.WAIT:
            today = day
            yield StepDay(day)
        yield line


def step_list(job: Job) -> StepList:
    """The steps of the plan up to paint, numbered."""
    return StepList(tuple(_entries(job, common(job))))


def _lead(job: Job) -> str:
    work = [step for step in job.steps if not is_wait(step)]
    done, holds = sum(step.done for step in work), sum(step.hold for step in work)
    after = [job.numbers[step.id] for step in work if step.stage == AFTER_PAINT]
    later = f" Steps {runs(after)} come after paint: see the hand-over." if after else ""
    return (
        f"{counted(len(work), 'step')}, {done} done, {counted(holds, 'hold point')}. Tick or "
        "initial each box; at a black bar nothing goes on until it is signed. No name: the "
        "technician. Planned times; the work decides." + later
    )


def steps_section(job: Job) -> Section:
    """What comes off, where to look, and the steps in order."""
    title = "What comes off, and every step in order"
    plan, off = job.answers.plan, teardown_blocks(job)
    if isinstance(plan, Unanswered):
        return Section(title, (*off, missing("Steps", plan)))
    if not job.steps:
        box = Box(BoxKind.MISSING, "No steps", (Said("The plan holds no step of this repair."),))
        return Section(title, (*off, box))
    shared = common(job)
    said = Said("Source, where none is named:", shared.sources)
    blocks = (*off, *legend(dict(shared.cautions)), step_list(job))
    after = said if shared.sources else None
    return Section(title, blocks, fresh=True, lead=_lead(job), after=after)
