"""Limits of surface and air: each with what was read, its source, and what to do."""

from __future__ import annotations

from typing import Any

import pytest
from tests.bond.conftest import Make

from panelwright.bond.answer import BondAnswer, Fit, LimitCheck
from panelwright.bond.limits import check_words
from panelwright.bond.room import bond_answer


def of_joint(answer: BondAnswer, what: str) -> LimitCheck:
    (joint,) = answer.joints
    return next(one for one in joint.limits if what in one.what)


def of_air(answer: BondAnswer, what: str) -> LimitCheck:
    return next(one for one in answer.surface.limits if what in one.what)


def prepared(minutes: int | None, preparation: str | None = None) -> Any:
    def change(data: dict[str, Any]) -> None:
        first = {"kind": "prepared", "joint": "arch", "at": "2026-11-20T08:00:00+01:00"}
        if preparation:
            first["preparation"] = preparation
        data["event"] = [first]
        if minutes is not None:
            at = f"2026-11-{20 + (8 * 60 + minutes) // 1440:02d}"
            at += f"T{(8 * 60 + minutes) // 60 % 24:02d}:{minutes % 60:02d}:00+01:00"
            data["event"].append({"kind": "bead-begun", "joint": "arch", "at": at})

    return change


def glue(**keys: object) -> Any:
    return lambda data: data["adhesive"][0].update(keys)


def bay(**keys: object) -> Any:
    return lambda data: data["conditions"].update(keys)


@pytest.mark.parametrize(
    ("panel", "fit", "action"),
    # 20 °C, 50 %: dew point 9.27 °C by a reference library [computed]; 3 K above it is 12.3 °C.
    [("12 °C", Fit.NO, "warm the panel"), ("13 °C", Fit.YES, "")],
)
def test_panel_over_the_dew_point(make: Make, panel: str, fit: Fit, action: str) -> None:
    one = of_air(bond_answer(make(bay(panel=panel))), "dew point")
    assert (one.fit, one.action) == (fit, action)
    assert "12.3 °C" in one.limit
    assert "ISO 12944-7" in one.source


@pytest.mark.parametrize(
    ("humidity", "fit", "words"),
    [(50, Fit.YES, ""), (71, Fit.NO, "wait"), (29, Fit.YES, "static")],
)
def test_humidity_is_common_practice(make: Make, humidity: float, fit: Fit, words: str) -> None:
    one = of_air(bond_answer(make(bay(humidity=humidity, panel="30 °C"))), "humidity")
    assert one.fit is fit
    assert words in one.action
    assert one.source == "common practice, no source"


@pytest.mark.parametrize(
    ("panel", "fit", "action"),
    [
        ("9 °C", Fit.NO, "warm the panel"),
        ("10 °C", Fit.YES, ""),
        ("35 °C", Fit.YES, ""),
        ("36 °C", Fit.NO, "wait until the panel has cooled"),
    ],
)
def test_panel_within_what_the_sheet_allows(make: Make, panel: str, fit: Fit, action: str) -> None:
    sheet = glue(apply=["10 °C", "35 °C"], source="sheet 7 (invented)")
    answer = bond_answer(make(sheet, bay(panel=panel)))
    one = of_joint(answer, "range")
    assert (one.fit, one.action) == (fit, action)
    assert one.source == "sheet 7 (invented)"
    said = [p.what for p in answer.problems if "adhesive's range" in p.what]
    assert len(said) == (fit is Fit.NO)


def test_without_a_range_the_rows_speak(make: Make) -> None:
    one = of_joint(bond_answer(make()), "range")
    assert one.limit == "23 to 60 °C"
    assert one.fit is Fit.NO
    assert "extrapolated" in one.action
    assert "rows of" in one.source
    single = glue(time=[{"event": "work", "at": "23 °C", "time": "60 min"}])
    assert of_joint(bond_answer(make(single)), "range").fit is Fit.UNKNOWN


def test_a_range_that_is_turned_round_is_asked_for_again(make: Make) -> None:
    one = of_joint(bond_answer(make(glue(apply=["35 °C", "10 °C"]))), "range")
    assert one.fit is Fit.UNKNOWN
    assert "read both" in one.action


def test_humidity_of_the_sheet(make: Make) -> None:
    one = of_joint(bond_answer(make(glue(humidity=45))), "humidity")
    assert one.fit is Fit.NO
    assert "wait" in one.action
    assert of_joint(bond_answer(make(glue(humidity=60))), "humidity").fit is Fit.YES


@pytest.mark.parametrize(
    ("minutes", "preparation", "fit", "limit"),
    [
        (119, None, Fit.YES, "2 h"),
        (121, None, Fit.NO, "2 h"),
        (121, "anodised", Fit.YES, "720 h"),
        (None, None, Fit.UNKNOWN, "2 h"),
    ],
)
def test_age_of_the_surface(
    make: Make, minutes: int | None, preparation: str | None, fit: Fit, limit: str
) -> None:
    one = of_joint(bond_answer(make(prepared(minutes, preparation))), "prepared")
    assert one.fit is fit
    assert limit in one.limit
    if fit is Fit.NO:
        assert "abrade again" in one.action


def test_the_sheets_own_wait_governs(make: Make) -> None:
    own = glue(prepared_within="30 min", source="sheet 7 (invented)")
    one = of_joint(bond_answer(make(own, prepared(31, "anodised"))), "prepared")
    assert one.fit is Fit.NO
    assert one.source == "sheet 7 (invented)"


def test_a_limit_is_said_with_its_source() -> None:
    one = LimitCheck("humidity", "80 %", "30 to 70 %", Fit.NO, "wait", "practice")
    assert check_words(one) == "humidity, NOT within: 80 %, 30 to 70 % → wait (practice)"


def test_air_that_no_workshop_has_is_no_panel_temperature_either(make: Make) -> None:
    answer = bond_answer(make(bay(air="900 °C")))
    assert of_joint(answer, "range").fit is Fit.UNKNOWN
    assert not [p.what for p in answer.problems if "900 °C" in p.what and "workshop" not in p.what]
