"""The plan page: what to do next, when paint gets it, every step with its cautions, the kit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.cli.text import bullet, bullets, heading, table, wrap
from panelwright.cli.text import page as laid_out
from panelwright.plan.answer import Status, Who, amount_in_words
from panelwright.sources import marks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

    from panelwright.plan.answer import KitLine, PlanAnswer, PlannedStep
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
    """The instruction: the first open step that somebody works on."""
    for step in _open(answer):
        if step.by not in {Who.NOBODY, Who.LAMP}:
            several = len(answer.ready_for_paint) > 1
            whose = f" on {step.repair}" if several else ""
            return f"Next{whose}: {step.name}, from {_time(step.start)}"
    return "Next: nothing; every step is done"


def _first_line(answer: PlanAnswer) -> str:
    if answer.status is Status.INFEASIBLE:
        return f"There is no plan yet. {' '.join(answer.why)}"
    ready = [
        f"{f'{one.repair} ' if len(answer.ready_for_paint) > 1 else ''}ready for paint "
        f"{_time(one.p50)} (90 %: {_time(one.p90)})"
        for one in answer.ready_for_paint
    ]
    return f"{_next(answer)}; {'; '.join(ready)}."


def _step_rows(steps: Iterable[PlannedStep], answer: PlanAnswer) -> Iterator[tuple[str, ...]]:
    critical = set(answer.critical)
    several = len(answer.ready_for_paint) > 1
    for step in steps:
        who = "–" if step.by is Who.NOBODY else step.person or step.by.value
        sign = ("●" if step.hold else " ") + ("!" if step.id in critical else " ")
        name = f"{step.repair}: {step.name}" if several else step.name
        mind = ", ".join(c.words if c.id == "own" else c.id for c in step.cautions)
        name += f" – mind: {mind}" if mind else ""
        end = f"{step.end:%H:%M}" if step.end.date() == step.start.date() else _short(step.end)
        yield (f"{step.start:%H:%M}", end, sign, who, name)


def _short(moment: datetime) -> str:
    return f"{moment:%a %H:%M}"


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
    """Every caution in full, once, with the steps it stands beside."""
    steps = _open(answer)
    found = {c.id: c.words for step in steps for c in step.cautions if c.id != "own"}
    return heading("Mind") + "\n" + bullets((f"{i}: {w}" for i, w in found.items()), mark="!")


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
    rows = [_kit_row(line) for line in answer.kit]
    return "\n".join(
        (
            heading("Parts list"),
            wrap(words + " “?” has not been counted."),
            table(("", "need", "have", "item"), rows),
        )
    )


def _quality(answer: PlanAnswer) -> str:
    gap = "" if answer.gap is None else f", gap {100 * answer.gap:.1f} %"
    words = f"Status {answer.status.value}{gap}: {STATUS[answer.status]}."
    planned = "; ".join(
        f"{one.repair} would be ready {_time(one.planned)} if every step took its usual time"
        for one in answer.ready_for_paint
    )
    more = f" {planned}." if planned else ""
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
        wrap(
            f"Times are the shop's ({answer.zone}). ● hold point: nothing goes on until it is "
            "signed. ! sets the ready-for-paint time."
        ),
        bullets((f"{p.where}: {p.what}" for p in answer.problems), mark="→"),
        _cautions(answer) if answer.steps else "",
        _days(answer),
        _kit(answer),
        _quality(answer),
        bullet(f"Step times and settings: {', '.join(words)}.", mark="·") if words else "",
        wrap("Follow the maker's procedure, local codes and licensed practice."),
    )
