"""Temperature readings narrow the ensemble and say when they disagree."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from panelwright.bond import answer
from panelwright.bond.answer import JointBond
from panelwright.bond.clocks import recorded
from panelwright.bond.cure import shares_of
from panelwright.bond.ensemble import Ensemble, Input, fixed_ensemble
from panelwright.bond.entries import heatings_of, readings_of
from panelwright.bond.heat import HeatPlan, heat_plan, panel_setup
from panelwright.bond.history import temperature_history
from panelwright.bond.readings import Reading, learn, whitening

from .conftest import Make


def plan_of(make: Make) -> HeatPlan:
    repair = make(heated=True)
    (joint,), (adhesive,) = repair.joints, repair.adhesives
    heated, _ = heatings_of(repair, joint, recorded((), "arch"))
    return heat_plan(repair, joint, adhesive, heated, (200.0,))


def spread_at(plan: HeatPlan, ensemble: Ensemble, minute: float) -> tuple[float, float]:
    history = temperature_history(panel_setup(plan, ensemble))
    spot = history.celsius[:, plan.spots_mm.index(200.0), :]
    values = np.array([np.interp(minute, history.minutes, path) for path in spot])
    mean = float(ensemble.weights @ values)
    return mean, float(np.sqrt(ensemble.weights @ (values - mean) ** 2))


@pytest.mark.exact
def test_one_reading_moves_and_narrows(make: Make) -> None:
    plan = plan_of(make)
    prior_mean, prior_u = spread_at(plan, fixed_ensemble(), 30.0)
    learned = learn(plan, [Reading(200.0, 30.0, prior_mean + 8.0, 3.6)])
    mean, u = spread_at(plan, learned.ensemble, 30.0)
    # A normal prior of 9 K and a reading of 3.6 K give 3.3 K; the model is nearly linear here.
    expected_u = 1.0 / np.hypot(1.0 / prior_u, 1.0 / 3.6)
    gain = prior_u**2 / (prior_u**2 + 3.6**2)
    assert u == pytest.approx(expected_u, rel=0.15)
    assert mean == pytest.approx(prior_mean + 8.0 * gain, abs=1.0)


@pytest.mark.second_route
def test_by_plain_importance_weights_on_a_large_sample(make: Make) -> None:
    plan = plan_of(make)
    reading = Reading(200.0, 30.0, 52.0, 3.6)
    normals = np.random.default_rng(11).normal(size=(6000, len(Input)))
    large = Ensemble(normals, np.full(6000, 1 / 6000))
    history = temperature_history(replace(panel_setup(plan, large), until_min=45.0))
    spot = history.celsius[:, plan.spots_mm.index(200.0), :]
    right = int(np.searchsorted(history.minutes, 30.0))
    left = right - 1
    part = (30.0 - history.minutes[left]) / (history.minutes[right] - history.minutes[left])
    at = spot[:, left] + part * (spot[:, right] - spot[:, left])
    weight = np.exp(-0.5 * ((at - 52.0) / 3.6) ** 2)
    weight /= weight.sum()
    hot = history.celsius.max(axis=(1, 2))
    mean = float(weight @ hot)
    u = float(np.sqrt(weight @ (hot - mean) ** 2))
    learned = learn(plan, [reading]).ensemble
    mine = temperature_history(panel_setup(plan, learned)).celsius.max(axis=(1, 2))
    my_mean = float(learned.weights @ mine)
    my_u = float(np.sqrt(learned.weights @ (mine - my_mean) ** 2))
    assert my_mean == pytest.approx(mean, abs=0.5)
    assert my_u == pytest.approx(u, rel=0.12)


@pytest.mark.invariant
def test_weights_stay_even_enough(make: Make) -> None:
    plan = plan_of(make)
    for value in (35.0, 45.0, 55.0, 65.0):
        weights = learn(plan, [Reading(200.0, 30.0, value, 3.6)]).ensemble.weights
        assert weights.sum() == pytest.approx(1.0)
        assert 1.0 / np.sum(weights**2) > 200.0


def reading(value: str, along: str = "200 mm", minute: float = 30.0) -> Any:
    return lambda data: data.setdefault("temperature", []).append(
        {"joint": "arch", "along": along, "minute": minute, "value": value}
    )


def only(make: Make, *changes: Any) -> JointBond:
    (bond,) = answer(make(*changes, heated=True)).joints
    return bond


@pytest.mark.invariant
def test_a_reading_narrows_the_answer(make: Make) -> None:
    before, after = only(make), only(make, reading("46 °C"))
    assert before.handle_min is not None
    assert after.handle_min is not None
    wide = before.handle_min.late - before.handle_min.early
    assert after.handle_min.late - after.handle_min.early < 0.8 * wide
    (check,) = after.readings
    assert check.agrees


def test_readings_that_disagree_are_said(make: Make) -> None:
    bond = only(make, reading("70 °C"), reading("32 °C", minute=31.0))
    assert not all(check.agrees for check in bond.readings)
    assert any("disagrees with the rest" in note for note in bond.notes)


def test_a_reading_far_from_the_lamp_s_figures_is_said(make: Make) -> None:
    bond = only(make, reading("21 °C"))
    assert any("lie far from" in note for note in bond.notes)


def test_a_reading_without_a_lamp_teaches_the_air(make: Make) -> None:
    def at_14(data: dict[str, Any]) -> None:
        reading("14 °C", minute=60.0)(data)

    (warm,) = answer(make()).joints
    (cold,) = answer(make(at_14)).joints
    assert warm.handle_min is not None
    assert cold.handle_min is not None
    assert cold.handle_min.likely > warm.handle_min.likely


@pytest.mark.parametrize(
    ("value", "along", "words"),
    [("900 °C", "200 mm", "not believed"), ("45 °C", "5000 mm", "lies beyond the joint")],
)
def test_a_reading_that_cannot_be_is_left_out(
    make: Make, value: str, along: str, words: str
) -> None:
    repair = make(reading(value, along), heated=True)
    good, (problem,) = readings_of(repair, repair.joints[0])
    assert good == ()
    assert words in problem.what
    assert answer(repair).joints[0].handle_min == only(make).handle_min


@pytest.mark.exact
def test_shares_of_a_linear_time() -> None:
    ensemble = fixed_ensemble()
    times = 100.0 + 3.0 * ensemble.column(Input.AIR) + 4.0 * ensemble.column(Input.OUTPUT)
    shares = {share.name: share.variance for share in shares_of(times, ensemble)}
    assert shares["lamp output"] == pytest.approx(16.0, rel=0.1)
    assert shares["air temperature"] == pytest.approx(9.0, rel=0.15)
    assert sum(shares.values()) == pytest.approx(float(np.var(times)), rel=0.01)


@pytest.mark.exact
def test_one_thermometer_s_error_is_in_all_its_readings() -> None:
    """Mean of n readings of u = 2.83 K, of which 2 K is the thermometer's: √(2² + 2²/n)."""
    several = [Reading(100.0 * number, 30.0, 50.0, np.sqrt(8.0)) for number in range(4)]
    for n in (1, 2, 4):
        white = whitening(several[:n])
        weight = (white.T @ white).sum()
        assert weight**-0.5 == pytest.approx(np.sqrt(4.0 + 4.0 / n))


@pytest.mark.exact
def test_thermometers_of_two_kinds_err_apart() -> None:
    contact = Reading(100.0, 30.0, 50.0, np.sqrt(8.0))
    white = whitening([contact, replace(contact, infrared=True)])
    np.testing.assert_allclose(white, np.eye(2) / np.sqrt(8.0))


@pytest.mark.invariant
def test_two_readings_of_one_thermometer_teach_less_than_of_two(make: Make) -> None:
    plan = replace(plan_of(make), spots_mm=(0.0, 200.0, 600.0))
    one = [Reading(place, 30.0, 45.0, np.sqrt(8.0)) for place in (0.0, 600.0)]
    two = [one[0], replace(one[1], infrared=True)]
    together, apart = (
        spread_at(plan, learn(plan, readings).ensemble, 30.0)[1] for readings in (one, two)
    )
    assert together > 1.05 * apart
