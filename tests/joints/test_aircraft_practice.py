"""Rivets per inch of AC 43.13-1B."""

from __future__ import annotations

import pytest

from panelwright.joints.aircraft_practice import (
    RivetSize,
    SheetClass,
    rivet_count_ac43_13_1b,
    rivets_per_inch_ac43_13_1b,
)

# FAA AC 43.13-1B (1998), Tables 4-9, 4-10 and 4-11, seen; columns 3/32, 1/8, 5/32, 3/16, 1/4 in
PRINTED = {
    SheetClass.ALCLAD_70_KSI: """
        .016 6.5 4.9 - - -
        .020 6.9 4.9 3.9 - -
        .025 8.6 4.9 3.9 - -
        .032 11.1 6.2 3.9 3.3 -
        .036 12.5 7.0 4.5 3.3 2.4
        .040 13.8 7.7 5.0 3.5 2.4
        .051 - 9.8 6.4 4.5 2.5
        .064 - 12.3 8.1 5.6 3.1
        .081 - - 10.2 7.1 3.9
        .091 - - 11.4 7.9 4.4
        .102 - - 12.8 8.9 4.9
        .128 - - - 11.2 6.2""",
    SheetClass.ALCLAD_55_KSI: """
        .016 6.5 4.9 - - -
        .020 6.5 4.9 3.9 - -
        .025 6.9 4.9 3.9 - -
        .032 8.9 4.9 3.9 3.3 -
        .036 10.0 5.6 3.9 3.3 2.4
        .040 11.1 6.2 4.0 3.3 2.4
        .051 - 7.9 5.1 3.6 2.4
        .064 - 9.9 6.5 4.5 2.5
        .081 - 12.5 8.1 5.7 3.1
        .091 - - 9.1 6.3 3.5
        .102 - - 10.3 7.1 3.9
        .128 - - 12.9 8.9 4.9""",
    SheetClass.ALLOY_5052: """
        .016 6.3 4.7 - - -
        .020 6.3 4.7 3.8 - -
        .025 6.3 4.7 3.8 - -
        .032 6.3 4.7 3.8 3.2 -
        .036 7.1 4.7 3.8 3.2 2.4
        .040 7.9 4.7 3.8 3.2 2.4
        .051 10.1 5.6 3.8 3.2 2.4
        .064 12.7 7.0 4.6 3.2 2.4
        .081 - 8.9 5.8 4.0 2.4
        .091 - 10.0 6.5 4.5 2.5
        .102 - 11.2 7.3 5.1 2.8
        .128 - - 9.2 6.4 3.5""",
}
MISPRINT = (SheetClass.ALCLAD_70_KSI, 0.032, RivetSize.FIVE_32)


def cells() -> list[tuple[SheetClass, float, RivetSize, float]]:
    return [
        (sheet, float(thickness), size, float(printed))
        for sheet, lines in PRINTED.items()
        for thickness, *row in (line.split() for line in lines.strip().splitlines())
        for size, printed in zip(RivetSize, row, strict=True)
        if printed != "-"
    ]


@pytest.mark.published
def test_every_printed_cell_but_one_is_met_within_a_tenth() -> None:
    found = cells()
    assert len(found) == 131
    for sheet, thickness, size, printed in found:
        if (sheet, thickness, size) == MISPRINT:
            continue
        got = rivets_per_inch_ac43_13_1b(thickness_mm=25.4 * thickness, size=size, sheet=sheet)
        assert got == pytest.approx(printed, abs=0.1), (sheet, thickness, size)


@pytest.mark.published
def test_the_one_cell_that_differs_is_known() -> None:
    sheet, thickness, size = MISPRINT
    got = rivets_per_inch_ac43_13_1b(thickness_mm=25.4 * thickness, size=size, sheet=sheet)
    assert got == pytest.approx(4.03, abs=0.005)  # printed 3.9


@pytest.mark.published
@pytest.mark.parametrize(
    ("per_inch", "width_in", "share", "count"),
    [
        (4.9, 10.0, 0.75, 37),  # AC 43.13-1B p 4-27, single lap
        (6.2, 0.6, 1.0, 4),  # p 4-41
        (6.2, 0.6, 0.6, 3),  # 60 % of the rounded number
        (6.2, 2.0, 1.0, 13),
        (6.2, 2.0, 0.6, 8),
    ],
)
def test_rivet_numbers_of_the_worked_examples(
    per_inch: float, width_in: float, share: float, count: int
) -> None:
    got = rivet_count_ac43_13_1b(per_inch=per_inch, width_mm=25.4 * width_in, share=share)
    assert got == count


@pytest.mark.published
def test_two_rows_of_the_worked_example_hold_nineteen_each() -> None:
    one_row = rivet_count_ac43_13_1b(per_inch=4.9, width_mm=254.0, share=0.75)
    assert -(-one_row // 2) == 19  # AC 43.13-1B p 4-27


@pytest.mark.invariant
def test_thicker_sheet_needs_no_fewer_rivets() -> None:
    for sheet in SheetClass:
        for size in RivetSize:
            row = [
                rivets_per_inch_ac43_13_1b(thickness_mm=0.1 * step, size=size, sheet=sheet)
                for step in range(4, 34)
            ]
            assert row == sorted(row)


@pytest.mark.exact
def test_no_thickness_is_refused() -> None:
    with pytest.raises(ValueError, match="thickness_mm"):
        rivets_per_inch_ac43_13_1b(
            thickness_mm=0.0, size=RivetSize.ONE_8, sheet=SheetClass.ALLOY_5052
        )
    with pytest.raises(ValueError, match="width_mm"):
        rivet_count_ac43_13_1b(per_inch=4.9, width_mm=-1.0)


@pytest.mark.exact
def test_a_share_is_taken_of_the_rounded_number() -> None:
    # 1.1 rivets are 2; 60 % of 2 is 1.2, so 2; 60 % of 1.1 would have been 1
    assert rivet_count_ac43_13_1b(per_inch=1.1, width_mm=25.4, share=0.6) == 2
