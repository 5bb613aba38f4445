"""Which rivet: procedure, proposal, or a question to the maker."""

from __future__ import annotations

import pytest
from tests.joints.build import JOINT, OLD, PARTS, RIVET, ask, ask_one, without

from panelwright.joints.answer_parts import Origin
from panelwright.joints.choice import proposed_diameter_mm

STRUCTURAL = [PARTS[0], {**PARTS[1], "structural": True}]


# AC 43.13-1B p 4-27, seen: t = 0.032 in, d about 3 t = 0.096 in, next size 1/8 in
@pytest.mark.published
def test_three_times_the_thickness_takes_the_next_size_up() -> None:
    inches = (3 / 32, 1 / 8, 5 / 32, 3 / 16, 1 / 4)
    assert proposed_diameter_mm(0.032, None, inches) == 1 / 8


@pytest.mark.exact
def test_the_usual_diameter_nearest_to_the_old_one_is_proposed() -> None:
    sizes = (2.4, 3.0, 3.2, 4.0, 4.8, 5.0, 6.0, 6.4)
    assert proposed_diameter_mm(1.2, 5.3, sizes) == 4.0
    assert proposed_diameter_mm(1.2, 3.1, sizes) == 3.2  # as near as 3.0: the larger
    assert proposed_diameter_mm(2.0, 5.3, sizes) == 5.0
    assert proposed_diameter_mm(3.0, 5.3, sizes) == 5.0
    assert proposed_diameter_mm(1.2, None, sizes) == 4.0
    assert proposed_diameter_mm(9.0, 5.3, sizes) == 6.4  # nothing as thick as the sheet
    assert proposed_diameter_mm(1.2, 5.3, ()) is None


@pytest.mark.exact
def test_the_procedure_s_rivet_goes_in_even_where_another_fits_better() -> None:
    thin = without(RIVET, id="THIN", grip=["5 mm", "8 mm"])
    joint = ask_one(without(JOINT, remake={"rivet": "THIN"}), rivets=[RIVET, thin])
    assert joint.rivet is not None
    assert joint.rivet.id == "THIN"
    assert joint.origins.rivet is Origin.PROCEDURE
    low = next(check for check in joint.checks if check.what == "stack within grip, low end")
    assert low.ok is False


@pytest.mark.exact
def test_a_rivet_of_the_file_is_proposed_where_the_procedure_is_silent() -> None:
    joint = ask_one(rivets=[RIVET])
    assert joint.rivet is not None
    assert joint.rivet.id == "R48"
    assert joint.origins.rivet is Origin.PROPOSAL
    assert "proposal" in joint.marks


@pytest.mark.exact
def test_a_rivet_as_strong_as_the_old_one_is_proposed_before_a_nearer_one() -> None:
    weak = without(RIVET, id="WEAK", diameter="5.2 mm", shear="2 kN")
    joint = ask_one(rivets=[weak, RIVET])
    assert joint.rivet is not None
    assert joint.rivet.id == "R48"


@pytest.mark.exact
def test_of_two_equal_rivets_the_metal_nearer_to_the_sheets_is_proposed() -> None:
    stainless = without(RIVET, id="A-ST", material="A2/A2")
    joint = ask_one(rivets=[stainless, RIVET])
    assert joint.rivet is not None
    assert joint.rivet.id == "R48"


@pytest.mark.exact
@pytest.mark.parametrize("kind", ["solid rivet", "self-piercing rivet", "bolt"])
def test_what_needs_the_other_side_is_never_proposed(kind: str) -> None:
    joint = ask_one(rivets=[without(RIVET, kind=kind)])
    assert joint.rivet is not None
    assert joint.rivet.id.startswith("ISO 15981")


@pytest.mark.exact
def test_without_a_fitting_rivet_in_the_file_a_standard_size_is_proposed() -> None:
    joint = ask_one()  # stack 1.0 + 1.2 + 0.3 = 2.5 mm; diameter 4.0 (3 × 1.2 = 3.6, next up)
    assert joint.rivet is not None
    assert joint.rivet.id == "ISO 15981 4.0 × 6"
    assert joint.origins.rivet is Origin.PROPOSAL


@pytest.mark.exact
def test_a_stack_that_nothing_clamps_says_so() -> None:
    thick = [{**part, "thickness": "15 mm"} for part in PARTS]
    joint = ask_one(parts=thick)
    assert joint.rivet is None
    assert any("clamps 30.30 mm" in note for note in joint.notes)


@pytest.mark.exact
def test_a_rivet_that_the_file_does_not_declare_is_read_from_its_name() -> None:
    found = ask(without(JOINT, remake={"rivet": "blind rivet 4.8 x 10", "count": 5}))
    (joint,) = found.joints
    assert joint.rivet is not None
    assert joint.rivet.id == "blind rivet 4.8 x 10"
    assert (joint.rivet.diameter_mm, joint.rivet.length_mm) == (4.8, 10.0)
    assert joint.strength.new_kN is None
    problem = next(each for each in found.problems if each.where == "joint[0].remake.rivet")
    assert "declare it with diameter, length, grip" in problem.what


@pytest.mark.exact
def test_a_rivet_whose_name_says_nothing_is_laid_out_for_the_largest() -> None:
    joint = ask_one(without(JOINT, remake={"rivet": "as supplied"}))
    assert joint.rivet is not None
    assert joint.rivet.diameter_mm is None
    assert len(joint.at_mm) == 5
    assert any("laid out for 6.4 mm" in note for note in joint.notes)


@pytest.mark.exact
def test_a_structural_joint_without_procedure_asks_and_proposes_nothing() -> None:
    joint = ask_one(parts=STRUCTURAL, rivets=[RIVET])
    assert joint.from_ is Origin.ASK
    assert (joint.rivet, joint.count, joint.at_mm) == (None, None, ())
    assert (joint.edge_mm, joint.adhesive_ml, joint.adhesive) == (None, None, None)
    assert (joint.strength.new_kN, joint.strength.bond_kN) == (None, None)
    assert len(joint.asks) == 4
    assert "proposal" not in joint.marks


@pytest.mark.exact
def test_a_structural_joint_given_in_full_stands_on_the_procedure() -> None:
    remake = {"rivet": "R48", "count": 5, "adhesive": "E1", "at": OLD["at"]}
    joint = ask_one(without(JOINT, remake=remake), parts=STRUCTURAL, rivets=[RIVET])
    assert joint.from_ is Origin.PROCEDURE
    assert joint.at_mm == (30.0, 80.0, 130.0, 180.0, 230.0)
    assert joint.asks == ()


@pytest.mark.exact
def test_a_structural_joint_without_places_keeps_the_given_and_asks_for_the_rest() -> None:
    remake = {"rivet": "R48", "count": 5, "adhesive": "E1"}
    joint = ask_one(without(JOINT, remake=remake), parts=STRUCTURAL, rivets=[RIVET])
    assert joint.from_ is Origin.PROCEDURE
    assert joint.count == 5
    assert joint.at_mm == ()
    assert joint.origins.positions is Origin.ASK
    assert joint.asks == (
        "where the rivets go: the joint is structural and the procedure gives no places",
    )


@pytest.mark.exact
@pytest.mark.parametrize("left_out", ["rivet", "count", "adhesive"])
def test_a_structural_joint_that_lacks_one_word_asks_the_maker(left_out: str) -> None:
    remake = without({"rivet": "R48", "count": 5, "adhesive": "E1"}, left_out)
    joint = ask_one(without(JOINT, remake=remake), parts=STRUCTURAL, rivets=[RIVET])
    assert joint.from_ is Origin.ASK


@pytest.mark.exact
def test_a_grip_that_ends_before_it_starts_is_named() -> None:
    found = ask(rivets=[without(RIVET, grip=["3 mm", "1 mm"])])
    assert any(each.where == "rivet[0].grip" for each in found.problems)
    assert found.joints[0].rivet is not None
    assert found.joints[0].rivet.id != "R48"
