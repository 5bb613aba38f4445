"""The CP-SAT model of a network: working time where that is enough, the clock where it must be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from panelwright.plan.axis import Axis
from panelwright.plan.tasks import Between, Pause, Span, TaskNetwork

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.tasks import Lag, Resource, Task

Place = cp_model.LinearExpr


class Model:
    """The model of a network.

    A task with a calendar is placed on that calendar's axis of working time; its start and end on
    the clock are added only where a wait, a lag or the goal asks for them.
    """

    def __init__(self, network: TaskNetwork) -> None:
        self.network = network
        self.model = cp_model.CpModel()
        self.tasks: Mapping[str, Task] = {task.id: task for task in network.tasks}
        self.axes = {c.id: Axis.of(c, network.horizon) for c in network.calendars}
        self.on_axis: dict[str, cp_model.IntVar] = {}
        self.starts: dict[str, Place] = {}
        self.ends: dict[str, Place] = {}
        for task in network.tasks:
            self._add_task(task)
        for lag in network.lags:
            self._add_lag(lag)
        for resource in network.resources:
            self._add_resource(resource)
        self._add_goal()

    def _axis(self, task: Task) -> Axis | None:
        if task.calendar is None or task.pause is Pause.ANYTIME:
            return None
        return self.axes[task.calendar]

    def _add_task(self, task: Task) -> None:
        axis = self._axis(task)
        last = self.network.horizon if task.latest is None else task.latest
        last = min(last, self.network.horizon)
        if axis is None:
            start = self.model.new_int_var(task.earliest, last - task.duration, task.id)
            self.starts[task.id], self.ends[task.id] = start, start + task.duration
            return
        earliest = axis.worked(task.earliest)
        ranges = [[earliest, axis.seams[-1] - max(task.duration, 1)]]
        if task.pause is Pause.UNBROKEN:
            ranges = axis.unbroken(max(task.duration, 1), earliest)
        domain = cp_model.Domain.from_intervals(ranges)
        self.on_axis[task.id] = self.model.new_int_var_from_domain(domain, task.id)
        if task.latest is not None:
            self.model.add(self.end(task.id) <= last)

    def start(self, id_: str) -> Place:
        """Start on the clock."""
        if id_ not in self.starts:
            self.starts[id_] = self._clock(id_, self.on_axis[id_], ends=False)
        return self.starts[id_]

    def end(self, id_: str) -> Place:
        """End on the clock."""
        if id_ not in self.ends:
            duration = self.tasks[id_].duration
            if duration == 0:
                return self.start(id_)
            self.ends[id_] = self._clock(id_, self.on_axis[id_] + duration, ends=True)
        return self.ends[id_]

    def _clock(self, id_: str, place: Place, *, ends: bool) -> cp_model.IntVar:
        axis = self._axis(self.tasks[id_])
        steps = axis.steps(ends=ends) if axis is not None else []
        domain = cp_model.Domain.from_intervals(
            [[low + add, high + add] for low, high, add in steps]
        )
        clock = self.model.new_int_var_from_domain(domain, f"clock {id_}")
        ways = []
        for low, high, add in steps:
            way = self.model.new_bool_var("")
            within = cp_model.Domain(low, high)
            self.model.add_linear_expression_in_domain(place, within).only_enforce_if(way)
            self.model.add(clock == place + add).only_enforce_if(way)
            ways.append(way)
        self.model.add_exactly_one(ways)
        return clock

    def _add_lag(self, lag: Lag) -> None:
        if self._add_on_axis(lag):
            return
        first, second = lag.between.value
        before = self.start(lag.before) if first == "start" else self.end(lag.before)
        after = self.start(lag.after) if second == "start" else self.end(lag.after)
        if lag.least is not None:
            self.model.add(after - before >= lag.least)
        if lag.most is not None:
            self.model.add(after - before <= lag.most)

    def _add_on_axis(self, lag: Lag) -> bool:
        """Say a lag in working time; True where that says all of it."""
        same = lag.before in self.on_axis and lag.after in self.on_axis
        same = same and self.tasks[lag.before].calendar == self.tasks[lag.after].calendar
        if not same or lag.between is not Between.END_START or lag.least is None or lag.least < 0:
            return False
        end = self.on_axis[lag.before] + self.tasks[lag.before].duration
        after = self.on_axis[lag.after]
        zero = 0 in {self.tasks[lag.before].duration, self.tasks[lag.after].duration}
        if lag.least == 0 and lag.most == 0 and not zero:
            axis = self.axes[self.tasks[lag.after].calendar or ""]
            seams = cp_model.Domain.from_values(list(axis.seams))
            self.model.add(after == end)
            self.model.add_linear_expression_in_domain(after, seams.complement())
            return True
        self.model.add(after >= end)
        return lag.least == 0 and lag.most is None and not zero

    def _add_resource(self, resource: Resource) -> None:
        held = [
            (task, need.amount)
            for task in self.network.tasks
            for need in task.needs
            if need.resource == resource.id and need.amount > 0 and task.duration > 0
        ]
        if not held:
            return
        axis = self._shared_axis([task for task, _ in held])
        intervals = [self._interval(task, axis) for task, _ in held]
        amounts = [amount for _, amount in held]
        if all(2 * amount > resource.capacity for amount in amounts):
            self.model.add_no_overlap(intervals)
        else:
            self.model.add_cumulative(intervals, amounts, resource.capacity)

    def _shared_axis(self, tasks: Sequence[Task]) -> Axis | None:
        """The axis on which all of them can be compared; tasks with a fixed time can be on any."""
        calendars = {t.calendar for t in tasks if t.id in self.on_axis}
        loose = [t for t in tasks if t.id not in self.on_axis and not _is_fixed(t)]
        if len(calendars) != 1 or loose:
            return None
        return self.axes[next(iter(calendars)) or ""]

    def _interval(self, task: Task, axis: Axis | None) -> cp_model.IntervalVar:
        if axis is not None and task.id in self.on_axis:
            start = self.on_axis[task.id]
            return self.model.new_fixed_size_interval_var(start, task.duration, task.id)
        if axis is not None:
            low, high = axis.worked(task.earliest), axis.worked(task.earliest + task.duration)
            return self.model.new_fixed_size_interval_var(low, high - low, task.id)
        if task.id not in self.on_axis:
            return self.model.new_fixed_size_interval_var(
                self.starts[task.id], task.duration, task.id
            )
        size = self.model.new_int_var(task.duration, self.network.horizon, "")
        return self.model.new_interval_var(self.start(task.id), size, self.end(task.id), task.id)

    def _add_goal(self) -> None:
        goal = self.network.goal
        terms: list[Place] = [self.end(id_) * weight for id_, weight in goal.ends]
        if goal.makespan:
            followed = {
                lag.before
                for lag in self.network.lags
                if lag.between is Between.END_START and lag.least is not None and lag.least >= 0
            }
            last = self.model.new_int_var(0, self.network.horizon, "makespan")
            for id_ in self.tasks:
                if id_ not in followed:
                    self.model.add(last >= self.end(id_))
            terms.append(last * goal.makespan)
        self.model.minimize(cp_model.LinearExpr.sum(terms))

    def hint(self, spans: Sequence[Span]) -> None:
        """Start the search from a schedule."""
        for span in spans:
            axis = self._axis(self.tasks[span.task])
            if axis is not None:
                self.model.add_hint(self.on_axis[span.task], axis.worked(span.start))
            else:
                start = self.starts[span.task]
                if isinstance(start, cp_model.IntVar):
                    self.model.add_hint(start, span.start)

    def spans(self, solver: cp_model.CpSolver) -> tuple[Span, ...]:
        """The schedule that the solver found, back on the clock."""
        return tuple(self._span(task, solver) for task in self.network.tasks)

    def _span(self, task: Task, solver: cp_model.CpSolver) -> Span:
        axis = self._axis(task)
        if axis is None:
            start = solver.value(self.starts[task.id])
            return Span(task.id, start, start + task.duration)
        place = solver.value(self.on_axis[task.id])
        start = _on_clock(axis, place, ends=False)
        end = _on_clock(axis, place + task.duration, ends=True) if task.duration else start
        return Span(task.id, start, end)


def _on_clock(axis: Axis, place: int, *, ends: bool) -> int:
    return next(place + add for low, high, add in axis.steps(ends=ends) if low <= place <= high)


def _is_fixed(task: Task) -> bool:
    return task.latest is not None and task.earliest + task.duration == task.latest
