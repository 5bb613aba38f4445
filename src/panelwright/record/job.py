"""One repair with its answers and options, as the pages need it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from panelwright.plan.answer import Who
from panelwright.record.answer import Unanswered
from panelwright.record.before import before_of, step_before
from panelwright.record.blocks import Box, BoxKind, Said
from panelwright.record.when import When

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.bonding import Event
    from panelwright.facts.repair import Repair
    from panelwright.fit.next_answer import BeforeCut
    from panelwright.plan.answer import PlannedStep
    from panelwright.quantities import Units
    from panelwright.record.answer import Answers, Options

LAST = datetime.max.replace(tzinfo=UTC)
"""Stands for a time that is not recorded, after all others."""
AFTER_PAINT = 12
"""Stage of the course of a repair that begins when paint hands back."""


@dataclass(frozen=True)
class Job:
    """What every page is made from."""

    repair: Repair
    answers: Answers
    options: Options

    @property
    def units(self) -> Units:
        """Units of lengths on the pages."""
        return self.options.units

    @cached_property
    def when(self) -> When:
        """The shop's clock."""
        return When.of(self.repair.shop.zone)

    @cached_property
    def steps(self) -> tuple[PlannedStep, ...]:
        """The plan's steps of this repair, in order."""
        plan = self.answers.plan
        if isinstance(plan, Unanswered):
            return ()
        return tuple(step for step in plan.steps if step.repair == self.repair.name)

    @cached_property
    def listed(self) -> tuple[PlannedStep, ...]:
        """The steps as the job file lists them: what is done in its order, then by start."""
        done = in_order([step for step in self.steps if step.done])
        return (*done, *(step for step in self.steps if not step.done))

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Numbers of the steps that somebody does, those after paint last; a wait has none."""
        work = [step for step in self.listed if not is_wait(step)]
        ordered = sorted(work, key=lambda step: step.stage == AFTER_PAINT)
        return {step.id: number for number, step in enumerate(ordered, start=1)}

    @cached_property
    def before(self) -> BeforeCut | None:
        """Readings to take while the old part is still on; None where there is none to take."""
        found = before_of(self.repair, self.answers.fit)
        return found if found is not None and found.readings else None

    @cached_property
    def before_at(self) -> str:
        """The step at which they are taken."""
        return step_before(self.steps) if self.before is not None else ""

    def _named(self, event: Event, step: PlannedStep) -> bool:
        """Whether an event speaks of a step: by its id, by its kind, or by what it releases."""
        bare = self._bare(step)
        if event.kind == "released":
            thing = event.part or event.joint
            return bare.startswith("release-") and thing in step.concerns
        if event.kind != "done" or event.step is None:
            return False
        known = {self._bare(other) for other in self.steps}
        of_its_kind = event.step not in known and bare.startswith(f"{event.step}-")
        return event.step in (step.id, bare) or of_its_kind

    @staticmethod
    def _bare(step: PlannedStep) -> str:
        return step.id.removeprefix(f"{step.repair}/").removeprefix(f"{step.repair}:")

    @cached_property
    def _by_somebody(self) -> tuple[Event, ...]:
        named = [event for event in self.repair.events if event.by]
        return tuple(sorted(named, key=lambda event: event.at or LAST))

    @cached_property
    def signatures(self) -> tuple[Event, ...]:
        """Events by which somebody signed, in order of time.

        Only a released joint and a hold point that is done are signed off; who did any other step
        is recorded at the step and signs nothing.
        """
        holds = [step for step in self.steps if step.hold]
        return tuple(
            event
            for event in self._by_somebody
            if event.kind == "released" or any(self._named(event, step) for step in holds)
        )

    @property
    def signed_by(self) -> tuple[str, ...]:
        """Who signed, each once, in order."""
        return tuple(dict.fromkeys(event.by for event in self.signatures if event.by))

    def recorded(self, step: PlannedStep) -> str:
        """Who did or signed a step and when, where an event says so."""
        for event in self._by_somebody:
            if self._named(event, step):
                return f"{event.by}, {self.when.stamp(event.at)}" if event.at else f"{event.by}"
        return ""

    def part(self, part: str) -> str:
        """A part as people call it."""
        found = self.repair.part_by_id.get(part)
        return found.label if found else part

    def joint(self, joint: str) -> str:
        """A joint as people call it."""
        found = self.repair.joint_by_id.get(joint)
        return found.label if found else joint


def in_order(steps: Sequence[PlannedStep]) -> tuple[PlannedStep, ...]:
    """Done steps in an order that each may have come after those that it waited for.

    Most have no time of their own: a later step is recorded, so they are taken as done before.
    """
    left = sorted(steps, key=lambda step: step.stage)
    found: list[PlannedStep] = []
    while left:
        waiting = {step.id for step in left}
        free = (step for step in left if not waiting.intersection(step.waits_for))
        step = next(free, left[0])
        found.append(step)
        left.remove(step)
    return tuple(found)


def is_wait(step: PlannedStep) -> bool:
    """Whether nobody works on a step: nothing to tick or to sign."""
    return step.by in (Who.NOBODY, Who.LAMP) and not step.hold


def missing(question: str, unanswered: Unanswered) -> Box:
    """The box that stands in for an answer that is not there."""
    why = tuple(Said(line) for line in unanswered.why) or (Said("The reason is not recorded."),)
    return Box(BoxKind.MISSING, f"{question}: not answered yet. What is missing:", why)


def inside(words: str) -> str:
    """A sentence's beginning inside another: its capital goes, an abbreviation's stays."""
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def counted(number: int, one: str, many: str = "") -> str:
    """A number with its noun: 1 step, 3 steps."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def runs(numbers: Sequence[int]) -> str:
    """Numbers in order, neighbours drawn together: 1, 3–5, 8."""
    found: list[list[int]] = []
    for number in sorted(set(numbers)):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(str(n) for n in run) for run in found
    )
