"""Lamp placing: against single runs, against looking at every way with all its spread."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from panelwright.bond import clocks
from panelwright.bond.arrhenius import CureLaw
from panelwright.bond.entries import adhesive_of, heatings_of
from panelwright.bond.heat import HeatPlan, heat_plan
from panelwright.bond.lamps import LampPlan
from panelwright.bond.placing import (
    MAY_PASS,
    Standing,
    best_placing,
    cold_times,
    placed,
    standings,
)
from panelwright.bond.sheet import read_sheet

from .conftest import Make

Case = tuple[HeatPlan, LampPlan, CureLaw]


@pytest.fixture(scope="module")
def arch(make: Make) -> Case:
    repair = make(heated=True)
    (joint,) = repair.joints
    adhesive, _ = adhesive_of(repair, joint)
    assert adhesive is not None
    heated, _ = heatings_of(repair, joint, clocks.recorded((), joint.id))
    plan = heat_plan(repair, joint, adhesive, heated, ())
    return plan, plan.lamps[0], read_sheet(adhesive).law


@pytest.mark.exact
def test_every_way_stands_before_the_joint_for_whole_quarters_one_place_at_a_time() -> None:
    ways = standings(600.0)
    assert len(ways) >= 500
    assert len(set(ways)) == len(ways)
    for way in ways:
        assert all(0.0 < one.along_mm < 600.0 for one in way)
        assert all(one.from_min % 15 == 0 and one.to_min % 15 == 0 for one in way)
        assert way[0].from_min == 0.0
        assert all(a.to_min == b.from_min for a, b in itertools.pairwise(way))


@pytest.mark.second_route
def test_side_by_side_they_are_what_each_is_alone(arch: Case) -> None:
    ways = standings(600.0)[::97]
    together, _ = cold_times(*arch, ways)
    alone = [cold_times(*arch, [way])[0][0] for way in ways]
    np.testing.assert_allclose(together, alone, rtol=0.02)


@pytest.mark.second_route
def test_the_search_ranks_as_all_the_spread_does(arch: Case) -> None:
    """Late bounds of some ways by the whole ensemble, one by one."""
    ways = standings(600.0)[::44]
    cold, _ = cold_times(*arch, ways)
    late = np.array([placed(*arch, way, 80.0).handle_min.late for way in ways])
    ranks = [np.argsort(np.argsort(values)) for values in (cold, late)]
    assert np.corrcoef(*ranks)[0, 1] > 0.9


@pytest.mark.invariant
def test_the_best_way_beats_the_usual_place_and_no_lamp_and_keeps_the_limit(arch: Case) -> None:
    found = best_placing(*arch, 80.0)
    assert found.best is not None
    assert found.best.p_over_limit <= MAY_PASS
    assert found.best.handle_min.late < 0.8 * found.usual.handle_min.late
    assert found.best.handle_min.late < 0.5 * found.unheated_min.late
    assert found.best.standings[-1].to_min >= found.best.handle_min.late
    again = placed(*arch, found.best.standings, 80.0)
    assert again.handle_min.late == pytest.approx(found.best.handle_min.late, rel=0.02)


@pytest.mark.invariant
def test_where_every_way_might_cook_it_none_is_proposed(arch: Case) -> None:
    assert best_placing(*arch, 24.0).best is None


def test_a_joint_without_length_has_no_plate_to_place_a_lamp_before(arch: Case) -> None:
    plan, lamp, law = arch
    with pytest.raises(ValueError, match="no length"):
        cold_times(replace(plan, plate=None), lamp, law, [(Standing(300.0, 400.0, 0.0, 30.0),)])
