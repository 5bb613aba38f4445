"""The published view and the page."""

from __future__ import annotations

import json
from dataclasses import fields
from enum import Enum
from typing import Any

import pytest
from tests.joints.build import JOINT, PARTS, RIVET, ask, without

from panelwright.cli.pages.joints import page
from panelwright.joints import as_json
from panelwright.joints.answer import JointAnswer
from panelwright.quantities import Units

STRUCTURAL = [PARTS[0], {**PARTS[1], "structural": True}]


def published(**more: Any) -> dict[str, Any]:
    return json.loads(json.dumps(as_json(ask(rivets=[RIVET], **more)), allow_nan=False))  # type: ignore[no-any-return]


@pytest.mark.exact
def test_the_keys_of_the_repair_file_s_page_are_all_there() -> None:
    joint = published()["joints"]["arch"]
    wanted = {
        "rivet", "count", "at_mm", "edge_mm", "pitch_mm", "adhesive_ml", "strength", "checks",
        "from",
    }  # fmt: skip
    assert wanted <= joint.keys()
    assert {"min", "max"} == joint["pitch_mm"].keys()
    assert {"old_kN", "new_kN", "ratio"} <= joint["strength"].keys()
    for check in joint["checks"]:
        assert {"what", "value", "limit", "ok", "source"} <= check.keys()
    assert joint["rivet"] == "R48"
    assert joint["from"] == "proposal"


@pytest.mark.exact
def test_a_rivet_is_published_by_its_key_with_its_name_in_the_detail() -> None:
    named = [without(RIVET, name="blind rivet, invented")]
    joint = as_json(ask(rivets=named))["joints"]["arch"]  # type: ignore[index]
    assert joint["rivet"] == "R48"
    assert joint["rivet_detail"]["name"] == "blind rivet, invented"


@pytest.mark.exact
def test_from_is_one_of_three_words() -> None:
    assert published()["joints"]["arch"]["from"] == "proposal"
    assert published(parts=STRUCTURAL)["joints"]["arch"]["from"] == "ask-the-maker"
    remake = {"rivet": "R48", "count": 5, "adhesive": "E1"}
    joint = without(JOINT, remake=remake)
    assert published(joint=joint)["joints"]["arch"]["from"] == "procedure"


@pytest.mark.exact
def test_what_is_not_known_is_null_and_nothing_is_lost() -> None:
    joint = published(parts=STRUCTURAL)["joints"]["arch"]
    assert joint["rivet"] is None
    assert joint["count"] is None
    assert joint["at_mm"] == []
    assert joint["pitch_mm"] == {"min": None, "max": None}
    # every field of the answer is published, `from_` and `id` under their own names
    assert {each.name for each in fields(JointAnswer)} - {"id", "from_"} <= joint.keys()


@pytest.mark.exact
def test_no_enumeration_leaks_into_the_published_view() -> None:
    def leaves(value: object) -> list[object]:
        if isinstance(value, dict):
            return [leaf for item in value.values() for leaf in leaves(item)]
        if isinstance(value, list):
            return [leaf for item in value for leaf in leaves(item)]
        return [value]

    assert not [leaf for leaf in leaves(as_json(ask(rivets=[RIVET]))) if isinstance(leaf, Enum)]


@pytest.mark.exact
def test_the_page_says_the_instruction_first_and_marks_proposals() -> None:
    words = page(ask(rivets=[RIVET]), Units.MM)
    assert "5 × R48; E1, 3.7 ml in all, bead" in words
    assert "Places from the joint's start, mm (proposal): 41, 91, 141, 191, 241." in words
    assert "An aid, not an approval." in words
    assert "never water on burning" in words
    assert "Marks: proposal" in words


@pytest.mark.exact
def test_a_structural_joint_is_told_in_capitals_with_every_question() -> None:
    words = page(ask(parts=STRUCTURAL, rivets=[RIVET]), Units.MM)
    assert "ASK THE MAKER" in words
    assert words.count("? Ask the maker") == 4
    assert "Places from" not in words


@pytest.mark.exact
def test_a_broken_limit_stands_above_the_figures() -> None:
    remake = {"rivet": "R48", "count": 3, "at": [20, 25, 250]}
    words = page(ask(without(JOINT, remake=remake), rivets=[RIVET]), Units.MM)
    assert "! Not kept: number of rivets" in words
    assert words.index("! Not kept: smallest pitch") < words.index("Not kept or not judged:")


@pytest.mark.exact
def test_inches_on_the_page_are_inches() -> None:
    words = page(ask(rivets=[RIVET]), Units.IN)
    assert "in (proposal): 1.614, 3.583" in words
    assert "edge distance 0.354 in" in words
    assert "lbf" in words


@pytest.mark.exact
def test_problems_and_other_joints_are_on_the_page() -> None:
    words = page(ask(without(JOINT, "length"), rivets=[RIVET]), Units.MM)
    assert "joint[0].length" in words
    assert "bolted" in page(ask(without(JOINT, kind="bolt")), Units.MM)


@pytest.mark.exact
def test_no_line_of_the_page_is_wider_than_a_page() -> None:
    for found in (ask(rivets=[RIVET]), ask(parts=STRUCTURAL), ask(without(JOINT, "flange"))):
        assert max(map(len, page(found, Units.MM).splitlines())) <= 100
