"""What more damage changed, for the office: the difference between two plans of one repair."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from panelwright.plan.answer import Who, amount_in_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.repair import Repair
    from panelwright.plan.answer import KitLine, PlanAnswer, PlannedStep, Ready


class Kind(StrEnum):
    """What a change is about."""

    FINDING = "finding"
    PART = "part"
    JOINT = "joint"
    KIT = "parts list"
    STEP = "step"
    TIME = "time"


@dataclass(frozen=True)
class Side:
    """A repair as it stood, with its plan."""

    repair: Repair
    plan: PlanAnswer


@dataclass(frozen=True)
class Change:
    """One thing that is not as it was planned before.

    Parameters
    ----------
    kind : Kind
    id : str
        Of the part, joint or step; the item of a line of the parts list.
    what : str
        As people call it.
    before, after : str
        How it was and is; "–" where there is none.
    """

    kind: Kind
    id: str
    what: str
    before: str
    after: str


@dataclass(frozen=True)
class Supplement:
    """All changes, in words for the office.

    Parameters
    ----------
    summary : str
        One sentence.
    changes : tuple of Change
    work_before_h, work_after_h : float
        Working hours of all people, waits left out.
    """

    summary: str
    changes: tuple[Change, ...]
    work_before_h: float
    work_after_h: float


NONE = "–"
WORKERS = frozenset({Who.TECHNICIAN, Who.LEAD, Who.QUALIFIED})


def supplement(before: Side, after: Side) -> Supplement:
    """The difference between two plans of one repair.

    Parameters
    ----------
    before, after : Side
        The repair as it was first planned, and as it stands now.

    Returns
    -------
    Supplement
        Findings first, then parts, joints, parts list, steps and times.
    """
    changes = (
        *_findings(before, after),
        *_parts(before, after),
        *_joints(before, after),
        *_kit(before.plan, after.plan),
        *_steps(before, after),
        *_times(before.plan, after.plan),
    )
    hours = _hours(before.plan), _hours(after.plan)
    return Supplement(_summary(changes, hours, before, after), changes, *hours)


def _findings(before: Side, after: Side) -> Iterator[Change]:
    known = {(f.part, f.what) for f in before.repair.findings}
    for finding in after.repair.findings:
        if (finding.part, finding.what) not in known:
            yield Change(
                Kind.FINDING, finding.part, _part_name(after, finding.part), NONE, finding.what
            )


def _part_name(side: Side, id_: str) -> str:
    part = side.repair.part_by_id.get(id_)
    return part.label if part is not None else id_


def _parts(before: Side, after: Side) -> Iterator[Change]:
    old = {part.id: part.state for part in before.repair.parts}
    new = {part.id: part.state for part in after.repair.parts}
    for id_ in dict.fromkeys((*old, *new)):
        if old.get(id_) != new.get(id_):
            side = after if id_ in new else before
            words = _part_name(side, id_)
            yield Change(Kind.PART, id_, words, old.get(id_, NONE), new.get(id_, NONE))


def _opened(side: Side) -> dict[str, str]:
    """Joints that the plan works on, with their names."""
    worked = {name for step in side.plan.steps for name in step.concerns}
    return {joint.id: joint.label for joint in side.repair.joints if joint.id in worked}


def _joints(before: Side, after: Side) -> Iterator[Change]:
    old, new = _opened(before), _opened(after)
    for id_ in dict.fromkeys((*new, *old)):
        if (id_ in old) != (id_ in new):
            was = "opened and remade" if id_ in old else "left closed"
            now = "opened and remade" if id_ in new else "left closed"
            yield Change(Kind.JOINT, id_, new.get(id_) or old[id_], was, now)


def _amount(line: KitLine | None) -> str:
    return NONE if line is None else amount_in_words(line.need, line.unit)


def _kit(before: PlanAnswer, after: PlanAnswer) -> Iterator[Change]:
    old = {(line.item, line.unit): line for line in before.kit}
    new = {(line.item, line.unit): line for line in after.kit}
    for key in dict.fromkeys((*new, *old)):
        was, now = _amount(old.get(key)), _amount(new.get(key))
        if was != now:
            yield Change(Kind.KIT, key[0], key[0], was, now)


def _length(step: PlannedStep | None) -> str:
    return NONE if step is None else f"{step.work_minutes} min"


def _steps(before: Side, after: Side) -> Iterator[Change]:
    """Steps that are new, gone or of another length, done ones and waits left out."""
    old = {step.id: step for step in before.plan.steps if step.people}
    new = {step.id: step for step in after.plan.steps if step.people}
    looked_at = {f"inspect-{finding.part}" for finding in after.repair.findings}
    for id_ in dict.fromkeys((*new, *old)):
        first, second = old.get(id_), new.get(id_)
        overtaken = second.done and first is not None if second is not None else id_ in looked_at
        was, now = _length(first), _length(second)
        if was != now and not overtaken:
            step = second or first
            yield Change(Kind.STEP, id_, step.name if step is not None else id_, was, now)


def _ready(plan: PlanAnswer) -> Ready | None:
    return plan.ready_for_paint[0] if plan.ready_for_paint else None


def _times(before: PlanAnswer, after: PlanAnswer) -> Iterator[Change]:
    old, new = _ready(before), _ready(after)
    for id_, words in (("p50", "ready for paint, 50 %"), ("p90", "ready for paint, 90 %")):
        was = f"{getattr(old, id_):%a %d %b %H:%M}" if old is not None else NONE
        now = f"{getattr(new, id_):%a %d %b %H:%M}" if new is not None else NONE
        if was != now:
            yield Change(Kind.TIME, id_, words, was, now)


def _hours(plan: PlanAnswer) -> float:
    return sum(step.work_minutes * step.people for step in plan.steps if step.by in WORKERS) / 60.0


def _summary(
    changes: tuple[Change, ...], hours: tuple[float, float], before: Side, after: Side
) -> str:
    if not changes:
        return "Nothing has changed since the first plan."
    counts = [
        (sum(change.kind is kind for change in changes), word)
        for kind, word in ((Kind.PART, "part"), (Kind.JOINT, "joint"), (Kind.STEP, "step"))
    ]
    said = [f"{count} {word}{'s' if count != 1 else ''}" for count, word in counts if count]
    words = f"{', '.join(said) or 'The parts list'} changed; {hours[1] - hours[0]:+.1f} h of work"
    old, new = _ready(before.plan), _ready(after.plan)
    if old is not None and new is not None:
        words += (
            f"; ready for paint {new.p50:%a %d %b %H:%M} instead of {old.p50:%a %d %b %H:%M} (50 %)"
        )
    return words + "."
