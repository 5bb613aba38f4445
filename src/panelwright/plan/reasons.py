"""Why there is no schedule, in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from panelwright.plan.limits import positive_cycle, possible_starts
from panelwright.plan.model import Model
from panelwright.plan.tasks import Goal, Pause

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from panelwright.plan.tasks import Calendar, Resource, Task, TaskNetwork


def plain_reasons(network: TaskNetwork) -> tuple[str, ...]:
    """Reasons that can be seen without a search; empty where there are none."""
    found = [*_references(network)]
    if found:
        return tuple(found)
    found += _single_tasks(network)
    ring = positive_cycle(network)
    if ring:
        names = {task.id: task.words for task in network.tasks}
        way = " → ".join(names[rule.earlier] for rule in ring)
        rules = "; ".join(dict.fromkeys(rule.lag.words for rule in ring))
        found.append(
            f"These steps wait for each other: {way} → {names[ring[0].earlier]}. "
            f"The rules that cannot all be kept: {rules}. Take one of them away."
        )
    return tuple(found)


def _references(network: TaskNetwork) -> Iterator[str]:
    """Names that point to nothing, and doubles."""
    ids = [task.id for task in network.tasks]
    resources = {resource.id for resource in network.resources}
    calendars = {calendar.id for calendar in network.calendars}
    yield from (f"There are two steps named {id_}." for id_ in dict.fromkeys(_doubles(ids)))
    for lag in network.lags:
        for id_ in (lag.before, lag.after):
            if id_ not in ids:
                yield f"The rule “{lag.words}” names the step {id_}, which is not in the plan."
    for task in network.tasks:
        for need in task.needs:
            if need.resource not in resources:
                yield f"{task.words} needs {need.resource}, which the shop does not have."
        if task.calendar is not None and task.calendar not in calendars:
            yield f"{task.words} follows the calendar {task.calendar}, which is not given."


def _doubles(ids: Sequence[str]) -> list[str]:
    return [id_ for place, id_ in enumerate(ids) if id_ in ids[:place]]


def _single_tasks(network: TaskNetwork) -> Iterator[str]:
    """Tasks that cannot be placed even on their own."""
    table = {calendar.id: calendar for calendar in network.calendars}
    capacity = {resource.id: resource for resource in network.resources}
    starts = possible_starts(network)
    for task in network.tasks:
        yield from _too_much(task, capacity)
        if starts[task.id].found:
            continue
        yield _no_start(task, table.get(task.calendar or ""), network.horizon)


def _too_much(task: Task, capacity: dict[str, Resource]) -> Iterator[str]:
    for need in task.needs:
        resource = capacity[need.resource]
        if need.amount > resource.capacity:
            yield (
                f"{task.words} needs {need.amount} × {resource.words}; "
                f"the shop has {resource.capacity}."
            )


def _no_start(task: Task, calendar: Calendar | None, horizon: int) -> str:
    if calendar is None:
        return (
            f"{task.words} takes {task.duration} and cannot end by its latest time "
            f"{horizon if task.latest is None else task.latest}."
        )
    if not calendar.windows:
        return f"{task.words}: there is no working time at all; give the shop a shift and days."
    if task.pause is Pause.UNBROKEN and task.duration > calendar.longest():
        return (
            f"{task.words} takes {task.duration} min without a break, but the longest stretch of "
            f"working time is {calendar.longest()} min. Shorten or split it, or lengthen the shift."
        )
    return f"{task.words} finds no working time before its latest end."


@dataclass(frozen=True)
class Rule:
    """One rule that could be given up, and the network without it."""

    words: str
    without: Callable[[TaskNetwork], TaskNetwork]


def searched_reasons(network: TaskNetwork, seed: int) -> tuple[str, ...]:
    """A small set of rules that cannot all be kept.

    Each rule is left out in turn and stays out where the rest is still impossible; what remains
    is needed for the conflict (deletion filter: Chinneck, J. & Dravnieks, E. (1991): Locating
    minimal infeasible constraint sets in linear programs. ORSA Journal on Computing 3(2),
    157-168, from memory).
    """
    core: list[str] = []
    for rule in _rules(network):
        smaller = rule.without(network)
        if _impossible(smaller, seed):
            network = smaller
        else:
            core.append(rule.words)
    if not core:
        return ("The shortest times between the steps do not fit before the horizon.",)
    listed = "; ".join(dict.fromkeys(core))
    return (f"These cannot all be kept: {listed}. Give one of them up.",)


def _rules(network: TaskNetwork) -> Iterator[Rule]:
    """Everything that somebody could decide otherwise."""
    for resource in network.resources:
        words = f"the shop has {resource.capacity} × {resource.words}"
        yield Rule(words, partial(_without_resource, id_=resource.id))
    pausing = [t.id for t in network.tasks if t.calendar and t.pause is Pause.PAUSES]
    if pausing:
        words = "steps are done within working hours"
        yield Rule(words, partial(_without_hours, ids=frozenset(pausing)))
    for task in network.tasks:
        if task.calendar and task.pause is Pause.UNBROKEN:
            words = f"{task.words} is done without a break within working hours"
            yield Rule(words, partial(_without_hours, ids=frozenset({task.id})))
        if task.latest is not None:
            words = f"{task.words} ends by {task.latest}"
            yield Rule(words, partial(_without_latest, id_=task.id))
    for place, lag in enumerate(network.lags):
        if lag.most is not None:
            yield Rule(lag.words, partial(_without_most, place=place))


def _without_resource(network: TaskNetwork, *, id_: str) -> TaskNetwork:
    tasks = tuple(
        replace(task, needs=tuple(need for need in task.needs if need.resource != id_))
        for task in network.tasks
    )
    return replace(network, tasks=tasks)


def _without_hours(network: TaskNetwork, *, ids: frozenset[str]) -> TaskNetwork:
    tasks = tuple(
        replace(task, calendar=None, pause=Pause.ANYTIME) if task.id in ids else task
        for task in network.tasks
    )
    return replace(network, tasks=tasks)


def _without_latest(network: TaskNetwork, *, id_: str) -> TaskNetwork:
    tasks = tuple(replace(task, latest=None) if task.id == id_ else task for task in network.tasks)
    return replace(network, tasks=tasks)


def _without_most(network: TaskNetwork, *, place: int) -> TaskNetwork:
    lags = list(network.lags)
    lags[place] = replace(lags[place], most=None)
    return replace(network, lags=tuple(lags))


def _impossible(network: TaskNetwork, seed: int) -> bool:
    if positive_cycle(network):
        return True
    model = Model(replace(network, goal=Goal((), 0))).model
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = 0.5
    return bool(solver.solve(model) == cp_model.INFEASIBLE)
