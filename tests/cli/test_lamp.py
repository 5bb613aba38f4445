"""The command that says where to put a lamp."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from .conftest import Said


def test_it_says_place_distance_time_and_what_keeps_away(
    panelwright: Callable[..., Said], examples: Path
) -> None:
    said = panelwright("lamp", str(examples / "heron.toml"), "arch", "--units", "in")
    assert said.status == 0
    assert "lamp before 2.44 in from the joint's start" in said.out
    assert "without a lamp after" in said.out
    assert "shielded" in said.out
    assert " mm" not in said.out


def test_its_json_has_every_figure(panelwright: Callable[..., Said], examples: Path) -> None:
    found = json.loads(panelwright("lamp", str(examples / "heron.toml"), "arch", "--json").out)
    assert found["best"]["handle_min"]["late"] < found["usual"]["handle_min"]["late"]
    assert found["best"]["p_over_limit"] <= 0.1
    assert found["looked_at"] >= 500
    assert found["marks"]


def test_a_joint_that_is_not_there_is_said(
    panelwright: Callable[..., Said], examples: Path
) -> None:
    said = panelwright("lamp", str(examples / "heron.toml"), "nothing")
    assert said.status == 1
    assert "There is no joint 'nothing'." in said.out + said.err
