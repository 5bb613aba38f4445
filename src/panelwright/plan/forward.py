"""Run through a schedule's order again: as early as its sequence allows, with any step lengths."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plan.limits import Limit, limits
from panelwright.plan.tasks import Pause, Span, TaskNetwork

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from panelwright.plan.tasks import Calendar, Task

PASSES = 60
WEEK_MINUTES, WEEKS_ON = 7 * 24 * 60, 52
"""Windows go on as in their last week, for steps that take longer than the schedule foresaw."""


def _gone_on(windows: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Windows, and those of their last week again and again; as they are where less is known."""
    if not windows or windows[0][0] > windows[-1][1] - WEEK_MINUTES:
        return list(windows)
    week = [(start, end) for start, end in windows if start >= windows[-1][1] - WEEK_MINUTES]
    later = (
        (start + number * WEEK_MINUTES, end + number * WEEK_MINUTES)
        for number in range(1, WEEKS_ON + 1)
        for start, end in week
    )
    return [*windows, *later]


class Clock:
    """Working windows, made ready for quick questions."""

    def __init__(self, calendar: Calendar) -> None:
        windows = _gone_on(calendar.windows)
        self.lows = [start for start, _ in windows]
        self.highs = [end for _, end in windows]
        self.worked = [0]
        for start, end in windows:
            self.worked.append(self.worked[-1] + end - start)

    def span(self, duration: int, pause: Pause, time: int) -> tuple[int, int]:
        """Earliest start from `time` on, and its end; past the last window, weeks repeat."""
        place = bisect_right(self.highs, time)
        if place == len(self.lows):
            return time, time + duration
        if pause is Pause.UNBROKEN:
            for number in range(place, len(self.lows)):
                start = max(time, self.lows[number])
                if start + duration <= self.highs[number]:
                    return start, start + duration
        start = max(time, self.lows[place])
        target = self.worked[place] + start - self.lows[place] + duration
        last = bisect_right(self.worked, target - 1) - 1 if duration else place
        if last >= len(self.lows):
            return start, self.highs[-1] + target - self.worked[-1]
        return start, self.lows[last] + target - self.worked[last]


@dataclass(frozen=True)
class Unit:
    """One of several alike: technician 2."""

    resource: str
    number: int


def assign(network: TaskNetwork, spans: Sequence[Span]) -> dict[str, tuple[Unit, ...]]:
    """Who does what: each task gets units that are free, the least used first number first."""
    free_at = {r.id: [0] * r.capacity for r in network.resources}
    tasks = {task.id: task for task in network.tasks}
    found: dict[str, tuple[Unit, ...]] = {}
    for span in sorted(spans, key=lambda s: (s.start, s.end, s.task)):
        units: list[Unit] = []
        for need in tasks[span.task].needs:
            if span.end == span.start:
                continue
            times = free_at[need.resource]
            ready = [k for k, time in enumerate(times) if time <= span.start][: need.amount]
            for k in ready:
                times[k] = span.end
                units.append(Unit(need.resource, k + 1))
        found[span.task] = tuple(units)
    return found


class FixedOrder:
    """A schedule's sequence: who waits for whom by rule, and who follows whom at a bench.

    Parameters
    ----------
    network : TaskNetwork
    spans : sequence of Span
        A schedule of it.
    left_out : str
        Limits whose name begins so are not enforced but counted by the caller.
    """

    def __init__(
        self, network: TaskNetwork, spans: Sequence[Span], left_out: str | None = None
    ) -> None:
        self.tasks: dict[str, Task] = {task.id: task for task in network.tasks}
        self.clocks = {calendar.id: Clock(calendar) for calendar in network.calendars}
        self.units = assign(network, spans)
        self.into: dict[str, list[tuple[str, str, str, int]]] = {id_: [] for id_ in self.tasks}
        self.backward: list[Limit] = []
        for rule in limits(network):
            if rule.backward:
                if left_out is None or not rule.lag.name.startswith(left_out):
                    self.backward.append(rule)
            else:
                edge = (rule.earlier, rule.earlier_end, rule.later_end, rule.gap)
                self.into[rule.later].append(edge)
        self._follow(spans)
        self.order = self._sorted()

    def _follow(self, spans: Sequence[Span]) -> None:
        """Whoever has the same unit next starts after the one before."""
        last: dict[Unit, str] = {}
        for span in sorted(spans, key=lambda s: (s.start, s.end, s.task)):
            for unit in self.units[span.task]:
                if unit in last:
                    self.into[span.task].append((last[unit], "end", "start", 0))
                last[unit] = span.task

    def _sorted(self) -> list[str]:
        out: dict[str, list[str]] = {id_: [] for id_ in self.tasks}
        waiting = {id_: len(edges) for id_, edges in self.into.items()}
        for id_, edges in self.into.items():
            for earlier, *_ in edges:
                out[earlier].append(id_)
        ready = [id_ for id_, count in waiting.items() if count == 0]
        order: list[str] = []
        while ready:
            id_ = ready.pop()
            order.append(id_)
            for later in out[id_]:
                waiting[later] -= 1
                if waiting[later] == 0:
                    ready.append(later)
        return order

    def run(self, durations: Mapping[str, int]) -> dict[str, tuple[int, int]]:
        """Start and end of every task, each as early as order, rules and hours allow.

        Where a limit would be broken because a later task has to wait, the earlier one is moved
        on, a bounded number of times.
        """
        release = {id_: task.earliest for id_, task in self.tasks.items()}
        times: dict[str, tuple[int, int]] = {}
        for _ in range(PASSES):
            for id_ in self.order:
                times[id_] = self._place(id_, durations[id_], release[id_], times)
            moved = False
            for rule in self.backward:
                start, end = times[rule.earlier]
                later = times[rule.later]
                least = rule.least_start(start, end, later[1] - later[0])
                if self._hopeless(rule, durations[rule.later]):
                    continue
                if least > later[0] and least > release[rule.later]:
                    release[rule.later] = least
                    moved = True
            if not moved:
                break
        return times

    def _hopeless(self, rule: Limit, duration: int) -> bool:
        """Whether the task that a limit would move takes longer than the limit allows.

        A limit from its start to the start of one that waits for its end cannot be kept then,
        and moving it on would never end.
        """
        ends = (rule.later_end, rule.earlier_end)
        if ends != ("start", "start") or duration <= -rule.gap:
            return False
        return any(
            edge[0] == rule.later and edge[1] == "end" and edge[3] >= 0
            for edge in self.into[rule.earlier]
        )

    def _place(
        self, id_: str, duration: int, release: int, times: Mapping[str, tuple[int, int]]
    ) -> tuple[int, int]:
        task = self.tasks[id_]
        start = release
        for earlier, first, second, gap in self.into[id_]:
            base = times[earlier][0 if first == "start" else 1] + gap
            start = max(start, base if second == "start" else base - duration)
        return self.place_at(task, duration, start)

    def place_at(self, task: Task, duration: int, time: int) -> tuple[int, int]:
        """Earliest span of a task from that time on."""
        if task.calendar is None or task.pause is Pause.ANYTIME:
            return time, time + duration
        return self.clocks[task.calendar].span(duration, task.pause, time)

    def binding(self, times: Mapping[str, tuple[int, int]]) -> dict[str, tuple[str, ...]]:
        """By task: those before it without which it could have started sooner."""
        found: dict[str, tuple[str, ...]] = {}
        for id_, task in self.tasks.items():
            start, end = times[id_]
            tight = []
            for earlier, first, second, gap in self.into[id_]:
                base = times[earlier][0 if first == "start" else 1] + gap
                at = base if second == "start" else base - (end - start)
                duration = task.duration
                if self.place_at(task, duration, max(at, task.earliest))[0] == start:
                    tight.append(earlier)
            for rule in self.backward:
                if rule.later == id_ and rule.earlier != id_:
                    other = times[rule.earlier]
                    if rule.least_start(other[0], other[1], end - start) == start and not tight:
                        tight.append(rule.earlier)
            found[id_] = tuple(dict.fromkeys(tight))
        return found


def critical_path(
    order: FixedOrder, times: Mapping[str, tuple[int, int]], goals: Sequence[str]
) -> tuple[str, ...]:
    """Tasks that set the ends of the goals, walked back along what binds; in order of start."""
    binding = order.binding(times)
    chain: dict[str, None] = {}
    for goal in goals:
        id_: str | None = goal
        while id_ is not None and id_ not in chain:
            chain[id_] = None
            before = [name for name in binding[id_] if times[name] <= times[id_]]
            before = before or list(binding[id_])
            id_ = max(before, key=lambda name: (times[name][1], times[name][0], name), default=None)
    return tuple(sorted(chain, key=lambda name: (times[name], name)))
