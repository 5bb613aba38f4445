"""How much adhesive, and how large the bead."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.joints.build import ADHESIVE, JOINT, ask_one, without

from panelwright.joints.amount import BondLine, adhesive_amount, bead_for, squeeze_ratio
from panelwright.joints.references import BOND_LINE

LINE = BondLine(1000.0, 20.0, 0.25, 1, "E1", BOND_LINE)


@pytest.mark.exact
def test_a_metre_of_twenty_millimetres_by_a_quarter_holds_five_millilitres() -> None:
    amount = adhesive_amount(LINE)
    assert amount.line_ml == pytest.approx(5.0)
    assert amount.squeeze_ml == pytest.approx(1.0)
    assert amount.total_ml == pytest.approx(5.0 + 1.0 + 2.0)  # with the first mix


@pytest.mark.exact
def test_three_sheets_have_two_bond_lines_with_one_bead_each() -> None:
    one, two = adhesive_amount(LINE), adhesive_amount(replace(LINE, lines=2))
    assert two.line_ml == pytest.approx(2.0 * one.line_ml)
    assert two.bead == one.bead


@pytest.mark.exact
def test_bead_sizes_by_circle_and_triangle() -> None:
    bead = bead_for(math.pi)  # a circle of 2 mm
    assert bead.round_mm == 2.0
    assert bead.triangle_mm == 2.6  # √(2π) = 2.507, rounded up to a tenth
    assert bead_for(8.0).triangle_mm == 4.0


@pytest.mark.invariant
@given(st.floats(5.0, 60.0), st.floats(0.1, 1.0), st.floats(50.0, 3000.0))
def test_the_bead_always_fills_the_bond_line_and_squeezes_out(
    flange: float, thickness: float, length: float
) -> None:
    amount = adhesive_amount(BondLine(length, flange, thickness, 1, "", BOND_LINE))
    assert squeeze_ratio(amount.bead, flange, thickness) >= 1.2 - 1e-9
    assert amount.total_ml == pytest.approx(
        amount.line_ml + amount.squeeze_ml + amount.first_mix_ml
    )
    assert amount.bead.triangle_mm**2 / 2.0 >= amount.bead.area_mm2 - 1e-9


@pytest.mark.exact
def test_no_flange_is_refused() -> None:
    with pytest.raises(ValueError, match="flange_mm"):
        adhesive_amount(replace(LINE, flange_mm=0.0))
    with pytest.raises(ValueError, match="area_mm2"):
        bead_for(0.0)


@pytest.mark.exact
def test_bond_line_comes_from_the_procedure_then_the_data_sheet_then_practice() -> None:
    sheet = [without(ADHESIVE, thickness="0.4 mm")]
    said = ask_one(without(JOINT, remake={"bond_line": "0.5 mm"}), adhesives=sheet)
    declared = ask_one(adhesives=sheet)
    assumed = ask_one(adhesives=[without(ADHESIVE, "thickness")])
    lines = [joint.adhesive.bond_line_mm for joint in (said, declared, assumed) if joint.adhesive]
    assert lines == [0.5, 0.4, 0.3]
    assert [joint.stack_mm for joint in (said, declared, assumed)] == pytest.approx([2.7, 2.6, 2.5])
    assert assumed.adhesive is not None
    assert "common practice, no source" in assumed.adhesive.sources[0].travelling_marks
