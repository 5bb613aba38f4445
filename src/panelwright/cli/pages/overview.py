"""Each room's answer in a few lines, for a screen that holds them all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.joints.answer_parts import Weight
from panelwright.quantities import Units, show_length, show_minutes, show_volume

if TYPE_CHECKING:
    from collections.abc import Iterable

    from panelwright.bond.answer import BondAnswer
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.joints.answer import JointsAnswer
    from panelwright.plan.answer import PlanAnswer
    from panelwright.quiet.answer import Answer as QuietAnswer
    from panelwright.teardown.answer import Answer as TeardownAnswer

Lines = list[str]
WHEN = "%a %d %b %H:%M"
MOST = 6
"""Lines of a list that the screen has room for; the rest is counted."""


def _some(items: Iterable[str], what: str) -> str:
    items = list(items)
    shown = ", ".join(items[:MOST])
    return f"{shown} and {len(items) - MOST} more {what}" if len(items) > MOST else shown


def teardown(repair: Repair, found: TeardownAnswer, units: Units) -> Lines:
    """What comes off, what is opened, where to look."""
    names = {part.id: part.label for part in repair.parts}
    lines = [f"in this order: {_some((names.get(p, p) for p in found.order), 'parts')}"]
    lines += [f"separate {_some(found.open, 'joints')}"] if found.open else []
    looks = [f"{names.get(look.part, look.part)}" for look in found.look]
    lines += [f"inspect once they show: {_some(looks, 'parts')}"] if looks else []
    return lines


def joints(repair: Repair, found: JointsAnswer, units: Units) -> Lines:
    """What each joint takes, on whose word, and which limits break."""
    lines = []
    for joint in found.joints:
        words = []
        if joint.count and joint.rivet:
            words.append(f"{joint.count} × {joint.rivet.name or joint.rivet.id}")
        if joint.adhesive_ml is not None:
            words.append(f"adhesive {show_volume(joint.adhesive_ml, units)}")
        faults = [c for c in joint.checks if c.ok is False and c.weight is Weight.LIMIT]
        words += [f"✗ {_some((check.what for check in faults), 'faults')}"] if faults else []
        words.append(f"by {joint.from_.value}" if words else joint.from_.value.replace("-", " "))
        lines.append(f"{joint.id}: {', '.join(words)}")
    return lines


def fit(repair: Repair, found: FitAnswer, units: Units) -> Lines:
    """Whether the body is true, where each part sits, what to do about it."""
    names = {part.id: part.label for part in repair.parts}
    lines = [f"body: {found.body.words}"]
    for part in found.parts:
        count = dict.fromkeys(("inside", "outside", "undecided"), 0)
        for point in part.points:
            count[point.verdict.value] += 1
        said = ", ".join(f"{number} {word}" for word, number in count.items() if number)
        lines.append(f"{names.get(part.id, part.id)}, dry fit {part.setting}: points {said}")
        if found.moves_wait:
            lines.append("  → read again what is to be rechecked before it is moved or pinned")
            continue
        lines += [f"  → {setting.words}" for setting in part.settings if setting.changes]
        lines += [f"  → {move.words}" for move in part.moves]
        off = max(part.points, key=lambda p: sum(v * v for v in p.off_mm), default=None)
        if off is not None and part.moves:
            size = sum(v * v for v in off.off_mm) ** 0.5
            lines.append(f"  farthest from its target: {off.id}, {show_length(size, units)}")
    if found.next:
        lines.append(f"next reading: {found.next[0].words}")
    return lines


def bond(repair: Repair, found: BondAnswer, units: Units) -> Lines:
    """How long to work and when it holds; joints alike are said once."""
    alike: dict[str, list[str]] = {}
    for joint in found.joints:
        words = []
        if joint.work_until_min is not None:
            words.append(f"work within {show_minutes(joint.work_until_min)} of the first bead")
        if joint.handle_min is not None:
            late, likely = joint.handle_min.late, joint.handle_min.likely
            words.append(
                f"handle {show_minutes(late)} after closing (likely {show_minutes(likely)})"
            )
        if joint.hottest_C is not None and joint.stays:
            words.append(f"hottest {joint.hottest_C:.0f} °C")
        if joint.over_limit:
            words.append("OVER ITS LIMIT")
        alike.setdefault(", ".join(words) or "not known", []).append(joint.joint)
    return [f"{_some(joints, 'joints')}: {said}" for said, joints in alike.items()]


def quiet(repair: Repair, found: QuietAnswer, units: Units) -> Lines:
    """How much the pads cover."""
    lines = [
        f"{part.part}: {len(part.pads)} pads cover {part.coverage:.0%} of it"
        for part in found.parts
        if part.coverage is not None
    ]
    sheets = "sheet" if found.sheets == 1 else "sheets"
    return lines + ([f"cut from {found.sheets} {sheets}"] if found.sheets else [])


def plan(repair: Repair, found: PlanAnswer, units: Units) -> Lines:
    """What is next, when paint gets it, what is missing."""
    lines = []
    upcoming = next((step for step in found.steps if not step.done), None)
    if upcoming is not None:
        lines.append(f"next: {upcoming.name} ({upcoming.start:{WHEN}})")
    lines += [
        f"ready for paint: {ready.p50:{WHEN}}; 9 times in 10 by {ready.p90:{WHEN}}"
        for ready in found.ready_for_paint
    ]
    short = [line.item for line in found.kit if line.short]
    lines.append(f"missing: {_some(short, 'items')}" if short else "everything is there")
    lines.append(f"{len(found.steps)} steps, schedule {found.status.value}")
    return lines
