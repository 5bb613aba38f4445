"""Time lags as inequalities, and what follows from them alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plan.hours import Starts, pieces

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.plan.tasks import Lag, Span, TaskNetwork


@dataclass(frozen=True)
class Limit:
    """One inequality: `later`'s end named `later_end` is at least `gap` after `earlier`'s."""

    earlier: str
    earlier_end: str
    later: str
    later_end: str
    gap: int
    lag: Lag
    backward: bool

    def least_start(self, start: int, end: int, elapsed: int) -> int:
        """Earliest start of the later task, which takes `elapsed`; the earlier one's span given."""
        base = (start if self.earlier_end == "start" else end) + self.gap
        return base if self.later_end == "start" else base - elapsed

    def broken(self, earlier: Span, later: Span) -> bool:
        """Whether two spans break it."""
        first = earlier.start if self.earlier_end == "start" else earlier.end
        second = later.start if self.later_end == "start" else later.end
        return second < first + self.gap


def limits(network: TaskNetwork) -> tuple[Limit, ...]:
    """All lags as inequalities; `backward` ones only ever bind a task that was started too soon."""
    durations = {task.id: task.duration for task in network.tasks}
    found = []
    for lag in network.lags:
        first, second = lag.between.value
        if lag.least is not None:
            step = lag.least
            step += durations[lag.before] if first == "end" else 0
            step -= durations[lag.after] if second == "end" else 0
            found.append(Limit(lag.before, first, lag.after, second, lag.least, lag, step < 0))
        if lag.most is not None:
            found.append(Limit(lag.after, second, lag.before, first, -lag.most, lag, True))
    return tuple(found)


def earliest_starts(network: TaskNetwork) -> Mapping[str, int] | None:
    """Earliest start of every task, resources left out; None where the lags cannot be kept.

    Longest paths over all inequalities, each start moved on to the next working window that
    holds the task. It bounds every schedule from below.
    """
    starts = possible_starts(network)
    times: dict[str, int] = {}
    elapsed: dict[str, int] = {}
    for id_, ways in starts.items():
        first = ways.next(0)
        if first is None:
            return None
        times[id_], elapsed[id_] = first
    longest = {id_: max(piece.elapsed for piece in ways.found) for id_, ways in starts.items()}
    rules = limits(network)
    changed = True
    while changed:
        changed = False
        for rule in rules:
            start = times[rule.earlier]
            end = start + elapsed[rule.earlier]
            least = rule.least_start(start, end, longest[rule.later])
            if least > times[rule.later]:
                following = starts[rule.later].next(least)
                if following is None:
                    return None
                times[rule.later], elapsed[rule.later] = following
                changed = True
    return times


def possible_starts(network: TaskNetwork) -> dict[str, Starts]:
    """Where every task may start by its calendar and its own limits."""
    table = {calendar.id: calendar for calendar in network.calendars}
    return {
        task.id: Starts(pieces(task, table.get(task.calendar or ""), network.horizon))
        for task in network.tasks
    }


def positive_cycle(network: TaskNetwork) -> tuple[Limit, ...]:
    """A ring of inequalities that asks a task to start after itself; empty where there is none.

    Bellman and Ford's labels over the working times alone, so that breaks do not matter.
    """
    durations = {task.id: task.duration for task in network.tasks}
    rules = limits(network)
    label = dict.fromkeys(durations, 0)
    by: dict[str, Limit] = {}
    last = ""
    for _ in range(len(durations) + 1):
        last = ""
        for rule in rules:
            step = rule.gap
            step += durations[rule.earlier] if rule.earlier_end == "end" else 0
            step -= durations[rule.later] if rule.later_end == "end" else 0
            if label[rule.earlier] + step > label[rule.later]:
                label[rule.later] = label[rule.earlier] + step
                by[rule.later] = rule
                last = rule.later
        if not last:
            return ()
    for _ in durations:
        last = by[last].earlier
    ring = [by[last]]
    while ring[-1].earlier != last:
        ring.append(by[ring[-1].earlier])
    return tuple(reversed(ring))
