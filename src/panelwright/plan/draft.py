"""Steps before they have times: the library's, fitted to one repair."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.plan.course import WHOLE, Course, Thing
from panelwright.plan.library import Breaks, LibraryStep, caution_conditions, library
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
    """The library's steps for one repair, each waiting for those before it in the library."""
    by_base: dict[str, list[Draft]] = {}
    for row in library():
        things = course.things(row.scope) if course.applies(row.applies) else ()
        by_base[row.id] = [_draft(row, course, thing) for thing in things]
    steps: dict[str, Draft] = {}
    for drafts in by_base.values():
        for draft in drafts:
            after = _resolve(draft.after, draft.thing, by_base)
            steps[draft.id] = replace(draft, after=tuple(dict.fromkeys(after)))
    return DraftPlan(steps)


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
        people=min(row.people, 1) if course.one_person(thing) else row.people,
        minutes=length,
        spread=row.spread,
        breaks=row.breaks,
        after=row.after,
        cautions=tuple(c for c in row.cautions if course.applies(caution_conditions()[c])),
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
