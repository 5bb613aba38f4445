"""Joints that the maker must be asked about: nothing is drilled before the answer is here."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from panelwright.facts.repair import Repair
from panelwright.plan import answer, plan_of
from panelwright.plan.answer import PlanAnswer, Status, Who
from panelwright.plan.gather import Answers
from panelwright.sources import Basis

Build = Callable[..., Repair]

RAIL = """
[[part]]
id = "rail"
material = "EN AW-6005-T6"
thickness = "2.5 mm"
structural = true
[[joint]]
id = "top"
layers = ["skin", "rail"]
length = "500 mm"
flange = "26 mm"
old = { fastener = "self-piercing rivet", diameter = "5.3 mm", count = 8, adhesive = true }
"""
SAID = "the ready-for-paint time assumes that the maker answers by then"


@pytest.fixture(scope="module")
def silent(panel: Build) -> PlanAnswer:
    """A structural joint on which the procedure says nothing."""
    return answer([panel(RAIL)])


@pytest.mark.exact
def test_the_maker_is_asked_before_the_panel_is_drilled(silent: PlanAnswer) -> None:
    steps = {step.id: step for step in silent.steps}
    ask = steps["ask-maker-top"]
    assert silent.status is Status.OPTIMAL
    assert ask.name.startswith("Ask the maker: joint top")
    assert (ask.by, ask.hold, ask.done) == (Who.LEAD, True, False)
    assert ask.end <= steps["drill-skin"].start
    assert {"ask-maker-top"} <= set(steps["drill-skin"].waits_for) & set(
        steps["close-skin"].waits_for
    )


@pytest.mark.exact
def test_the_wait_for_the_maker_is_marked_as_common_practice(silent: PlanAnswer) -> None:
    steps = {step.id: step for step in silent.steps}
    wait = steps["maker-answers-top"]
    assert (wait.by, wait.people, wait.work_minutes) == (Who.NOBODY, 0, 480)
    assert [source.basis for source in wait.sources] == [Basis.PRACTICE]
    assert steps["question-maker-top"].end <= wait.start
    assert wait.end <= steps["ask-maker-top"].start


@pytest.mark.exact
def test_it_is_said_that_the_time_rests_on_the_answer(silent: PlanAnswer) -> None:
    problem = next(p for p in silent.problems if SAID in p.what)
    ask = next(step for step in silent.steps if step.id == "ask-maker-top")
    assert problem.where == "joint top"
    assert "rivet, count, places, adhesive" in problem.what
    assert f"{ask.start:%a %d %b %H:%M}" in problem.what


@pytest.mark.exact
def test_what_the_maker_has_to_say_is_in_no_list(silent: PlanAnswer) -> None:
    bits = [line.item for line in silent.kit if "drill bit" in line.item]
    assert bits
    assert all(" mm," in item for item in bits)
    rivets = [line for line in silent.kit if "rivet" in line.item]
    assert [(line.item, line.need) for line in rivets] == [("blind rivet R48", 14)]
    assert not any("not chosen" in line.item for line in silent.kit)
    adhesive = next(line for line in silent.kit if "G1" in line.item)
    assert adhesive.for_ == ("edge",)


@pytest.mark.exact
def test_where_only_the_places_are_asked_the_rivets_stay_in_the_list(panel: Build) -> None:
    rail = RAIL + 'remake = { rivet = "R48", count = 8, adhesive = "G1" }\n'
    plan = answer([panel(rail)])
    problem = next(p for p in plan.problems if SAID in p.what)
    assert problem.what.startswith("ask the maker: places.")
    rivets = next(line for line in plan.kit if line.item == "blind rivet R48")
    assert rivets.need == 18 + 2 + 2


@pytest.mark.exact
def test_nothing_is_asked_once_the_answer_is_entered(panel: Build) -> None:
    at = ", ".join(f'"{60 * k + 30} mm"' for k in range(8))
    rail = RAIL + f'remake = {{ rivet = "R48", count = 8, adhesive = "G1", at = [{at}] }}\n'
    plan = answer([panel(rail)])
    assert not any("maker" in step.id for step in plan.steps)
    assert not any(SAID in problem.what for problem in plan.problems)


@pytest.mark.exact
def test_an_unknown_adhesive_of_the_maker_does_not_shorten_the_others(panel: Build) -> None:
    """53 rivets take longer than the work time that is taken where none is known."""
    plan = answer([panel(RAIL, count='remake = { rivet = "R48", count = 45, adhesive = "G1" }')])
    words = [p.what for p in plan.problems if p.where == "joint top"]
    assert any("its adhesive is for the maker to say; planned with 24 h" in text for text in words)
    assert not any("work time" in text for text in words)
    assert not any("Do not start like this" in p.what for p in plan.problems)


@pytest.mark.exact
def test_rivets_whose_number_is_asked_are_in_no_list(panel: Build) -> None:
    plan = answer([panel(RAIL + 'remake = { rivet = "R48", adhesive = "G1" }\n')])
    assert any(p.what.startswith("ask the maker: count, places.") for p in plan.problems)
    assert next(line for line in plan.kit if "R48" in line.item).for_ == ("edge",)


@pytest.mark.exact
def test_a_structural_joint_is_asked_about_where_the_joints_have_no_answer(panel: Build) -> None:
    plan = plan_of([Answers(panel(RAIL), None, None, None, None, None)])
    assert any(step.id == "ask-maker-top" for step in plan.steps)


@pytest.mark.exact
def test_a_joint_without_any_rivet_is_told(panel: Build) -> None:
    more = '[[joint]]\nid = "low"\nlayers = ["skin", "inner"]\nlength = "300 mm"\n'
    more += 'flange = "20 mm"\nold = { fastener = "self-piercing rivet", count = 4 }\n'
    plan = plan_of([Answers(panel(more), None, None, None, None, None)])
    assert any(p.where == "joint low" and "no rivet is chosen" in p.what for p in plan.problems)
    assert not any("ask the maker" in line.item for line in plan.kit if "rivet" in line.item)
