"""The study of data sheets runs, and a law that is too sure of itself does not pass it."""

from __future__ import annotations

from random import Random

import pytest
from bench.sheet_study import truth
from bench.sheet_study.__main__ import report
from bench.sheet_study.study import Count, run


def test_a_few_sheets_are_asked_and_counted() -> None:
    found = run(12, 3)
    assert found.sheets == 12
    assert {what for what, _ in found.counts} == {
        "energy",
        "time between rows",
        "time outside rows",
    }
    text = report(found, 3)
    assert "12 invented sheets (seed 3)" in text
    assert "| energy | 80 % |" in text


def test_sheets_are_printed_as_sheets_are() -> None:
    dice = Random(11)  # noqa: S311 - a simulation
    for _ in range(200):
        printed = truth.sheet(truth.adhesive(dice), dice)
        assert len(printed.rows) <= 10
        if printed.style == "usual steps":
            assert all(minutes in truth.COARSE for _, _, minutes in printed.rows)


@pytest.mark.exact
def test_the_simulators_law_doubles_where_it_must() -> None:
    # E = R ln 2/(1/T1 − 1/T2): 51.22 kJ/mol between 20 and 30 °C [computed apart].
    made = truth.Truth(51.22, {"full": 60.0})
    assert made.minutes("full", 20.0) / made.minutes("full", 30.0) == pytest.approx(2.0, rel=1e-3)


def test_a_rate_far_from_what_is_stated_does_not_hold() -> None:
    sure = Count([1.0] * 60 + [0.0] * 40)
    assert not sure.holds(0.8)
    assert Count([1.0] * 78 + [0.0] * 22).holds(0.8)
