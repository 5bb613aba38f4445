"""What the page Plan shows: plain values for its template."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.plan.answer import Status, Who
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.plan.answer import PlanAnswer, PlannedStep
    from panelwright.record.when import When

WAITS = frozenset({Who.NOBODY, Who.LAMP})
STATUS: Mapping[Status, tuple[Sign, str, str]] = {
    Status.OPTIMAL: (
        Sign.GOOD,
        "shortest",
        "No shorter plan exists with these steps, hours and people.",
    ),
    Status.FEASIBLE: (Sign.GOOD, "good", "A good plan; a shorter one is not ruled out."),
    Status.FALLBACK: (
        Sign.UNSURE,
        "by simple rules",
        "A plan by simple rules; a shorter one is not ruled out.",
    ),
    Status.INFEASIBLE: (Sign.BAD, "none", "There is no plan that keeps all the rules."),
}
MOST_NEXT = 3


@dataclass(frozen=True)
class Row:
    """A step of the plan, or waits of one kind that run side by side."""

    number: int
    step: PlannedStep
    name: str
    who: str
    until: str
    wait: bool
    critical: bool
    ready: bool
    before: tuple[str, ...]


@dataclass(frozen=True)
class Day:
    """A day of the plan; open: up to the first on which somebody works."""

    title: str
    rows: tuple[Row, ...]
    open: bool


def upper(words: str) -> str:
    """Give words that begin a sentence."""
    return f"{words[:1].upper()}{words[1:]}"


def rows(plan: PlanAnswer, now: datetime, when: When) -> tuple[Row, ...]:
    """Give the steps that are still to be done, in the order of their start."""
    steps = {step.id: step for step in plan.steps}
    critical = set(plan.critical)
    merged = _merged(step for step in plan.steps if not step.done)
    return tuple(_row(number, group, steps, critical, now, when) for number, group in merged)


def _merged(steps: Iterable[PlannedStep]) -> list[tuple[int, list[PlannedStep]]]:
    """Waits of one kind from the same moment to the same are said once."""
    groups: dict[tuple[object, ...], list[PlannedStep]] = {}
    for step in steps:
        alike = (step.short, step.start, step.end) if step.by is Who.NOBODY else (step.id,)
        groups.setdefault(alike, []).append(step)
    return list(enumerate(groups.values()))


def _row(
    number: int,
    group: list[PlannedStep],
    steps: Mapping[str, PlannedStep],
    critical: set[str],
    now: datetime,
    when: When,
) -> Row:
    step = group[0]
    several = f"{step.short}: {', '.join(name for one in group for name in one.concerns)}"
    open_ = [steps[id_] for id_ in step.waits_for if id_ in steps and not _passed(steps[id_], now)]
    same = when.day(step.start) == when.day(step.end)
    return Row(
        number=number,
        step=step,
        name=upper(step.name if len(group) == 1 else several),
        who="" if step.by is Who.NOBODY else step.person or step.by.value,
        until=when.clock(step.end) if same else when.stamp(step.end),
        wait=step.by in WAITS and not step.hold,
        critical=any(one.id in critical for one in group),
        ready=not open_,
        before=tuple(one.name for one in open_),
    )


def _passed(step: PlannedStep, now: datetime) -> bool:
    """Tell whether a step is behind us: done, or a wait whose time is over."""
    return step.done or (step.by in WAITS and not step.hold and step.end <= now)


def days(shown: Iterable[Row], when: When) -> tuple[Day, ...]:
    """Give the rows by day."""
    found: dict[str, list[Row]] = {}
    for row in shown:
        found.setdefault(when.day(row.step.start), []).append(row)
    days_: list[Day] = []
    for title, some in found.items():
        open_ = all(row.wait for day in days_ for row in day.rows)
        days_.append(Day(title, tuple(some), open_))
    return tuple(days_)


def following(shown: Iterable[Row]) -> tuple[Row, ...]:
    """Give the next steps that can be done now."""
    return tuple(row for row in shown if not row.wait and row.ready)[:MOST_NEXT]


def holds(shown: Iterable[Row]) -> tuple[Row, ...]:
    """Give the hold points that are not signed."""
    return tuple(row for row in shown if row.step.hold)


def instruction(plan: PlanAnswer, shown: tuple[Row, ...]) -> tuple[str, str, str]:
    """Say what is next, why, and "bad" where there is no plan."""
    if plan.status is Status.INFEASIBLE:
        return "There is no plan that keeps all the rules.", " ".join(plan.why), "bad"
    following_ = following(shown)
    if following_:
        row = following_[0]
        why = "It sets the ready-for-paint time." if row.critical else "What comes before is done."
        return f"Next: {row.name}.", why, ""
    if shown:
        return "Wait.", "Nothing can be done before the time that is waited for.", ""
    return "Every step is done.", "Hand the repair over with its job file.", ""


def gap(plan: PlanAnswer) -> str:
    """Say how much shorter a plan could be at most."""
    if plan.gap is None or plan.gap <= 0:
        return ""
    return f"At most {100 * plan.gap:.1f} % of its time could still be saved."
