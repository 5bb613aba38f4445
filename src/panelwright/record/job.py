"""One repair with its answers and options, as the pages need it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from panelwright.record.answer import Unanswered
from panelwright.record.blocks import Box, BoxKind, Said
from panelwright.record.when import When

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.facts.models.bonding import Event
    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import PlannedStep
    from panelwright.quantities import Units
    from panelwright.record.answer import Answers, Options

SIGNING = ("done", "released")
"""Kinds of events by which a person signs."""


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
    def signatures(self) -> tuple[Event, ...]:
        """Events by which somebody signed, in order of time."""
        last = datetime.max.replace(tzinfo=UTC)
        signed = [event for event in self.repair.events if event.kind in SIGNING and event.by]
        return tuple(sorted(signed, key=lambda event: event.at or last))

    @property
    def signed_by(self) -> tuple[str, ...]:
        """Who signed, each once, in order."""
        return tuple(dict.fromkeys(event.by for event in self.signatures if event.by))

    def part(self, part: str) -> str:
        """A part as people call it."""
        found = self.repair.part_by_id.get(part)
        return found.label if found else part

    def joint(self, joint: str) -> str:
        """A joint as people call it."""
        found = self.repair.joint_by_id.get(joint)
        return found.label if found else joint


def missing(question: str, unanswered: Unanswered) -> Box:
    """The box that stands in for an answer that is not there."""
    why = tuple(Said(line) for line in unanswered.why) or (Said("The reason is not recorded."),)
    return Box(BoxKind.MISSING, f"{question}: not answered yet. What is missing:", why)


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
