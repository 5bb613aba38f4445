"""What the repair's facts say is done or under way."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.fit.settings import parts_read
from panelwright.plan.reopened import Reopened, reopened

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping
    from datetime import datetime

    from panelwright.facts.models.bonding import Event
    from panelwright.plan.course import Course
    from panelwright.plan.draft import DraftPlan


class Tells(Enum):
    """What a fact tells of a step."""

    STARTED = "started"
    ENDED = "ended"
    HUNG = "ended by then"


PANEL_EVENTS = {
    "prepared": ("prepare", Tells.ENDED),
    "bead-begun": ("bead", Tells.STARTED),
    "closed": ("close", Tells.ENDED),
    "rivets-set": ("rivet", Tells.ENDED),
    "released": ("release", Tells.ENDED),
}
LAMP_EVENTS = {"lamp-on": ("lamp", Tells.STARTED), "lamp-off": ("lamp", Tells.ENDED)}


@dataclass(frozen=True)
class Progress:
    """What is known of a plan's steps.

    Parameters
    ----------
    started, ended : dict of str to datetime
        By step, where a fact gives the time.
    implied : dict of str to datetime
        Steps without a fact of their own that must have been done by then, because a later one is.
    overtaken : dict of str to datetime
        Hold points without a record, and since when a later step is recorded: not done.
    problems : tuple of Problem
    """

    started: Mapping[str, datetime]
    ended: Mapping[str, datetime]
    implied: Mapping[str, datetime]
    overtaken: Mapping[str, datetime] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def done(self, step: str) -> bool:
        """Whether the step is done."""
        return step in self.ended or step in self.implied

    def under_way(self, step: str) -> bool:
        """Whether the step was started and not ended."""
        return step in self.started and not self.done(step) and step not in self.overtaken


@dataclass(frozen=True)
class _Fact:
    """A step of the plan, and what one fact tells of it."""

    step: str
    tells: Tells
    at: datetime


def progress(plan: DraftPlan, course: Course, now: datetime) -> Progress:
    """Steps that the repair's events, findings and readings show as done or under way.

    Readings of a panel that hangs show that it was hung, and so everything before that; `now`
    stands for their time where they have none. Hold points are done only where they are recorded.
    """
    facts = [*_told(plan, course), *_found(plan, course), *_hung(plan, course, now)]
    again = reopened(plan, course)
    counted = [fact for fact in facts if again.counts(fact.step, fact.at)]
    started = _times(counted, Tells.STARTED, min)
    ended = _times(counted, Tells.ENDED, max)
    by = _by(plan, facts, again)
    overtaken = {i: at for i, at in by.items() if plan.steps[i].hold and i not in ended}
    implied = {i: at for i, at in by.items() if i not in ended and i not in overtaken}
    for id_ in [id_ for id_ in implied if id_ in started]:
        ended[id_] = max(implied.pop(id_), started[id_])
    found = Progress(started, ended, implied, overtaken)
    problems = (
        *_no_step(plan, course),
        *_not_recorded(plan, overtaken),
        *_to_do_again(plan, facts, found),
    )
    return replace(found, problems=problems)


def _times(
    facts: Iterable[_Fact], tells: Tells, choose: Callable[[datetime, datetime], datetime]
) -> dict[str, datetime]:
    found: dict[str, datetime] = {}
    for fact in facts:
        if fact.tells is tells:
            found[fact.step] = choose(fact.at, found.get(fact.step, fact.at))
    return found


def _told(plan: DraftPlan, course: Course) -> Iterator[_Fact]:
    """What the events tell."""
    for event in course.repair.events:
        for id_, tells in _meant(plan, course, event):
            if event.at is not None and id_ in plan.steps:
                yield _Fact(id_, tells, event.at)


def _found(plan: DraftPlan, course: Course) -> Iterator[_Fact]:
    """What was found shows that the part was looked at, and what was off by then."""
    for finding in course.repair.findings:
        names = [f"{base}-{finding.after}" for base in ("lift-off", "take-off")]
        for name in (*names, f"inspect-{finding.part}"):
            if finding.at is not None and name in plan.steps:
                yield _Fact(name, Tells.ENDED, finding.at)


def _meant(plan: DraftPlan, course: Course, event: Event) -> Iterator[tuple[str, Tells]]:
    """Steps that an event is about, and what it tells of them."""
    if event.kind == "done" and event.step is not None:
        names = [event.step] if event.step in plan.steps else [d.id for d in plan.of(event.step)]
        yield from ((name, Tells.ENDED) for name in names or [event.step])
    elif event.kind in PANEL_EVENTS:
        base, tells = PANEL_EVENTS[event.kind]
        part = event.part or course.closes.get(event.joint or "")
        yield from ((d.id, tells) for d in plan.of(base) if d.thing.key == part)
    elif event.kind in LAMP_EVENTS:
        base, tells = LAMP_EVENTS[event.kind]
        yield from ((d.id, tells) for d in plan.of(base) if d.thing.key == event.joint)


def _hung(plan: DraftPlan, course: Course, now: datetime) -> Iterator[_Fact]:
    """Panels that were read in place, or moved there: they were hung dry by then."""
    repair = course.repair
    seen = {
        (part, reading.at or now)
        for reading in repair.readings
        if reading.when == "now"
        for part in parts_read(reading, repair)
    }
    seen |= {(event.part or "", event.at or now) for event in repair.events if _is_move(event)}
    for part, at in sorted(seen):
        if f"dry-fit-{part}" in plan.steps:
            yield _Fact(f"dry-fit-{part}", Tells.HUNG, at)
        if f"measure-fit-{part}" in plan.steps:
            yield _Fact(f"measure-fit-{part}", Tells.STARTED, at)


def _is_move(event: Event) -> bool:
    return event.kind == "moved"


def _by(plan: DraftPlan, facts: Iterable[_Fact], again: Reopened) -> dict[str, datetime]:
    """Everything before a step that a fact tells of was done by then.

    Steps that a later finding asks for again are passed over, not what lies before them.
    """
    found: dict[str, datetime] = {}
    for step, at in dict.fromkeys((fact.step, fact.at) for fact in facts):
        queue, seen = list(plan.steps[step].after), {step}
        while queue:
            name = queue.pop()
            if name not in seen:
                seen.add(name)
                queue += plan.steps[name].after
                if again.counts(name, at):
                    found[name] = min(at, found.get(name, at))
    for fact in facts:
        if fact.tells is Tells.HUNG and again.counts(fact.step, fact.at):
            found[fact.step] = min(fact.at, found.get(fact.step, fact.at))
    return found


def _no_step(plan: DraftPlan, course: Course) -> Iterator[Problem]:
    for number, event in enumerate(course.repair.events):
        for id_, _ in _meant(plan, course, event):
            if id_ not in plan.steps and event.at is not None:
                words = f"{id_!r} is no step of this plan; it is left out"
                yield Problem(f"event[{number}].step", words, hard=False)


def _not_recorded(plan: DraftPlan, overtaken: Iterable[str]) -> Iterator[Problem]:
    for id_ in sorted(overtaken, key=lambda name: plan.steps[name].stage):
        words = (
            f"not recorded: {plan.steps[id_].name}. Later steps are recorded: sign it now, or do "
            "it before anything goes on"
        )
        yield Problem(f"step {id_}", words, hard=False)


def _to_do_again(plan: DraftPlan, facts: Iterable[_Fact], found: Progress) -> Iterator[Problem]:
    told = dict.fromkeys(fact.step for fact in facts if fact.tells is not Tells.STARTED)
    for id_ in told:
        if not found.done(id_) and id_ not in found.overtaken:
            name = plan.steps[id_].name
            words = f"was done before more damage was found; planned again: {name}"
            yield Problem(f"step {id_}", words, hard=False)
