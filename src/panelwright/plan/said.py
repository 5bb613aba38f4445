"""What must be said of a schedule beside its times: answers it assumes, hands it borrows."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from panelwright.facts.problem import Problem
from panelwright.plan.answer import Who
from panelwright.plan.assemble import unique

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panelwright.plan.answer import PlannedStep
    from panelwright.plan.assemble import Job
    from panelwright.plan.course import Course


def to_ask(
    jobs: Sequence[Job], courses: Sequence[Course], steps: Sequence[PlannedStep]
) -> Iterator[Problem]:
    """Joints on which the maker has not answered yet, and by when the plan takes him to."""
    by_id = {step.id: step for step in steps}
    for job, course in zip(jobs, courses, strict=True):
        for draft in job.plan.of("ask-maker"):
            step = by_id[unique(jobs, job.repair, draft.id)]
            if step.done or step.overtaken:
                continue
            where = f"joint {draft.thing.key}"
            where = where if len(jobs) == 1 else f"{job.repair}, {where}"
            asked = ", ".join(course.asks(course.repair.joint_by_id[draft.thing.key]))
            words = (
                f"ask the maker: {asked}. What only the maker can say is not in the parts list; "
                "the ready-for-paint time assumes that the maker answers by then: "
                f"{step.start:%a %d %b %H:%M} (common practice, no source)"
            )
            yield Problem(where, words, hard=False)


def second_person(steps: Sequence[PlannedStep], technicians: int) -> Iterator[Problem]:
    """Open steps that need more hands than the shop has."""
    open_ = [s for s in steps if s.by is Who.TECHNICIAN and s.people > technicians and not s.done]
    counts = Counter(step.short for step in open_)
    if open_:
        said = ", ".join(f"“{short}” ({count})" for short, count in counts.items())
        words = (
            f"is {technicians}: needs a second person for {said}; first "
            f"{open_[0].start:%a %d %b %H:%M}: {open_[0].name}"
        )
        yield Problem("shop.technicians", words, hard=False)
