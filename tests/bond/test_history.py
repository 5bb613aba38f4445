"""A joint's history on the plate that the answer uses, against the whole fine plate."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelwright.bond import clocks
from panelwright.bond.ensemble import fixed_ensemble, middle
from panelwright.bond.entries import adhesive_of, heatings_of
from panelwright.bond.heat import HeatPlan, heat_plan, panel_setup
from panelwright.bond.history import plate_history, temperature_history
from panelwright.bond.panel import panel_history
from panelwright.bond.plate import Layer, Strip, plate_of

from .conftest import Make

SKIN = Layer(160.0, 2700.0, 900.0, 1.0)
GLUE = Layer(0.2, 1300.0, 1500.0, 0.25)


def arch(make: Make) -> HeatPlan:
    repair = make(heated=True)
    (joint,) = repair.joints
    adhesive, _ = adhesive_of(repair, joint)
    assert adhesive is not None
    heated, _ = heatings_of(repair, joint, clocks.recorded((), joint.id))
    return heat_plan(repair, joint, adhesive, heated, (200.0,))


@pytest.mark.second_route
def test_coarse_cells_and_few_modes_are_within_a_third_of_a_kelvin(make: Make) -> None:
    """All modes of cells of 10 mm with steps of a minute, which is within 0.02 K of 5 mm."""
    plan = arch(make)
    setup = panel_setup(plan, middle())
    found = temperature_history(setup)
    length = plan.spots_mm[-1]
    strips = (Strip(300.0, (SKIN,)), Strip(20.0, (SKIN, GLUE, SKIN)), Strip(300.0, (SKIN,)))
    fine = plate_of((-300.0, length + 300.0), strips, 10.0, first_mm=-310.0)
    whole = plate_history(replace(setup, until_min=60.0), fine, None)
    for spot in range(len(plan.spots_mm)):
        mine = np.interp(whole.minutes, found.minutes, found.celsius[0, spot])
        np.testing.assert_allclose(mine, whole.celsius[0, spot], atol=0.45)


@pytest.mark.invariant
def test_conduction_cools_the_lamps_spot_and_warms_what_is_beside_it(make: Make) -> None:
    plan = arch(make)
    setup = panel_setup(plan, fixed_ensemble())
    plate, spots = temperature_history(setup), panel_history(setup)
    assert np.all(plate.celsius.max(axis=(1, 2)) < spots.celsius.max(axis=(1, 2)))
    assert np.all(
        np.ptp(plate.celsius.max(axis=2), axis=1) < np.ptp(spots.celsius.max(axis=2), axis=1)
    )


@pytest.mark.exact
def test_without_a_lamp_or_a_length_each_spot_is_by_itself(make: Make) -> None:
    setup = panel_setup(arch(make), middle())
    bare = temperature_history(replace(setup, plate=None))
    np.testing.assert_array_equal(bare.celsius, panel_history(setup).celsius)
    cold = temperature_history(replace(setup, lamps=()))
    np.testing.assert_allclose(cold.celsius, 20.0)
