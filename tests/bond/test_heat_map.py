"""The map of a heated joint: against the history along it, and growth against its closed form."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from panelwright.bond import answer
from panelwright.bond.answer import JointBond
from panelwright.bond.near import expansion_of, growth_mm

from .conftest import Make


def moved(data: dict[str, Any]) -> None:
    first = data["heating"][0]
    first |= {"centre": ["100 mm", "0 mm"], "stays": [{"from": "0 min", "to": "30 min"}]}
    second = {"centre": ["500 mm", "0 mm"], "stays": [{"from": "30 min", "to": "60 min"}]}
    data["heating"].append({**first, **second})


@pytest.fixture(scope="module")
def bond(make: Make) -> JointBond:
    (found,) = answer(make(moved, heated=True)).joints
    return found


@pytest.mark.exact
def test_one_map_before_the_move_and_one_after(bond: JointBond) -> None:
    before, after = bond.maps
    assert (before.from_min, before.to_min) == (0.0, 30.0)
    assert (after.from_min, after.to_min) == (30.0, 60.0)
    assert before.lamps[0].centre_mm == (100.0, 0.0)
    assert after.lamps[0].centre_mm == (500.0, 0.0)
    assert abs(before.hottest[0] - 100.0) < 60.0
    assert abs(after.hottest[0] - 500.0) < 60.0


@pytest.mark.second_route
def test_the_hottest_spot_of_the_map_is_that_of_the_curve(bond: JointBond) -> None:
    for one in bond.maps:
        row = min(bond.curve, key=lambda row: abs(row.minute - one.to_min))
        assert one.hottest[1] == pytest.approx(row.hottest_C, abs=2.0)
        assert one.coldest[1] == pytest.approx(row.coldest_C, abs=2.0)
        assert np.max(one.celsius) == pytest.approx(one.hottest[1], abs=2.5)


@pytest.mark.exact
def test_growth_is_the_mean_excess_over_the_length(bond: JointBond) -> None:
    one = bond.maps[0]
    middle = one.celsius[len(one.celsius) // 2]
    x = 0.5 * (np.array(one.along_mm[1:]) + np.array(one.along_mm[:-1]))
    inside = (x > 0.0) & (x < one.length_mm)
    mean = float(np.mean(np.array(middle)[inside])) - 20.0
    assert one.growth_mm[0] == pytest.approx(growth_mm(600.0, mean), rel=0.03)
    assert 0.0 < one.growth_mm[1] < one.growth_mm[0]


@pytest.mark.exact
def test_steel_grows_half_as_much() -> None:
    assert expansion_of("EN AW-6016") == pytest.approx(2.31e-5)
    assert expansion_of("high strength steel") == pytest.approx(1.16e-5)
    assert expansion_of(None) == expansion_of("aluminium")


def test_without_a_lamp_there_is_no_map(make: Make) -> None:
    (found,) = answer(make()).joints
    assert found.maps == ()
