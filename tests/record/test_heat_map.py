"""The drawn map: the lamp where it stands, spots marked in words and shape."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from panelwright.bond.warmth import HeatMap, Outline
from panelwright.quantities import Units
from panelwright.record.heat_map import MARGIN, STEPS, drawn, step_C

MAP = HeatMap(
    0.0,
    30.0,
    (Outline("lamp 1", (100.0, 0.0), (300.0, 100.0), 450.0),),
    600.0,
    20.0,
    tuple(float(mm) for mm in range(-150, 751, 150)),
    (-150.0, -50.0, 50.0, 150.0),
    ((30.0,) * 6, (61.0, 61.0, 40.0, 35.0, 30.0, 24.0), (30.0,) * 6),
    (600.0, 24.0),
    (100.0, 61.0),
    (0.4, 0.1),
)


@pytest.mark.exact
def test_the_lamp_s_outline_is_to_scale_at_its_place() -> None:
    root = ET.fromstring(drawn(MAP, Units.MM, (20.0, 10.0), 92.0))  # noqa: S314 - own drawing
    (dashed,) = [box for box in root if box.get("stroke-dasharray") and box.tag.endswith("rect")]
    scale = (92.0 - 2 * MARGIN) / 900.0
    assert float(dashed.get("width", "")) == pytest.approx(300.0 * scale, abs=0.01)
    assert float(dashed.get("x", "")) == pytest.approx(MARGIN + 100.0 * scale, abs=0.01)


def test_words_say_what_colours_show() -> None:
    svg = drawn(MAP, Units.MM, (20.0, 10.0))
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", svg)
    assert "minute 0 to 30, as at its end" in texts
    assert any(words.startswith("hottest 61 °C") for words in texts)
    assert any(words.startswith("coldest 24 °C") for words in texts)
    assert "lamp 1, 450 mm off" in texts
    assert svg.count("<polygon") == 2


@pytest.mark.exact
def test_steps_of_warmth_hold_all_that_is_shown() -> None:
    for low, high in ((19.0, 24.0), (20.0, 64.0), (21.3, 118.0)):
        first, width = step_C(low, high)
        assert first <= low
        assert first + width * len(STEPS) >= high
        assert width % 5.0 == 0.0
