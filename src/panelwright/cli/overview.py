"""Every answer on one screen."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING

import click

from panelwright.cli.ask import DONE, UNANSWERED, say_json
from panelwright.cli.load import in_the_way, load
from panelwright.cli.text import bullet, wrap
from panelwright.errors import Unanswerable
from panelwright.facts.problem import Question
from panelwright.quantities import Units, show_length, show_minutes, show_volume

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from panelwright.facts.repair import Repair

Lines = list[str]
WHEN = "%a %d %b %H:%M"
MOST = 6
"""Lines of a list that the screen has room for; the rest is counted."""


def _some(items: Iterable[str], what: str) -> str:
    items = list(items)
    shown = ", ".join(items[:MOST])
    return f"{shown} and {len(items) - MOST} more {what}" if len(items) > MOST else shown


def _teardown(repair: Repair, _units: Units) -> Lines:
    from panelwright.teardown import answer  # noqa: PLC0415

    found = answer(repair)
    names = {part.id: part.label for part in repair.parts}
    lines = [f"in this order: {_some((names.get(p, p) for p in found.order), 'parts')}"]
    lines += [f"separate {_some(found.open, 'joints')}"] if found.open else []
    looks = [f"{names.get(look.part, look.part)}" for look in found.look]
    lines += [f"inspect once they show: {_some(looks, 'parts')}"] if looks else []
    return lines


def _joints(repair: Repair, units: Units) -> Lines:
    from panelwright.joints import answer  # noqa: PLC0415
    from panelwright.joints.answer import Weight  # noqa: PLC0415

    lines = []
    for joint in answer(repair).joints:
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


def _fit(repair: Repair, units: Units) -> Lines:
    from panelwright.fit import answer  # noqa: PLC0415

    found = answer(repair)
    names = {part.id: part.label for part in repair.parts}
    lines = [f"body: {found.body.words}"]
    for part in found.parts:
        count = dict.fromkeys(("inside", "outside", "undecided"), 0)
        for point in part.points:
            count[point.verdict.value] += 1
        said = ", ".join(f"{number} {word}" for word, number in count.items() if number)
        lines.append(f"{names.get(part.id, part.id)}, dry fit {part.setting}: points {said}")
        lines += [f"  → {move.words}" for move in part.moves]
        off = max(part.points, key=lambda p: sum(v * v for v in p.off_mm), default=None)
        if off is not None and part.moves:
            size = sum(v * v for v in off.off_mm) ** 0.5
            lines.append(f"  farthest from its target: {off.id}, {show_length(size, units)}")
    if found.next:
        lines.append(f"next reading: {found.next[0].words}")
    return lines


def _bond(repair: Repair, _units: Units) -> Lines:
    from panelwright.bond import answer  # noqa: PLC0415

    alike: dict[str, list[str]] = {}
    for joint in answer(repair).joints:
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


def _quiet(repair: Repair, _units: Units) -> Lines:
    from panelwright.quiet import answer  # noqa: PLC0415

    found = answer(repair)
    lines = [
        f"{part.part}: {len(part.pads)} pads cover {part.coverage:.0%} of it"
        for part in found.parts
        if part.coverage is not None
    ]
    sheets = "sheet" if found.sheets == 1 else "sheets"
    return lines + ([f"cut from {found.sheets} {sheets}"] if found.sheets else [])


def _plan(repair: Repair, _units: Units) -> Lines:
    from panelwright.plan import answer  # noqa: PLC0415

    found = answer([repair])
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


ROOMS: dict[Question, tuple[str, Callable[[Repair, Units], Lines]]] = {
    Question.PLAN: ("When", _plan),
    Question.TEARDOWN: ("Comes off", _teardown),
    Question.FIT: ("Where it sits", _fit),
    Question.JOINTS: ("Joints", _joints),
    Question.BOND: ("Holds", _bond),
    Question.QUIET: ("Quiet", _quiet),
}


def _lines(repair: Repair, units: Units, question: Question, room: partial[Lines]) -> Lines:
    problems = in_the_way(repair, question)
    if problems:
        return [f"mend first: {problem.where}: {problem.what}" for problem in problems]
    try:
        return room(repair, units) or ["nothing to say"]
    except Unanswerable as error:
        return [f"not answered: {why}" for why in error.why]


def say(repair: Repair, units: Units) -> int:
    """Print every answer in a few lines; 1 where none could be given."""
    mark = " — invented data" if repair.repair.invented else ""
    title = " · ".join(text for text in (repair.name, repair.vehicle.label) if text)
    click.echo(click.style(f"{title}{mark}", bold=True))
    answered = False
    for question, (title, room) in ROOMS.items():
        lines = _lines(repair, units, question, partial(room))
        answered = answered or not lines[0].startswith(("mend first", "not answered"))
        click.echo(click.style(title, bold=True))
        for line in lines:
            inner = line.lstrip()
            indent = 2 + len(line) - len(inner)
            click.echo(bullet(inner, indent=indent) if indent == 2 else wrap(inner, indent=indent))
    click.echo("An aid, not an approval: the vehicle maker's procedure governs.")
    return DONE if answered else UNANSWERED


def _published(repair: Repair, question: Question) -> Mapping[str, object]:
    problems = in_the_way(repair, question)
    if problems:
        return {"problems": [{"where": p.where, "what": p.what} for p in problems]}
    room = import_module(f"panelwright.{question.value}")
    try:
        found = room.answer([repair] if question is Question.PLAN else repair)
    except Unanswerable as error:
        return {"unanswered": list(error.why)}
    content: Mapping[str, object] = import_module(f"{room.__name__}.published").as_json(found)
    return content


def overview(file: str, units: str, *, as_json: bool = False) -> int:
    """Load a repair file and say every answer: in a few lines each, or whole as JSON."""
    repair = load(file)
    if not as_json:
        return say(repair, Units(units))
    answers = {question.value: _published(repair, question) for question in ROOMS}
    say_json(answers)
    left = [found for found in answers.values() if not found.keys() <= {"problems", "unanswered"}]
    return DONE if left else UNANSWERED
