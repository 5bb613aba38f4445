"""The procedure's and the shop's own steps: they replace the library's, or come in between."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import Who
from panelwright.plan.course import WHOLE
from panelwright.plan.draft import Draft, DraftPlan, own_draft
from panelwright.plan.library import Breaks, cautions
from panelwright.sources import Basis, Source

if TYPE_CHECKING:
    from collections.abc import Iterable

    from panelwright.facts.models.parts import Step
    from panelwright.plan.tasks import Lag

WHO = {
    "technician": Who.TECHNICIAN,
    "lead": Who.LEAD,
    "qualified": Who.QUALIFIED,
    "lamp": Who.LAMP,
    "nobody": Who.NOBODY,
}
FIRST_STEP = "identify"


def with_own_steps(plan: DraftPlan, steps: Iterable[Step]) -> DraftPlan:
    """The plan with the repair file's steps in it, and a problem for each that does not fit."""
    steps = tuple(steps)
    problems: list[Problem] = []
    meant = {step.id: _meant(plan, step.id) for step in steps}
    for number, step in enumerate(steps):
        problems += _too_short(plan, step, number, meant[step.id])
        plan = _placed(plan, step, meant[step.id])
    for number, step in enumerate(steps):
        plan, trouble = _tied(plan, step, number, meant[step.id])
        problems += trouble
        plan, trouble = _replacing(plan, step, number)
        problems += trouble
    return replace(plan, problems=(*plan.problems, *problems))


def _meant(plan: DraftPlan, name: str) -> tuple[str, ...]:
    """Steps of the plan that a name stands for: one step, or every one of a library step."""
    if name in plan.steps:
        return (name,)
    return tuple(draft.id for draft in plan.of(name))


def _placed(plan: DraftPlan, step: Step, meant: tuple[str, ...]) -> DraftPlan:
    """Change what the step changes; a name that the plan does not know is a step of its own."""
    base = [plan.steps[id_] for id_ in meant] or [own_draft(step.id, step.name or step.id)]
    changed = {draft.id: _changed(draft, step) for draft in base}
    return replace(plan, steps={**plan.steps, **changed})


def _too_short(plan: DraftPlan, step: Step, number: int, meant: Iterable[str]) -> list[Problem]:
    """A cure that the file says is shorter than the late bound: the file governs, but says it."""
    if step.hours is None:
        return []
    return [
        Problem(
            f"step[{number}].hours",
            f"{step.hours:g} h, but {plan.steps[id_].name} may take "
            f"{plan.steps[id_].minutes / 60:.1f} h (late bound); ask the adhesive's maker",
            hard=False,
        )
        for id_ in meant
        if plan.steps[id_].base in {"cure", "full-cure"}
        and step.hours * 60 < plan.steps[id_].minutes
    ]


def _changed(draft: Draft, step: Step) -> Draft:
    who = WHO[step.who] if step.who else draft.who
    length = draft.minutes if step.hours is None else math.ceil(step.hours * 60 - 1e-9)
    source = Source(Basis.SHOP, f"step {step.id} of the repair file")
    if step.source:
        source = Source(Basis.PROCEDURE, step.source)
    own = who is not draft.who
    breaks = {Who.NOBODY: Breaks.ANYTIME, Who.LAMP: Breaks.ATTENDED}.get(who, Breaks.PAUSES)
    return replace(
        draft,
        name=step.name or draft.name,
        who=who,
        people=(0 if who is Who.NOBODY else 1) if own else draft.people,
        minutes=length,
        breaks=breaks if own else draft.breaks,
        cautions=tuple(dict.fromkeys((*draft.cautions, *step.cautions))),
        hold=draft.hold if step.hold is None else step.hold,
        why=draft.why if step.hours is None else f"{step.hours:g} h by the repair file",
        sources=(source,) if step.hours is not None else (*draft.sources, source),
    )


def _tied(
    plan: DraftPlan, step: Step, number: int, meant: tuple[str, ...]
) -> tuple[DraftPlan, list[Problem]]:
    """Put the step after and before what it names; one of its own without a place goes early."""
    problems: list[Problem] = []
    ids = meant or (step.id,)
    for key, names in (("after", step.after), ("before", step.before)):
        for name in names:
            others = _meant(plan, name)
            if not others:
                problems.append(_nowhere(f"step[{number}].{key}", name, plan))
            for other in others:
                for id_ in ids:
                    plan = (
                        plan.with_after(id_, [other])
                        if key == "after"
                        else plan.with_after(other, [id_])
                    )
    if not meant:
        if not step.after and not step.replaces:
            plan = plan.with_after(step.id, [FIRST_STEP])
        plan = _stage(plan, step.id)
        if plan.steps[step.id].stage < 12 and not step.replaces:
            plan = plan.with_after("hand-over", [step.id])
    return plan, problems


def _stage(plan: DraftPlan, id_: str) -> DraftPlan:
    """An own step belongs to the stage of the latest step it waits for."""
    step = plan.steps[id_]
    stage = max((plan.steps[name].stage for name in step.after), default=1) or 1
    last = "hand-over" in step.after
    stage = 12 if last else stage
    return replace(plan, steps={**plan.steps, id_: replace(step, stage=stage)})


def _nowhere(where: str, name: str, plan: DraftPlan) -> Problem:
    near = [id_ for id_ in plan.steps if id_.startswith(name.split("-", maxsplit=1)[0])][:4]
    there = f" (there are {', '.join(near)})" if near else ""
    return Problem(where, f"{name!r} is no step of this plan{there}; it is left out", hard=False)


def _replacing(plan: DraftPlan, step: Step, number: int) -> tuple[DraftPlan, list[Problem]]:
    """Take out the steps that this one replaces; it inherits their places and their cautions."""
    problems: list[Problem] = []
    for name in step.replaces:
        gone = [id_ for id_ in _meant(plan, name) if id_ != step.id]
        if not gone and name != step.id:
            problems.append(_nowhere(f"step[{number}].replaces", name, plan))
        for id_ in gone:
            plan = _swap(plan, id_, step.id)
    return plan, problems


def _swap(plan: DraftPlan, old: str, new: str) -> DraftPlan:
    gone = plan.steps[old]
    steps = {}
    for id_, draft in plan.steps.items():
        if id_ == old:
            continue
        after = (new if name == old else name for name in draft.after)
        steps[id_] = replace(
            draft, after=tuple(dict.fromkeys(name for name in after if name != id_))
        )
    mine = steps[new]
    known = cautions()
    steps[new] = replace(
        mine,
        stage=gone.stage,
        base=mine.base or gone.base,
        thing=gone.thing if mine.thing is WHOLE else mine.thing,
        people=mine.people if mine.who is Who.NOBODY else max(mine.people, 1),
        after=tuple(dict.fromkeys((*mine.after, *(n for n in gone.after if n != new)))),
        cautions=tuple(dict.fromkeys((*(c for c in gone.cautions if c in known), *mine.cautions))),
        hold=mine.hold or gone.hold,
        proves=mine.proves or gone.proves,
    )
    return replace(plan, steps=steps, lags=_handed_on(plan.lags, old, new))


def _handed_on(lags: Iterable[Lag], old: str, new: str) -> tuple[Lag, ...]:
    """Limits of a step that is gone hold for the one in its place."""
    found = []
    for lag in lags:
        before = new if lag.before == old else lag.before
        after = new if lag.after == old else lag.after
        if before != after:
            found.append(replace(lag, before=before, after=after))
    return tuple(found)
