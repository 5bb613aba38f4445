"""What the repair's facts say is done or under way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.models.bonding import Event
    from panelwright.plan.course import Course
    from panelwright.plan.draft import DraftPlan

PANEL_EVENTS = {
    "prepared": ("prepare", "end"),
    "bead-begun": ("bead", "start"),
    "closed": ("close", "end"),
    "rivets-set": ("rivet", "end"),
    "released": ("release", "end"),
}
LAMP_EVENTS = {"lamp-on": ("lamp", "start"), "lamp-off": ("lamp", "end")}


@dataclass(frozen=True)
class Progress:
    """What is known of a plan's steps.

    Parameters
    ----------
    started, ended : dict of str to datetime
        By step, where a fact gives the time.
    implied : dict of str to datetime
        Steps without a fact of their own that must have been done by then, because a later one is.
    problems : tuple of Problem
    """

    started: dict[str, datetime]
    ended: dict[str, datetime]
    implied: dict[str, datetime]
    problems: tuple[Problem, ...] = ()

    def done(self, step: str) -> bool:
        """Whether the step is done."""
        return step in self.ended or step in self.implied

    def under_way(self, step: str) -> bool:
        """Whether the step was started and not ended."""
        return step in self.started and not self.done(step)


def progress(plan: DraftPlan, course: Course) -> Progress:
    """Steps that the repair's events and findings show as done or under way."""
    started: dict[str, datetime] = {}
    ended: dict[str, datetime] = {}
    problems: list[Problem] = []
    for number, event in enumerate(course.repair.events):
        if event.at is None:
            continue
        for id_, which in _meant(plan, course, event):
            if id_ in plan.steps:
                table = started if which == "start" else ended
                table[id_] = max(event.at, table.get(id_, event.at))
            elif event.kind == "done":
                words = f"{id_!r} is no step of this plan; it is left out"
                problems.append(Problem(f"event[{number}].step", words, hard=False))
    for finding in course.repair.findings:
        if finding.at is not None and finding.after is not None:
            for base in ("lift-off", "take-off"):
                if f"{base}-{finding.after}" in plan.steps:
                    ended.setdefault(f"{base}-{finding.after}", finding.at)
    implied = _implied(plan, started, ended)
    for id_ in [id_ for id_ in implied if id_ in started]:
        ended[id_] = max(implied.pop(id_), started[id_])
    return Progress(started, ended, implied, tuple(problems))


def _meant(plan: DraftPlan, course: Course, event: Event) -> Iterator[tuple[str, str]]:
    """Steps that an event is about, and which end of them."""
    if event.kind == "done" and event.step is not None:
        names = [event.step] if event.step in plan.steps else [d.id for d in plan.of(event.step)]
        yield from ((name, "end") for name in names or [event.step])
    elif event.kind in PANEL_EVENTS:
        base, which = PANEL_EVENTS[event.kind]
        part = event.part or course.closes.get(event.joint or "")
        yield from ((d.id, which) for d in plan.of(base) if d.thing.key == part)
    elif event.kind in LAMP_EVENTS:
        base, which = LAMP_EVENTS[event.kind]
        yield from ((d.id, which) for d in plan.of(base) if d.thing.key == event.joint)


def _implied(
    plan: DraftPlan, started: dict[str, datetime], ended: dict[str, datetime]
) -> dict[str, datetime]:
    """Everything before a recorded step was done by then."""
    implied: dict[str, datetime] = {}
    queue = [(id_, at) for id_, at in (*ended.items(), *started.items())]
    while queue:
        id_, at = queue.pop()
        for name in plan.steps[id_].after:
            if name in ended and ended[name] <= at:
                continue
            by = min(at, started.get(id_, at))
            if name not in implied or by < implied[name]:
                implied[name] = by
                queue.append((name, by))
    return {id_: at for id_, at in implied.items() if id_ not in ended}
