"""Why there is no schedule, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from panelwright.plan.limits import positive_cycle, possible_starts
from panelwright.plan.tasks import Pause

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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


class _Groups:
    """One switch for each rule that could be given up."""

    def __init__(self, network: TaskNetwork) -> None:
        self.model = cp_model.CpModel()
        self.words: dict[int, str] = {}
        self.switches: list[cp_model.IntVar] = []
        self._build(network)

    def _switch(self, words: str) -> cp_model.IntVar:
        switch = self.model.new_bool_var(words)
        self.words[switch.index] = words
        self.switches.append(switch)
        return switch

    def _build(self, network: TaskNetwork) -> None:
        start, end = {}, {}
        for task in network.tasks:
            start[task.id], end[task.id] = self._task(task, network)
        for lag in network.lags:
            first, second = lag.between.value
            distance = (start if second == "start" else end)[lag.after] - (
                start if first == "start" else end
            )[lag.before]
            if lag.least is not None:
                self.model.add(distance >= lag.least)
            if lag.most is not None:
                self.model.add(distance <= lag.most).only_enforce_if(self._switch(lag.words))
        for resource in network.resources:
            self._resource(resource, network, start, end)

    def _task(self, task: Task, network: TaskNetwork) -> tuple[cp_model.IntVar, cp_model.IntVar]:
        """Start and end; the calendar can be given up, and then the work is done in one go."""
        found = possible_starts(network)[task.id].found
        most = network.horizon if task.latest is None else min(task.latest, network.horizon)
        start = self.model.new_int_var(task.earliest, most - task.duration, f"start {task.id}")
        end = self.model.new_int_var(task.earliest, most, f"end {task.id}")
        self.model.add(end >= start + task.duration)
        if task.calendar is None or task.pause is Pause.ANYTIME:
            self.model.add(end == start + task.duration)
            return start, end
        switch = self._switch(_hours_words(task))
        ways = []
        for elapsed in sorted({piece.elapsed for piece in found}):
            way = self.model.new_bool_var(f"{task.id} takes {elapsed}")
            ranges = [[piece.low, piece.high] for piece in found if piece.elapsed == elapsed]
            allowed = cp_model.Domain.from_intervals(ranges)
            self.model.add_linear_expression_in_domain(start, allowed).only_enforce_if(way)
            self.model.add(end == start + elapsed).only_enforce_if(way)
            ways.append(way)
        self.model.add(cp_model.LinearExpr.sum(ways) == 1).only_enforce_if(switch)
        return start, end

    def _resource(
        self,
        resource: Resource,
        network: TaskNetwork,
        start: dict[str, cp_model.IntVar],
        end: dict[str, cp_model.IntVar],
    ) -> None:
        switch = self._switch(f"the shop has {resource.capacity} × {resource.words}")
        intervals, amounts = [], []
        for task in network.tasks:
            for need in task.needs:
                if need.resource != resource.id or task.duration == 0:
                    continue
                size = self.model.new_int_var(0, network.horizon, "")
                intervals.append(
                    self.model.new_optional_interval_var(
                        start[task.id], size, end[task.id], switch, ""
                    )
                )
                amounts.append(need.amount)
        if intervals:
            self.model.add_cumulative(intervals, amounts, resource.capacity)


def _hours_words(task: Task) -> str:
    if task.pause is Pause.UNBROKEN:
        return f"{task.words} is done without a break within working hours"
    return f"{task.words} is done within working hours"


def searched_reasons(network: TaskNetwork, seed: int) -> tuple[str, ...]:
    """A small set of rules that cannot all be kept, found by giving rules up one by one.

    The solver names a sufficient set of assumptions; each of them is then left out once, and
    stays out where the rest is still impossible.
    """
    groups = _Groups(network)
    core = _core(groups, [switch.index for switch in groups.switches], seed)
    if core is None:
        return ("No schedule fits before the horizon, even with rules given up.",)
    for index in list(core):
        smaller = _core(groups, [other for other in core if other != index], seed)
        if smaller is not None:
            core = smaller
    if not core:
        return ("The shortest times between the steps do not fit before the horizon.",)
    listed = "; ".join(groups.words[index] for index in core)
    return (f"These cannot all be kept: {listed}. Give one of them up.",)


def _core(groups: _Groups, indices: Sequence[int], seed: int) -> list[int] | None:
    """Rules among these that suffice to make it impossible; None where it is possible or open."""
    wanted = set(indices)
    groups.model.clear_assumptions()
    groups.model.add_assumptions([s for s in groups.switches if s.index in wanted])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = 2.0
    if solver.solve(groups.model) != cp_model.INFEASIBLE:
        return None
    named = set(solver.sufficient_assumptions_for_infeasibility())
    return [index for index in indices if index in named]
