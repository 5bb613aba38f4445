"""The plan page: what to do next, when paint gets it, the kit, every step, its cautions."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from panelwright.cli.text import bullet, bullets, heading, table, wrap
from panelwright.cli.text import page as laid_out
from panelwright.plan.answer import Status, Who, amount_in_words
from panelwright.sources import largest, marks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from panelwright.plan.answer import KitLine, PlanAnswer, PlannedStep, Ready
    from panelwright.quantities import Units

STATUS = {
    Status.OPTIMAL: "no shorter plan exists with these steps, hours and people",
    Status.FEASIBLE: "a good plan; a shorter one is not ruled out",
    Status.FALLBACK: "a plan by simple rules; a shorter one is not ruled out",
    Status.INFEASIBLE: "there is no plan that keeps all the rules",
}


def _time(moment: datetime) -> str:
    return f"{moment:%a %d %b %H:%M}"


def _open(answer: PlanAnswer) -> list[PlannedStep]:
    return [step for step in answer.steps if not step.done]


def _next(answer: PlanAnswer) -> str:
    """The instruction: hold points to be made good, else the first open step somebody works on."""
    unsigned = [step for step in _open(answer) if step.overtaken]
    for step in (*unsigned, *_open(answer)):
        if step.by not in {Who.NOBODY, Who.LAMP}:
            several = len(answer.ready_for_paint) > 1
            whose = f" on {step.repair}" if several else ""
            if step.overtaken:
                more = f" (and {len(unsigned) - 1} more)" if len(unsigned) > 1 else ""
                return f"Next{whose}: sign, or do now, what is not recorded: {step.name}{more}"
            return f"Next{whose}: {step.name}, from {_time(step.start)}"
    return "Next: nothing; every step is done"


def _first_line(answer: PlanAnswer) -> str:
    if answer.status is Status.INFEASIBLE:
        return f"There is no plan yet. {' '.join(answer.why)}"
    ready = [
        f"{f'{one.repair} ' if len(answer.ready_for_paint) > 1 else ''}ready for paint "
        f"{_time(one.p50)} (90 %: {_time(one.p90)}){_own_clock(one, answer)}"
        for one in answer.ready_for_paint
    ]
    return f"{_next(answer)}; {'; '.join(ready)}."


def _own_clock(one: Ready, answer: PlanAnswer) -> str:
    """The same on the repair's own wall clock, where that is another one."""
    if one.zone in {"", answer.zone}:
        return ""
    own = ZoneInfo(one.zone)
    p50, p90 = (_time(moment.astimezone(own)) for moment in (one.p50, one.p90))
    return f", by its own clock ({one.zone}) {p50} (90 %: {p90})"


def _who(step: PlannedStep) -> str:
    """Who does it, and how many more hands it takes than the shop has."""
    if step.by is Who.NOBODY:
        return "–"
    named = step.person or step.by.value
    missing = step.people - len(named.split(" and "))
    return f"{named} +{missing}" if step.by is Who.TECHNICIAN and missing > 0 else named


def _step_rows(steps: Iterable[PlannedStep], answer: PlanAnswer) -> Iterator[tuple[str, ...]]:
    critical = set(answer.critical)
    several = len(answer.ready_for_paint) > 1
    for step in steps:
        sign = ("●" if step.hold else " ") + ("!" if step.id in critical else " ")
        name = f"{step.repair}: {step.name}" if several else step.name
        name += " – not recorded: sign it, or do it now" if step.overtaken else ""
        mind = ", ".join(c.words if c.id == "own" else c.id for c in step.cautions)
        name += f" – mind: {mind}" if mind else ""
        yield (f"{step.start:%H:%M}", _end(step), sign, _who(step), name)


def _end(step: PlannedStep) -> str:
    """When it ends; with the day where that is another one, with the date after a week."""
    days = (step.end.date() - step.start.date()).days
    if days == 0:
        return f"{step.end:%H:%M}"
    return f"{step.end:%a %H:%M}" if days < 7 else f"{step.end:%d %b %H:%M}"


def _day(day: str, steps: list[PlannedStep], answer: PlanAnswer) -> str:
    rows = list(_step_rows(_merged(steps), answer))
    return "\n".join((heading(day), table(("from", "to", "", "who", "step"), rows)))


def _merged(steps: list[PlannedStep]) -> list[PlannedStep]:
    """Waits of one kind that run side by side are said once."""
    groups: dict[tuple[object, ...], list[PlannedStep]] = {}
    for step in steps:
        alike = step.by is Who.NOBODY
        key = (step.repair, step.short, step.start, step.end) if alike else (step.id,)
        groups.setdefault(key, []).append(step)
    return [_together(group) for group in groups.values()]


def _together(group: list[PlannedStep]) -> PlannedStep:
    if len(group) == 1:
        return group[0]
    things = ", ".join(name for step in group for name in step.concerns)
    return replace(group[0], name=f"{group[0].short}: {things}")


def _cautions(answer: PlanAnswer) -> str:
    """Every caution in full, once; beside the steps stand their names."""
    steps = _open(answer)
    found = {c.id: c.words for step in steps for c in step.cautions if c.id != "own"}
    return heading("Cautions") + "\n" + bullets((f"{i}: {w}" for i, w in found.items()), mark="!")


def _problems(answer: PlanAnswer) -> str:
    """What does not fit; hold points without a record are told once, and stand among the steps."""
    unsigned = [step for step in answer.steps if step.overtaken]
    places = {place for step in unsigned for place in _places(step)}
    lines = [
        f"{p.where}: {p.what}"
        for p in answer.problems
        if p.where not in places or not p.what.startswith("not recorded")
    ]
    if unsigned:
        words = "hold points are" if len(unsigned) > 1 else "hold point is"
        lines.insert(
            0,
            f"{len(unsigned)} {words} not recorded, though later steps are. Nothing goes on before "
            "each is signed or done: see the first steps",
        )
    return bullets(lines, mark="→")


def _places(step: PlannedStep) -> tuple[str, str]:
    """How a problem names a step, with one repair and with several."""
    bare = step.id.removeprefix(f"{step.repair}/")
    return f"step {bare}", f"{step.repair}, step {bare}"


def _days(answer: PlanAnswer) -> str:
    by_day: dict[str, list[PlannedStep]] = {}
    for step in _open(answer):
        by_day.setdefault(f"{step.start:%A %d %B %Y}", []).append(step)
    return "\n".join(_day(day, steps, answer) for day, steps in by_day.items())


def _kit_row(line: KitLine) -> tuple[str, ...]:
    have = "?" if line.have is None else f"{line.have:g}"
    words = f"{line.item} ({line.note})" if line.note else line.item
    return ("SHORT" if line.short else "", amount_in_words(line.need, line.unit), have, words)


def _kit(answer: PlanAnswer) -> str:
    if not answer.kit:
        return ""
    short = [line for line in answer.kit if line.short]
    words = (
        f"Short: {', '.join(line.item for line in short)}."
        if short
        else "Nothing that was counted is short."
    )
    rows = [_kit_row(line) for line in sorted(answer.kit, key=lambda line: not line.short)]
    return "\n".join(
        (
            heading("Parts list"),
            wrap(words + " “?” has not been counted."),
            table(("", "need", "have", "item"), rows),
        )
    )


MOST_SHARES = 3


def _quality(answer: PlanAnswer) -> str:
    gap = "" if answer.gap is None else f", gap {100 * answer.gap:.1f} %"
    words = f"Status {answer.status.value}{gap}: {STATUS[answer.status]}."
    planned = "; ".join(
        f"{one.repair} would be ready {_time(one.planned)} if every step took its usual time"
        for one in answer.ready_for_paint
    )
    more = f" {planned}." if planned else ""
    for one in answer.ready_for_paint:
        most = ", ".join(
            f"{words} {100 * share:.0f} %" for words, share in largest(one.shares, MOST_SHARES)
        )
        more += f" The spread of {one.repair} comes most from: {most}." if most else ""
    return heading("How sure") + "\n" + wrap(words + more)


def page(answer: PlanAnswer, units: Units) -> str:  # noqa: ARG001 - times only, no lengths
    """The plan as a page of text.

    Parameters
    ----------
    answer : PlanAnswer
    units : Units
        Not used: a plan has no lengths.
    """
    words = marks(answer.sources)
    return laid_out(
        wrap(_first_line(answer)),
        _kit(answer),
        heading("Steps") if answer.steps else "",
        wrap(
            f"Times are the shop's ({answer.zone}). ● hold point: nothing goes on until it is "
            "signed. ! sets the ready-for-paint time. +1: needs one more pair of hands. mind: see "
            "Cautions at the end."
        ),
        _problems(answer),
        _days(answer),
        _quality(answer),
        bullet(f"Step times and settings: {', '.join(words)}.", mark="·") if words else "",
        _cautions(answer) if answer.steps else "",
        wrap("Follow the maker's procedure, local codes and licensed practice."),
    )
