"""Sheet strength by state, and metals that meet."""

from __future__ import annotations

import pytest

from panelwright.joints.metals import (
    CONTROLLED_V,
    HARSH_V,
    NORMAL_V,
    Pair,
    farthest_pair,
    metal_by_key,
    metal_of,
)
from panelwright.joints.sheets import SheetState, alloy_of, known_sheets, sheet_strength


# low end of the ultimate strength, reference §6, seen
@pytest.mark.published
@pytest.mark.parametrize(
    ("material", "delivered_MPa", "baked_MPa"),
    [
        ("EN AW-5182-O", 275, 275),
        ("EN AW-5754-O", 220, 220),
        ("EN AW-6016-T4", 170, 260),
        ("EN AW-6016-T6", 260, 260),
        ("EN AW-6111-T4", 240, 285),
        ("EN AW-6022-T4", 238, 238),
        ("EN AW-5052-H32", 228, 228),
        ("EN AW-6061-T6", 260, 260),
    ],
)
def test_new_sheet_is_as_delivered_and_old_sheet_is_bake_hardened(
    material: str, delivered_MPa: float, baked_MPa: float
) -> None:
    new, old = (sheet_strength(material, state) for state in SheetState)
    assert new is not None
    assert old is not None
    assert new.ultimate_low_MPa == delivered_MPa
    assert old.ultimate_low_MPa == baked_MPa


@pytest.mark.invariant
def test_no_sheet_is_weaker_after_the_oven_and_none_has_its_ends_crossed() -> None:
    for material in known_sheets():
        new, old = (sheet_strength(material, state) for state in SheetState)
        assert new is not None
        assert old is not None
        assert old.ultimate_low_MPa >= new.ultimate_low_MPa
        assert new.ultimate_low_MPa <= new.ultimate_high_MPa


@pytest.mark.exact
def test_a_sheet_without_temper_is_the_weakest_and_says_so() -> None:
    sheet = sheet_strength("EN AW-6016", SheetState.DELIVERED)
    assert sheet is not None
    assert sheet.temper == "T4"
    assert "the weakest of the alloy" in sheet.note
    baked = sheet_strength("6022-T4", SheetState.BAKED)
    assert baked is not None
    assert "no bake-hardened strength was found" in baked.note


@pytest.mark.exact
@pytest.mark.parametrize("material", [None, "", "steel DC04", "plywood", "1.0338", "EN AW-7075-T6"])
def test_what_is_not_in_the_table_has_no_strength(material: str | None) -> None:
    assert sheet_strength(material, SheetState.DELIVERED) is None


@pytest.mark.exact
@pytest.mark.parametrize(
    ("material", "alloy"),
    [
        ("EN AW-6016-T4", ("6016", "T4")),
        ("AA6111 T4P", ("6111", "T4")),
        ("5754", ("5754", "")),
        ("EN AW-5754-O/H111", ("5754", "O")),
        ("DX54", None),
    ],
)
def test_designations_are_read(material: str, alloy: tuple[str, str] | None) -> None:
    assert alloy_of(material) == alloy


# anodic index, reference §7.1 and T14, seen
@pytest.mark.published
@pytest.mark.parametrize(
    ("other", "volts"),
    [
        ("steel", 0.05),
        ("galvanised", 0.30),
        ("stainless", 0.40),
        ("graphite", 0.90),
        ("titanium", 0.60),
        ("copper", 0.55),
        ("magnesium", 0.85),
    ],
)
def test_distance_of_body_sheet_from_other_metals(other: str, volts: float) -> None:
    sheet = metal_of("EN AW-6016-T4")
    assert sheet is not None
    assert Pair(sheet, metal_by_key(other)).difference_V == volts
    assert Pair(metal_by_key(other), sheet).difference_V == volts


@pytest.mark.published
def test_thresholds_of_the_anodic_index() -> None:
    assert (HARSH_V, NORMAL_V, CONTROLLED_V) == (0.15, 0.25, 0.50)  # reference §7.1, seen


@pytest.mark.published
def test_the_two_tables_disagree_on_steel_and_both_are_kept() -> None:
    # anodic index: 0.05 V, harmless; MIL-STD-889 style matrix: 6061 with steel incompatible (seen)
    pair = Pair(metal_by_key("aluminium"), metal_by_key("steel"))
    assert pair.difference_V <= HARSH_V
    assert pair.matrix_says_incompatible
    assert not Pair(metal_by_key("aluminium"), metal_by_key("aluminium")).matrix_says_incompatible


@pytest.mark.exact
@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("EN AW-6016-T4", "aluminium"),
        ("5754-O", "aluminium"),
        ("AlA/St", "aluminium"),
        ("AlA/AlA", "aluminium"),
        ("A2/A2", "stainless"),
        ("St/St", "steel"),
        ("steel/AlA", "steel"),
        ("stainless steel", "stainless"),
        ("galvanised steel", "galvanised"),
        ("steel, zinc-nickel coated", "galvanised"),
        ("boron steel", "steel"),
        ("steel 1008", "steel"),
        ("carbon steel", "steel"),
        ("carbon fibre laminate", "graphite"),
        ("cast aluminium", "cast aluminium"),
        ("EN AW-2024-T3", "aluminium 2000"),
        ("aluminium with steel mandrel", "aluminium"),
        ("magnesium", "magnesium"),
    ],
)
def test_words_for_a_material_name_its_metal(words: str, key: str) -> None:
    metal = metal_of(words)
    assert metal is not None
    assert metal.key == key


@pytest.mark.exact
@pytest.mark.parametrize("words", [None, "", "plywood", "polypropylene"])
def test_what_is_no_metal_is_none(words: str | None) -> None:
    assert metal_of(words) is None


@pytest.mark.exact
def test_the_farthest_pair_of_three_metals() -> None:
    metals = tuple(metal_by_key(key) for key in ("aluminium", "steel", "stainless"))
    pair = farthest_pair(metals)
    assert pair is not None
    assert {pair.one.key, pair.other.key} == {"aluminium", "stainless"}
    assert farthest_pair(metals[:1]) is None
