"""The cover: what to do next, when it is ready, what is open, what may hurt."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.quantities import show_minutes
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import Box, BoxKind, Card, Cards, Cover, Said, SignOff, Tone
from panelwright.record.pages.open_points import open_points, problem_words, shortages
from panelwright.record.when import day_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.bond.answer import JointBond
    from panelwright.plan.answer import PlannedStep
    from panelwright.record.blocks import Block
    from panelwright.record.job import Job

MOST_OPEN = 8
"""Lines of open points on the cover; the rest stands with the plan."""
LONGEST = 230
"""Letters of an open point on the cover."""
MOST_CLOCKS = 5
MOST_CAUTIONS, FEWER_CAUTIONS, MANY_OPEN = 7, 5, 6
"""Cautions on the cover; fewer where so many points are open."""

ALWAYS = (
    "Follow the maker's procedure, local codes and licensed practice. "
    "A computed value never overrides a procedure."
)


def procedure_words(job: Job) -> str:
    """Which procedure governs, or that none is named."""
    procedure = job.repair.procedure
    if not procedure.reference:
        return "No procedure is named. Get the vehicle maker's procedure before anything is cut."
    words = f"Procedure {procedure.reference}"
    words += f", revision {procedure.revision}" if procedure.revision else ", revision not recorded"
    return words + (f", read {day_of(procedure.read_on)}" if procedure.read_on else "")


def _open_steps(job: Job) -> tuple[PlannedStep, ...]:
    """Steps that somebody still has to do, as planned."""
    waits = (Who.NOBODY, Who.LAMP)
    todo = [step for step in job.steps if not step.done and step.by not in waits]
    return tuple(sorted(todo, key=lambda step: (step.start, step.end)))


def _who(step: PlannedStep) -> str:
    return step.person or step.by.value


def _then(job: Job, first: PlannedStep, others: tuple[PlannedStep, ...]) -> PlannedStep | None:
    """The technician's work after a step, in the plan's order of start.

    A step of a later stage whose forerunners are all done floats: it stands where somebody has
    time, and is passed over as long as other work follows.
    """
    free = first.end if first.by is Who.TECHNICIAN else first.start
    undone = {step.id for step in job.steps if not step.done}
    after = [step for step in others if step.by is Who.TECHNICIAN and step.start >= free]
    tied = [
        step
        for step in after
        if step.stage <= first.stage or not step.waits_for or undone.intersection(step.waits_for)
    ]
    return next(iter(tied or after), None)


def _next(job: Job) -> Box:
    if isinstance(job.answers.plan, Unanswered):
        why = job.answers.plan.why or ("There is no plan yet.",)
        return Box(BoxKind.NEXT, "DO NEXT", (Said("Complete the file: " + why[0], strong=True),))
    todo = _open_steps(job)
    if not todo:
        words = "All recorded steps are done." if job.steps else "There is nothing to do yet."
        return Box(BoxKind.NEXT, "DO NEXT", (Said(words, strong=True),))
    first, others = todo[0], todo[1:]
    detail = [f"{_who(first)}, {job.when.span(first.start, first.end)}"]
    if first.hold:
        detail.append("hold point: nothing goes on until it is signed")
    if first.proves:
        detail.append(f"recorded by: {first.proves}")
    then = _then(job, first, others)
    if then is not None:
        detail.append(f"then: {then.name}")
    cautions = tuple(Said(caution.words) for caution in first.cautions[:3])
    return Box(
        BoxKind.NEXT,
        "DO NEXT",
        (Said(first.name, first.sources, strong=True),),
        Said(" · ".join(detail) + "".join(f"\n▲ {said.text}" for said in cautions)),
    )


def _ready(job: Job) -> Card:
    plan = job.answers.plan
    label = "READY FOR PAINT BY"
    if isinstance(plan, Unanswered):
        return Card(label, Said("not known", strong=True), Said("no plan yet"))
    ready = next((r for r in plan.ready_for_paint if r.repair == job.repair.name), None)
    if ready is None:
        return Card(
            label, Said("not known", strong=True), Said("the plan cannot be kept, see plan")
        )
    promised = job.repair.repair.promised
    detail = f"9 times in 10 by then, even odds by {job.when.stamp(ready.p50)}"
    tone = Tone.PLAIN
    if promised is not None:
        late = ready.p90 > promised
        tone = Tone.NOT_OK if late else Tone.OK
        verb = "later than" if late else "keeps"
        detail += f"; {verb} the promised {job.when.stamp(promised)}"
    return Card(
        label, Said(job.when.stamp(ready.p90), plan.sources, strong=True, tone=tone), Said(detail)
    )


def _work(job: Job, bond: JointBond) -> Card | None:
    name = job.joint(bond.joint).upper()
    if bond.clock.closed is not None or bond.work_until_min is None:
        return None
    minutes = show_minutes(bond.work_until_min)
    if bond.clock.work_until is not None and bond.clock.bead_begun is not None:
        begun = job.when.clock(bond.clock.bead_begun)
        value, detail = (
            job.when.stamp(bond.clock.work_until),
            f"{minutes} from {begun}, early bound",
        )
    else:
        value, detail = minutes, "from the start of the bead, early bound"
    return Card(f"{name}: WORK UNTIL", Said(value, bond.sources, strong=True), Said(detail))


def _handle(job: Job, bond: JointBond) -> Card | None:
    name = job.joint(bond.joint).upper()
    if bond.clock.released is not None or bond.handle_min is None:
        return None
    late = show_minutes(bond.handle_min.late)
    if bond.clock.handle is not None and bond.clock.closed is not None:
        closed = job.when.clock(bond.clock.closed)
        value, detail = job.when.stamp(bond.clock.handle.late), f"{late} from {closed}, late bound"
    else:
        value, detail = late, "from closing the joint, late bound"
    return Card(f"{name}: HANDLE FROM", Said(value, bond.sources, strong=True), Said(detail))


def _running(bond: JointBond) -> bool:
    return bond.clock.bead_begun is not None and bond.clock.released is None


def _clocks(job: Job) -> Iterator[Card]:
    """Running clocks first; where none runs, the shortest work and the longest handling time."""
    if isinstance(job.answers.bond, Unanswered):
        yield Card("ADHESIVE", Said("no clock", strong=True), Said(job.answers.bond.why[0]))
        return
    joints = job.answers.bond.joints
    running = [bond for bond in joints if _running(bond)]
    if running:
        for bond in running:
            yield from (card for card in (_work(job, bond), _handle(job, bond)) if card)
        return
    work = [bond for bond in joints if _work(job, bond)]
    handle = [bond for bond in joints if _handle(job, bond)]
    if work:
        card = _work(job, min(work, key=lambda bond: bond.work_until_min or 0.0))
        yield from [card] if card else []
    if handle:
        longest = max(handle, key=lambda bond: bond.handle_min.late if bond.handle_min else 0.0)
        card = _handle(job, longest)
        yield from [card] if card else []


def _fits(said: Said) -> bool:
    """Whether a line is short enough for the cover."""
    return len(said.text) <= LONGEST


def _cut(said: Said) -> Said:
    """A line cut at a word for the cover; the whole stands behind."""
    if _fits(said):
        return said
    words = said.text[: LONGEST - 2].rpartition(" ")[0] or said.text[: LONGEST - 2]
    return replace(said, text=f"{words} …")


def open_behind(job: Job) -> tuple[Said, ...]:
    """Open points that the cover cuts short or has no room for, and no other page has."""
    found = open_points(job)
    told = [said.text for said in found[:MOST_OPEN] if _fits(said)]
    told += [said.text for said in shortages(job)]
    for answer in (job.answers.fit, job.answers.bond):  # their pages list their own problems
        if not isinstance(answer, Unanswered):
            told += [problem_words(problem, job.units) for problem in answer.problems]
    return tuple(said for said in found if said.text not in told)


def _open(job: Job) -> Box:
    found = open_points(job)
    title = "OPEN: SETTLE BEFORE YOU RELY ON IT"
    if not found:
        return Box(BoxKind.INFO, "NOTHING OPEN", (Said("No shortage, no question, no problem."),))
    shown = tuple(_cut(said) for said in found[:MOST_OPEN])
    rest = len(found) - len(shown)
    more = (Said(f"and {rest} more, under Plan", tone=Tone.QUIET),) if rest > 0 else ()
    return Box(BoxKind.MISSING, title, shown + more)


GRAVEST = ("high-voltage", "restraint", "fuel", "aluminium-dust", "clamped", "lamp", "pulling")
"""Cautions that stand first on the cover, by their ids in the step library; stable otherwise."""


def _gravity(caution: str) -> int:
    return GRAVEST.index(caution) if caution in GRAVEST else len(GRAVEST)


def _safety(job: Job) -> Box:
    cautions: dict[str, str] = {}
    for step in job.steps:
        if not step.done:
            for caution in step.cautions:
                cautions.setdefault(caution.id, caution.words)
    if not cautions and not isinstance(job.answers.teardown, Unanswered):
        cautions = {words: words for words in job.answers.teardown.first}
    words = [cautions[key] for key in sorted(cautions, key=_gravity)]
    most = FEWER_CAUTIONS if len(open_points(job)) >= MANY_OPEN else MOST_CAUTIONS
    rest = len(words) - most
    lines = [Said(line) for line in words[:most]]
    if rest > 0:
        lines.append(Said(f"and {rest} more, each at its step", tone=Tone.QUIET))
    return Box(BoxKind.SAFETY, "SAFETY", (*lines, Said(ALWAYS, strong=True)))


def cover(job: Job) -> Cover:
    """The first page."""
    header = job.repair.repair
    opened = f"opened {job.when.full(header.opened)}" if header.opened else ""
    clocks = tuple(_clocks(job))[:MOST_CLOCKS]
    blocks: tuple[Block, ...] = (
        _next(job),
        Cards((_ready(job), *clocks), 3, large=True),
        _open(job),
        _safety(job),
        SignOff(("Lead: read, released for work",)),
    )
    return Cover(
        header.name,
        job.repair.vehicle.label or "vehicle not described",
        Said(procedure_words(job)),
        opened,
        blocks,
    )
