"""The flange drawn to scale."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.joints.build import JOINT, OLD, PARTS, RIVET, ask_one, without

from panelwright.joints.answer import JointAnswer
from panelwright.joints.drawing import Scale, flange_sheets, row_stretches
from panelwright.quantities import Units

SVG = "{http://www.w3.org/2000/svg}"
NEW = "#0b4f8a"


def joint(**more: Any) -> JointAnswer:
    return ask_one(without(JOINT, **more), rivets=[RIVET])


def elements(drawing: str, tag: str) -> list[dict[str, str]]:
    root = ET.fromstring(drawing)  # noqa: S314 - our own drawing
    return [each.attrib for each in root.iter(f"{SVG}{tag}")]


def texts(drawing: str) -> list[str]:
    root = ET.fromstring(drawing)  # noqa: S314 - our own drawing
    return [each.text or "" for each in root.iter(f"{SVG}text")]


def circles(drawing: str, *, filled: bool) -> list[tuple[float, float, float]]:
    return [
        (float(each["cx"]), float(each["cy"]), float(each["r"]))
        for each in elements(drawing, "circle")
        if (each["fill"] == NEW) is filled
    ]


@pytest.mark.exact
@pytest.mark.parametrize("scale", list(Scale))
def test_distances_on_paper_are_distances_on_the_joint_times_the_scale(scale: Scale) -> None:
    found = joint(length="150 mm", old=without(OLD, count=3, at=[30, 75, 130]))
    (sheet,) = flange_sheets(found, scale)
    marks = circles(sheet.svg, filled=True)
    gaps = [right[0] - left[0] for left, right in pairwise(marks)]
    wanted = [(right - left) * scale.value for left, right in pairwise(found.at_mm)]
    assert gaps == pytest.approx(wanted, abs=0.002)  # coordinates are written to 0.001 mm
    assert [radius for *_, radius in marks] == pytest.approx([2.4 * scale.value] * 3, abs=0.001)


@pytest.mark.exact
def test_user_units_are_millimetres() -> None:
    sheet = flange_sheets(joint())[0]
    root = ET.fromstring(sheet.svg)  # noqa: S314 - our own drawing
    assert root.attrib["width"] == "180mm"
    assert root.attrib["viewBox"] == f"0 0 180 {sheet.height_mm:g}"
    assert sheet.height_mm <= 250.0


@pytest.mark.exact
def test_check_bars_are_a_hundred_millimetres_along_both_axes_at_every_scale() -> None:
    for scale in Scale:
        for sheet in flange_sheets(joint(), scale):
            sizes = [
                (
                    abs(float(each["x2"]) - float(each["x1"])),
                    abs(float(each["y2"]) - float(each["y1"])),
                )
                for each in elements(sheet.svg, "line")
                if each["stroke-width"] == "0.3"
            ]
            assert sizes.count((100.0, 0.0)) == 1
            assert sizes.count((0.0, 100.0)) == 1


@pytest.mark.exact
def test_old_holes_are_hollow_and_to_scale_and_new_rivets_filled() -> None:
    (sheet,) = flange_sheets(joint(), Scale.HALF)
    assert len(circles(sheet.svg, filled=True)) == 5
    hollow = circles(sheet.svg, filled=False)
    assert len(hollow) == 5
    assert [radius for *_, radius in hollow] == pytest.approx([5.3 / 4.0] * 5, abs=0.001)


@pytest.mark.exact
@pytest.mark.parametrize("scale", list(Scale))
def test_the_rivets_line_stands_its_edge_distance_above_the_edge(scale: Scale) -> None:
    sheet = flange_sheets(joint(remake={"rivet": "R48", "edge": "7 mm"}), scale)[0]
    edge = next(
        float(each["y1"])
        for each in elements(sheet.svg, "line")
        if each["stroke-width"] == "0.4" and each["y1"] == each["y2"]
    )
    line = circles(sheet.svg, filled=True)[0][1]
    assert edge - line == pytest.approx(7.0 * scale.value, abs=0.002)
    assert "7" in texts(sheet.svg)


@pytest.mark.exact
def test_places_are_written_as_real_text_in_the_shipped_typeface() -> None:
    drawn = [sheet.svg for sheet in flange_sheets(joint())]
    written = [text for drawing in drawn for text in texts(drawing)]
    assert {"41", "91", "141", "191", "241", "50"} <= set(written)
    fonts = {each["font-family"] for drawing in drawn for each in elements(drawing, "text")}
    assert fonts == {"Noto Sans"}


@pytest.mark.exact
def test_hatching_stays_within_the_stretch_to_avoid() -> None:
    found = joint(avoid=[["140 mm", "150 mm"]])
    (sheet,) = flange_sheets(found, Scale.HALF)
    box = next(each for each in elements(sheet.svg, "rect") if each["fill"] == "none")
    left, right = float(box["x"]), float(box["x"]) + float(box["width"])
    hatches = [each for each in elements(sheet.svg, "line") if each["stroke-width"] == "0.15"]
    slanted = [each for each in hatches if each["x1"] != each["x2"] and each["y1"] != each["y2"]]
    assert slanted
    for each in slanted:
        assert left - 0.002 <= min(float(each["x1"]), float(each["x2"]))
        assert max(float(each["x1"]), float(each["x2"])) <= right + 0.002
    assert left == pytest.approx(10.0 + 140.0 / 2)


@pytest.mark.exact
def test_a_long_joint_is_wrapped_and_every_rivet_is_drawn() -> None:
    old = without(OLD, "at", count=40)
    found = joint(length="2000 mm", old=old)
    sheets = flange_sheets(found)
    assert len(sheets) > 1
    assert [sheet.number for sheet in sheets] == list(range(1, len(sheets) + 1))
    assert all(sheet.height_mm <= 250.0 and sheet.of == len(sheets) for sheet in sheets)
    written = {text for sheet in sheets for text in texts(sheet.svg)}
    assert {f"{at:g}" for at in found.at_mm} <= written
    dashed = [each for each in elements(sheets[0].svg, "circle") if "stroke-dasharray" in each]
    assert dashed  # assumed old places


@pytest.mark.invariant
@given(st.floats(0.0, 500.0), st.floats(1.0, 6000.0), st.sampled_from(list(Scale)))
def test_rows_cover_the_joint_overlap_and_fit_the_page(
    low: float, length: float, scale: Scale
) -> None:
    rows = row_stretches(low, low + length, scale)
    assert rows[0][0] == low
    assert rows[-1][1] == low + length
    for (start, end), (following, _) in pairwise(rows):
        assert (end - start) * scale.value == pytest.approx(150.0)
        assert (end - following) * scale.value == pytest.approx(10.0)
    assert (rows[-1][1] - rows[-1][0]) * scale.value <= 150.0 + 1e-6


@pytest.mark.invariant
def test_the_same_joint_gives_the_same_bytes() -> None:
    assert flange_sheets(joint()) == flange_sheets(joint())


@pytest.mark.exact
def test_words_that_are_markup_are_escaped() -> None:
    parts = [{**PARTS[0], "name": "outer <left> & rear"}, PARTS[1]]
    sheet = flange_sheets(ask_one(parts=parts, rivets=[RIVET]))[0]
    assert any("outer <left> & rear" in text for text in texts(sheet.svg))


@pytest.mark.exact
def test_a_structural_joint_without_places_draws_none_and_asks() -> None:
    parts = [PARTS[0], {**PARTS[1], "structural": True}]
    sheet = flange_sheets(ask_one(parts=parts, rivets=[RIVET]))[0]
    assert circles(sheet.svg, filled=True) == []
    assert any("ask the maker where they go" in text for text in texts(sheet.svg))


@pytest.mark.exact
def test_without_length_or_flange_there_is_no_drawing() -> None:
    for key in ("length", "flange"):
        assert flange_sheets(ask_one(without(JOINT, key), rivets=[RIVET])) == ()


@pytest.mark.exact
def test_figures_in_inches_leave_the_drawing_itself_to_scale() -> None:
    metric, imperial = (flange_sheets(joint(), units=units)[0].svg for units in Units)
    assert circles(metric, filled=True) == circles(imperial, filled=True)
    assert "1.614" in texts(imperial)
    assert any("figures in in;" in text for text in texts(imperial))
