"""What keeps away from a lamp, how metal grows, and a lamp that is moved."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from panelwright.bond import clocks
from panelwright.bond.entries import heatings_of
from panelwright.bond.lamp_answer import lamp_answer
from panelwright.bond.lamps import LampPlan
from panelwright.bond.loss import steady_temperature
from panelwright.bond.near import growth_mm, keep_away
from panelwright.bond.radiation import view_factor_rectangle
from panelwright.errors import Unanswerable

from .conftest import Make

LAMP = LampPlan(
    "l", 900.0, 0.0, 450.0, 10.0, (300.0, 100.0), (300.0, 0.0), (0.4, 0.6, 0.8), 0.9, ()
)


@pytest.mark.second_route
def test_at_the_keep_away_distance_a_dark_thing_just_reaches_its_limit() -> None:
    """The balance solved the other way: for the temperature at that distance."""
    for one in keep_away(LAMP, 20.0):
        for along, across in ((one.along_mm, 0.0), (0.0, one.across_mm)):
            factor = view_factor_rectangle(
                along=along, across=across, distance=450.0, size=(300.0, 100.0)
            )
            there = steady_temperature(
                0.95 * 900.0 / 0.03 * float(factor),
                coefficient=4.0,
                air_C=20.0,
                surroundings_C=20.0,
                emissivity=0.95,
            )
            assert there == pytest.approx(one.limit_C, abs=0.3)


@pytest.mark.invariant
def test_what_stands_less_keeps_farther_away() -> None:
    found = sorted(keep_away(LAMP, 20.0), key=lambda one: one.limit_C)
    assert np.all(np.diff([one.along_mm for one in found]) <= 0.0)
    assert all(one.along_mm > one.across_mm for one in found)
    assert keep_away(LAMP, 49.0)[0].along_mm > found[0].along_mm


@pytest.mark.exact
def test_a_metre_of_aluminium_grows_by_its_coefficient() -> None:
    assert growth_mm(1000.0, 100.0) == pytest.approx(2.31)


def moved(data: dict[str, Any]) -> None:
    """The lamp stands at two places by turns of 30 minutes."""
    first = data["heating"][0]
    first["stays"] = [{"from": "0 min", "to": "30 min"}]
    first["centre"] = ["100 mm", "0 mm"]
    second = {**first, "centre": ["500 mm", "0 mm"]}
    data["heating"].append({**second, "stays": [{"from": "30 min", "to": "60 min"}]})


def switched(*moments: tuple[str, str]) -> Any:
    def change(data: dict[str, Any]) -> None:
        data["event"] = [
            {"joint": "arch", "kind": kind, "at": f"2026-11-20T{at}:00+01:00"}
            for kind, at in moments
        ]

    return change


def turns(make: Make, *changes: Any) -> list[list[tuple[float, float]]]:
    repair = make(moved, *changes, heated=True)
    found = clocks.recorded(repair.events, "arch")
    heated, _ = heatings_of(repair, repair.joints[0], found)
    return [[(stay.from_min, stay.to_min) for stay in stays] for _, stays in heated]


def test_a_lamp_that_is_moved_heats_one_place_at_a_time(make: Make) -> None:
    assert turns(make) == [[(0.0, 30.0)], [(30.0, 60.0)]]
    on_late = switched(("closed", "13:00"), ("lamp-on", "13:10"), ("lamp-off", "14:20"))
    assert turns(make, on_late) == [[(10.0, 40.0)], [(40.0, 80.0)]]


def test_a_lamp_that_is_switched_off_before_its_move_never_got_there(make: Make) -> None:
    short = switched(("closed", "13:00"), ("lamp-on", "13:00"), ("lamp-off", "13:20"))
    assert turns(make, short) == [[(0.0, 20.0)]]


def test_where_to_put_the_lamp_is_answered_with_what_keeps_away(make: Make) -> None:
    found = lamp_answer(make(heated=True), "arch")
    assert found.advice.best is not None
    assert found.surface == "primed"
    assert found.advice.looked_at >= 500
    assert 0.2 < found.growth_mm < 1.0
    assert len(found.keep_away) == 6


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data["joint"][0].pop("length"), "give its length"),
        (lambda data: data.pop("adhesive"), "no adhesive"),
        (
            lambda data: data["adhesive"][0].update(
                time=[t for t in data["adhesive"][0]["time"] if t["event"] != "handle"]
            ),
            "no time to handling",
        ),
    ],
)
def test_why_there_is_no_answer_is_said(make: Make, change: Any, words: str) -> None:
    with pytest.raises(Unanswerable, match=words):
        lamp_answer(make(change, heated=True), "arch")


def test_an_unknown_joint_is_said(make: Make) -> None:
    with pytest.raises(Unanswerable, match="no joint 'nothing'"):
        lamp_answer(make(), "nothing")
