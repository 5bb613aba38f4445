"""Teardown of a van corner, by hand, and what it says where the file is odd."""

from __future__ import annotations

import json

import pytest

from panelwright.cli.pages.teardown import page
from panelwright.errors import Unanswerable
from panelwright.facts.file import read
from panelwright.facts.models.parts import JointKind
from panelwright.quantities import Units
from panelwright.tables import load
from panelwright.teardown import answer
from panelwright.teardown.answer import Action, Answer, Stretch
from panelwright.teardown.carried import kind_of
from panelwright.teardown.published import as_json

CORNER = """
[repair]
name = "corner"
[vehicle]
drive = "battery"
[procedure]
reference = "left rear corner"
revision = "3"
[[part]]
id = "outer"
name = "left rear outer panel"
state = "replace"
hides = ["wheelhouse", "closing plate"]
carries = ["corner radar", "wiring loom", "cavity foam", "side airbag sensor"]
[[part]]
id = "wheelhouse"
state = "inspect"
structural = true
hides = ["rail"]
[[part]]
id = "closing plate"
[[part]]
id = "rail"
structural = true
[[part]]
id = "bumper"
name = "rear bumper"
hides = ["outer"]
mass = 18
[[part]]
id = "lamp"
[[part]]
id = "roof"
[[joint]]
id = "arch"
layers = ["outer", "wheelhouse"]
old = { fastener = "self-piercing rivet", diameter = "5.3 mm", count = 15, adhesive = true }
[[joint]]
id = "roof seam"
layers = ["roof", "outer"]
kind = "hem"
[[joint]]
id = "roof rail"
layers = ["roof", "body"]
kind = "bond"
[[joint]]
id = "rail seam"
layers = ["wheelhouse", "rail"]
[[joint]]
id = "lamp bolts"
layers = ["lamp", "outer"]
kind = "bolt"
[[joint]]
id = "bumper bolts"
layers = ["bumper", "rail"]
kind = "bolt"
"""


def asked(text: str) -> Answer:
    return answer(read(text))


@pytest.mark.exact
def test_the_corner_comes_off_bumper_lamp_outer_and_the_rail_stays_shut() -> None:
    found = asked(CORNER)
    assert found.order == ("bumper", "lamp", "outer")
    assert found.open == ("bumper bolts", "lamp bolts", "arch", "roof seam")
    assert found.refit == ("bumper", "lamp")
    assert [removal.action for removal in found.removals] == [
        Action.REFIT,
        Action.REFIT,
        Action.REPLACE,
    ]
    assert found.problems == ()


@pytest.mark.exact
def test_what_the_outer_panel_hides_is_looked_at_when_it_is_off() -> None:
    looks = {look.part: look for look in asked(CORNER).look}
    assert list(looks) == ["wheelhouse", "closing plate"]
    assert looks["wheelhouse"].after == "outer"
    assert looks["wheelhouse"].asked
    assert looks["closing plate"].after == "outer"
    assert not looks["closing plate"].asked


@pytest.mark.exact
def test_a_layer_on_top_that_stays_is_released_not_taken_off() -> None:
    (released,) = asked(CORNER).released
    assert (released.joint, released.stays, released.comes_off) == ("roof seam", "roof", "outer")


@pytest.mark.exact
def test_a_finding_on_the_wheelhouse_opens_its_joints_and_shows_the_rail() -> None:
    text = CORNER + '[[finding]]\npart = "wheelhouse"\nwhat = "torn"\nstate = "replace"\n'
    found = asked(text)
    assert found.order == ("bumper", "lamp", "outer", "wheelhouse")
    assert found.open == ("bumper bolts", "lamp bolts", "arch", "roof seam", "rail seam")
    assert [(look.part, look.after) for look in found.look] == [
        ("closing plate", "outer"),
        ("rail", "wheelhouse"),
    ]


@pytest.mark.exact
def test_a_finding_without_state_stays_beside_the_look() -> None:
    found = asked(CORNER + '[[finding]]\npart = "wheelhouse"\nwhat = "scratch"\n')
    assert found.look[0].found == ("scratch",)
    assert "wheelhouse, found: scratch" in page(found, Units.MM)


@pytest.mark.exact
def test_repairing_opens_none() -> None:
    found = asked('[[part]]\nid = "a"\nstate = "repair"\n[[joint]]\nid = "j"\nlayers = ["a"]\n')
    assert (found.open, found.order, found.look) == ((), (), ())
    assert page(found, Units.MM).startswith("Nothing has to come off: repair it in place.")


@pytest.mark.exact
def test_a_hidden_part_to_repair_brings_its_hider_off() -> None:
    found = asked(
        '[[part]]\nid = "a"\nhides = ["b"]\n[[part]]\nid = "b"\nstate = "repair"\n'
        '[[joint]]\nid = "j"\nlayers = ["a", "body"]\n[[joint]]\nid = "k"\nlayers = ["b", "body"]\n'
    )
    assert (found.open, found.order, found.refit) == (("j",), ("a",), ("a",))


@pytest.mark.exact
def test_an_unhidden_part_to_inspect_is_looked_at_now() -> None:
    found = asked('[[part]]\nid = "a"\nstate = "inspect"\n')
    assert found.order == ()
    assert found.look[0].after is None
    assert page(found, Units.MM).startswith("Inspect a now: nothing hides it.")


SECTION = """
[[part]]
id = "a"
state = "section"
section = [{ joint = "j", from = "100 mm", to = "400 mm" }, { joint = "k" }]
[[joint]]
id = "j"
layers = ["a", "body"]
length = "760 mm"
[[joint]]
id = "k"
layers = ["a", "body"]
kind = "sleeve"
[[joint]]
id = "shut"
layers = ["a", "body"]
"""


@pytest.mark.exact
def test_sectioning_opens_the_stretches_named_and_no_other_joint() -> None:
    found = asked(SECTION)
    assert found.open == ("j", "k")
    assert found.separations[0].stretches == (Stretch(100.0, 400.0),)
    assert found.separations[1].stretches == ()
    assert "from 100.0 mm to 400.0 mm only" in page(found, Units.MM)


@pytest.mark.invariant
def test_stretches_in_inches_are_the_same_stretches() -> None:
    inches = SECTION.replace("100 mm", "10 in").replace("400 mm", "20 in")
    metric = SECTION.replace("100 mm", "254 mm").replace("400 mm", "508 mm")
    assert asked(inches) == asked(metric)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("section", "words"),
    [
        ("[]", "no stretch is named"),
        ('[{ joint = "j", from = "700 mm", to = "800 mm" }]', "but the joint is 760 mm long"),
        ('[{ joint = "j", from = "400 mm", to = "100 mm" }]', "swap them"),
        ('[{ joint = "nowhere" }]', "does not hold it"),
    ],
)
def test_a_section_that_cannot_be_is_a_problem_in_words(section: str, words: str) -> None:
    start, end = SECTION.index("section = ["), SECTION.index("\n[[joint]]")
    found = asked(SECTION[:start] + f"section = {section}" + SECTION[end:])
    assert any(words in problem.what for problem in found.problems)


@pytest.mark.exact
def test_parts_that_hide_each_other_are_named_in_words_and_still_ordered() -> None:
    found = asked(
        '[[part]]\nid = "outer"\nstate = "replace"\nhides = ["wheelhouse"]\n'
        '[[part]]\nid = "wheelhouse"\nhides = ["outer"]\n'
    )
    assert found.cycles == ("outer hides wheelhouse hides outer",)
    assert sorted(found.order) == ["outer", "wheelhouse"]


@pytest.mark.exact
def test_parts_that_lie_over_each_other_come_off_together() -> None:
    found = asked(
        '[[part]]\nid = "a"\nstate = "replace"\n[[part]]\nid = "b"\nstate = "replace"\n'
        '[[joint]]\nid = "j"\nlayers = ["a", "b"]\n[[joint]]\nid = "k"\nlayers = ["b", "a"]\n'
    )
    assert found.order == ("a", "b")
    assert found.cycles == ()
    assert found.together[0].startswith("a lies over b lies over a: open all joints")


@pytest.mark.exact
def test_the_outer_layer_of_a_stack_comes_off_before_the_inner_ones() -> None:
    parts = "".join(f'[[part]]\nid = "{name}"\nstate = "replace"\n' for name in "cba")
    found = asked(parts + '[[joint]]\nid = "j"\nlayers = ["a", "b", "c"]\n')
    assert found.order == ("a", "b", "c")
    assert found.separations[0].frees == ("a", "b", "c")


@pytest.mark.exact
def test_names_of_parts_that_are_not_there_are_problems_and_no_crash() -> None:
    found = asked(
        '[[part]]\nid = "a"\nstate = "replace"\nhides = ["ghost", "a"]\n'
        '[[joint]]\nid = "j"\nlayers = ["phantom", "a", "body"]\n'
    )
    assert (found.order, found.open) == (("a",), ("j",))
    words = " ".join(problem.what for problem in found.problems)
    assert "'ghost'" in words
    assert "'phantom'" in words
    assert "'body'" not in words
    assert "hides itself" in words


@pytest.mark.exact
@pytest.mark.parametrize(
    ("text", "words"),
    [("", "No part is named"), ('[[part]]\nid = "a"\n', 'every state is "keep"')],
)
def test_without_damage_it_says_what_is_missing(text: str, words: str) -> None:
    with pytest.raises(Unanswerable, match=words):
        asked(text)


@pytest.mark.exact
def test_a_roof_left_without_hold_is_a_problem() -> None:
    text = CORNER.replace('layers = ["roof", "body"]', 'layers = ["outer", "body"]')
    assert [problem.where for problem in asked(text).problems] == ["part roof"]


@pytest.mark.exact
def test_high_voltage_comes_before_everything() -> None:
    assert asked(CORNER).first[0].startswith("High voltage")
    unknown = asked(CORNER.replace('drive = "battery"', ""))
    assert unknown.first[0].startswith("Drive not given: until it is known")
    burner = asked(CORNER.replace('"battery"', '"combustion"'))
    assert not any("High voltage" in words for words in burner.first)


@pytest.mark.exact
def test_a_restraint_part_among_the_carried_is_made_safe_first() -> None:
    assert any(words.startswith("Restraint system made safe") for words in asked(CORNER).first)


@pytest.mark.exact
def test_a_structural_joint_without_procedure_offers_nothing() -> None:
    arch = next(joint for joint in asked(CORNER).separations if joint.joint == "arch")
    assert any("press them out" in words for words in arch.how)
    assert arch.cautions[0].startswith("Structural (wheelhouse)")
    silent = asked(CORNER.replace('reference = "left rear corner"', ""))
    arch = next(joint for joint in silent.separations if joint.joint == "arch")
    assert [words for words in arch.how if "press" in words or "Soften" in words] == []
    assert any("ask the maker" in words for words in arch.how)


@pytest.mark.exact
def test_self_piercing_rivets_are_not_drilled_and_blind_ones_are() -> None:
    def how(fastener: str) -> str:
        text = CORNER.replace("self-piercing rivet", fastener)
        return " ".join(next(j for j in asked(text).separations if j.joint == "arch").how)

    assert "drill the head" not in how("self-piercing rivet")
    assert "drill the head" in how("blind rivet")
    assert "Look at one head first" in how("rivet")


@pytest.mark.exact
@pytest.mark.parametrize("kind", JointKind.__args__)
def test_every_kind_of_joint_has_a_way_to_open_it(kind: str) -> None:
    part = '[[part]]\nid = "a"\nstate = "replace"\n'
    text = part + f'[[joint]]\nid = "j"\nlayers = ["a", "body"]\nkind = "{kind}"\n'
    (joint,) = asked(text).separations
    assert joint.kind == kind
    assert joint.how
    assert bool(joint.cautions) == (kind != "bolt")


@pytest.mark.exact
@pytest.mark.parametrize(
    ("what", "kind"),
    [
        ("corner radar", "sensor"),
        ("parking sensors", "sensor"),
        ("side airbag sensor", "restraint"),
        ("belt pretensioner", "restraint"),
        ("High-voltage cable", "high voltage"),
        ("wiring loom", "wiring"),
        ("cavity foam", "foam"),
        ("12 V battery", "battery"),
        ("wheel-arch trim", "trim"),
        ("ladder", "other"),
        ("beltline", "other"),
    ],
)
def test_what_a_part_carries_is_recognised(what: str, kind: str) -> None:
    assert kind_of(what) == kind


@pytest.mark.invariant
def test_every_kind_of_carried_thing_has_its_care() -> None:
    kinds = {row["kind"] for row in load("carried_words").records()} | {"other"}
    cares = {row["kind"]: row for row in load("carried_care").records()}
    assert kinds == set(cares)
    assert all(all(row.values()) for row in cares.values())


@pytest.mark.exact
def test_carried_things_move_over_when_replaced_and_stay_when_refitted() -> None:
    cares = {care.what: care for care in asked(CORNER).carried}
    assert cares["corner radar"].move.startswith("Move over")
    assert "Calibrate" in cares["corner radar"].afterwards
    refit = asked(CORNER.replace('state = "replace"', 'state = "remove-and-refit"'))
    cares = {care.what: care for care in refit.carried}
    assert cares["corner radar"].move.startswith("Take it off before grinding")


@pytest.mark.exact
def test_a_heavy_part_asks_for_two_people() -> None:
    bumper = asked(CORNER).removals[0]
    assert "It weighs 18 kg: two people." in bumper.cautions
    heavy = asked(CORNER.replace("mass = 18", "mass = 55")).removals[0]
    assert "It weighs 55 kg: hoist or stand." in heavy.cautions


@pytest.mark.published
def test_old_epoxy_softens_below_where_the_panel_suffers() -> None:
    # Softening and degradation of a room-temperature epoxy as read on a polymer reference page;
    # 160 °C, the highest mechanical temperature of 6016, as read on an aluminium sheet page.
    rows = {row["key"]: row for row in load("release_heat").records()}
    assert (rows["softens"]["low_C"], rows["softens"]["high_C"]) == (60.0, 90.0)
    assert (rows["breaks-down"]["low_C"], rows["breaks-down"]["high_C"]) == (120.0, 150.0)
    assert rows["breaks-down"]["high_C"] < 160.0
    assert rows["spare-neighbours"]["mark"] == "from memory"


@pytest.mark.invariant
def test_the_published_keys_are_those_of_the_page_and_can_be_written() -> None:
    found = as_json(asked(CORNER))
    assert {"open", "order", "look"} <= set(found)
    written = json.loads(json.dumps(found, allow_nan=False))
    assert written == found
    assert written["look"][0]["part"] == "wheelhouse"


@pytest.mark.invariant
def test_the_page_starts_with_what_to_do_and_says_everything_once() -> None:
    found = asked(CORNER)
    text = page(found, Units.MM)
    assert text.startswith("Make the vehicle safe, then take off rear bumper first")
    assert text.count("Aluminium dust burns") == 1
    for joint in found.open:
        assert f"Open {joint} (" in text
    assert "common practice, no source" in text


@pytest.mark.exact
def test_a_part_behind_two_is_looked_at_when_the_second_is_off() -> None:
    found = asked(
        '[[part]]\nid = "skin"\nstate = "replace"\nhides = ["lining", "rail"]\n'
        '[[part]]\nid = "lining"\nstate = "replace"\nhides = ["rail"]\n[[part]]\nid = "rail"\n'
    )
    (look,) = found.look
    assert (look.part, look.after, look.hidden_by) == ("rail", "lining", ("skin", "lining"))


@pytest.mark.exact
def test_a_part_still_half_hidden_says_by_what() -> None:
    found = asked(
        '[[part]]\nid = "skin"\nstate = "replace"\nhides = ["rail"]\n'
        '[[part]]\nid = "lining"\nhides = ["rail"]\n[[part]]\nid = "rail"\n'
    )
    assert "lining still hides part of it" in found.look[0].words


@pytest.mark.exact
def test_what_stands_behind_an_opened_joint_is_taken_to_stay() -> None:
    found = asked(
        '[[part]]\nid = "skin"\nstate = "replace"\n[[part]]\nid = "sill"\n'
        '[[joint]]\nid = "j"\nlayers = ["skin", "sill"]\n'
    )
    assert (found.order, found.problems) == (("skin",), ())


@pytest.mark.exact
def test_what_a_neighbour_carries_beside_an_opened_joint_is_protected() -> None:
    text = CORNER.replace(
        'id = "wheelhouse"\n', 'id = "wheelhouse"\ncarries = ["high-voltage line"]\n'
    ).replace('id = "closing plate"\n', 'id = "closing plate"\ncarries = ["camera"]\n')
    cares = {care.what: care for care in asked(text).carried}
    assert cares["high-voltage line"].move.startswith("Protected from heat")
    assert "camera" not in cares  # no joint of the closing plate is opened
    assert "Stay on, worked on in place" in page(asked(text), Units.MM)


@pytest.mark.exact
def test_a_trim_bolted_to_a_structural_part_needs_no_word_of_the_maker() -> None:
    found = asked(CORNER.replace('reference = "left rear corner"', ""))
    cautions = {joint.joint: joint.cautions for joint in found.separations}
    assert cautions["bumper bolts"] == ()
    assert cautions["arch"][0].startswith("Structural")
    assert not any("sharp" in words for words in found.removals[0].cautions)
    assert any("sharp" in words for words in found.removals[2].cautions)
