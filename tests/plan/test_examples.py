"""The demonstration repairs, planned and checked minute by minute by the independent checker."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.plan.checker import broken_rules

from panelwright.facts.file import read
from panelwright.plan import answer, gather
from panelwright.plan.answer import Status
from panelwright.plan.assemble import assemble
from panelwright.plan.course import Course
from panelwright.plan.question import EFFORT, _job, _now, _schedule
from panelwright.plan.windows import hours_of

SETS = [
    ("heron.toml",),
    ("heron-moved.toml",),
    ("heron-found.toml",),
    ("box-side-inches.toml",),
    ("heron.toml", "box-side-inches.toml"),
]


@pytest.mark.second_route
@pytest.mark.parametrize("files", SETS)
def test_the_plan_of_a_demonstration_breaks_no_rule(examples: Path, files: tuple[str, ...]) -> None:
    answers = [gather(read((examples / name).read_text(encoding="utf-8"))) for name in files]
    courses = [Course(one) for one in answers]
    jobs = [_job(course, _now(course.repair, answers, None)) for course in courses]
    shop = answers[0].repair.shop
    hours, _ = hours_of(shop)
    assert hours is not None

    question, schedule = _schedule(assemble(jobs, shop, hours), hours, EFFORT)

    assert schedule.status is Status.OPTIMAL
    assert broken_rules(question.network, schedule.spans) == []


@pytest.mark.invariant
def test_nothing_of_a_demonstration_is_marked_as_misplaced(examples: Path) -> None:
    """The file's own steps, befores and afters all find their place in the plan."""
    for name in ("heron.toml", "heron-moved.toml", "heron-found.toml", "box-side-inches.toml"):
        plan = answer([read((examples / name).read_text(encoding="utf-8"))])
        assert [p for p in plan.problems if p.where.startswith("step[")] == []
