"""The adhesive's own heat: closed forms, the plate, and a joint stepped with its heat in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from panelwright.bond.arrhenius import cure_rate
from panelwright.bond.cure import LawMembers, ages_of
from panelwright.bond.ensemble import Ensemble
from panelwright.bond.exotherm import (
    BondLine,
    adiabatic_rise,
    bond_line,
    exotherm_note,
    heat_of_cure,
    own_heat_K,
    steady_rise,
)
from panelwright.bond.joint import bond_joint
from panelwright.bond.panel import PanelHistory
from panelwright.bond.plate import Layer, Strip, plate_of
from panelwright.bond.plate_modes import LOSS_REFERENCE, modes_of
from panelwright.bond.rows import Milestone

from .conftest import Make

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair

SHEET, GLUE = Layer(160.0, 2700.0, 900.0, 1.0), Layer(0.2, 1300.0, 1500.0, 0.3)
LINE = BondLine(0.3, 1300.0, 20.0, 5445.0, (0.16, 0.16), 300.0)
LUMP = replace(LINE, beside=())
ONE = Ensemble(np.zeros((1, 10)), np.ones(1))
FULL_MIN, ENERGY = 1440.0, 58.0


def law(full_min: float = FULL_MIN) -> LawMembers:
    return LawMembers((Milestone.FULL,), np.array([[full_min]]), np.array([ENERGY]), 23.0)


def bound(line: BondLine, held_C: float, made: LawMembers | None = None) -> float:
    """Of a joint that is held at one temperature for ten hours."""
    minutes = np.linspace(0.0, 600.0, 61)
    history = PanelHistory(minutes, np.full((1, 1, 61), held_C))
    air = np.array([20.0])
    made = made or law()
    return own_heat_K(line, ages_of(made, history, air_C=air, start_C=air), made, ONE)


@pytest.mark.exact
def test_kept_it_warms_the_stack_by_heat_over_capacity() -> None:
    """400 J/g · 390 g/m² = 156 kJ/m² into 5445 J/(m² K)."""
    assert heat_of_cure(LINE) == pytest.approx(156e3)
    assert adiabatic_rise(LINE) == pytest.approx(156e3 / 5445.0)
    assert adiabatic_rise(LINE, 200.0) == pytest.approx(78e3 / 5445.0)


@pytest.mark.exact
def test_the_outermost_sheets_of_a_stack_go_on_beyond_its_films() -> None:
    middle = Layer(50.0, 7850.0, 460.0, 0.8)
    line = bond_line((SHEET, middle, replace(SHEET, thickness_mm=1.5), GLUE), 24.0, 300.0)
    capacity = 2700.0 * 900.0 * 2.5e-3 + 7850.0 * 460.0 * 0.8e-3 + 1300.0 * 1500.0 * 0.3e-3
    assert line is not None
    assert line.beside == pytest.approx((0.16, 0.24))
    assert line.heat_capacity == pytest.approx(capacity)
    assert (line.film_mm, line.density, line.width_mm, line.reach_mm) == (0.3, 1300.0, 24.0, 300.0)
    assert bond_line((SHEET, GLUE), 24.0, 300.0) is None


@pytest.mark.exact
def test_without_sheets_beside_it_the_faces_lose_it() -> None:
    assert steady_rise(LUMP, 120.0, 25.0) == pytest.approx(120.0 / 25.0)


@pytest.mark.second_route
def test_the_plate_finds_the_same_steady_rise_of_an_overlap() -> None:
    strips = (Strip(300.0, (SHEET,)), Strip(20.0, (SHEET, GLUE, SHEET)), Strip(300.0, (SHEET,)))
    modes = modes_of(plate_of((0.0, 40.0), strips, 5.0))
    flux = np.zeros((len(modes.plate.along_mm), len(modes.plate.across_mm), 1))
    on = np.abs(modes.plate.across_mm - 310.0) < 10.0
    flux[:, on] = 100.0
    rise = modes.field(modes.project(flux) / modes.rate[:, :, None])[0, on, 0].mean()
    assert rise == pytest.approx(steady_rise(LINE, 100.0, LOSS_REFERENCE), rel=0.02)


@pytest.mark.second_route
@pytest.mark.parametrize("held_C", [40.0, 60.0, 80.0])
@pytest.mark.parametrize("line", [LINE, LUMP], ids=["between sheets", "alone"])
def test_a_joint_stepped_with_its_own_heat_stays_below(line: BondLine, held_C: float) -> None:
    """C dT/dt = Q dα/dt − h (T − T_held), dα/dt of first order, by steps of half a second."""
    warmth, done, highest, step_s = 0.0, 0.0, 0.0, 0.5
    pace = -np.log(0.05) / FULL_MIN / 60.0
    loss = 1.0 / steady_rise(line, 1.0)
    for _ in range(20000):
        rate = pace * float(cure_rate(held_C + warmth, 23.0, ENERGY)) * (1.0 - done)
        gain = heat_of_cure(line) * rate - loss * warmth
        warmth, done = warmth + step_s * gain / line.heat_capacity, done + step_s * rate
        highest = max(highest, warmth)
    most = bound(line, held_C)
    assert highest < most <= adiabatic_rise(line)
    if line is LINE:
        assert highest > 0.75 * most


@pytest.mark.invariant
def test_more_of_it_narrower_sheets_and_a_quicker_law_make_it_warmer() -> None:
    usual = bound(LINE, 50.0)
    assert bound(replace(LINE, film_mm=0.6), 50.0) > 2.0 * usual
    assert bound(replace(LINE, beside=(0.16,)), 50.0) > usual
    assert bound(LINE, 50.0, law(720.0)) > 2.0 * usual
    assert bound(LINE, 60.0) > usual


@pytest.mark.exact
def test_a_sheet_without_times_tells_nothing() -> None:
    work = LawMembers((Milestone.WORK,), np.array([[60.0]]), np.array([ENERGY]), 23.0)
    assert bound(LINE, 80.0, work) == 0.0
    assert exotherm_note(0.0) == ()


def test_a_thick_bond_line_under_a_lamp_is_told_and_a_usual_one_is_not(make: Make) -> None:
    def thick(data: dict[str, Any]) -> None:
        data["joint"][0]["remake"] = {"bond_line": "2 mm"}

    def notes(repair: Repair) -> list[str]:
        found, _ = bond_joint(repair, repair.joints[0])
        return [note for note in found.notes if "own heat" in note]

    (note,) = notes(make(thick, heated=True))
    assert "counted against the limit" in note
    assert notes(make(heated=True)) == []
    assert notes(make(thick)) == []


def test_what_is_told_counts_against_the_limit(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    repair = make(heated=True)
    before, _ = bond_joint(repair, repair.joints[0])
    monkeypatch.setattr("panelwright.bond.joint.own_heat_K", lambda *_: 15.0)
    after, _ = bond_joint(repair, repair.joints[0])
    assert after.hottest_C == before.hottest_C
    assert before.hottest_C is not None
    assert before.limit_C is not None
    assert before.p_over_limit is not None
    assert after.p_over_limit is not None
    assert after.p_over_limit > before.p_over_limit
    assert after.over_limit == (before.hottest_C + 15.0 > before.limit_C)
    monkeypatch.setattr("panelwright.bond.joint.own_heat_K", lambda *_: 1.9)
    assert bond_joint(repair, repair.joints[0])[0] == before
