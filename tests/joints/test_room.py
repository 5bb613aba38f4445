"""The whole answer for one joint, and what is wrong said in words."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.joints.build import ADHESIVE, JOINT, OLD, PARTS, RIVET, ask, ask_one, without

from panelwright.errors import Unanswerable
from panelwright.facts.file import document_from
from panelwright.facts.repair import repair_of
from panelwright.joints import answer
from panelwright.joints.answer import JointAnswer
from panelwright.joints.answer_parts import Check, LayoutStatus, Origin, Weight
from panelwright.joints.resistance_thin_sheet import ThinLap, bearing_resistance_en1999_1_4


def check(joint: JointAnswer, what: str, limit: float | None = None) -> Check:
    """The check with this name, and with this limit where one is told."""
    (found,) = [
        each
        for each in joint.checks
        if each.what == what
        and (limit is None or (each.limit is not None and math.isclose(each.limit, limit)))
    ]
    return found


def wheres(found: Any) -> dict[str, str]:
    return {each.where: each.what for each in found.problems}


@pytest.mark.exact
def test_a_plain_joint_is_answered_in_full() -> None:
    joint = ask_one(rivets=[RIVET])
    assert joint.count == 5
    assert joint.at_mm == (41.0, 91.0, 141.0, 191.0, 241.0)  # 2 × 5.3 = 10.6 mm beside the old
    assert joint.edge_mm == 9.0
    assert (joint.pitch_mm.min, joint.pitch_mm.max) == (50.0, 50.0)
    assert joint.stack_mm == pytest.approx(2.5)
    assert joint.layout is LayoutStatus.WIDE
    assert joint.adhesive_ml == pytest.approx(260 * 18 * 0.3 / 1000 * 1.2 + 2.0)
    assert joint.from_ is Origin.PROPOSAL


@pytest.mark.second_route
def test_strength_is_the_number_times_the_weakest_resistance() -> None:
    joint = ask_one(rivets=[RIVET])
    # 6016-T4 as delivered 170 MPa, lower than 5754-O 220 MPa (reference §6); EN 1999-1-4 governs
    bearing = bearing_resistance_en1999_1_4(ThinLap(1.0, 1.2, 4.8, 170.0))
    assert joint.strength.new_kN == pytest.approx(5 * bearing / 1000.0)
    assert joint.strength.old_kN == pytest.approx(5 * 3.5)
    assert joint.strength.old_estimate_kN is None
    assert joint.strength.ratio == pytest.approx(5 * bearing / 17500.0)
    assert "EN 1999-1-4" in joint.strength.governs
    assert joint.strength.new_characteristic_kN == pytest.approx(1.25 * 5 * bearing / 1000.0)
    # 260 × 18 mm × 20 MPa, beside the rivets
    assert joint.strength.bond_kN == pytest.approx(93.6)


@pytest.mark.exact
def test_the_weaker_of_two_sheets_counts_whichever_lies_outside() -> None:
    strong = {**PARTS[0], "material": "EN AW-5182-O", "thickness": "1.2 mm"}
    one = ask_one(parts=[strong, PARTS[1]], rivets=[RIVET])
    other = ask_one(
        without(JOINT, layers=["inner", "outer"]), parts=[strong, PARTS[1]], rivets=[RIVET]
    )
    bearing = bearing_resistance_en1999_1_4(ThinLap(1.2, 1.2, 4.8, 220.0))  # 5754-O
    assert one.strength.new_kN == pytest.approx(5 * bearing / 1000.0)
    assert other.strength.new_kN == pytest.approx(one.strength.new_kN)


@pytest.mark.exact
def test_a_weak_rivet_governs_with_the_partial_factor_taken_off() -> None:
    joint = ask_one(rivets=[without(RIVET, shear="0.5 kN")])
    assert joint.strength.governs == "rivet shear, declared"
    assert joint.strength.new_kN == pytest.approx(5 * 0.5 / 1.25)


@pytest.mark.exact
def test_old_strength_not_given_is_a_band_and_never_a_figure() -> None:
    joint = ask_one(without(JOINT, old=without(OLD, "strength")), rivets=[RIVET])
    assert joint.strength.old_kN is None
    assert joint.strength.ratio is None
    band, against = joint.strength.old_estimate_kN, joint.strength.ratio_estimate
    assert band is not None
    assert against is not None
    assert 0.0 < band.low < band.high
    assert against.low < against.high


@pytest.mark.second_route
def test_the_estimate_overlaps_what_is_recalled_of_self_piercing_rivets() -> None:
    # 5754, 2 + 2 mm, 5.3 mm rivet: 5.5 to 7 kN in lap shear (reference §5, memory, low)
    parts = [{**part, "material": "EN AW-5754-O", "thickness": "2 mm"} for part in PARTS]
    old = without(OLD, "strength", "at", count=1)
    joint = ask_one(without(JOINT, old=old), parts=parts, rivets=[RIVET])
    band = joint.strength.old_estimate_kN
    assert band is not None
    assert band.low <= 7.0
    assert band.high >= 5.5


@pytest.mark.exact
def test_a_new_panel_is_taken_as_delivered_and_a_kept_one_as_baked() -> None:
    parts = [PARTS[0], {**PARTS[1], "material": "EN AW-6016-T4"}]
    notes = ask_one(parts=parts, rivets=[RIVET]).strength.notes
    assert any("6016-T4, as delivered" in note for note in notes)
    assert any("6016-T6, bake-hardened" in note for note in notes)
    assert any("not added" in note for note in notes)


@pytest.mark.exact
def test_edge_distance_is_held_against_four_rules_by_name() -> None:
    joint = ask_one(rivets=[RIVET])  # 9.0 mm, d 4.8, hole 4.9 (reference §3.3)
    verdicts = {
        round(each.limit or 0.0, 2): (each.ok, each.weight)
        for each in joint.checks
        if each.what == "edge distance"
    }
    assert verdicts == {
        5.88: (True, Weight.LIMIT),
        7.2: (True, Weight.LIMIT),
        9.6: (False, Weight.GUIDANCE),
        12.0: (False, Weight.GUIDANCE),
    }


@pytest.mark.exact
def test_every_check_names_a_source_and_information_is_not_judged() -> None:
    for each in ask_one(rivets=[RIVET]).checks:
        assert each.source
        if each.weight is Weight.INFORMATION:
            assert each.ok is None


@pytest.mark.exact
def test_a_rule_outside_its_range_is_flagged_and_not_counted() -> None:
    big = without(RIVET, "head_diameter", "hole", diameter="8 mm")
    joint = ask_one(without(JOINT, flange="40 mm", remake={"rivet": "R48"}), rivets=[big])
    flagged = [each for each in joint.checks if not each.valid]
    assert flagged
    assert all(each.ok is None for each in flagged)
    assert "outside 2.6 to 6.4 mm" in flagged[0].note
    assert joint.strength.new_kN is None


@pytest.mark.exact
def test_procedure_is_checked_and_never_overridden() -> None:
    remake = {"rivet": "R48", "count": 3, "adhesive": "E1", "at": [250, 20, 25]}
    joint = ask_one(without(JOINT, remake=remake), rivets=[RIVET])
    assert joint.count == 3
    assert joint.at_mm == (20.0, 25.0, 250.0)
    assert joint.layout is LayoutStatus.GIVEN
    assert joint.from_ is Origin.PROCEDURE
    assert check(joint, "number of rivets").ok is False
    assert check(joint, "smallest pitch", 14.4).ok is False
    assert check(joint, "distance from old holes").ok is False


@pytest.mark.exact
def test_the_procedure_s_number_is_spread_along_the_old_row() -> None:
    remake = {"rivet": "R48", "count": 9}
    joint = ask_one(without(JOINT, remake=remake), rivets=[RIVET])
    assert joint.count == 9
    assert len(joint.at_mm) == 9
    assert joint.origins.count is Origin.PROCEDURE
    assert joint.origins.positions is Origin.PROPOSAL


@pytest.mark.exact
def test_places_and_number_of_the_procedure_that_disagree_are_a_problem() -> None:
    remake = {"rivet": "R48", "count": 4, "at": [50, 900]}
    found = wheres(ask(without(JOINT, remake=remake), rivets=[RIVET]))
    assert "joint[0].remake.at" in found


@pytest.mark.exact
def test_metals_that_pass_still_do_not_mean_no_isolation() -> None:
    steel = [PARTS[0], {**PARTS[1], "material": "steel DC04"}]
    row = check(ask_one(parts=steel, rivets=[RIVET]), "metals in contact, anodic index")
    assert row.ok is True
    assert row.value == 0.05
    assert "does not mean that nothing need be isolated" in row.note
    assert "MIL-STD-889" in row.note


@pytest.mark.exact
def test_a_steel_mandrel_in_an_aluminium_rivet_is_told() -> None:
    joint = ask_one(rivets=[without(RIVET, material="AlA/St")])
    assert any("mandrel that stays" in note for note in joint.notes)


@pytest.mark.exact
def test_a_bonded_joint_gets_adhesive_and_no_rivets() -> None:
    joint = ask_one(without(JOINT, "old", kind="bond"))
    assert (joint.rivet, joint.count, joint.at_mm) == (None, 0, ())
    assert joint.origins.rivet is Origin.NONE
    assert joint.adhesive_ml is not None
    assert joint.adhesive_ml > 2.0


@pytest.mark.exact
def test_bolted_and_welded_joints_are_listed_with_a_word() -> None:
    found = ask(without(JOINT, kind="bolt"))
    assert found.joints == ()
    (other,) = found.others
    assert (other.id, other.kind) == ("arch", "bolt")
    assert "by the procedure" in other.why


@pytest.mark.exact
def test_a_sectioned_part_remakes_its_stretch_only() -> None:
    cut = {"joint": "arch", "from": "100 mm", "to": "200 mm"}
    parts = [{**PARTS[0], "state": "section", "section": [cut]}, PARTS[1]]
    joint = ask_one(parts=parts, rivets=[RIVET])
    assert joint.opened_mm == (100.0, 200.0)
    assert joint.count == 2  # 130 and 180 mm
    assert all(100.0 < at < 200.0 for at in joint.at_mm)
    assert joint.adhesive_ml == pytest.approx(100 * 18 * 0.3 / 1000 * 1.2 + 2.0)


@pytest.mark.exact
def test_needs_hold_spare_rivets_and_the_adhesive() -> None:
    found = ask(rivets=[RIVET])
    rivets = found.needs[0]
    assert (rivets.id, rivets.quantity, rivets.unit) == ("R48", 7.0, "pieces")
    adhesive = found.needs[1]
    assert (adhesive.id, adhesive.unit) == ("E1", "ml")
    assert adhesive.quantity == found.joints[0].adhesive_ml


@pytest.mark.exact
def test_no_joint_at_all_says_what_to_give() -> None:
    empty = repair_of(document_from({"format": 1, "part": [{"id": "outer"}]}))
    with pytest.raises(Unanswerable, match="no joint"):
        answer(empty)


# --- What is missing or wrong is said with its place ---------------------------------------------


@pytest.mark.exact
def test_a_missing_thickness_names_the_part_and_what_can_still_be_said() -> None:
    found = ask(parts=[PARTS[0], without(PARTS[1], "thickness")], rivets=[RIVET])
    assert "measure it with a caliper" in wheres(found)["part[1].thickness"]
    (joint,) = found.joints
    assert joint.stack_mm is None
    assert joint.strength.new_kN is None
    assert joint.count == 5  # places need no thickness
    assert joint.origins.rivet is Origin.MISSING


@pytest.mark.exact
def test_a_missing_length_leaves_out_places_and_adhesive() -> None:
    found = ask(without(JOINT, "length"), rivets=[RIVET])
    assert "joint[0].length" in wheres(found)
    (joint,) = found.joints
    assert (joint.at_mm, joint.adhesive_ml, joint.count) == ((), None, 5)
    assert joint.rivet is not None


@pytest.mark.exact
def test_a_missing_flange_leaves_out_edge_bond_and_adhesive() -> None:
    found = ask(without(JOINT, "flange"), rivets=[RIVET])
    assert "joint[0].flange" in wheres(found)
    (joint,) = found.joints
    assert (joint.edge_mm, joint.adhesive_ml, joint.strength.bond_kN) == (None, None, None)
    assert joint.strength.new_kN is None
    assert len(joint.at_mm) == 5


@pytest.mark.exact
def test_an_old_row_nobody_counted_is_asked_for() -> None:
    found = ask(without(JOINT, "old"), rivets=[RIVET])
    assert "count them on the old flange" in wheres(found)["joint[0].old.count"]
    assert found.joints[0].count is None
    assert found.joints[0].rivet is not None


@pytest.mark.exact
def test_an_old_place_beyond_the_joint_is_named() -> None:
    old = without(OLD, at=["30 mm", "80 mm", "900 mm"], count=3)
    assert "joint[0].old.at[2]" in wheres(ask(without(JOINT, old=old)))


@pytest.mark.exact
def test_an_unknown_material_names_those_that_are_known() -> None:
    found = ask(parts=[{**PARTS[0], "material": "unobtainium"}, PARTS[1]], rivets=[RIVET])
    assert "EN AW-6016-T4" in wheres(found)["part[0].material"]
    assert found.joints[0].strength.new_kN is None
    assert len(found.joints[0].at_mm) == 5


@pytest.mark.exact
def test_stretches_to_avoid_that_leave_no_room_say_what_is_in_the_way() -> None:
    found = ask(without(JOINT, avoid=[["0 mm", "260 mm"]]), rivets=[RIVET])
    words = wheres(found)["joint[0]"]
    assert "5 rivets have no room on 'arch', none fits" in words
    assert "the stretches to avoid" in words
    (joint,) = found.joints
    assert joint.layout is LayoutStatus.INFEASIBLE
    assert joint.at_mm == ()
    assert joint.count == 5


@pytest.mark.exact
def test_a_short_joint_gives_up_the_wide_end_distance_and_says_so() -> None:
    # 45 mm, rivet 4.8: ends 7.2 mm by the standards leave 7.5 to 37.5; 2 D leaves 10 to 35
    old = {"diameter": "4.8 mm", "count": 2, "at": ["18 mm", "27 mm"]}
    joint = ask_one(without(JOINT, length="45 mm", old=old), rivets=[RIVET])
    assert joint.layout is LayoutStatus.MINIMUM
    assert joint.at_mm == (8.0, 37.0)
    assert any("twice the diameter" in note for note in joint.notes)


@pytest.mark.exact
def test_where_there_is_room_a_rivet_keeps_twice_its_diameter_from_the_ends() -> None:
    old = without(OLD, count=1, at=["2 mm"])
    joint = ask_one(without(JOINT, old=old), rivets=[RIVET])
    # 2 D is 9.6 mm, but 10.6 mm beside the old hole at 2 mm is 12.6, so 13.0 on the grid
    assert joint.at_mm == (13.0,)
    bare = ask_one(
        without(JOINT, old={"count": 1, "at": ["0 mm"], "diameter": "2 mm"}), rivets=[RIVET]
    )
    # 2 × 4.9 = 9.8 mm beside it, 2 D = 9.6 mm from the end: 10.0
    assert bare.at_mm == (10.0,)
    thick = without(RIVET, diameter="6.0 mm", hole="5.0 mm")
    wide = ask_one(
        without(JOINT, old={"count": 1, "at": ["0 mm"], "diameter": "2 mm"}), rivets=[thick]
    )
    # the end, 2 × 6 = 12 mm, and not the old hole, 2 × 5 = 10 mm, holds it back
    assert wide.at_mm == (12.0,)


@pytest.mark.exact
def test_one_layer_alone_is_no_joint() -> None:
    found = ask(without(JOINT, layers=["outer"]), rivets=[RIVET])
    assert "a joint holds two or more" in wheres(found)["joint[0].layers"]


@pytest.mark.exact
def test_the_body_as_a_layer_asks_for_its_piece() -> None:
    found = ask(without(JOINT, layers=["outer", "body"]), rivets=[RIVET])
    assert "the body has no thickness" in wheres(found)["joint[0].layers"]


@pytest.mark.exact
def test_a_joint_that_nobody_touches_raises_no_problem() -> None:
    kept = [without(part, "thickness", "state") for part in PARTS]
    assert ask({"id": "arch", "layers": ["outer", "inner"]}, parts=kept).problems == ()


# --- Whatever is asked ---------------------------------------------------------------------------

lengths = st.integers(30, 900)


@st.composite
def joints(draw: st.DrawFn) -> dict[str, Any]:
    length = draw(lengths)
    at = draw(st.lists(st.integers(0, 950), max_size=8))
    old = {"diameter": draw(st.sampled_from([4.0, 5.3, 6.0]))}
    if draw(st.booleans()):
        old["count"] = draw(st.integers(0, 20))
    joint = without(JOINT, "old", length=length, flange=draw(st.integers(4, 60)))
    joint["old"] = {**old, "at": at}
    joint["avoid"] = draw(st.lists(st.tuples(st.integers(0, 950), st.integers(0, 950)), max_size=2))
    return joint


@pytest.mark.invariant
@settings(max_examples=80)
@given(joints(), st.booleans())
def test_a_proposal_never_has_fewer_rivets_and_keeps_its_own_rules(
    joint: dict[str, Any], declared: bool
) -> None:
    found = ask_one(joint, rivets=[RIVET] if declared else [])
    old = joint["old"]
    if found.count is not None:
        on_the_joint = {at for at in old["at"] if at <= joint["length"]}
        assert found.count >= max(old.get("count", 0), len(on_the_joint))
    assert list(found.at_mm) == sorted(found.at_mm)
    if found.at_mm:
        assert len(found.at_mm) == found.count
        placed = ("smallest pitch", "heads off stretches to avoid", "distance from old holes")
        kept = [each for each in found.checks if each.what in placed]
        kept += [each for each in found.checks if each.what == "distance from the joint's end"]
        assert all(each.ok is not False for each in kept if each.weight is Weight.LIMIT)
        assert check(found, "distance from old holes").ok if found.old_at_mm else True


@pytest.mark.invariant
def test_the_same_joint_in_inches_is_put_back_the_same_way() -> None:
    def inches(mm: float) -> str:
        return f"{mm / 25.4:.10f} in"

    joint = without(
        JOINT,
        length=inches(260.0),
        flange=inches(18.0),
        old={**OLD, "diameter": inches(5.3), "at": [inches(30.0 + 50.0 * k) for k in range(5)]},
    )
    parts = [{**part, "thickness": inches(float(part["thickness"][:3]))} for part in PARTS]
    metric, imperial = ask_one(rivets=[RIVET]), ask_one(joint, parts=parts, rivets=[RIVET])
    assert metric.at_mm == imperial.at_mm
    assert metric.adhesive_ml == pytest.approx(imperial.adhesive_ml, rel=1e-6)
    assert metric.strength.new_kN == pytest.approx(imperial.strength.new_kN, rel=1e-6)
    assert [each.ok for each in metric.checks] == [each.ok for each in imperial.checks]


@pytest.mark.invariant
def test_thicker_sheets_and_more_rivets_are_never_weaker() -> None:
    base = ask_one(rivets=[RIVET]).strength.new_kN
    thick = [{**part, "thickness": "1.4 mm"} for part in PARTS]
    thicker = ask_one(parts=thick, rivets=[RIVET]).strength.new_kN
    more = ask_one(without(JOINT, remake={"count": 7}), rivets=[RIVET]).strength.new_kN
    assert base is not None
    assert thicker is not None
    assert more is not None
    assert thicker > base
    assert more == pytest.approx(7 / 5 * base)


@pytest.mark.exact
def test_an_adhesive_the_file_does_not_declare_still_has_an_amount() -> None:
    joint = ask_one(adhesives=[], rivets=[RIVET])
    assert joint.origins.adhesive is Origin.MISSING
    assert joint.adhesive_ml is not None
    assert any("declare it as [[adhesive]]" in note for note in joint.notes)
    assert ask_one(adhesives=[ADHESIVE]).origins.adhesive is Origin.PROPOSAL


@pytest.mark.exact
@pytest.mark.parametrize("count", [10**9, 3000, 300])
def test_a_number_that_cannot_be_is_refused_in_words_at_once(count: int) -> None:
    for joint in (
        without(JOINT, old={"count": count}),
        without(JOINT, old={"count": count, "at": [10, 20]}),
        without(JOINT, remake={"count": count}),
    ):
        found = ask(joint, rivets=[RIVET])
        assert "have no room" in wheres(found)["joint[0]"]
        assert found.joints[0].count == count
    assert "count again" in wheres(ask(without(JOINT, old={"count": count})))["joint[0].old.count"]


@pytest.mark.exact
def test_the_stack_s_spread_comes_mostly_from_the_bond_line() -> None:
    joint = ask_one(rivets=[RIVET])
    assert joint.stack_u_mm == pytest.approx(math.sqrt(2 * 0.03**2 + 0.09**2))
    name, share = joint.stack_shares[0]
    assert name == "bond line"
    assert share == pytest.approx(0.0081 / 0.0099)
    assert sum(part for _, part in joint.stack_shares) == pytest.approx(1.0)


@pytest.mark.exact
def test_a_bonded_old_joint_says_that_only_fasteners_are_compared() -> None:
    assert any("bonded too" in note for note in ask_one(rivets=[RIVET]).strength.notes)
