"""What explains readings that disagree: slips put in by hand are found again."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from panelwright.bond import answer
from panelwright.bond.clocks import recorded
from panelwright.bond.ensemble import middle
from panelwright.bond.entries import heatings_of
from panelwright.bond.explain import SAY_FROM, explanations, log_evidence
from panelwright.bond.heat import HeatPlan, heat_plan, panel_setup
from panelwright.bond.history import temperature_history
from panelwright.bond.readings import Reading

from .conftest import Make

PLACES = (100.0, 300.0, 500.0)


def plan_of(make: Make, *changes: Any) -> HeatPlan:
    repair = make(*changes, heated=True)
    (joint,), (adhesive,) = repair.joints, repair.adhesives
    heated, _ = heatings_of(repair, joint, recorded((), "arch"))
    return heat_plan(repair, joint, adhesive, heated, PLACES)


def truly(make: Make, *changes: Any) -> tuple[Reading, ...]:
    """Readings at minute 30 of a joint that is heated otherwise than entered."""
    plan = plan_of(make, *changes)
    history = temperature_history(panel_setup(plan, middle()))
    return tuple(
        Reading(
            place,
            30.0,
            float(np.interp(30.0, history.minutes, history.celsius[0, plan.spots_mm.index(place)])),
            2.8,
        )
        for place in PLACES
    )


def heating(**keys: Any) -> Any:
    return lambda data: data["heating"][0].update(keys)


@pytest.mark.second_route
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (heating(surface="bare"), "the lamp shines on bright metal, not on primer"),
        (heating(centre=["0 mm", "0 mm"]), "300 mm nearer to the joint's start"),
        (heating(stays=[{"from": "80 min", "to": "90 min"}]), "the lamp was not on"),
    ],
)
def test_a_slip_put_in_by_hand_is_found_again(make: Make, change: Any, words: str) -> None:
    best = explanations(plan_of(make), truly(make, change))[0]
    assert words in best.words
    assert best.log_odds > math.log(SAY_FROM)


def test_a_lamp_nearer_than_entered(make: Make) -> None:
    best = explanations(plan_of(make), truly(make, heating(distance="250 mm")))[0]
    assert "off, not 450 mm" in best.words
    said = float(best.words.split("about ")[1].split(" mm")[0])
    assert said == pytest.approx(250.0, abs=60.0)


@pytest.mark.invariant
def test_nothing_beats_the_truth_by_much(make: Make) -> None:
    assert explanations(plan_of(make), truly(make))[0].log_odds < math.log(SAY_FROM)


@pytest.mark.exact
def test_evidence_of_a_lone_reading_without_a_lamp_is_a_normal_density(make: Make) -> None:
    """Air alone is unknown and the panel follows it: misfit over prior and reading together."""
    repair = make()
    (joint,), (adhesive,) = repair.joints, repair.adhesives
    plan = heat_plan(repair, joint, adhesive, (), (200.0,))
    found = [log_evidence(plan, [Reading(200.0, 600.0, t, 2.0)])[0] for t in (20.0, 26.0)]
    assert found[0] - found[1] == pytest.approx(0.5 * 36.0 / (2.0**2 + plan.air_u_K**2), rel=0.05)


def test_the_answer_says_it_and_asks_to_read_again(make: Make) -> None:
    rows = [
        {"joint": "arch", "along": f"{one.along_mm:g} mm", "minute": 30.0,
         "value": f"{one.value_C:.1f} °C"}
        for one in truly(make, heating(surface="bare"))
    ]  # fmt: skip

    def change(data: dict[str, Any]) -> None:
        data["temperature"] = rows

    (bond,) = answer(make(change, heated=True)).joints
    (words,) = [note for note in bond.notes if "likelier than the figures" in note]
    assert "bright metal" in words
    assert "read again at" in words
