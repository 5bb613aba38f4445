"""Whether a schedule breaks a rule; written from the rules' words, knowing nothing of a solver.

It walks the clock unit by unit and counts, which is slow and hard to get wrong.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from panelwright.plan.tasks import Pause

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from panelwright.plan.tasks import Span, Task, TaskNetwork


def broken_rules(network: TaskNetwork, spans: Iterable[Span]) -> list[str]:
    """Every rule that the schedule breaks, in words; empty for a good one."""
    spans = list(spans)
    times = {span.task: (span.start, span.end) for span in spans}
    found = []
    if sorted(times) != sorted(task.id for task in network.tasks) or len(spans) != len(times):
        found.append("the schedule does not hold every task once")
        return found
    found += _lags(network, times)
    found += _resources(network, times)
    for task in network.tasks:
        found += _one(task, times[task.id], network)
    return found


def _lags(network: TaskNetwork, times: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    place = {"start": 0, "end": 1}
    for lag in network.lags:
        first, second = lag.between.value
        distance = times[lag.after][place[second]] - times[lag.before][place[first]]
        if lag.least is not None and distance < lag.least:
            yield f"{lag.before} to {lag.after}: {distance} is less than {lag.least}"
        if lag.most is not None and distance > lag.most:
            yield f"{lag.before} to {lag.after}: {distance} is more than {lag.most}"


def _resources(network: TaskNetwork, times: Mapping[str, tuple[int, int]]) -> Iterator[str]:
    used: dict[str, Counter[int]] = {r.id: Counter() for r in network.resources}
    for task in network.tasks:
        for need in task.needs:
            for minute in range(*times[task.id]):
                used[need.resource][minute] += need.amount
    for resource in network.resources:
        most = max(used[resource.id].values(), default=0)
        if most > resource.capacity:
            yield f"{resource.id}: {most} in use, {resource.capacity} there"


def _one(task: Task, time: tuple[int, int], network: TaskNetwork) -> Iterator[str]:
    start, end = time
    if start < task.earliest or start < 0:
        yield f"{task.id} starts at {start}, before {task.earliest}"
    if end > min(network.horizon, network.horizon if task.latest is None else task.latest):
        yield f"{task.id} ends at {end}, too late"
    if task.calendar is None or task.pause is Pause.ANYTIME:
        if end - start != task.duration:
            yield f"{task.id} takes {end - start}, not {task.duration}"
        return
    windows = next(c.windows for c in network.calendars if c.id == task.calendar)
    if task.duration == 0:
        if start != end or not any(a <= start <= b for a, b in windows):
            yield f"{task.id} happens out of hours"
        return
    worked = [any(a <= minute < b for a, b in windows) for minute in range(start, end)]
    if sum(worked) != task.duration:
        yield f"{task.id} is worked on for {sum(worked)}, not {task.duration}"
    if not worked[0] or not worked[-1]:
        yield f"{task.id} begins or ends in a break"
    if task.pause is Pause.UNBROKEN and not any(a <= start and end <= b for a, b in windows):
        yield f"{task.id} runs across a break"
