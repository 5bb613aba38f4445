"""All repairs' steps as one scheduling question."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import Who
from panelwright.plan.draft import Draft, DraftPlan
from panelwright.plan.facts_done import Progress
from panelwright.plan.forward import Clock
from panelwright.plan.library import Breaks
from panelwright.plan.tasks import (
    Between,
    Calendar,
    Goal,
    Lag,
    Need,
    Pause,
    Resource,
    Task,
    TaskNetwork,
)
from panelwright.plan.windows import Hours, minutes_between

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from panelwright.facts.models.header import Shop

SHOP_HOURS = "shop"
HAND_OVER = "hand-over"
HAND_OVER_WEIGHT = 20
"""Against 1 for the last step of all: paint's time goes first."""
PAUSE = {
    Breaks.PAUSES: Pause.PAUSES,
    Breaks.UNBROKEN: Pause.UNBROKEN,
    Breaks.ATTENDED: Pause.UNBROKEN,
    Breaks.ANYTIME: Pause.ANYTIME,
}
SLACK_DAYS = 8
NEAR_MINUTES = 21 * 24 * 60


@dataclass(frozen=True)
class Job:
    """One repair's drafted steps with what is known of them."""

    repair: str
    plan: DraftPlan
    progress: Progress
    arrivals: Mapping[str, datetime]
    now: datetime


@dataclass(frozen=True)
class Question:
    """The scheduling question, and what its minutes mean."""

    network: TaskNetwork
    origin: datetime
    now: int
    drafts: Mapping[str, Draft]
    repair_of: Mapping[str, str]
    problems: tuple[Problem, ...]


def unique(jobs: Sequence[Job], repair: str, step: str) -> str:
    """A step's id in the plan: with several repairs, the repair's name stands before it."""
    return step if len(jobs) == 1 else f"{repair}/{step}"


def assemble(jobs: Sequence[Job], shop: Shop, hours: Hours) -> Question:
    """Tasks, lags, hours and capacities of all repairs; minute 0 is the first known moment."""
    known = [at for job in jobs for at in _known_moments(job)]
    origin = min(
        [*(job.now for job in jobs), *(at.replace(second=0, microsecond=0) for at in known)]
    )
    origin = origin.astimezone(UTC)
    builder = _Builder(jobs, shop, hours, origin)
    tasks = tuple(task for job in jobs for task in builder.tasks(job))
    lags = tuple(lag for job in jobs for lag in builder.lags(job))
    latest_now = max(builder.now(job) for job in jobs)
    horizon = _horizon(tasks, lags, hours, latest_now)
    calendar = Calendar(SHOP_HOURS, hours.windows(origin, horizon))
    goal = Goal(
        tuple(
            (task.id, HAND_OVER_WEIGHT)
            for task in tasks
            if builder.drafts[task.id].base == HAND_OVER
        )
    )
    network = TaskNetwork(tasks, horizon, builder.resources(), lags, (calendar,), goal)
    return Question(
        network, origin, latest_now, builder.drafts, builder.repair_of, tuple(builder.problems)
    )


def _known_moments(job: Job) -> Iterator[datetime]:
    """When recorded steps began; where only the end is known, so long before."""
    yield from job.progress.started.values()
    yield from job.progress.implied.values()
    for id_, at in job.progress.ended.items():
        if id_ not in job.progress.started:
            yield at - timedelta(minutes=job.plan.steps[id_].minutes)


class _Builder:
    """Turns steps into tasks, one repair after the other."""

    def __init__(self, jobs: Sequence[Job], shop: Shop, hours: Hours, origin: datetime) -> None:
        self.jobs, self.shop, self.origin = jobs, shop, origin
        ahead = max(minutes_between(origin, job.now) for job in jobs) + NEAR_MINUTES
        self.clock = Clock(Calendar(SHOP_HOURS, hours.windows(origin, ahead)))
        self.drafts: dict[str, Draft] = {}
        self.repair_of: dict[str, str] = {}
        self.problems: list[Problem] = []
        self.fixed: dict[str, tuple[int, int]] = {}
        self.busy: dict[str, int] = {}

    def resources(self) -> tuple[Resource, ...]:
        """What the shop has."""
        return (
            Resource(Who.TECHNICIAN.value, self.shop.technicians, "technician"),
            Resource(Who.LEAD.value, 1, "lead"),
            Resource(Who.QUALIFIED.value, 1, "qualified person"),
            Resource(Who.LAMP.value, max(self.shop.lamps, 1), "lamp"),
        )

    def now(self, job: Job) -> int:
        """Minute from which this repair's open steps are planned."""
        return minutes_between(self.origin, job.now)

    def tasks(self, job: Job) -> list[Task]:
        """Tasks of one repair; what is done keeps its time, what is only implied is left out.

        A hold point that later facts have overtaken is a signature to be given at once.
        """
        found = []
        for step in job.plan.steps.values():
            if step.id in job.progress.implied:
                continue
            id_ = unique(self.jobs, job.repair, step.id)
            self.drafts[id_], self.repair_of[id_] = step, job.repair
            found.append(self._task(job, step, id_))
        return found

    def _task(self, job: Job, step: Draft, id_: str) -> Task:
        name = step.name if len(self.jobs) == 1 else f"{job.repair}: {step.name}"
        length = max(step.minutes, 0)
        if step.id in job.progress.overtaken:
            now = self.now(job)
            self.fixed[id_] = (now, now)
            return Task(id_, 0, earliest=now, latest=now, name=name)
        if job.progress.done(step.id) or job.progress.under_way(step.id):
            return self._recorded(job, step, id_, name)
        if step.base == "arrive":
            arrives = job.arrivals.get(step.thing.key)
            now = self.now(job)
            end = max(now, minutes_between(self.origin, arrives)) if arrives else now
            return Task(id_, end - now, earliest=now, latest=end, name=name)
        calendar = None if step.breaks is Breaks.ANYTIME else SHOP_HOURS
        earliest = self._begins(job, step) if step.who is Who.NOBODY else self.now(job)
        return Task(
            id_, length, self._needs(step), calendar, PAUSE[step.breaks], earliest, None, name
        )

    def _begins(self, job: Job, step: Draft) -> int:
        """A wait may have begun in the past, but not before what it waits for was done."""
        before = {*step.after, *(lag.before for lag in job.plan.lags if lag.after == step.id)}
        times = [at for name, at in job.progress.implied.items() if name in before]
        return max((minutes_between(self.origin, at) for at in times), default=0)

    def _needs(self, step: Draft) -> tuple[Need, ...]:
        if step.who is Who.NOBODY or step.people == 0:
            return ()
        most = self.shop.technicians if step.who is Who.TECHNICIAN else 1
        return (Need(step.who.value, min(step.people, most)),)

    def _recorded(self, job: Job, step: Draft, id_: str, name: str) -> Task:
        """A task at its recorded time; one under way ends no sooner than now."""
        start_at, end_at = job.progress.started.get(step.id), job.progress.ended.get(step.id)
        end = minutes_between(self.origin, end_at) if end_at is not None else None
        start = minutes_between(self.origin, start_at) if start_at is not None else None
        if start is None or (end is not None and start > end):
            start = max(0, (end or 0) - step.minutes)
        if end is None:
            pause = PAUSE[Breaks.PAUSES if step.breaks is Breaks.UNBROKEN else step.breaks]
            in_time = start + step.minutes
            if pause is not Pause.ANYTIME:
                in_time = max(in_time, self.clock.span(step.minutes, pause, start)[1])
            end = max(in_time, self.now(job))
        needs = self._needs(step) if end > self.now(job) and end_at is None else ()
        needs = tuple(need for need in needs if self._free(need))
        self.fixed[id_] = (start, end)
        return Task(id_, end - start, needs, None, Pause.ANYTIME, start, end, name)

    def _free(self, need: Need) -> bool:
        """Whether the shop still has somebody for what is under way."""
        capacity = {r.id: r.capacity for r in self.resources()}[need.resource]
        self.busy[need.resource] = self.busy.get(need.resource, 0) + need.amount
        return self.busy[need.resource] <= capacity

    def lags(self, job: Job) -> list[Lag]:
        """Who waits for whom, and the time limits; those that facts have overtaken are told."""
        found = [
            Lag(name, step.id) for step in job.plan.steps.values() for name in _awaited(job, step)
        ]
        found += job.plan.lags
        return [lag for old in found if (lag := self._lag(job, old)) is not None]

    def _lag(self, job: Job, lag: Lag) -> Lag | None:
        before = unique(self.jobs, job.repair, lag.before)
        after = unique(self.jobs, job.repair, lag.after)
        if before not in self.drafts or after not in self.drafts:
            return None
        lag = replace(lag, before=before, after=after)
        if lag.before in self.fixed:
            lag = self._from_what_is_recorded(job, lag)
        if before in self.fixed and after in self.fixed:
            return None
        if after in self.fixed and lag.least is not None:
            lag = replace(lag, least=None)
        if before in self.fixed and lag.most is not None and not self.drafts[after].is_wait:
            lag = self._still_kept(job, lag)
        return None if lag.least is None and lag.most is None else lag

    def _from_what_is_recorded(self, job: Job, lag: Lag) -> Lag:
        """A longest time runs from the recorded end where nobody recorded the beginning."""
        recorded = self.drafts[lag.before].id in job.progress.started
        if recorded or lag.most is None or self.drafts[lag.after].is_wait:
            return lag
        from_end = {
            Between.START_START: Between.END_START,
            Between.START_END: Between.END_END,
        }
        return replace(lag, between=from_end.get(lag.between, lag.between))

    def _still_kept(self, job: Job, lag: Lag) -> Lag:
        """A limit that began in the past: kept where it still can be, else told and dropped."""
        first, second = lag.between.value
        base = self.fixed[lag.before][0 if first == "start" else 1]
        step = self.drafts[lag.after]
        pause = PAUSE[step.breaks]
        span = self.clock.span(step.minutes, pause, self.now(job))
        soonest = span[0 if second == "start" else 1]
        if lag.most is not None and soonest <= base + lag.most:
            return lag
        where = f"{job.repair}, step {lag.after}"
        words = f"can no longer be kept: {lag.words}. Ask the adhesive's maker before going on"
        self.problems.append(Problem(where, words, hard=False))
        return replace(lag, most=None)


def _awaited(job: Job, step: Draft) -> Iterator[str]:
    """Steps that an open one waits for, also those that only a step already done waited for.

    A wait that has begun is not held up: it runs from what was recorded.
    """
    if step.is_wait:
        yield from step.after
        return
    queue, seen = list(step.after), set()
    while queue:
        name = queue.pop()
        if name in seen:
            continue
        seen.add(name)
        yield name
        if job.progress.done(name) and not job.progress.done(step.id):
            queue += job.plan.steps[name].after


def _horizon(tasks: Sequence[Task], lags: Sequence[Lag], hours: Hours, now: int) -> int:
    """Minutes within which everything fits even one after the other, waits included."""
    work = sum(task.duration for task in tasks if task.calendar is not None)
    waits = sum(task.duration for task in tasks if task.calendar is None)
    waits += sum(max(lag.least or 0, 0) for lag in lags) + now
    week = 7 * 24 * 60
    weekly = sum(end - start for start, end in hours.stretches) * len(hours.days)
    weeks = math.ceil(1.5 * work / weekly) + 2
    return waits + weeks * week
