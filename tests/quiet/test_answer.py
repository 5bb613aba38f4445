"""Pads of one panel: what they cover, what they weigh, how they are cut, what is missing."""

from __future__ import annotations

import json
from itertools import combinations

import pytest
from shapely import Polygon
from shapely import box as rectangle

from panelwright.cli.pages.quiet import page
from panelwright.errors import Unanswerable
from panelwright.facts.file import read
from panelwright.quantities import Units
from panelwright.quiet import answer
from panelwright.quiet.answer import Answer
from panelwright.quiet.damping import FreeLayer, loss_ratio_astm_e756, strain_energy_fraction
from panelwright.quiet.published import as_json

DATA = """
thickness = "2 mm"
mass = 3.6
modulus = 0.5
loss = 0.3
sheet = ["500 mm", "200 mm"]
on_hand = 1
"""
PANEL = """
[conditions]
air = "19 °C"
[[part]]
id = "outer"
state = "replace"
material = "EN AW-6016-T4"
thickness = "1.0 mm"
area = "0.4 m2"
"""
FIRST = '[[pad]]\npart = "outer"\noutline = [[0, 0], [310, 0], [310, 180], [0, 180]]\n'
SECOND = (
    '[[pad]]\npart = "outer"\nname = "corner"\n'
    "outline = [[0, 0], [200, 0], [200, 50], [50, 50], [50, 100], [0, 100]]\n"
)
FULL = PANEL + FIRST + DATA + SECOND + DATA


def asked(text: str) -> Answer:
    return answer(read(text))


@pytest.mark.exact
def test_coverage_mass_and_area_by_hand() -> None:
    (part,) = asked(FULL).parts
    assert part.pads == ("outer pad 1", "corner")
    assert part.pad_area_m2 == pytest.approx(0.0683)  # 0.0558 + 0.0125
    assert part.coverage == pytest.approx(0.17075)
    assert part.pad_mass_kg == pytest.approx(0.24588)  # 3.6 kg/m²


@pytest.mark.exact
def test_loss_is_the_bare_panel_and_the_energy_under_the_pads() -> None:
    (part,) = asked(FULL).parts
    # Al 1.0 mm with 2.0 mm of 0.5 GPa and loss 0.3: 0.09018 where the pad lies (check values)
    local = 0.3 * loss_ratio_astm_e756(FreeLayer(0.5 / 70, 2.0))
    assert local == pytest.approx(0.09018, abs=0.6e-5)
    assert part.loss_bare is not None
    assert part.loss_with is not None
    middle = strain_energy_fraction(0.17075, 0.33) * local
    assert part.loss_with.likely == pytest.approx(0.01 + middle)
    assert part.loss_with.low == pytest.approx(0.005 + 0.17075 * local)
    assert part.loss_with.high == pytest.approx(0.02 + middle)
    assert part.loss_bare.likely < part.loss_with.low < part.loss_with.likely < part.loss_with.high


@pytest.mark.invariant
def test_marks_travel_with_the_loss_factor() -> None:
    part = as_json(asked(FULL))["parts"]["outer"]
    assert "from memory" in part["marks"]
    assert part["spread_from"]


@pytest.mark.exact
@pytest.mark.parametrize(
    ("gone", "words"),
    [
        ('area = "0.4 m2"\n', "the panel's area"),
        ('material = "EN AW-6016-T4"\n', "the panel's material"),
        ('thickness = "1.0 mm"\n', "the panel's thickness"),
        ("modulus = 0.5\n", "the pad's modulus"),
        ("loss = 0.3\n", "the pad's loss"),
    ],
)
def test_what_is_missing_is_named_and_no_loss_is_made_up(gone: str, words: str) -> None:
    found = asked(FULL.replace(gone, ""))
    (part,) = found.parts
    assert part.loss_with is None
    assert part.quieter_dB is None
    assert any(words in missing for missing in part.missing)
    assert any(words in problem.what for problem in found.problems)
    assert (part.coverage is None) == ("area" in gone)
    assert found.sheets == 1


@pytest.mark.exact
def test_pads_larger_than_the_panel_are_a_problem_not_a_loss_factor() -> None:
    found = asked(FULL.replace('"0.4 m2"', '"0.05 m2"'))
    assert found.parts[0].coverage == pytest.approx(1.366)
    assert found.parts[0].loss_with is None
    assert any("cover 137 % of it" in problem.what for problem in found.problems)


@pytest.mark.exact
def test_a_panel_covered_to_its_edge_has_the_full_layer_s_loss() -> None:
    (part,) = asked(PANEL.replace("0.4 m2", "0.0558 m2") + FIRST + DATA).parts
    assert part.coverage == 1.0
    assert part.loss_with is not None
    assert part.loss_with.likely == pytest.approx(0.01 + 0.09018, abs=0.6e-5)


@pytest.mark.exact
def test_a_pad_that_crosses_itself_is_left_out_and_the_rest_is_answered() -> None:
    bow = '[[pad]]\npart = "outer"\nname = "bow"\noutline = [[0, 0], [9, 9], [9, 0], [0, 9]]\n'
    found = asked(FULL + bow)
    assert found.problems[0].where == "pad[2].outline"
    assert "crosses or touches itself" in found.problems[0].what
    assert len(found.placements) == 2


@pytest.mark.exact
@pytest.mark.parametrize(
    ("text", "words"),
    [
        (PANEL, "No sound pad is traced"),
        (PANEL + '[[pad]]\npart = "outer"\noutline = [[0, 0], [1, 0], [2, 0]]\n', "in one line"),
    ],
)
def test_without_a_readable_pad_it_says_so(text: str, words: str) -> None:
    with pytest.raises(Unanswerable, match=words):
        asked(text)


@pytest.mark.exact
def test_a_pad_on_a_part_that_is_not_there_is_still_cut() -> None:
    found = asked(FIRST.replace("outer", "ghost") + DATA)
    assert found.parts[0].coverage is None
    assert found.sheets == 1
    assert any("not in this file" in problem.what for problem in found.problems)


@pytest.mark.exact
def test_a_renewed_skin_without_a_traced_pad_is_mentioned() -> None:
    side = '[[part]]\nid = "side"\nstate = "replace"\nmaterial = "EN AW-6016-T4"\n'
    large, small = side + 'area = "0.6 m2"\n', side + 'area = "0.1 m2"\n'
    assert [p.where for p in asked(FULL + large).problems] == ["part side"]
    assert asked(FULL + small).problems == ()


@pytest.mark.second_route
def test_placed_outlines_lie_on_their_sheet_and_apart() -> None:
    found = asked(PANEL + (FIRST + DATA) * 3 + (SECOND + DATA) * 6)
    sheets = {}
    for put in found.placements:
        sheets.setdefault(put.sheet, []).append(Polygon(put.outline_mm))
    assert len(found.placements) == 9
    assert len({put.pad for put in found.placements}) == 9
    assert set(sheets) == set(range(1, (found.sheets or 0) + 1))
    for shapes in sheets.values():
        assert all(rectangle(0, 0, 500, 200).buffer(1e-6).contains(shape) for shape in shapes)
        assert all(a.intersection(b).area < 1e-6 for a, b in combinations(shapes, 2))
    assert sum(shape.area for shapes in sheets.values() for shape in shapes) == pytest.approx(
        3 * 55800 + 6 * 12500
    )


@pytest.mark.exact
def test_sheets_are_counted_by_kind_against_what_is_on_hand() -> None:
    other = DATA.replace('thickness = "2 mm"', 'thickness = "3 mm"').replace("on_hand = 1\n", "")
    found = asked(PANEL + (FIRST + DATA) * 3 + FIRST + other)
    assert [(s.need, s.at_least, s.on_hand, s.get) for s in found.stocks] == [
        (3, 2, 1, 2),
        (1, 1, None, 1),
    ]
    assert found.sheets == 4
    assert max(put.sheet for put in found.placements) == 4


@pytest.mark.exact
def test_without_a_sheet_size_no_number_of_sheets_is_made_up() -> None:
    found = asked(PANEL + FIRST)
    assert found.sheets is None
    assert found.placements == ()
    assert any('give sheet = ["500 mm", "200 mm"]' in p.what for p in found.problems)


@pytest.mark.exact
def test_a_pad_too_large_for_its_sheet_is_said() -> None:
    found = asked(PANEL + FIRST + DATA.replace("500 mm", "300 mm"))
    assert found.sheets == 0
    assert any("does not fit a sheet of 300 × 200 mm" in p.what for p in found.problems)


@pytest.mark.exact
def test_a_mass_that_no_pad_has_is_questioned() -> None:
    found = asked(PANEL + FIRST + DATA.replace("3.6", "36"))
    assert any("18000 kg/m³" in problem.what for problem in found.problems)


@pytest.mark.published
@pytest.mark.parametrize(
    ("air", "words"),
    [
        ("3 °C", "under 5 °C pads crack"),
        ("14 °C", "warm panel and pads to 18 to 25 °C"),
        ("19 °C", "inside the 18 to 25 °C"),
        ("31 °C", "above the 18 to 25 °C"),
    ],
)
def test_the_bay_is_compared_with_the_laying_temperature(air: str, words: str) -> None:
    # bitumen sheet, distributor's data (read): apply at 18 to 25 °C, brittle under 5 °C
    assert any(words in line for line in asked(FULL.replace("19 °C", air)).how)


@pytest.mark.invariant
def test_a_file_in_inches_gives_the_same_answer() -> None:
    inches = FULL.replace('"2 mm"', '"5/64 in"')
    metric = FULL.replace('"2 mm"', '"1.984375 mm"')
    assert asked(inches).parts == asked(metric).parts


@pytest.mark.invariant
def test_the_published_keys_are_those_of_the_page_and_can_be_written() -> None:
    found = as_json(asked(FULL))
    assert {"parts", "sheets", "placements"} <= set(found)
    assert {"coverage", "loss_bare", "loss_with"} <= set(found["parts"]["outer"])
    assert {"sheet", "pad", "x_mm", "y_mm", "turned"} <= set(found["placements"][0])
    assert json.loads(json.dumps(found, allow_nan=False)) == found


@pytest.mark.invariant
@pytest.mark.parametrize("units", list(Units))
def test_the_page_starts_with_what_to_do_and_shows_no_frequency(units: Units) -> None:
    text = page(asked(FULL), units)
    assert text.startswith("Cut 2 pads from 1 sheet, warm them")
    assert "Hz" not in text.split("Sources")[0]
    assert "[from memory]" in text
    assert ("19.685 in" in text) == (units is Units.IN)
