"""The same thing read again: mean, scatter, test, and what it teaches about the tool."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tests.fit.build import repair

from panelwright.fit import answer
from panelwright.fit.repeats import Group, learn, step_mm


def spans(*values: float, **more: Any) -> dict[str, Any]:
    return {
        "point": [
            {"id": "A", "xyz": [0, 0, 0], "u": 0},
            {"id": "B", "xyz": [1800, 0, 0], "u": ["free", 0, 0]},
        ],
        "reading": [
            {"from": "AB"[k % 2], "to": "BA"[k % 2], "value": value, **more}
            for k, value in enumerate(values)
        ],
    }


@pytest.mark.exact
def test_repeats_are_combined_as_their_mean_and_their_scatter_is_told() -> None:
    found = answer(repair(**spans(1800.0, 1801.0, 1802.0, **{"with": "gauge"})))
    (repeat,) = found.repeats
    assert repeat.indices == (0, 1, 2)
    assert repeat.mean_mm == pytest.approx(1801.0)
    assert repeat.scatter_mm == pytest.approx(1.0)
    assert repeat.u_mm == pytest.approx(0.2 / np.sqrt(3))
    assert repeat.statistic == pytest.approx(2.0 / 0.04)
    place = next(point for point in found.points if point.id == "B")
    assert place.xyz_mm is not None
    assert place.xyz_mm[0] == pytest.approx(1801.0)
    assert not repeat.ok
    assert "more scatter" in repeat.words


def test_repeats_within_the_tools_spread_are_well() -> None:
    (repeat,) = answer(repair(**spans(1800.0, 1801.0, 1800.5))).repeats
    assert repeat.ok
    assert "more scatter" not in repeat.words


@pytest.mark.parametrize(
    "other",
    [{"with": "tram"}, {"when": "before"}, {"from_edge": "near"}],
    ids=["another tool", "of the old part", "from an edge"],
)
def test_another_tool_time_or_edge_is_not_the_same_thing(other: dict[str, Any]) -> None:
    tables = spans(1800.0, 1801.0)
    tables["part"] = [{"id": "p", "state": "replace"}]
    for point in tables["point"]:
        point["on"] = "p"
        point["hole"] = 10
    tables["reading"][1].update(other)
    assert answer(repair(**tables)).repeats == ()


def test_words_are_no_repeats() -> None:
    tables = {
        "part": [{"id": "p"}],
        "contact": [{"id": "c", "part": "p", "xyz": [0, 0, 0], "normal": [0, 0, 1]}],
        "reading": [{"contact": "c", "state": "seated"}] * 2,
    }
    assert answer(repair(**tables)).repeats == ()


@pytest.mark.exact
def test_pooled_variance_with_what_was_known_before() -> None:
    """s² = (2 + 0.5)/(2 + 1); u² = (5·1² + 2.5)/(5 + 3)."""
    groups = [Group("tape", (10.0, 11.0, 12.0)), Group("tape", (20.0, 21.0))]
    found = learn(groups, 1.0)
    assert found.repeats_u_mm == pytest.approx(np.sqrt(2.5 / 3))
    assert found.repeats_dof == 3
    assert found.u_mm == pytest.approx(np.sqrt(7.5 / 8))
    assert found.dof == 8.0
    assert learn(groups, 1.0, prior_dof=0.0).u_mm == pytest.approx(found.repeats_u_mm)
    assert learn([], 0.7).u_mm == pytest.approx(0.7)


@pytest.mark.second_route
def test_learnt_is_what_a_grid_over_the_variance_gives() -> None:
    """1/(posterior mean of 1/σ²), with a scaled inverse-χ² prior integrated by a grid."""
    values = (3.1, 2.2, 3.9, 2.8)
    u0, nu0 = 1.0, 5.0
    var = np.exp(np.linspace(-8.0, 8.0, 40_001))
    squares = float(np.sum((np.array(values) - np.mean(values)) ** 2))
    log = -(nu0 / 2 + 1) * np.log(var) - nu0 * u0**2 / (2 * var)
    log += -0.5 * (len(values) - 1) * np.log(var) - squares / (2 * var)
    weight = np.exp(log - log.max()) * var
    mean = float(np.sum(weight / var) / np.sum(weight))
    assert learn([Group("t", values)], u0, nu0).u_mm == pytest.approx(mean**-0.5, rel=1e-6)


@pytest.mark.exact
def test_rounded_readings_that_agree_teach_no_more_than_their_step() -> None:
    assert step_mm([1834.0, 1836.0, 1835.0]) == 1.0
    assert step_mm([0.5, 0.75]) == 0.25
    many = [Group("tape", (1834.0, 1834.0))] * 500 + [Group("tape", (1835.0, 1835.0))]
    assert learn(many, 1.0).u_mm == pytest.approx(1.0 / np.sqrt(12.0))


def test_a_shops_repeats_are_proposed_as_a_tool() -> None:
    values = [1800.0 + 0.1 * k for k in (0, 3, -2, 4, 1, -4, 2, -1, 0, -3, 1, 2)]
    found = answer(repair(**spans(*values)))
    (tape,) = found.learnt
    assert tape.readings == 12
    assert "your repeats say 0.2" in tape.words
    assert "the program uses 1 mm" in tape.words
    proposal = dict(tape.proposal)
    assert proposal["id"] == "tape"
    taken = {**proposal, "scale_u": float(proposal["scale_u"])}
    again = answer(repair(**spans(*values), tool=[taken]))
    place = next(point for point in again.points if point.id == "B")
    before = next(point for point in found.points if point.id == "B")
    assert place.u_mm[0] is not None
    assert before.u_mm[0] is not None
    assert place.u_mm[0] < before.u_mm[0]
