"""The Heron demonstration holds what its heads promise: the fit finds the stated truth."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from examples import make_heron
from panelwright import fit, joints, plan
from panelwright.facts.file import read
from panelwright.fit.part_answer import PartFit, Verdict
from panelwright.joints.answer import Origin
from panelwright.plan.answer import PlanAnswer
from panelwright.plan.solve import Effort

EXAMPLES = Path(make_heron.__file__).parent


@cache
def _fit(name: str) -> fit.Answer:
    return fit.answer(read((EXAMPLES / name).read_text(encoding="utf-8")))


def _outer(name: str) -> PartFit:
    (part,) = _fit(name).parts
    assert part.id == "outer"
    return part


TRUTH = {
    "heron.toml": (make_heron.FIRST_SHIFT_MM, make_heron.FIRST_TURN_MRAD, 1),
    "heron-found.toml": (make_heron.FIRST_SHIFT_MM, make_heron.FIRST_TURN_MRAD, 1),
    "heron-moved.toml": (make_heron.MOVED_SHIFT_MM, make_heron.MOVED_TURN_MRAD, 2),
}


@pytest.mark.second_route
@pytest.mark.parametrize("name", TRUTH)
def test_the_fit_finds_the_stated_shift_and_turn(name: str) -> None:
    shift, turn, setting = TRUTH[name]
    part = _outer(name)
    assert part.setting == setting
    covariance = np.array(part.covariance)
    miss = np.array([*part.shift_mm, *part.turn_mrad]) - np.array([*shift, *turn])
    assert np.all(np.abs(miss) < 3 * np.sqrt(np.diag(covariance)))
    # all six together: the 99.7 % bound of chi-square, as 3 sigma is for one
    assert miss @ np.linalg.solve(covariance, miss) < stats.chi2.ppf(0.9973, 6)


@pytest.mark.second_route
def test_every_points_offset_agrees_with_the_simulator() -> None:
    van = make_heron.built(simulated := make_heron.Technician(make_heron.SEED))
    assert simulated.seed == make_heron.SEED
    hung = van.placement(make_heron.FIRST_SHIFT_MM, make_heron.FIRST_TURN_MRAD)
    for point in _outer("heron.toml").points:
        true = hung.off(van.homes[point.id])
        for found, u, expected in zip(point.off_mm, point.u_mm, true, strict=True):
            assert u is not None
            assert abs(found - expected) < 3.5 * u


def test_at_the_first_dry_fit_some_points_are_outside_and_moves_are_said() -> None:
    part = _outer("heron.toml")
    verdicts = [point.verdict for point in part.points]
    assert verdicts.count(Verdict.OUTSIDE) >= 3
    assert Verdict.INSIDE in verdicts
    assert part.moves


def test_after_the_move_everything_is_inside() -> None:
    part = _outer("heron-moved.toml")
    assert {point.verdict for point in part.points} == {Verdict.INSIDE}
    assert {station.verdict for station in part.stations} == {Verdict.INSIDE}
    assert not part.moves


@pytest.mark.parametrize("name", TRUTH)
def test_the_readings_fit_together_and_none_is_suspect(name: str) -> None:
    answer = _fit(name)
    assert answer.global_test.ok
    assert not [row for row in answer.readings if row.suspect]
    assert not _outer(name).unseen


@pytest.mark.parametrize("name", TRUTH)
def test_the_body_is_found_true(name: str) -> None:
    assert _fit(name).body.status == "true"


@cache
def _plan(name: str) -> PlanAnswer:
    repair = read((EXAMPLES / name).read_text(encoding="utf-8"))
    return plan.answer([repair], effort=Effort(deterministic_s=0.1))


def _items(name: str) -> dict[str, float]:
    return {line.item: line.need for line in _plan(name).kit}


def _steps(name: str) -> set[str]:
    return {step.id for step in _plan(name).steps}


def test_the_finding_changes_the_parts_list() -> None:
    before, after = _items("heron.toml"), _items("heron-found.toml")
    assert "left wheelhouse outer" not in before
    assert after["left wheelhouse outer"] == 1
    assert after["arch liner bracket"] == 1
    rivet = "blind rivet HR 4.8 × 10 (invented)"
    assert after[rivet] > before[rivet]


def test_the_finding_changes_the_steps() -> None:
    more = _steps("heron-found.toml") - _steps("heron.toml")
    assert {"supplement", "approval", "arrive-wheelhouse", "separate-tub"} <= more


def test_the_ordered_wheelhouse_decides_when_paint_gets_the_van() -> None:
    assert "arrive-wheelhouse" in _plan("heron-found.toml").critical
    assert "arrive-wheelhouse" not in _plan("heron.toml").critical


def test_the_promise_of_the_head_is_kept_before_the_finding_and_not_after() -> None:
    promised = read((EXAMPLES / "heron.toml").read_text(encoding="utf-8")).repair.promised
    assert promised is not None
    (before,) = _plan("heron.toml").ready_for_paint
    (after,) = _plan("heron-found.toml").ready_for_paint
    assert before.p90 < promised < after.p50


def test_the_roof_rail_is_left_to_the_maker_and_the_rest_is_answered() -> None:
    answer = joints.answer(read((EXAMPLES / "heron.toml").read_text(encoding="utf-8")))
    said = {joint.id: joint.from_ for joint in answer.joints}
    asked = {name for name, origin in said.items() if origin is Origin.ASK}
    assert asked == {"roof-rail"}
    assert said["lamp-pocket"] is Origin.PROPOSAL
