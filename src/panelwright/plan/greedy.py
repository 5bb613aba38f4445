"""Our own schedule: one task after another, each as early as it fits.

Serial schedule generation with unscheduling: where a task comes too late for one placed before
(a bead that must be closed in time), that one is moved later and the pass begins again. It needs
no library, so there is a plan whenever the solver has none.

References
----------
Kolisch, R. & Hartmann, S. (1999): Heuristic algorithms for the resource-constrained project
scheduling problem. In: Weglarz, J. (ed.), Project Scheduling, 147-178.
Franck, B., Neumann, K. & Schwindt, C. (2001): Truncated branch-and-bound, schedule-construction
and schedule-improvement procedures for resource-constrained project scheduling. OR Spektrum 23,
297-324.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panelwright.plan.limits import Limit, limits, possible_starts
from panelwright.plan.tasks import Goal, Span, TaskNetwork

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from panelwright.plan.hours import Starts
    from panelwright.plan.tasks import Task

RESTARTS_PER_TASK = 10


def objective(goal: Goal, spans: Iterable[Span]) -> int:
    """The goal's value for a schedule."""
    ends = {span.task: span.end for span in spans}
    last = max(ends.values(), default=0)
    return goal.makespan * last + sum(weight * ends[task] for task, weight in goal.ends)


def greedy(network: TaskNetwork) -> tuple[Span, ...] | None:
    """Best schedule of several passes with different priorities; None where all of them fail."""
    generator = _Generator(network)
    best: tuple[Span, ...] | None = None
    for priority in generator.priorities():
        spans = generator.run(priority)
        if spans is None:
            continue
        if best is None or objective(network.goal, spans) < objective(network.goal, best):
            best = spans
    return best


@dataclass
class Usage:
    """What is held of one resource, and when."""

    capacity: int
    held: list[tuple[int, int, int]] = field(default_factory=list)

    def free_from(self, start: int, end: int, amount: int) -> int | None:
        """None where `amount` is free all along, else the time when the next holding ends."""
        over = [hold for hold in self.held if hold[0] < end and start < hold[1]]
        for moment in (start, *(hold[0] for hold in over if hold[0] > start)):
            running = [hold for hold in over if hold[0] <= moment < hold[1]]
            if sum(hold[2] for hold in running) + amount > self.capacity:
                return min(hold[1] for hold in running)
        return None


class _Generator:
    """Everything about a network that the passes share."""

    def __init__(self, network: TaskNetwork) -> None:
        self.network = network
        self.tasks: dict[str, Task] = {task.id: task for task in network.tasks}
        self.starts: dict[str, Starts] = possible_starts(network)
        self.into: dict[str, list[Limit]] = {id_: [] for id_ in self.tasks}
        self.out: dict[str, list[Limit]] = {id_: [] for id_ in self.tasks}
        for rule in limits(network):
            self.into[rule.later].append(rule)
            self.out[rule.earlier].append(rule)
        self.order = self._forward_order()

    def _forward_order(self) -> list[str] | None:
        """Tasks so that every forward limit runs down the list; None in a ring."""
        waiting = {
            id_: sum(not rule.backward for rule in rules) for id_, rules in self.into.items()
        }
        ready = [id_ for id_, count in waiting.items() if count == 0]
        order: list[str] = []
        while ready:
            id_ = ready.pop(0)
            order.append(id_)
            for rule in self.out[id_]:
                if not rule.backward:
                    waiting[rule.later] -= 1
                    if waiting[rule.later] == 0:
                        ready.append(rule.later)
        return order if len(order) == len(self.tasks) else None

    def _longest(self, weigh: Callable[[Task], int]) -> dict[str, int]:
        """Longest weighted path from each task to an end."""
        tail: dict[str, int] = {}
        for id_ in reversed(self.order or []):
            follow = [
                tail[r.later] + max(0, r.gap if r.earlier_end == "end" else 0)
                for r in self.out[id_]
                if not r.backward
            ]
            tail[id_] = weigh(self.tasks[id_]) + max(follow, default=0)
        return tail

    def priorities(self) -> tuple[Mapping[str, int], ...]:
        """Priorities to try: longest way to the end, most work behind, file order."""
        if self.order is None:
            return ()
        place = {id_: -number for number, id_ in enumerate(self.tasks)}
        work = self._longest(lambda task: task.duration * sum(n.amount for n in task.needs))
        steps = self._longest(lambda _: 1)
        return (self._longest(lambda task: task.duration), work, steps, place)

    def run(self, priority: Mapping[str, int]) -> tuple[Span, ...] | None:
        """One schedule; tasks that came too early are moved later, a bounded number of times."""
        release = dict.fromkeys(self.tasks, 0)
        for _ in range(RESTARTS_PER_TASK * len(self.tasks)):
            spans = self._pass(priority, release)
            if not isinstance(spans, Limit):
                return spans
        return None

    def _pass(
        self, priority: Mapping[str, int], release: dict[str, int]
    ) -> tuple[Span, ...] | Limit | None:
        usage = {r.id: Usage(r.capacity) for r in self.network.resources}
        placed: dict[str, Span] = {}
        waiting = {
            id_: sum(not rule.backward for rule in rules) for id_, rules in self.into.items()
        }
        ready = {id_ for id_, count in waiting.items() if count == 0}
        while ready:
            id_ = max(ready, key=lambda i: (self._bound_by(i, placed), priority[i], -len(i), i))
            ready.remove(id_)
            span = self._place(id_, placed, usage, release[id_])
            if span is None:
                return None
            broken = self._too_early(span, placed, release)
            if broken is not None:
                return broken
            placed[id_] = span
            for need in self.tasks[id_].needs:
                if span.end > span.start:
                    usage[need.resource].held.append((span.start, span.end, need.amount))
            for rule in self.out[id_]:
                if not rule.backward:
                    waiting[rule.later] -= 1
                    if waiting[rule.later] == 0:
                        ready.add(rule.later)
        return tuple(placed[id_] for id_ in self.tasks)

    def _bound_by(self, id_: str, placed: Mapping[str, Span]) -> bool:
        """Whether a placed task waits for this one within a longest time."""
        return any(rule.backward and rule.later in placed for rule in self.out[id_])

    def _place(
        self, id_: str, placed: Mapping[str, Span], usage: Mapping[str, Usage], release: int
    ) -> Span | None:
        """Earliest span that keeps lags from placed tasks, calendar and resources."""
        time = release
        while True:
            found = self.starts[id_].next(time)
            if found is None:
                return None
            start, elapsed = found
            later = self._next_time(id_, Span(id_, start, start + elapsed), placed, usage)
            if later is None:
                return Span(id_, start, start + elapsed)
            time = max(later, start + 1)

    def _next_time(
        self, id_: str, span: Span, placed: Mapping[str, Span], usage: Mapping[str, Usage]
    ) -> int | None:
        """None where the span is allowed, else a time before which it never will be."""
        for rule in self.into[id_]:
            other = placed.get(rule.earlier)
            if other is not None and rule.broken(other, span):
                return rule.least_start(other.start, other.end, span.end - span.start)
        if span.end > span.start:
            for need in self.tasks[id_].needs:
                later = usage[need.resource].free_from(span.start, span.end, need.amount)
                if later is not None:
                    return later
        return None

    def _too_early(
        self, span: Span, placed: Mapping[str, Span], release: dict[str, int]
    ) -> Limit | None:
        """A placed task that this span shows to be too early; its release is moved on."""
        for rule in self.out[span.task]:
            other = placed.get(rule.later)
            if other is not None and rule.broken(span, other):
                least = rule.least_start(span.start, span.end, other.end - other.start)
                release[rule.later] = max(release[rule.later], least, other.start + 1)
                return rule
        return None
