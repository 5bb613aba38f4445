"""What may be done now: late bounds, states, and the oven against the adhesive's limits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from tests.bond.conftest import Change, Make

from panelwright import bond
from panelwright.bond.may_do import May, MayDo, begun, may_do
from panelwright.facts.repair import Repair

CLOSED = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


STATES = {
    **dict.fromkeys(("pins", "move", "grind", "prime"), "handling strength (1.0 MPa lap shear)"),
    "slam": "half of full strength (10.0 MPa lap shear)",
    "load": "full strength (20.0 MPa lap shear)",
}


def closed(data: dict[str, Any]) -> None:
    data["event"] = [
        {"kind": "bead-begun", "joint": "arch", "at": CLOSED - timedelta(minutes=20)},
        {"kind": "closed", "joint": "arch", "at": CLOSED},
    ]


def asked(repair: Repair, minutes: float) -> dict[str, MayDo]:
    answer = bond.answer(repair)
    now = CLOSED + timedelta(minutes=minutes)
    return {one.id: one for one in may_do(repair, answer, begun(answer), now)}


def test_every_verdict_turns_at_the_late_bound_of_the_state_it_needs(make: Make) -> None:
    repair = make(closed)
    (joint,) = bond.answer(repair).joints
    bounds = {
        "pins": joint.handle_min,
        "move": joint.handle_min,
        "grind": joint.handle_min,
        "prime": joint.handle_min,
        "slam": joint.half_min,
        "load": joint.full_min,
    }
    for name, band in bounds.items():
        assert band is not None
        before, after = asked(repair, band.late - 0.1)[name], asked(repair, band.late + 0.1)[name]
        assert (before.may, after.may) == (May.LATER, May.YES), name
        assert before.at is not None
        assert abs((before.at - CLOSED).total_seconds() / 60.0 - band.late) < 0.01
        assert asked(repair, band.likely)[name].may is May.LATER
        assert "no source" in str(before.source)
        assert before.state == STATES[name]
        assert before.caution


def test_before_the_panel_is_on_minutes_count_from_then(make: Make) -> None:
    repair = make(lambda data: data.update(event=[
        {"kind": "bead-begun", "joint": "arch", "at": CLOSED},
    ]))  # fmt: skip
    pins = asked(repair, 5)["pins"]
    (joint,) = bond.answer(repair).joints
    assert joint.handle_min is not None
    assert (pins.may, pins.at, pins.after_min) == (May.LATER, None, joint.handle_min.late)


def test_nothing_is_said_where_no_adhesive_is_on(make: Make) -> None:
    assert asked(make(), 0) == {}


def two(data: dict[str, Any]) -> None:
    """A second joint, closed an hour later."""
    closed(data)
    data["joint"].append({"id": "sill", "layers": ["outer", "inner"], "length": "400 mm"})
    late = {"kind": "closed", "joint": "sill", "at": CLOSED + timedelta(hours=1)}
    data["event"].append(late)


def test_the_joint_that_is_last_decides(make: Make) -> None:
    one, both = asked(make(closed), 0)["pins"], asked(make(two), 0)["pins"]
    assert (one.joint, both.joint) == ("arch", "sill")
    assert one.at is not None
    assert both.at == one.at + timedelta(hours=1)


def test_a_joint_without_a_time_is_asked_about(make: Make) -> None:
    def no_sheet(data: dict[str, Any]) -> None:
        two(data)
        data["joint"][1]["remake"] = {"adhesive": "other"}
        data["adhesive"].append({"id": "other"})

    found = asked(make(no_sheet), 5000)
    assert {found[name].may for name in ("pins", "slam", "load")} == {May.ASK}
    assert found["pins"].joint == "sill"
    assert "ask the adhesive's maker" in found["pins"].why


def test_without_a_strength_curve_full_strength_is_waited_for(make: Make) -> None:
    repair = make(closed, lambda data: data["adhesive"][0].pop("lap_shear"))
    slam = asked(repair, 0)["slam"]
    assert (slam.state, slam.may) == ("full strength", May.LATER)
    assert slam.at == asked(repair, 0)["load"].at


def oven(bake: str | None, limit: str | None = "80 °C", baked: str | None = "90 °C") -> Change:
    def change(data: dict[str, Any]) -> None:
        closed(data)
        for table, key, value in (
            (data["shop"], "bake", bake),
            (data["adhesive"][0], "limit", limit),
            (data["adhesive"][0], "bake_limit", baked),
        ):
            table.pop(key, None)
            if value is not None:
                table[key] = value

    return change


@pytest.mark.parametrize(
    ("change", "state", "may", "words"),
    [
        (oven("60 °C"), "handling strength", May.LATER, "80 °C is the limit while it cures"),
        (oven("80 °C"), "handling strength", May.LATER, "80 °C is the limit while it cures"),
        (oven("85 °C"), "full strength", May.LATER, "90 °C is the limit once cured"),
        (oven("95 °C"), "", May.NO, "95 °C in the oven is above its 90 °C"),
        (oven("85 °C", baked=None), "full strength", May.ASK, "is not given: ask its maker"),
        (oven("60 °C", limit=None), "handling strength", May.LATER, "(assumed)"),
        (oven(None), "", May.ASK, "at most 80 °C while it cures, at most 90 °C once cured"),
    ],
)
def test_the_oven_against_the_adhesive_s_limits(
    make: Make, change: Change, state: str, may: May, words: str
) -> None:
    bake = asked(make(change), 0)["bake"]
    assert (bake.state, bake.may) == (state, may)
    assert words in bake.why
