"""Steps before they have times: the library's, fitted to one repair."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.plan.course import WHOLE, Course, Thing
from panelwright.plan.library import Breaks, LibraryStep, library
from panelwright.plan.measure import minutes
from panelwright.sources import Source

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from panelwright.facts.problem import Problem
    from panelwright.plan.tasks import Lag


@dataclass(frozen=True)
class Draft:
    """One step without times; `base` is the library step it comes from, empty for own steps."""

    id: str
    base: str
    thing: Thing
    stage: int
    name: str
    short: str
    who: Who
    people: int
    minutes: int
    spread: float
    breaks: Breaks
    after: tuple[str, ...]
    cautions: tuple[str, ...]
    hold: bool
    proves: str
    why: str
    sources: tuple[Source, ...]

    @property
    def is_wait(self) -> bool:
        """Whether nobody works on it."""
        return self.who in {Who.NOBODY, Who.LAMP}


@dataclass(frozen=True)
class DraftPlan:
    """The steps of one repair by id, the time limits between them, and what does not fit."""

    steps: Mapping[str, Draft]
    lags: tuple[Lag, ...] = ()
    problems: tuple[Problem, ...] = ()

    def of(self, base: str) -> tuple[Draft, ...]:
        """All steps of one library step."""
        return tuple(step for step in self.steps.values() if step.base == base)

    def with_after(self, id_: str, names: Iterable[str]) -> DraftPlan:
        """The plan with more steps to wait for; those that are not in it are left out."""
        step = self.steps[id_]
        more = tuple(name for name in names if name in self.steps and name != id_)
        after = tuple(dict.fromkeys((*step.after, *more)))
        return replace(self, steps={**self.steps, id_: replace(step, after=after)})


def step_id(base: str, thing: Thing) -> str:
    """Id of a library step on a thing."""
    return f"{base}-{thing.key}" if thing.key else base


def draft_plan(course: Course) -> DraftPlan:
    """The library's steps for one repair, each waiting for those before it."""
    by_base: dict[str, list[Draft]] = {}
    for row in library():
        things = course.things(row.scope) if course.applies(row.applies) else ()
        by_base[row.id] = [_draft(row, course, thing) for thing in things]
    steps: dict[str, Draft] = {}
    for drafts in by_base.values():
        for draft in drafts:
            after = _resolve(draft.after, draft.thing, by_base)
            steps[draft.id] = replace(draft, after=tuple(dict.fromkeys(after)))
    plan = DraftPlan(steps)
    plan = _in_teardown_order(plan, course)
    plan = _looks(plan, course)
    plan = _inner_before_outer(plan, course)
    return _before_hand_over(plan)


def _draft(row: LibraryStep, course: Course, thing: Thing) -> Draft:
    length, why = minutes(row, course, thing)
    return Draft(
        id=step_id(row.id, thing),
        base=row.id,
        thing=thing,
        stage=row.stage,
        name=_capital(row.name.format(thing=thing.label)),
        short=row.short,
        who=row.who,
        people=row.people,
        minutes=length,
        spread=row.spread,
        breaks=row.breaks,
        after=row.after,
        cautions=row.cautions,
        hold=row.hold,
        proves=row.proves,
        why=why,
        sources=(row.source,),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _resolve(
    names: Iterable[str], thing: Thing, by_base: Mapping[str, list[Draft]]
) -> Iterable[str]:
    """Ids of the steps meant; a step that this repair does not have hands on to those before it."""
    for name in names:
        base = name.removeprefix("*")
        every = name.startswith("*")
        found = [d for d in by_base[base] if every or d.thing.touches(thing)]
        if found:
            yield from (draft.id for draft in found)
        else:
            row = next(row for row in library() if row.id == base)
            mark = "*" if every else ""
            yield from _resolve([mark + n.removeprefix("*") for n in row.after], thing, by_base)


def _off_id(plan: DraftPlan, part: str) -> str | None:
    thing = Thing(part, part)
    names = (step_id("lift-off", thing), step_id("take-off", thing))
    return next((name for name in names if name in plan.steps), None)


def _in_teardown_order(plan: DraftPlan, course: Course) -> DraftPlan:
    """Each part's joints are opened once the part before it is off."""
    opened: set[str] = set()
    before: str | None = None
    for part in course.order:
        thing = course.part_thing(part)
        own = [joint for joint in sorted(thing.joints) if joint not in opened]
        opened.update(own)
        names = [f"{base}-{joint}" for joint in own for base in ("separate", "unbolt")]
        off = _off_id(plan, part)
        for name in (*names, off or ""):
            if before and name in plan.steps:
                plan = plan.with_after(name, [before])
        before = off or before
    return plan


def _looks(plan: DraftPlan, course: Course) -> DraftPlan:
    """A part is inspected once the part that hides it is off."""
    room = course.answers.teardown
    for look in room.look if room is not None else ():
        off = _off_id(plan, look.after) if look.after else None
        plan = plan.with_after(f"inspect-{look.part}", [off or "protect"])
    return plan


def _inner_before_outer(plan: DraftPlan, course: Course) -> DraftPlan:
    """A panel goes on once what lies behind it holds, is sealed and has its pads."""
    for place, outer in enumerate(course.panels):
        covered = {
            layer for joint in course.opened if outer in joint.layers for layer in joint.layers
        }
        covered |= set(course.part(outer).hides)
        for inner in course.panels[:place]:
            if inner in covered:
                plan = plan.with_after(f"dry-fit-{outer}", [f"release-{inner}"])
                for step in ("bead", "close"):
                    behind = [f"{base}-{inner}" for base in ("seal", "pads", "sealer-skin")]
                    if f"{step}-{outer}" in plan.steps:
                        plan = plan.with_after(f"{step}-{outer}", behind)
    return plan


def _before_hand_over(plan: DraftPlan) -> DraftPlan:
    """Everything of stages 1 to 11 is done before the hand-over."""
    awaited = {name for step in plan.steps.values() for name in step.after}
    loose = [
        step.id
        for step in plan.steps.values()
        if step.stage < 12 and step.id not in awaited and step.id != "hand-over"
    ]
    return plan.with_after("hand-over", loose)


def own_draft(id_: str, name: str) -> Draft:
    """A step that the library does not know."""
    return Draft(
        id=id_,
        base="",
        thing=WHOLE,
        stage=0,
        name=name,
        short=name,
        who=Who.TECHNICIAN,
        people=1,
        minutes=0,
        spread=0.25,
        breaks=Breaks.PAUSES,
        after=(),
        cautions=(),
        hold=False,
        proves="",
        why="",
        sources=(),
    )
