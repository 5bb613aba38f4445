"""When is it done, what does it need, what is done while it sets: for one or several repairs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.errors import Unanswerable
from panelwright.facts.problem import Problem
from panelwright.plan.answer import PlanAnswer, Status
from panelwright.plan.assemble import SLACK_DAYS, Job, Question, assemble, unique
from panelwright.plan.clocks import (
    check_prepared,
    check_work_time,
    waits_at_once,
    with_clocks,
)
from panelwright.plan.course import Course
from panelwright.plan.draft import draft_plan
from panelwright.plan.facts_done import progress
from panelwright.plan.forward import FixedOrder
from panelwright.plan.gather import Answers, gather
from panelwright.plan.greedy import greedy
from panelwright.plan.kit import kit, without_rivet
from panelwright.plan.own import with_own_steps
from panelwright.plan.present import Presentation, present
from panelwright.plan.sequence import in_sequence
from panelwright.plan.solve import Effort, Schedule, solve
from panelwright.plan.tasks import Calendar, Span, TaskNetwork
from panelwright.plan.windows import Hours, hours_of, whole_minute

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.header import Shop
    from panelwright.facts.repair import Repair

EFFORT = Effort(deterministic_s=6.0)
"""Steps of a few repairs are proven optimal in far less; more only tightens the gap."""


def answer(
    repairs: Sequence[Repair], as_of: datetime | None = None, effort: Effort = EFFORT
) -> PlanAnswer:
    """Plan one or several repairs in one shop.

    Parameters
    ----------
    repairs : sequence of Repair
        They share technicians, lamps and hours; the first one's shop counts.
    as_of : datetime, optional
        Nothing that is still open starts before. Left out: the latest recorded fact. A repair
        never starts before it was opened.
    effort : Effort, optional
        Deterministic limit of the search [deterministic s].

    Returns
    -------
    PlanAnswer

    Raises
    ------
    Unanswerable
        There are no repairs, no beginning, or no working hours, in words.
    """
    return plan_of([gather(repair) for repair in repairs], as_of, effort)


def plan_of(
    answers: Sequence[Answers], as_of: datetime | None = None, effort: Effort = EFFORT
) -> PlanAnswer:
    """The same for repairs whose rooms were asked already."""
    if not answers:
        raise Unanswerable(["There is no repair to plan; name one repair file or more."])
    shop = answers[0].repair.shop
    hours, problems = hours_of(shop)
    if hours is None:
        raise Unanswerable([f"{problem.where}: {problem.what}." for problem in problems])
    found = [*(p for a in answers for p in a.problems), *_same_shop(answers)]
    courses = [Course(one) for one in answers]
    jobs = [_job(course, _now(course.repair, answers, as_of)) for course in courses]
    for job in jobs:
        found += [_named(p, job.repair, jobs) for p in (*job.plan.problems, *job.progress.problems)]
    for course in courses:
        found += [_named(p, course.repair.name, jobs) for p in without_rivet(course)]
    question = assemble(jobs, shop, hours)
    question, schedule = _schedule(question, hours, effort)
    found += question.problems
    parts = present(Presentation(question, schedule, jobs, courses, hours))
    found += parts.problems
    lines = kit(courses, parts.steps, hours.zone)
    return PlanAnswer(
        steps=parts.steps,
        kit=lines,
        ready_for_paint=parts.ready,
        critical=parts.critical,
        status=schedule.status,
        gap=schedule.gap,
        why=schedule.why,
        problems=tuple(dict.fromkeys(found)),
        working=parts.working,
        zone=shop.zone,
        now=max(job.now for job in jobs).astimezone(hours.zone),
        sources=parts.sources,
    )


def _job(course: Course, now: datetime) -> Job:
    repair = course.repair
    plan = with_clocks(in_sequence(draft_plan(course), course), course)
    plan = check_work_time(with_own_steps(plan, repair.steps), course)
    plan = waits_at_once(check_prepared(plan, course))
    if repair.vehicle.drive is None:
        words = "is not given; planned as if the vehicle had high voltage"
        plan = replace(plan, problems=(*plan.problems, Problem("vehicle.drive", words, hard=False)))
    arrivals = {p.id: p.arrives for p in repair.parts if p.arrives is not None}
    return Job(repair.name, plan, progress(plan, course, now), arrivals, now)


def _now(repair: Repair, answers: Sequence[Answers], as_of: datetime | None) -> datetime:
    """When this repair's open steps may start."""
    events = [e.at for a in answers for e in a.repair.events if e.at is not None]
    events += [f.at for a in answers for f in a.repair.findings if f.at is not None]
    events += [r.at for a in answers for r in a.repair.readings if r.at is not None]
    known = [as_of] if as_of is not None else events
    known = [*known, *([repair.repair.opened] if repair.repair.opened else [])]
    if not known:
        words = (
            f"When does {repair.name} begin? Give [repair] opened, such as "
            "2026-11-20T08:10:00+01:00, or the time from which to plan (--as-of)."
        )
        raise Unanswerable([words])
    return whole_minute(max(known))


def _same_shop(answers: Sequence[Answers]) -> list[Problem]:
    first, name = answers[0].repair.shop, answers[0].repair.name
    found = []
    for one in answers[1:]:
        differing = _differing(one.repair.shop, first)
        if differing:
            words = (
                f"differs from the shop of {name} in {', '.join(differing)}; planned in the shop "
                f"of {name}: its clock ({first.zone}), hours, people and lamps count"
            )
            found.append(Problem(f"{one.repair.name}, shop", words, hard=False))
    return found


def _differing(shop: Shop, first: Shop) -> list[str]:
    """In what a shop differs from the first repair's, as far as a plan rests on it."""
    pairs = {
        "time zone": (shop.zone, first.zone),
        "hours": ((shop.shift, set(shop.days)), (first.shift, set(first.days))),
        "technicians": (shop.technicians, first.technicians),
        "lamps": (shop.lamps, first.lamps),
    }
    return [word for word, (one, other) in pairs.items() if one != other]


def _named(problem: Problem, repair: str, jobs: Sequence[Job]) -> Problem:
    """With several repairs, say whose problem it is."""
    return problem if len(jobs) == 1 else replace(problem, where=f"{repair}, {problem.where}")


def _schedule(question: Question, hours: Hours, effort: Effort) -> tuple[Question, Schedule]:
    """Solve within a horizon that our own schedule shortens, then move everything forward."""
    network = question.network
    own = greedy(network)
    if own is not None:
        last = max((span.end for span in own), default=0)
        network = _shortened(network, last + SLACK_DAYS * 24 * 60, hours, question.origin)
        question = replace(question, network=network)
    schedule = solve(network, effort)
    if schedule.status is Status.INFEASIBLE:
        question, schedule = _without_overtaken(question, schedule, effort)
    if schedule.status is Status.INFEASIBLE:
        return question, schedule
    network = question.network
    return question, replace(schedule, spans=_left(network, schedule.spans))


def _without_overtaken(
    question: Question, schedule: Schedule, effort: Effort
) -> tuple[Question, Schedule]:
    """Try again without the limits that began with a recorded step: facts cannot be changed."""
    recorded = {t.id for t in question.network.tasks if t.latest is not None}
    late = [lag for lag in question.network.lags if lag.before in recorded and lag.most is not None]
    if not late:
        return question, schedule
    lags = tuple(replace(lag, most=None) if lag in late else lag for lag in question.network.lags)
    problems = tuple(
        Problem(f"step {lag.after}", f"may come too late: {lag.words}", hard=False) for lag in late
    )
    relaxed = replace(
        question,
        network=replace(question.network, lags=lags),
        problems=(*question.problems, *problems),
    )
    second = solve(relaxed.network, effort)
    return (question, schedule) if second.status is Status.INFEASIBLE else (relaxed, second)


def _shortened(network: TaskNetwork, horizon: int, hours: Hours, origin: datetime) -> TaskNetwork:
    horizon = min(horizon, network.horizon)
    calendars = tuple(
        Calendar(calendar.id, hours.windows(origin, horizon)) for calendar in network.calendars
    )
    return replace(network, horizon=horizon, calendars=calendars)


def _left(network: TaskNetwork, spans: tuple[Span, ...]) -> tuple[Span, ...]:
    """The same order with every task as early as it allows; the old spans where that is no gain."""
    order = FixedOrder(network, spans)
    times = order.run({task.id: task.duration for task in network.tasks})
    new = {id_: Span(id_, start, end) for id_, (start, end) in times.items()}
    if any(rule.broken(new[rule.earlier], new[rule.later]) for rule in order.backward):
        return spans
    if any(new[span.task].end > span.end for span in spans):
        return spans
    return tuple(new[task.id] for task in network.tasks)


__all__ = ["answer", "gather", "plan_of", "unique"]
