"""What facts show as done: never a hold point, and never what a later finding asks for again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

import pytest

from panelwright.facts.repair import Repair
from panelwright.plan import answer, gather, plan_of
from panelwright.plan.answer import PlanAnswer, PlannedStep, Status
from panelwright.plan.assemble import assemble
from panelwright.plan.course import Course
from panelwright.plan.question import _job, _now
from panelwright.plan.windows import hours_of

Build = Callable[..., Repair]

CLOSED = '[[event]]\nkind = "closed"\njoint = "edge"\nat = 2026-11-20T14:00:00+01:00\n'
FINDING = '[[finding]]\npart = "inner"\nwhat = "folded"\nstate = "replace"\nafter = "skin"\n'
FINDING += "at = 2026-11-23T10:30:00+01:00\n"
PLACES = '[[station]]\nid = "s1"\npart = "skin"\nbeside = "inner"\nxyz = [0, 0, 0]\n'
PLACES += "gap_towards = [1, 0, 0]\n"
PLACES += 'gap = { want = "5 mm", tolerance = "1 mm", u = "0.2 mm" }\n'
READ = '[[reading]]\nstation = "s1"\ngap = "5.2 mm"\nwith = "gauge"\n'
DEEP = '[[joint]]\nid = "deep"\nlayers = ["inner", "body"]\nlength = "400 mm"\n'
DEEP += 'flange = "18 mm"\nremake = { rivet = "R48", count = 6, adhesive = "G1" }\n'


def at(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-11-{text}:00+01:00")


def done(step: str, moment: str) -> str:
    return f'[[event]]\nkind = "done"\nstep = "{step}"\nat = 2026-11-{moment}:00+01:00\n'


def by_id(plan: PlanAnswer) -> dict[str, PlannedStep]:
    return {step.id: step for step in plan.steps}


@pytest.fixture(scope="module")
def closed(panel: Build) -> PlanAnswer:
    return answer([panel(CLOSED)])


@pytest.mark.invariant
def test_no_hold_point_is_done_because_a_later_step_is(closed: PlanAnswer) -> None:
    holds = [step for step in closed.steps if step.hold]
    assert {step.id for step in holds} >= {"release-body", "inspect-all", "measure-fit-skin"}
    assert not any(step.done for step in holds)
    assert by_id(closed)["dress-edge"].done


@pytest.mark.exact
def test_an_overtaken_hold_point_is_a_signature_first_thing_now(closed: PlanAnswer) -> None:
    release = by_id(closed)["release-body"]
    assert closed.status is Status.OPTIMAL
    assert release.overtaken
    assert (release.start, release.end) == (closed.now, closed.now)
    assert all(step.start >= closed.now for step in closed.steps if step.hold)


@pytest.mark.exact
def test_an_overtaken_hold_point_is_told(closed: PlanAnswer) -> None:
    told = {p.where: p.what for p in closed.problems if p.what.startswith("not recorded: ")}
    assert told["step release-body"].startswith("not recorded: Release the body's geometry")
    assert set(told) == {f"step {step.id}" for step in closed.steps if step.overtaken}


@pytest.mark.exact
def test_a_signature_to_be_given_holds_nobody_up(closed: PlanAnswer) -> None:
    """The panel is on: rivets follow at once, whatever was not signed before."""
    assert by_id(closed)["rivet-skin"].start == at("20T14:00")


@pytest.mark.exact
def test_a_hold_point_that_is_recorded_is_done(panel: Build) -> None:
    plan = answer([panel(CLOSED + done("release-body", "20T09:30"))])
    release = by_id(plan)["release-body"]
    assert release.done
    assert not release.overtaken
    assert release.end == at("20T09:30")


@pytest.mark.exact
def test_a_hold_point_that_comes_later_waits_for_its_turn(closed: PlanAnswer) -> None:
    steps = by_id(closed)
    assert not steps["release-skin"].overtaken
    assert steps["release-skin"].start >= steps["cure-edge"].end


@pytest.mark.exact
def test_readings_of_a_panel_show_that_it_was_hung(panel: Build) -> None:
    read = READ + "at = 2026-11-23T10:00:00+01:00\n"
    plan = answer([panel(PLACES + read)])
    steps = by_id(plan)
    for name in ("identify", "separate-edge", "lift-off-skin", "dress-edge", "dry-fit-skin"):
        assert steps[name].done, name
        assert steps[name].end <= at("23T10:00")
    assert not steps["measure-fit-skin"].done
    assert not steps["drill-skin"].done
    assert not steps["inspect-all"].done


@pytest.mark.exact
def test_reading_and_moving_is_under_way_from_the_first_reading(panel: Build) -> None:
    read = READ + "at = 2026-11-23T10:00:00+01:00\n"
    step = by_id(answer([panel(PLACES + read)], as_of=at("23T10:05")))["measure-fit-skin"]
    assert step.start == at("23T10:00")
    assert step.end > at("23T10:05")


@pytest.mark.exact
def test_a_moved_panel_was_hung(panel: Build) -> None:
    moved = '[[event]]\nkind = "moved"\npart = "skin"\nsetting = 2\n'
    plan = answer([panel(moved + "at = 2026-11-23T10:00:00+01:00\n")])
    assert by_id(plan)["dry-fit-skin"].done


@pytest.mark.exact
def test_readings_without_a_time_count_for_now(panel: Build) -> None:
    plan = answer([panel(PLACES + READ + "setting = 1\n")], as_of=at("23T09:00"))
    assert by_id(plan)["dry-fit-skin"].end == at("23T09:00")


@pytest.mark.exact
def test_readings_of_the_old_panel_show_nothing(panel: Build) -> None:
    plan = answer([panel(PLACES + READ + 'when = "before"\n')])
    assert not by_id(plan)["dry-fit-skin"].done


@pytest.mark.exact
def test_a_finding_after_the_dry_fit_asks_for_it_again(panel: Build) -> None:
    """The new work on the inner part is not done because the panel hung before it was found."""
    read = READ + "at = 2026-11-23T10:00:00+01:00\n"
    plan = answer([panel(DEEP + PLACES + read + FINDING)])
    steps = by_id(plan)
    assert steps["lift-off-skin"].done
    for name in ("separate-deep", "lift-off-inner", "release-inner", "dry-fit-skin"):
        assert not steps[name].done, name
        assert steps[name].start >= at("23T10:30")
    assert any("planned again: Hang skin dry" in p.what for p in plan.problems)
    again = READ + "at = 2026-11-25T10:00:00+01:00\n"
    later = by_id(answer([panel(DEEP + PLACES + read + FINDING + again)]))
    assert later["dry-fit-skin"].done
    assert later["lift-off-inner"].done
    assert not later["release-inner"].done


@pytest.mark.exact
def test_a_wait_does_not_begin_before_what_it_waits_for(panel: Build) -> None:
    """Rivets are recorded and closing is not: the joint sets from the rivets, not from Friday."""
    events = done("identify", "20T08:00")
    events += '[[event]]\nkind = "rivets-set"\njoint = "edge"\nat = 2026-11-24T14:00:00+01:00\n'
    cure = by_id(answer([panel(events)]))["cure-edge"]
    assert at("24T13:30") <= cure.start <= at("24T14:00")


@pytest.mark.exact
def test_the_first_bead_of_a_panel_starts_its_clock(panel: Build) -> None:
    more = '[[joint]]\nid = "top"\nlayers = ["skin", "inner"]\nlength = "300 mm"\n'
    more += 'flange = "20 mm"\nremake = { rivet = "R48", count = 4, adhesive = "G1" }\n'
    for joint, time in (("edge", "13:00"), ("top", "13:20")):
        more += f'[[event]]\nkind = "bead-begun"\njoint = "{joint}"\n'
        more += f"at = 2026-11-20T{time}:00+01:00\n"
    assert by_id(answer([panel(more)]))["bead-skin"].start == at("20T13:00")


@pytest.mark.exact
def test_what_a_finding_does_not_touch_stays_done_and_what_waits_still_waits(panel: Build) -> None:
    """A mark made before the dry fit, a coat that dries on it, a wipe that comes later."""
    own = '[[step]]\nid = "mark"\nhours = 0.1\nafter = ["inspect-all"]\nbefore = ["dress-edge"]\n'
    own += '[[step]]\nid = "coat"\nwho = "nobody"\nhours = 2\nafter = ["mark"]\n'
    own += '[[step]]\nid = "wipe"\nhours = 0.1\nafter = ["mark"]\n'
    read = READ + "at = 2026-11-23T10:00:00+01:00\n"
    answers = gather(panel(DEEP + PLACES + read + FINDING + own))
    steps = by_id(plan_of([answers]))
    assert steps["mark"].done
    assert steps["coat"].start == at("23T10:00")
    assert steps["wipe"].start >= steps["inspect-all"].end >= at("23T10:30")
    hours, _ = hours_of(answers.repair.shop)
    assert hours is not None
    job = _job(Course(answers), _now(answers.repair, [answers], None))
    tasks = assemble([job], answers.repair.shop, hours).network.tasks
    assert min(task.earliest for task in tasks) >= 0


@pytest.mark.exact
def test_a_cure_runs_from_closing_whatever_is_not_signed(panel: Build) -> None:
    plan = answer([panel(CLOSED)], as_of=at("20T15:00"))
    assert by_id(plan)["cure-edge"].start == at("20T14:00")
    assert not any("may come too late" in p.what for p in plan.problems)
