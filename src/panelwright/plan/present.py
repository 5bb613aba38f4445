"""From a schedule in minutes to steps on the shop's clock."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import PlannedStep, Ready, Status, Who, Window
from panelwright.plan.assemble import HAND_OVER, Job, Question, unique
from panelwright.plan.clocks import bond_of
from panelwright.plan.forward import FixedOrder, critical_path
from panelwright.plan.library import caution, settings, settings_source
from panelwright.plan.said import second_person, to_ask
from panelwright.plan.shares import PACE, shares_of
from panelwright.plan.spread import Doubt, Spread, doubt_of, run_cases
from panelwright.sources import Share, Source, merge

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.course import Course
    from panelwright.plan.draft import Draft
    from panelwright.plan.forward import Unit
    from panelwright.plan.solve import Schedule
    from panelwright.plan.windows import Hours

LEAST_SHARE = 0.02
"""A smaller share of the spread is not told."""
LIKELY_MISS = 0.05
"""A work time missed more often than this is told."""


@dataclass(frozen=True)
class Presentation:
    """All that is needed to say a schedule in words."""

    question: Question
    schedule: Schedule
    jobs: Sequence[Job]
    courses: Sequence[Course]
    hours: Hours

    @property
    def capacity(self) -> int:
        """How many technicians the shop has."""
        resources = self.question.network.resources
        return next(r.capacity for r in resources if r.id == Who.TECHNICIAN.value)

    def moment(self, minute: int) -> datetime:
        """A minute of the schedule on the shop's clock."""
        return (self.question.origin + timedelta(minutes=minute)).astimezone(self.hours.zone)


@dataclass(frozen=True)
class Presented:
    """The schedule's part of the answer."""

    steps: tuple[PlannedStep, ...] = ()
    ready: tuple[Ready, ...] = ()
    critical: tuple[str, ...] = ()
    working: tuple[Window, ...] = ()
    problems: tuple[Problem, ...] = ()
    sources: tuple[Source, ...] = ()


def present(of: Presentation) -> Presented:
    """Steps, ready-for-paint times, critical path and working hours of a schedule."""
    if of.schedule.status is Status.INFEASIBLE:
        return Presented()
    network, spans = of.question.network, of.schedule.spans
    order = FixedOrder(network, spans)
    times = {span.task: (span.start, span.end) for span in spans}
    goals = [i for i, draft in of.question.drafts.items() if draft.base == HAND_OVER]
    doubts = _doubts(of)
    spread = run_cases(network, spans, doubts, goals)
    critical = critical_path(order, times, goals)
    steps = (*_steps(of, times, order.units), *_implied(of))
    steps = tuple(sorted(steps, key=lambda step: (step.start, step.end, step.stage)))
    ready = tuple(
        replace(
            _ready(of, job, times, spread),
            zone=_zone(of, job.repair),
            shares=_shares(of, job, doubts),
        )
        for job in of.jobs
    )
    open_ = tuple(id_ for id_ in critical if not _is_done(of, id_))
    return Presented(
        steps=steps,
        ready=ready,
        critical=open_,
        working=_working(of, max((end for _, end in times.values()), default=0)),
        problems=(
            *_missed(spread, of),
            *_promises(of, ready),
            *to_ask(of.jobs, of.courses, steps),
            *second_person(steps, of.capacity),
        ),
        sources=merge((settings_source(),), *(step.sources for step in steps)),
    )


def _is_done(of: Presentation, id_: str) -> bool:
    job = next(job for job in of.jobs if job.repair == of.question.repair_of[id_])
    return job.progress.done(of.question.drafts[id_].id)


def _doubts(of: Presentation) -> Mapping[str, Doubt]:
    found = {}
    for job, course in zip(of.jobs, of.courses, strict=True):
        again = _again(course)
        for step in job.plan.steps.values():
            if job.progress.done(step.id) or job.progress.under_way(step.id):
                continue
            if step.base == "arrive" or step.id in job.progress.overtaken:
                continue
            id_ = unique(of.jobs, job.repair, step.id)
            found[id_] = doubt_of(step, job.repair, _late_ratio(course, step), again)
    return found


def _late_ratio(course: Course, step: Draft) -> float:
    """Late over likely time of the joint that a wait belongs to."""
    joint = course.repair.joint_by_id.get(step.thing.key)
    found = bond_of(course, joint) if joint is not None else None
    band = None
    if found is not None:
        band = found.handle_min if step.base == "cure" else found.full_min
    return band.late / band.likely if band is not None and band.likely > 0 else 1.0


def _again(course: Course) -> tuple[float, float]:
    """Chance of one more move, and its minutes: from the readings where there are any."""
    taken = settings()
    chances = [
        point.p_inside
        for part in (course.answers.fit.parts if course.answers.fit else ())
        for point in part.points
        if part.id in course.panels and point.p_inside is not None
    ]
    chance = 1.0 - min(chances) if chances else taken["fit_again"]
    return chance, taken["fit_again_minutes"]


def _steps(
    of: Presentation,
    times: Mapping[str, tuple[int, int]],
    units: Mapping[str, tuple[Unit, ...]],
) -> list[PlannedStep]:
    tasks = {task.id: task for task in of.question.network.tasks}
    capacity = {r.id: r.capacity for r in of.question.network.resources}
    found = []
    for id_, (start, end) in times.items():
        people = [
            u.resource if capacity[u.resource] == 1 else f"{u.resource} {u.number}"
            for u in units[id_]
        ]
        repair = of.question.repair_of[id_]
        job = next(job for job in of.jobs if job.repair == repair)
        step = _planned(of, job, of.question.drafts[id_], (of.moment(start), of.moment(end)))
        work = tasks[id_].duration
        # One that is under way lasts from its beginning to now and what is left of it.
        begun = job.progress.under_way(of.question.drafts[id_].id)
        usual = step.overtaken or (begun and step.by is not Who.NOBODY)
        work = step.work_minutes if usual else work
        found.append(replace(step, person=" and ".join(people), work_minutes=work))
    return found


def _planned(
    of: Presentation, job: Job, draft: Draft, time: tuple[datetime, datetime]
) -> PlannedStep:
    return PlannedStep(
        id=unique(of.jobs, job.repair, draft.id),
        repair=job.repair,
        stage=draft.stage,
        name=draft.name,
        by=draft.who,
        people=0 if draft.who is Who.NOBODY else draft.people,
        person="",
        start=time[0],
        end=time[1],
        work_minutes=draft.minutes,
        waits_for=tuple(
            unique(of.jobs, job.repair, name) for name in draft.after if name in job.plan.steps
        ),
        cautions=tuple(caution(text) for text in draft.cautions),
        hold=draft.hold,
        proves=draft.proves,
        why=draft.why,
        concerns=tuple(sorted(draft.thing.parts | draft.thing.joints)),
        done=job.progress.done(draft.id),
        sources=draft.sources,
        short=draft.short,
        overtaken=draft.id in job.progress.overtaken,
        base=draft.base,
    )


def _implied(of: Presentation) -> list[PlannedStep]:
    """Steps that must have been done because a later one is recorded; their time is its time."""
    found = []
    for job in of.jobs:
        for name, at in job.progress.implied.items():
            draft = job.plan.steps[name]
            moment = at.astimezone(of.hours.zone)
            step = _planned(of, job, draft, (moment, moment))
            found.append(step)
    return found


def _ready(
    of: Presentation, job: Job, times: Mapping[str, tuple[int, int]], spread: Spread
) -> Ready:
    drafts = of.question.drafts
    mine = [
        id_
        for id_ in times
        if drafts[id_].base == HAND_OVER and of.question.repair_of[id_] == job.repair
    ]
    if not mine:
        name = next(d.id for d in job.plan.steps.values() if d.base == HAND_OVER)
        at = job.progress.implied[name].astimezone(of.hours.zone)
        return Ready(job.repair, at, at, at)
    id_ = mine[0]
    p50, p90 = (of.moment(spread.quantile(id_, p)) for p in (0.5, 0.9))
    return Ready(job.repair, of.moment(times[id_][1]), p50, p90)


def _shares(of: Presentation, job: Job, doubts: Mapping[str, Doubt]) -> tuple[Share, ...]:
    """What the spread of one repair's time comes from, in words."""
    drafts, network = of.question.drafts, of.question.network
    goal = next(
        (
            id_
            for id_, draft in drafts.items()
            if draft.base == HAND_OVER and of.question.repair_of[id_] == job.repair
        ),
        None,
    )
    if goal is None or goal not in {span.task for span in of.schedule.spans}:
        return ()
    found = shares_of(network, of.schedule.spans, doubts, goal)
    return tuple(
        Share("pace of the whole repair" if id_ == PACE else drafts[id_].name, share)
        for id_, share in found
        if share >= LEAST_SHARE
    )


def _zone(of: Presentation, repair: str) -> str:
    return next(c.repair.shop.zone for c in of.courses if c.repair.name == repair)


def _working(of: Presentation, last: int) -> tuple[Window, ...]:
    windows = of.question.network.calendars[0].windows
    return tuple(
        Window(of.moment(start), of.moment(end)) for start, end in windows if start <= last
    )


def _missed(spread: Spread, of: Presentation) -> list[Problem]:
    """Work times that are met as planned but would often be missed in practice."""
    lags = {lag.name: lag for lag in of.question.network.lags}
    return [
        Problem(
            f"step {lags[name].before}",
            f"the last rivet would come after the work time's early bound in {100 * share:.0f} of "
            f"100 cases ({name}). Have everything at hand, more hands, or split the joint",
            hard=False,
        )
        for name, share in spread.missed.items()
        if share > LIKELY_MISS
    ]


def _promises(of: Presentation, ready: Sequence[Ready]) -> list[Problem]:
    found = []
    for course, one in zip(of.courses, ready, strict=True):
        promised = course.repair.repair.promised
        if promised is not None and one.p90 > promised:
            local = promised.astimezone(of.hours.zone)
            found.append(
                Problem(
                    "repair.promised",
                    f"{one.repair} was promised for {local:%a %d %b %H:%M}, but goes to paint by "
                    f"{one.p90:%a %d %b %H:%M} in 90 of 100 cases; tell the customer, or add hands",
                    hard=False,
                )
            )
    return found
