"""The box side in inches holds what its head promises: the fit finds the stated truth."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from examples import make_box_side
from panelwright import fit
from panelwright.facts.file import read
from panelwright.fit.part_answer import PartFit, Verdict

FILE = Path(make_box_side.__file__).parent / "box-side-inches.toml"


@cache
def _fit() -> fit.Answer:
    return fit.answer(read(FILE.read_text(encoding="utf-8")))


def _side() -> PartFit:
    (part,) = _fit().parts
    assert part.id == "box-side"
    return part


@pytest.mark.second_route
def test_the_fit_finds_the_stated_shift_and_turn_from_inches_and_words() -> None:
    part = _side()
    assert part.setting == 2
    covariance = np.array(part.covariance)
    truth = np.array([*make_box_side.SHIFT_MM, *make_box_side.TURN_MRAD])
    miss = np.array([*part.shift_mm, *part.turn_mrad]) - truth
    assert np.all(np.abs(miss) < 3 * np.sqrt(np.diag(covariance)))
    assert miss @ np.linalg.solve(covariance, miss) < stats.chi2.ppf(0.9973, 6)


def test_after_the_move_every_kind_of_home_is_inside() -> None:
    part = _side()
    assert {point.id for point in part.points} == set(make_box_side.SIDE_IN)
    assert {point.verdict for point in part.points} == {Verdict.INSIDE}
    assert {station.verdict for station in part.stations} == {Verdict.INSIDE}


def test_the_forced_flange_is_told_and_not_used() -> None:
    answer = _fit()
    assert any("forced" in problem.what for problem in answer.problems)
    assert answer.global_test.ok
    assert not [row for row in answer.readings if row.suspect]


def test_what_an_older_dry_fit_leaves_open_is_no_defect_of_the_datum() -> None:
    assert _fit().datum == "held by known points"
