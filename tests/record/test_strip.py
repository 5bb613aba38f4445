"""The flange on a joint's sheet: to scale, nothing left out."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib import import_module
from itertools import pairwise

import pytest
from tests.record import sample

from panelwright.quantities import Units
from panelwright.record import strokes
from panelwright.record.labels import text_width_mm
from panelwright.record.strip import KEY_WIDTH_MM, LEFT_MM, WIDTH_MM, strip, strip_key

Origin = import_module("panelwright.joints.answer").Origin
RIVET = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="[\d.]+" fill="#0b4a7f"/>')

BLUE, GREY = re.escape(strokes.ACCENT), re.escape(strokes.SOFT)
UPRIGHT = re.compile(r'translate\([\d.]+ ([\d.]+)\) rotate\(-90\)"><text[^>]*>([^<]+)')
LEVEL = re.compile(rf'<text x="[\d.]+" y="([\d.]+)"[^>]*fill="{BLUE}"')
TICKS = re.compile(rf'<text x="[\d.]+" y="([\d.]+)"[^>]*fill="{GREY}"')
LETTER_MM = 2.0
"""Height of a figure on the drawing."""


def rivets(svg: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in RIVET.findall(svg)]


@pytest.mark.exact
@pytest.mark.parametrize("length", [120.0, 400.0, 640.0, 1100.0, 1480.0, 3000.0])
def test_rivets_stand_to_scale(length):
    joint = sample.joint("arch", Origin.PROPOSAL, length_mm=length)
    drawn = strip(joint)
    assert drawn is not None
    found = rivets(drawn.svg)
    assert len(found) == joint.count
    for (a, b), (low, high) in zip(pairwise(joint.at_mm), pairwise(found), strict=True):
        if low[1] == high[1]:
            assert (high[0] - low[0]) * drawn.scale == pytest.approx(b - a, abs=0.002 * drawn.scale)


@pytest.mark.invariant
@pytest.mark.parametrize("length", [120.0, 841.0, 1480.0, 3000.0])
@pytest.mark.parametrize("units", list(Units))
def test_nothing_leaves_the_paper(length, units):
    drawn = strip(sample.joint("arch", Origin.PROPOSAL, length_mm=length), units)
    assert drawn is not None
    xs = [float(x) for x in re.findall(r'\b(?:x|x1|x2|cx)="(-?[\d.]+)"', drawn.svg)]
    assert min(xs) >= 0.0
    assert max(xs) <= WIDTH_MM
    assert drawn.width_mm == WIDTH_MM


@pytest.mark.exact
@pytest.mark.parametrize("units", list(Units))
def test_the_check_bar_is_100_mm_of_the_drawing(units):
    key = strip_key(units)
    assert f'width="{KEY_WIDTH_MM:g}mm"' in key.svg
    assert f'viewBox="0 0 {KEY_WIDTH_MM:g} ' in key.svg
    assert f'x1="{LEFT_MM:g}"' in key.svg
    assert f'x2="{LEFT_MM + 100.0:g}"' in key.svg
    assert f"new rivet, {units.value} from the end" in key.svg


@pytest.mark.invariant
@pytest.mark.parametrize("length", [300.0, 841.0, 1480.0, 3000.0])
@pytest.mark.parametrize("units", list(Units))
def test_figures_lie_below_the_top_and_clear_of_the_row_above(length, units):
    drawn = strip(sample.joint("arch", Origin.PROPOSAL, length_mm=length), units)
    assert drawn is not None
    tops = [float(y) - text_width_mm(words) for y, words in UPRIGHT.findall(drawn.svg)]
    tops += [float(y) - LETTER_MM for y in LEVEL.findall(drawn.svg) if float(y) > 0.0]
    assert tops
    assert min(tops) >= 0.0
    ticks = [float(y) for y in TICKS.findall(drawn.svg)]
    last = max(tops)  # of the lowest row; the ticks of the rows above end over it
    assert all(tick <= last + 0.1 for tick in ticks if tick < last + LETTER_MM)


def test_where_the_maker_is_asked_no_rivet_is_drawn():
    asked = replace(
        sample.joint("rail", Origin.ASK, asks=("Which rivet?",)),
        origins=sample.joints.Origins(*[Origin.ASK] * 4),
    )
    drawn = strip(asked)
    assert drawn is not None
    assert rivets(drawn.svg) == []


def test_a_joint_of_unknown_length_has_no_drawing():
    assert strip(replace(sample.joint("arch", Origin.PROPOSAL), length_mm=None)) is None
