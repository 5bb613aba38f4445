"""What is still open: questions to the maker, shortages, missing answers, problems."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panelwright.quantities import in_units
from panelwright.record.answer import Unanswered
from panelwright.record.blocks import Said, Tone

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.facts.problem import Problem
    from panelwright.plan.answer import KitLine
    from panelwright.quantities import Units
    from panelwright.record.job import Job
from panelwright.record.pages.fit_words import conflicts_said, rechecks_said


def amount(value: float | None, unit: str) -> str:
    """An amount of the parts list in words."""
    if value is None:
        return "not recorded"
    number = f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}".rstrip("0")
    return f"{number} {unit.removesuffix('s') if number == '1' else unit}".strip()


def _short(line: KitLine) -> Said:
    words = f"Short: {line.item}, need {amount(line.need, line.unit)}, have "
    words += amount(line.have, line.unit)
    return Said(words + (f" ({line.note})" if line.note else ""), line.sources, tone=Tone.NOT_OK)


def _asks(job: Job) -> Iterator[Said]:
    if not isinstance(job.answers.joints, Unanswered):
        for joint in job.answers.joints.joints:
            if joint.asks:
                asks = ", ".join(dict.fromkeys(ask.split(":")[0] for ask in joint.asks))
                yield Said(f"Ask the maker, {job.joint(joint.id)}: {asks}", tone=Tone.OPEN)


def _too_hot(job: Job) -> Iterator[Said]:
    if isinstance(job.answers.bond, Unanswered):
        return
    for bond in job.answers.bond.joints:
        if bond.over_limit and bond.limit_C is not None and bond.hottest_C is not None:
            yield Said(
                f"Joint {job.joint(bond.joint)}: the lamp as planned heats it to "
                f"{bond.hottest_C:.0f} °C, the adhesive's limit is {bond.limit_C:.0f} °C",
                bond.sources,
                tone=Tone.NOT_OK,
            )


def _suspects(job: Job) -> Iterator[Said]:
    fit = job.answers.fit
    if isinstance(fit, Unanswered):
        return
    for said in conflicts_said(fit, job.units):
        yield Said(said, tone=Tone.NOT_OK)
    again = rechecks_said(fit, job.units)
    for one, said in zip(fit.recheck, again, strict=True):
        yield Said(f"Recheck reading {one.index + 1} of the file: {said}", tone=Tone.NOT_OK)
    if again:
        return
    if fit.global_test.ok is False:
        yield Said(
            "The readings do not fit together: no place can be called inside", tone=Tone.NOT_OK
        )


def _unanswered(job: Job) -> Iterator[Said]:
    names = {
        "teardown": "What comes off",
        "joints": "Joints",
        "fit": "Fit",
        "bond": "Cure",
        "quiet": "Sound pads",
        "plan": "Plan",
    }
    for key, name in names.items():
        answer = getattr(job.answers, key)
        if isinstance(answer, Unanswered):
            why = answer.why[0] if answer.why else "no reason recorded"
            yield Said(f"{name}, not answered: {why}", tone=Tone.OPEN)


def problem_words(problem: Problem, units: Units) -> str:
    """A problem in one line: where, and what."""
    return f"{problem.where}: {in_units(problem.what, units)}"


def _problems(job: Job) -> Iterator[Said]:
    seen: set[tuple[str, str]] = set()
    answers = job.answers
    groups = [job.repair.problems] + [
        answer.problems
        for answer in (
            answers.plan,
            answers.joints,
            answers.bond,
            answers.fit,
            answers.teardown,
            answers.quiet,
        )
        if not isinstance(answer, Unanswered)
    ]
    for problem in (problem for group in groups for problem in group):
        if (problem.where, problem.what) not in seen:
            seen.add((problem.where, problem.what))
            yield Said(problem_words(problem, job.units), tone=Tone.OPEN)


def shortages(job: Job) -> tuple[Said, ...]:
    """What is missing or useless on its day; the parts list has the same in full."""
    plan = job.answers.plan
    kit = () if isinstance(plan, Unanswered) else plan.kit
    return tuple(_short(line) for line in kit if line.short)


def open_points(job: Job) -> tuple[Said, ...]:
    """Everything open, what stops the work first."""
    plan = job.answers.plan
    infeasible = () if isinstance(plan, Unanswered) else plan.why
    return (
        *(Said(why, tone=Tone.NOT_OK) for why in infeasible),
        *_too_hot(job),
        *shortages(job),
        *_asks(job),
        *_suspects(job),
        *_unanswered(job),
        *_problems(job),
    )
