"""The chart and the page: every figure with its unit, nothing by colour alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import vl_convert

from panelwright.bond import answer
from panelwright.bond.answer import JointBond
from panelwright.bond.chart import FONT, Place, chart_of
from panelwright.cli.pages.bond import page
from panelwright.quantities import Units

from .conftest import Make

FONTS = Path(__file__).resolve().parents[2] / "src" / "panelwright" / "record" / "fonts"


@pytest.mark.parametrize("place", list(Place))
@pytest.mark.parametrize("heated", [True, False])
def test_it_is_drawn_with_its_words(make: Make, place: Place, heated: bool) -> None:
    (bond,) = answer(make(heated=heated)).joints
    vl_convert.register_font_directory(str(FONTS))
    specification = json.loads(json.dumps(chart_of(bond, place)))
    assert specification["config"]["font"] == FONT
    drawn = vl_convert.vegalite_to_svg(specification)
    for words in ("coldest spot", "hottest spot", "limit 80 °C", "temperature, °C", "MPa"):
        assert words in drawn


def test_the_packet_s_chart_fits_a_column_of_a4(make: Make) -> None:
    (bond,) = answer(make(heated=True)).joints
    drawn = vl_convert.vegalite_to_svg(json.loads(json.dumps(chart_of(bond, Place.PACKET))))
    width = float(drawn.split('width="', 1)[1].split('"', 1)[0])
    assert width <= 180.0 / 25.4 * 96.0


def test_lines_differ_by_dash_too(make: Make) -> None:
    (bond,) = answer(make(heated=True)).joints
    text = json.dumps(chart_of(bond))
    assert text.count('"strokeDash": [5, 3]') == 1


def test_a_joint_without_curve_has_no_chart() -> None:
    assert chart_of(JointBond("arch", None)) == {}


@pytest.mark.parametrize(("units", "unit"), [(Units.MM, "°C"), (Units.IN, "°F")])
def test_the_page_begins_with_an_instruction(make: Make, units: Units, unit: str) -> None:
    text = page(answer(make(heated=True)), units)
    assert text.startswith("• Bond only while")
    for words in ("When does it hold?", "Under the lamp", "Sources", "from memory", unit):
        assert words in text
