"""What a finding asks for again: facts from before it do not show those steps as done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plan.course import COMES_OFF

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from panelwright.plan.course import Course
    from panelwright.plan.draft import Draft, DraftPlan

ANEW = frozenset({"inspect-all", "supplement", "approval"})
"""Steps of the whole repair that every finding asks for."""


@dataclass(frozen=True)
class Reopened:
    """By step: since when it is asked for (again), because damage was found then."""

    since: Mapping[str, datetime]

    def counts(self, step: str, at: datetime) -> bool:
        """Whether a fact of that time can still show the step as done."""
        return step not in self.since or at >= self.since[step]


def reopened(plan: DraftPlan, course: Course) -> Reopened:
    """Steps on a part that comes off because of a finding, and on the joints it is a layer of."""
    since: dict[str, datetime] = {}
    for finding in course.repair.findings:
        if finding.at is None or finding.state not in COMES_OFF:
            continue
        if finding.part not in course.order:
            continue
        found = course.part_thing(finding.part)
        for step in plan.steps.values():
            if _is_new(step) or (step.thing.key and step.thing.touches(found)):
                since[step.id] = max(finding.at, since.get(step.id, finding.at))
    return Reopened(since)


def _is_new(step: Draft) -> bool:
    return step.base in ANEW
