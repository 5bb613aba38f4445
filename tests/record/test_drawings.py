"""Charts of other rooms in the job file's fonts."""

from __future__ import annotations

import re

import pytest

from panelwright.record import drawings
from panelwright.record.glyphs import FAMILIES
from panelwright.record.typeset import TypesetError


def test_every_text_of_a_chart_is_in_the_shipped_fonts():
    svg = drawings.chart(drawings.SMALLEST)
    families = set(re.findall(r'font-family="([^"]*)"', svg))
    assert families == {", ".join(FAMILIES)}


def test_a_font_that_a_room_names_is_replaced():
    svg = drawings.chart({**drawings.SMALLEST, "config": {"font": "Comic Relief"}})
    assert "Comic" not in svg


@pytest.mark.invariant
def test_the_same_chart_is_the_same_svg():
    first = drawings.chart(drawings.SMALLEST)
    drawings._drawn.cache_clear()
    assert drawings.chart(drawings.SMALLEST) == first


def test_a_chart_that_cannot_be_drawn_is_an_error_in_words():
    with pytest.raises(TypesetError, match="a chart could not be drawn"):
        drawings.chart({"mark": "no such mark"})


def test_starting_the_engine_aside_leaves_no_trace_in_the_charts():
    drawings.warm_up()
    assert drawings.chart(drawings.SMALLEST).startswith("<svg")
