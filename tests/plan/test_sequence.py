"""What comes before what: looks before cuts, parts beneath a panel, closing plates, waits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from panelwright.facts.file import read
from panelwright.facts.repair import Repair
from panelwright.plan import answer, gather
from panelwright.plan.answer import PlanAnswer, PlannedStep, Who
from panelwright.plan.course import Course
from panelwright.plan.question import _job, _now
from panelwright.plan.tasks import Between

Build = Callable[..., Repair]

REAR = """
[[part]]
id = "rear"
state = "replace"
on_hand = true
hides = ["beam"]
[[part]]
id = "beam"
[[joint]]
id = "back"
layers = ["rear", "beam"]
length = "300 mm"
flange = "20 mm"
remake = { rivet = "R48", count = 4, adhesive = "G1" }
"""
SLEEVE = """
[[part]]
id = "post"
state = "section"
section = [{ joint = "post-sleeve" }]
on_hand = true
[[part]]
id = "sleeve"
name = "post sleeve"
state = "replace"
on_hand = true
[[part]]
id = "baffle"
name = "foam baffle"
state = "replace"
on_hand = true
[[part]]
id = "cover"
name = "post cover"
state = "replace"
hides = ["baffle"]
on_hand = true
[[part]]
id = "lamp"
name = "tail lamp"
state = "replace"
on_hand = true
[[joint]]
id = "post-sleeve"
layers = ["post", "sleeve"]
kind = "sleeve"
length = "150 mm"
[[joint]]
id = "cover-edge"
layers = ["cover", "inner"]
length = "300 mm"
flange = "20 mm"
remake = { rivet = "R48", count = 4, adhesive = "G1" }
[[joint]]
id = "lamp-bolts"
layers = ["lamp", "inner"]
kind = "bolt"
"""


def by_id(plan: PlanAnswer) -> dict[str, PlannedStep]:
    return {step.id: step for step in plan.steps}


@pytest.mark.exact
def test_what_was_hidden_is_looked_at_before_the_next_cut(panel: Build) -> None:
    steps = by_id(answer([panel(REAR)]))
    assert steps["lift-off-skin"].end <= steps["inspect-inner"].start
    assert "inspect-inner" in steps["separate-back"].waits_for
    assert steps["inspect-inner"].end <= steps["separate-back"].start
    assert steps["inspect-beam"].start >= steps["lift-off-rear"].end


@pytest.mark.exact
def test_what_is_found_is_approved_before_the_next_cut(panel: Build) -> None:
    finding = '[[finding]]\npart = "inner"\nwhat = "dent"\nstate = "repair"\nafter = "skin"\n'
    finding += "at = 2026-11-20T10:00:00+01:00\n"
    steps = by_id(answer([panel(REAR + finding)]))
    assert steps["lift-off-skin"].done
    assert steps["supplement"].start < steps["separate-back"].start
    assert steps["approval"].end <= steps["separate-back"].start
    assert steps["inspect-all"].start >= steps["lift-off-rear"].end


@pytest.mark.exact
def test_a_finding_of_which_nobody_says_when_comes_before_the_flanges_are_dressed(
    panel: Build,
) -> None:
    steps = by_id(answer([panel(REAR + '[[finding]]\npart = "beam"\nwhat = "dent"\n')]))
    assert steps["approval"].end <= steps["dress-edge"].start
    lost = '[[finding]]\npart = "skin"\nwhat = "torn"\n'
    steps = by_id(answer([panel(REAR + lost)]))
    assert steps["inspect-all"].end <= steps["supplement"].start


@pytest.mark.exact
def test_the_looks_of_a_demonstration_come_at_their_moment(examples: Path) -> None:
    """Without events and readings nothing is done yet: every look is still to come."""
    whole = read((examples / "heron.toml").read_text(encoding="utf-8"))
    plan = answer([replace(whole, events=(), readings=())])
    assert not any(step.done for step in plan.steps)
    steps = by_id(plan)
    for look, off, cut in (
        ("inspect-post", "take-off-trim", "unbolt-bumper-bolts"),
        ("inspect-sill", "take-off-bumper", "unbolt-lamp-bolts"),
        ("inspect-rail", "lift-off-outer", "separate-closing-plate"),
        ("inspect-wheelhouse", "lift-off-outer", "separate-closing-plate"),
    ):
        assert steps[off].end <= steps[look].start, look
        assert steps[look].end <= steps[cut].start, look


@pytest.mark.exact
def test_a_part_beneath_a_panel_is_fitted_with_it_and_not_refitted(panel: Build) -> None:
    steps = by_id(answer([panel(SLEEVE)]))
    for part, panel_on in (("sleeve", "post"), ("baffle", "cover")):
        assert f"fit-closures-{part}" not in steps
        assert f"final-assembly-{part}" not in steps
        assert steps[f"fit-under-{part}"].end <= steps[f"close-{panel_on}"].start
    assert {"fit-closures-lamp", "final-assembly-lamp", "take-off-lamp"} <= set(steps)
    assert steps["fit-under-baffle"].end <= steps["bead-cover"].start


@pytest.mark.exact
def test_closing_plates_and_foam_come_before_the_closures(examples: Path) -> None:
    steps = by_id(answer([read((examples / "heron.toml").read_text(encoding="utf-8"))]))
    refits = [step for id_, step in steps.items() if id_.startswith("fit-closures")]
    assert refits
    for before in ("closing-plates", "foam", "pads-outer", "sealer-skin-outer"):
        assert all(steps[before].end <= step.start for step in refits), before


@pytest.mark.exact
def test_closing_plates_come_before_the_final_fit_where_nothing_is_refitted(panel: Build) -> None:
    steps = by_id(answer([panel()]))
    assert "closing-plates" in steps["final-fit"].waits_for
    assert steps["closing-plates"].end <= steps["final-fit"].start


@pytest.mark.exact
def test_the_sealers_wait_is_tied_to_the_end_of_sealing(panel: Build) -> None:
    answers = gather(panel())
    job = _job(Course(answers), _now(answers.repair, [answers], None))
    ties = {(lag.before, lag.after, lag.between) for lag in job.plan.lags if lag.most == 0}
    assert ("seal-skin", "sealer-skin-skin", Between.END_START) in ties


@pytest.mark.invariant
@pytest.mark.parametrize(
    "name", ["heron.toml", "heron-moved.toml", "heron-found.toml", "box-side-inches.toml"]
)
def test_a_wait_begins_when_what_it_waits_for_ends(examples: Path, name: str) -> None:
    plan = answer([read((examples / name).read_text(encoding="utf-8"))])
    steps = by_id(plan)
    skins = [step for step in plan.steps if step.short == "Wait: sealer" and not step.done]
    assert skins
    for skin in skins:
        assert skin.start == max(steps[before].end for before in skin.waits_for)


@pytest.mark.exact
def test_a_wait_of_the_shops_own_begins_at_once(panel: Build) -> None:
    own = '[[step]]\nid = "dry"\nname = "primer dries"\nwho = "nobody"\nhours = 1\n'
    steps = by_id(answer([panel(own + 'after = ["seal-skin"]\n')]))
    assert steps["dry"].by is Who.NOBODY
    assert steps["dry"].start == steps["seal-skin"].end


@pytest.mark.exact
def test_only_a_small_panel_is_handled_by_one_person(panel: Build) -> None:
    small = by_id(answer([panel(on_hand='on_hand = true\narea = "0.12 m2"')]))
    large = by_id(answer([panel(on_hand='on_hand = true\narea = "1.2 m2"')]))
    unknown = by_id(answer([panel()]))
    people = [steps["lift-off-skin"].people for steps in (small, large, unknown)]
    assert people == [1, 2, 2]
