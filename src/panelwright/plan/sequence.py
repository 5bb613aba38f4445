"""What of a repair's steps comes before what, where the library alone cannot know."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.plan.course import Thing
from panelwright.plan.draft import step_id

if TYPE_CHECKING:
    from panelwright.plan.course import Course
    from panelwright.plan.draft import DraftPlan


def in_sequence(plan: DraftPlan, course: Course) -> DraftPlan:
    """The plan with its steps in the order that parts and joints ask for."""
    plan = _in_teardown_order(plan, course)
    plan = _inner_before_outer(plan, course)
    plan = _beneath(plan, course)
    plan = _asked_first(plan, course)
    return _before_hand_over(plan)


def _off_id(plan: DraftPlan, part: str) -> str | None:
    thing = Thing(part, part)
    names = (step_id("lift-off", thing), step_id("take-off", thing))
    return next((name for name in names if name in plan.steps), None)


def _in_teardown_order(plan: DraftPlan, course: Course) -> DraftPlan:
    """Parts come off one after the other, and each look comes before the next cut.

    What a part hid is inspected as soon as it is off; where damage was found there, nothing is
    cut further before the supplement is approved.
    """
    found_after = _found_after(course)
    if found_after is None:
        plan = _supplement(plan, [step.id for step in plan.of("inspect")] + ["inspect-all"])
    before = _looks_after(course, None)
    plan = _all_after(plan, before, ("protect",))
    opened: set[str] = set()
    for part in course.order:
        thing = course.part_thing(part)
        own = [joint for joint in sorted(thing.joints) if joint not in opened]
        opened.update(own)
        names = [f"{base}-{joint}" for joint in own for base in ("separate", "unbolt")]
        off = _off_id(plan, part)
        plan = _all_after(plan, (*names, off or ""), before)
        seen = _looks_after(course, part)
        plan = _all_after(plan, seen, (off or "",))
        before = ((off,) if off else before) + seen
        if part == found_after:
            plan = _supplement(plan, before)
            before = (*before, "approval")
    return plan


def _all_after(plan: DraftPlan, ids: tuple[str, ...], before: tuple[str, ...]) -> DraftPlan:
    """Each of the steps waits for all of those before; ids that the plan does not have are left."""
    for id_ in ids:
        if id_ in plan.steps:
            plan = plan.with_after(id_, before)
    return plan


def _looks_after(course: Course, part: str | None) -> tuple[str, ...]:
    """Inspections for which the moment comes when that part is off; None: at once."""
    room = course.answers.teardown
    looks = room.look if room is not None else ()
    return tuple(f"inspect-{look.part}" for look in looks if look.after == part)


def _found_after(course: Course) -> str | None:
    """The part whose removal brought the latest finding into view; None where nobody can say."""
    moments = []
    for finding in course.repair.findings:
        if finding.after in course.order:
            moments.append(course.order.index(finding.after))
        else:
            hidden = (part for part in course.order if finding.part in course.part(part).hides)
            moments += [course.order.index(part) for part in hidden][-1:]
    return course.order[max(moments)] if moments else None


def _supplement(plan: DraftPlan, names: list[str] | tuple[str, ...]) -> DraftPlan:
    return _all_after(plan, ("supplement",), tuple(names))


def _inner_before_outer(plan: DraftPlan, course: Course) -> DraftPlan:
    """A panel goes on once what lies behind it holds, is sealed and has its pads."""
    for place, outer in enumerate(course.panels):
        covered = {
            layer for joint in course.opened if outer in joint.layers for layer in joint.layers
        }
        covered |= set(course.part(outer).hides)
        for inner in course.panels[:place]:
            if inner in covered:
                plan = plan.with_after(f"dry-fit-{outer}", [f"release-{inner}"])
                behind = tuple(f"{base}-{inner}" for base in ("seal", "pads", "sealer-skin"))
                plan = _all_after(plan, (f"bead-{outer}", f"close-{outer}"), behind)
    return plan


def _beneath(plan: DraftPlan, course: Course) -> DraftPlan:
    """What lies under a panel is in its place before the panel closes over it."""
    for part, panel in course.under.items():
        steps = (f"bead-{panel}", f"close-{panel}")
        plan = _all_after(plan, steps, (f"fit-under-{part}",))
    return plan


def _asked_first(plan: DraftPlan, course: Course) -> DraftPlan:
    """Nothing is drilled or closed at a joint before the maker has answered."""
    for joint in course.asked:
        part = course.closes[joint.id]
        plan = _all_after(plan, (f"drill-{part}", f"close-{part}"), (f"ask-maker-{joint.id}",))
    return plan


def _before_hand_over(plan: DraftPlan) -> DraftPlan:
    """Everything of stages 1 to 11 is done before the hand-over."""
    awaited = {name for step in plan.steps.values() for name in step.after}
    loose = [
        step.id
        for step in plan.steps.values()
        if step.stage < 12 and step.id not in awaited and step.id != "hand-over"
    ]
    return plan.with_after("hand-over", loose)
