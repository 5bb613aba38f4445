"""A prepared surface: counted from the first one, in real hours, breaks and nights included."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from panelwright.facts.repair import Repair
from panelwright.plan import answer
from panelwright.plan.answer import PlanAnswer, PlannedStep, Status

Build = Callable[..., Repair]

WITHIN = "use_by = 2027-03-01\nprepared_within = "


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-11-{text}:00+01:00")


def up_to_cleaned(moment: str) -> str:
    """Everything that comes before preparation is recorded as done."""
    names = ("clean-up-skin", "coupons-skin", "rivet-trial")
    events = (f'[[event]]\nkind = "done"\nstep = "{name}"\n' for name in names)
    return "".join(f"{event}at = 2026-11-{moment}:00+01:00\n" for event in events)


def steps_of(plan: PlanAnswer) -> dict[str, PlannedStep]:
    assert plan.status is Status.OPTIMAL
    return {step.id: step for step in plan.steps}


@pytest.mark.exact
@pytest.mark.parametrize(
    ("cleaned", "begins"), [("20T15:50", "23T07:30"), ("20T11:20", "20T12:30")]
)
def test_preparation_does_not_span_a_break_longer_than_the_limit(
    panel: Build, cleaned: str, begins: str
) -> None:
    """60 min of preparation with a limit of 75 min: not over the weekend, not over noon.

    From 11:20, adhesive would be started at 12:50, 90 min after the first surface.
    """
    hours = '[[step]]\nid = "prepare-skin"\nhours = 1\n'
    repair = panel(up_to_cleaned(cleaned) + hours, use_by=WITHIN + '"75 min"')
    steps = steps_of(answer([repair], as_of=at(cleaned)))
    assert steps["bead-skin"].start - steps["prepare-skin"].start <= timedelta(minutes=75)
    assert steps["prepare-skin"].start == at(begins)


@pytest.mark.exact
def test_a_break_within_the_limit_is_no_hindrance(panel: Build) -> None:
    hours = '[[step]]\nid = "prepare-skin"\nhours = 1\n'
    repair = panel(up_to_cleaned("20T11:20") + hours, use_by=WITHIN + '"90 min"')
    steps = steps_of(answer([repair], as_of=at("20T11:20")))
    assert steps["prepare-skin"].start == at("20T11:20")
    assert steps["bead-skin"].start == at("20T12:50")


@pytest.mark.exact
def test_what_was_recorded_counts_from_its_recorded_end(panel: Build) -> None:
    """Nobody recorded when preparing began: the limit runs from `prepared`."""
    event = '[[event]]\nkind = "prepared"\njoint = "edge"\nat = 2026-11-20T11:50:00+01:00\n'
    repair = panel(event, use_by=WITHIN + '"60 min"')
    plan = answer([repair], as_of=at("20T11:50"))
    assert steps_of(plan)["bead-skin"].start - at("20T11:50") <= timedelta(minutes=60)
    assert not any("can no longer be kept" in p.what for p in plan.problems)
    kept = answer([repair], as_of=at("20T12:40"))
    assert not any("can no longer be kept" in p.what for p in kept.problems)
    late = answer([repair], as_of=at("20T13:00"))
    assert any("can no longer be kept: prepared surface" in p.what for p in late.problems)


@pytest.mark.exact
def test_preparation_longer_than_its_limit_is_told(panel: Build) -> None:
    hours = '[[step]]\nid = "prepare-skin"\nhours = 1\n'
    plan = answer([panel(hours, use_by=WITHIN + '"45 min"')])
    words = next(p.what for p in plan.problems if p.where == "step prepare-skin")
    assert "takes 60 min" in words
    assert "45 min only" in words
    steps = steps_of(plan)
    assert steps["bead-skin"].start - steps["prepare-skin"].end <= timedelta(minutes=45)


@pytest.mark.invariant
def test_a_limit_that_a_slow_case_cannot_keep_does_not_push_the_plan_away(panel: Build) -> None:
    """Preparing may take longer than its limit in one case of many; the band stays a band."""
    hours = '[[step]]\nid = "prepare-skin"\nhours = 1\n'
    tight = answer([panel(hours, use_by=WITHIN + '"62 min"')]).ready_for_paint[0]
    loose = answer([panel(hours, use_by=WITHIN + '"240 min"')]).ready_for_paint[0]
    assert tight.p90 - loose.p90 < timedelta(days=1.5)
