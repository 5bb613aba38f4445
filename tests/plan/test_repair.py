"""The plan of one small repair: what it holds, keeps, and says."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest

from panelwright.errors import Unanswerable
from panelwright.facts.file import read
from panelwright.facts.repair import Repair
from panelwright.plan import answer, gather, plan_of
from panelwright.plan.answer import PlanAnswer, PlannedStep, Status, Who
from panelwright.plan.gather import Answers

Build = Callable[..., Repair]


def by_id(plan: PlanAnswer) -> dict[str, PlannedStep]:
    return {step.id: step for step in plan.steps}


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


@pytest.fixture(scope="module")
def plain(panel: Build) -> PlanAnswer:
    return answer([panel()])


@pytest.mark.invariant
def test_the_plan_is_proven_and_every_step_follows_those_it_waits_for(plain: PlanAnswer) -> None:
    steps = by_id(plain)
    assert (plain.status, plain.gap) == (Status.OPTIMAL, 0.0)
    for step in plain.steps:
        for name in step.waits_for:
            assert steps[name].end <= step.start, (name, step.id)


@pytest.mark.invariant
def test_nobody_works_outside_hours_or_on_two_steps_at_once(plain: PlanAnswer) -> None:
    worked = [step for step in plain.steps if step.by is Who.TECHNICIAN]
    for step, following in itertools.pairwise(worked):
        assert step.end <= following.start
    for step in worked:
        for moment in (step.start, step.end):
            clock = f"{moment:%H:%M}"
            assert "07:30" <= clock <= "12:00" or "12:30" <= clock <= "16:30"
            assert moment.weekday() < 5


@pytest.mark.exact
def test_bead_closing_and_rivets_follow_without_a_pause_within_the_work_time(
    panel: Build, plain: PlanAnswer
) -> None:
    steps = by_id(plain)
    bead, close, rivet = (steps[f"{name}-skin"] for name in ("bead", "close", "rivet"))
    assert (bead.end, close.end) == (close.start, rivet.start)
    bond = gather(panel()).bond
    assert bond is not None
    work = bond.joints[0].work_until_min
    assert work is not None
    assert rivet.end - bead.start <= timedelta(minutes=work)


@pytest.mark.exact
def test_pins_stay_until_the_late_bound_of_the_handling_time(
    panel: Build, plain: PlanAnswer
) -> None:
    steps, bond = by_id(plain), gather(panel()).bond
    assert bond is not None
    handle = bond.joints[0].handle_min
    assert handle is not None
    waited = steps["release-skin"].start - steps["close-skin"].end
    assert waited >= timedelta(minutes=handle.late)
    assert steps["cure-edge"].by is Who.NOBODY
    assert steps["cure-edge"].work_minutes == math.ceil(handle.late)


@pytest.mark.exact
def test_ready_for_paint_is_the_end_of_the_hand_over_with_its_band(plain: PlanAnswer) -> None:
    ready = plain.ready_for_paint[0]
    assert ready.planned == by_id(plain)["hand-over"].end
    assert ready.planned <= ready.p90
    assert ready.p50 < ready.p90


@pytest.mark.invariant
def test_everything_before_paint_comes_before_the_hand_over(plain: PlanAnswer) -> None:
    steps = by_id(plain)
    before, queue = set(), ["hand-over"]
    while queue:
        for name in steps[queue.pop()].waits_for:
            if name not in before:
                before.add(name)
                queue.append(name)
    # Cures are tied by limits, not by who waits for whom; the lamp's reading likewise.
    open_ = {s.id for s in plain.steps if s.stage < 12} - before - {"hand-over"}
    assert open_ == set()


@pytest.mark.exact
def test_what_lies_behind_a_panel_holds_and_is_sealed_before_it_goes_on(panel: Build) -> None:
    more = '[[joint]]\nid = "deep"\nlayers = ["inner", "body"]\nlength = "400 mm"\n'
    more += 'flange = "18 mm"\nremake = { rivet = "R48", count = 6, adhesive = "G1" }\n'
    more += '[[finding]]\npart = "inner"\nwhat = "folded"\nstate = "replace"\n'
    plan = answer([panel(more)])
    steps = by_id(plan)
    assert "release-inner" in steps["dry-fit-skin"].waits_for
    assert {"seal-inner", "sealer-skin-inner"} <= set(steps["bead-skin"].waits_for)
    assert steps["lift-off-skin"].end <= steps["lift-off-inner"].start
    assert steps["approval"].end <= steps["dress-edge"].start


@pytest.mark.invariant
def test_the_critical_path_is_a_chain_up_to_the_hand_over(plain: PlanAnswer) -> None:
    steps = [by_id(plain)[name] for name in plain.critical]
    assert steps[-1].id == "hand-over"
    assert steps[0].start == plain.now
    assert all(a.start <= b.start for a, b in itertools.pairwise(steps))


@pytest.mark.invariant
def test_making_a_critical_step_longer_makes_the_plan_longer(
    panel: Build, plain: PlanAnswer
) -> None:
    assert "prepare-skin" in plain.critical
    longer = answer([panel('[[step]]\nid = "prepare-skin"\nhours = 9\n')])
    assert longer.ready_for_paint[0].planned > plain.ready_for_paint[0].planned


@pytest.mark.exact
def test_a_battery_drive_is_isolated_before_anything_is_taken_off(panel: Build) -> None:
    steps = by_id(answer([panel(drive='drive = "battery"')]))
    isolate = steps["isolate"]
    assert isolate.by is Who.QUALIFIED
    assert isolate.hold
    assert "High voltage can kill" in isolate.cautions[0].words
    assert isolate.end <= steps["protect"].start
    assert steps["re-energise"].start >= steps["hand-over"].end


@pytest.mark.exact
def test_a_combustion_drive_has_no_high_voltage_steps(plain: PlanAnswer) -> None:
    assert "isolate" not in by_id(plain)


@pytest.mark.exact
def test_an_unknown_drive_is_planned_as_if_it_could_kill(panel: Build) -> None:
    plan = answer([panel(drive="")])
    assert "isolate" in by_id(plan)
    assert any(problem.where == "vehicle.drive" for problem in plan.problems)


@pytest.mark.exact
def test_a_part_that_arrives_late_is_waited_for(panel: Build) -> None:
    plan = answer([panel(on_hand="on_hand = false\narrives = 2026-11-25T10:00:00+01:00")])
    assert by_id(plan)["dry-fit-skin"].start >= at("2026-11-25T10:00:00+01:00")
    line = next(line for line in plan.kit if line.item == "skin")
    assert "arrives Wed 25 Nov 10:00" in line.note


@pytest.mark.exact
def test_too_many_rivets_for_the_adhesive_are_told_and_not_hidden(panel: Build) -> None:
    plan = answer([panel(work='time = "10 min"')])
    words = next(p.what for p in plan.problems if p.where == "part skin")
    assert "Do not start like this" in words
    assert "early bound" in words
    assert plan.steps


@pytest.mark.exact
def test_several_joints_of_one_panel_are_offered_as_mixes(panel: Build) -> None:
    more = '[[joint]]\nid = "top"\nlayers = ["skin", "inner"]\nlength = "900 mm"\n'
    more += 'flange = "20 mm"\nremake = { rivet = "R48", count = 90, adhesive = "G1" }\n'
    plan = answer([panel(more, work='time = "40 min"')])
    words = next(p.what for p in plan.problems if p.where == "part skin")
    assert "Split into 2 mixes" in words


@pytest.mark.exact
def test_one_lamp_heats_one_joint_at_a_time(panel: Build) -> None:
    more = '[[joint]]\nid = "top"\nlayers = ["skin", "inner"]\nlength = "500 mm"\n'
    more += 'flange = "20 mm"\nremake = { rivet = "R48", count = 8, adhesive = "G1" }\n'
    more += '[[lamp]]\nid = "lamp 1"\npower = "1000 W"\nsize = ["300 mm", "100 mm"]\n'
    for joint in ("edge", "top"):
        more += f'[[heating]]\njoint = "{joint}"\nlamp = "lamp 1"\ndistance = "600 mm"\n'
        more += 'stays = [{ from = "0 min", to = "40 min" }]\nsurface = "primed"\n'
    steps = by_id(answer([panel(more)]))
    one, two = sorted((steps["lamp-edge"], steps["lamp-top"]), key=lambda step: step.start)
    assert one.end <= two.start
    assert steps["cure-edge"].start == steps["lamp-edge"].start
    check = steps["heat-check-edge"].start - steps["lamp-edge"].start
    assert timedelta(minutes=10) <= check <= timedelta(minutes=25)


@pytest.mark.exact
def test_a_step_of_the_shop_replaces_hours_and_one_of_its_own_comes_in_between(
    panel: Build,
) -> None:
    more = '[[step]]\nid = "identify"\nhours = 1.5\n'
    more += '[[step]]\nid = "polish"\nname = "polish the edge"\nhours = 0.5\n'
    more += 'after = ["dress"]\nbefore = ["dry-fit-skin"]\ncautions = ["eyes", "mind the paint"]\n'
    steps = by_id(answer([panel(more)]))
    assert steps["identify"].work_minutes == 90
    assert steps["dress-edge"].end <= steps["polish"].start
    assert steps["polish"].end <= steps["dry-fit-skin"].start
    assert [c.id for c in steps["polish"].cautions] == ["eyes", "own"]


@pytest.mark.exact
def test_a_procedure_step_that_replaces_others_keeps_their_limits_and_cautions(
    panel: Build,
) -> None:
    more = '[[step]]\nid = "bond-it"\nname = "bead and close by the procedure"\nhours = 0.25\n'
    more += 'replaces = ["bead-skin", "close-skin"]\n'
    steps = by_id(answer([panel(more)]))
    assert "bead-skin" not in steps
    assert steps["bond-it"].end == steps["rivet-skin"].start
    assert steps["prepare-skin"].end <= steps["bond-it"].start
    assert "adhesive" in [c.id for c in steps["bond-it"].cautions]
    assert steps["cure-edge"].start == steps["bond-it"].end


@pytest.mark.exact
def test_a_step_after_one_that_is_not_there_is_told(panel: Build) -> None:
    plan = answer([panel('[[step]]\nid = "x"\nhours = 0.1\nafter = ["no-such"]\n')])
    assert any("'no-such' is no step of this plan" in p.what for p in plan.problems)
    assert "x" in by_id(plan)


@pytest.mark.exact
def test_steps_in_a_circle_are_no_plan_and_say_so(panel: Build) -> None:
    more = '[[step]]\nid = "x"\nhours = 0.1\nafter = ["hand-over"]\nbefore = ["identify"]\n'
    plan = answer([panel(more)])
    assert plan.status is Status.INFEASIBLE
    assert "wait for each other" in plan.why[0]
    assert plan.kit


@pytest.mark.exact
def test_a_cure_that_the_file_makes_too_short_is_told(panel: Build) -> None:
    plan = answer([panel('[[step]]\nid = "cure-edge"\nhours = 0.5\n')])
    assert any("late bound" in p.what and p.where == "step[0].hours" for p in plan.problems)


@pytest.mark.exact
def test_recorded_steps_keep_their_times_and_the_rest_starts_from_now(panel: Build) -> None:
    more = '[[event]]\nkind = "closed"\njoint = "edge"\nat = 2026-11-20T14:00:00+01:00\n'
    plan = answer([panel(more)])
    steps = by_id(plan)
    assert steps["close-skin"].done
    assert steps["close-skin"].end == at("2026-11-20T14:00:00+01:00")
    assert steps["identify"].done
    assert steps["cure-edge"].start == at("2026-11-20T14:00:00+01:00")
    assert steps["rivet-skin"].start == at("2026-11-20T14:00:00+01:00")


@pytest.mark.exact
def test_a_bead_that_nobody_closed_is_told(panel: Build) -> None:
    more = '[[event]]\nkind = "bead-begun"\njoint = "edge"\nat = 2026-11-20T14:00:00+01:00\n'
    plan = answer([panel(more)], as_of=at("2026-11-23T09:00:00+01:00"))
    assert plan.status is not Status.INFEASIBLE
    assert any("can no longer be kept" in p.what for p in plan.problems)


@pytest.mark.exact
def test_the_plan_starts_at_the_time_it_is_asked_for(panel: Build) -> None:
    plan = answer([panel()], as_of=at("2026-11-23T09:00:00+01:00"))
    assert plan.steps[0].start == at("2026-11-23T09:00:00+01:00")


@pytest.mark.exact
def test_a_repair_without_a_beginning_says_what_it_needs(panel: Build) -> None:
    with pytest.raises(Unanswerable, match="When does wren-7 begin"):
        answer([panel(opened="")])


@pytest.mark.exact
def test_no_repair_and_no_hours_are_told(panel: Build) -> None:
    with pytest.raises(Unanswerable, match="no repair to plan"):
        answer([])
    with pytest.raises(Unanswerable, match="ends before it starts"):
        answer([panel(shift='shift = ["16:00-08:00"]')])


@pytest.mark.exact
def test_a_shift_too_short_for_the_bead_is_told(panel: Build) -> None:
    plan = answer([panel(shift='shift = ["08:00-08:20", "09:00-09:20"]')])
    assert plan.status is Status.INFEASIBLE
    assert any("without a" in words for words in plan.why)


@pytest.mark.exact
def test_two_repairs_share_one_technician(panel: Build) -> None:
    plan = answer([panel(), panel(name='"wren-8"')])
    assert {ready.repair for ready in plan.ready_for_paint} == {"wren-7", "wren-8"}
    worked = [step for step in plan.steps if step.by is Who.TECHNICIAN]
    for step, following in itertools.pairwise(worked):
        assert step.end <= following.start
    steps = by_id(plan)
    assert len(steps) == len(plan.steps)
    assert "wren-7/hand-over" in steps
    assert all(name in steps for step in plan.steps for name in step.waits_for)
    rivets = next(line for line in plan.kit if "R48" in line.item)
    assert rivets.need == 2 * (10 + 2 + 2)
    assert rivets.have == 40


@pytest.mark.invariant
def test_two_technicians_are_never_slower_than_one(panel: Build, plain: PlanAnswer) -> None:
    two = answer([panel(zone='zone = "Europe/Berlin"\ntechnicians = 2')])
    assert two.ready_for_paint[0].planned <= plain.ready_for_paint[0].planned
    assert {"technician 1", "technician 2"} <= {step.person for step in two.steps}


@pytest.mark.invariant
def test_the_same_facts_have_the_same_plan(panel: Build, plain: PlanAnswer) -> None:
    assert answer([panel()]) == plain


@pytest.mark.exact
def test_a_promise_that_will_not_hold_is_told(panel: Build) -> None:
    promised = NAMED_OPENED + "\npromised = 2026-11-20T15:00:00+01:00"
    plan = answer([panel(opened=promised)])
    assert any(problem.where == "repair.promised" for problem in plan.problems)


NAMED_OPENED = "opened = 2026-11-20T07:30:00+01:00"


@pytest.mark.exact
def test_a_plan_is_made_without_the_rooms_that_cannot_answer(panel: Build) -> None:
    plan = plan_of([Answers(panel(), None, None, None, None, None)])
    assert plan.status is Status.OPTIMAL
    assert any("handling time is not known" in problem.what for problem in plan.problems)
    assert by_id(plan)["cure-edge"].work_minutes == 24 * 60


@pytest.mark.exact
def test_a_heated_joint_without_a_lamp_is_told(panel: Build) -> None:
    more = '[[lamp]]\nid = "l"\n[[heating]]\njoint = "edge"\nlamp = "l"\ndistance = "500 mm"\n'
    more += 'stays = [{ from = "0 min", to = "40 min" }]\n'
    plan = answer([panel(more, zone='zone = "Europe/Berlin"\nlamps = 0')])
    assert any(problem.where == "shop.lamps" for problem in plan.problems)


@pytest.mark.exact
def test_a_repair_of_which_little_is_known_still_has_a_plan() -> None:
    text = '[repair]\nname = "a"\nopened = 2026-11-20T08:00:00+01:00\n[[part]]\nid = "p"\n'
    plan = answer([read(text)])
    assert plan.status is Status.OPTIMAL
    assert "hand-over" in by_id(plan)


@pytest.mark.exact
def test_a_hand_over_that_is_done_is_ready_when_it_was(panel: Build) -> None:
    more = '[[event]]\nkind = "done"\nstep = "hand-over"\nat = 2026-11-23T09:00:00+01:00\n'
    plan = answer([panel(more)])
    assert plan.ready_for_paint[0].p90 == at("2026-11-23T09:00:00+01:00")
    assert not any(name == "hand-over" for name in plan.critical)
