"""Advice: said once for joints alike, and rounded to the safe side."""

from __future__ import annotations

from typing import Any

from panelwright.bond import answer
from panelwright.bond.advice import GOVERNED, LAMP_CAUTIONS, grouped

from .conftest import Make


def test_what_holds_for_several_joints_is_said_once() -> None:
    said = grouped([("a", "wait."), ("b", "heat."), ("c", "wait."), ("d", "wait.")])
    assert said == ("Joints a, c and d: wait.", "Joint b: heat.")


def test_times_are_rounded_to_the_safe_side(make: Make) -> None:
    result = answer(make())
    (bond,) = result.joints
    assert bond.work_until_min is not None
    assert bond.handle_min is not None
    text = " ".join(result.advice)
    hours, minutes = divmod(int(bond.work_until_min), 60)
    assert f"within {hours} h {minutes} min of the first bead" in text
    hours, minutes = divmod(int(bond.handle_min.late) + 1, 60)
    assert f"until {hours} h {minutes} min after closing" in text


def test_cautions_of_the_lamp_stand_where_there_is_one(make: Make) -> None:
    assert set(LAMP_CAUTIONS) <= set(answer(make(heated=True)).advice)
    assert not set(LAMP_CAUTIONS) & set(answer(make()).advice)
    assert answer(make()).advice[-1] == GOVERNED


def test_once_closed_nobody_is_told_when_to_close(make: Make) -> None:
    def closed(data: dict[str, Any]) -> None:
        data["event"] = [{"joint": "arch", "kind": "closed", "at": "2026-11-20T13:25:00+01:00"}]

    assert not any("first bead" in sentence for sentence in answer(make(closed)).advice)
    (bond,) = answer(make(closed)).joints
    assert bond.clock.handle is not None
    assert any("2026-11-20 19:" in s or "2026-11-20 20:" in s for s in answer(make(closed)).advice)
