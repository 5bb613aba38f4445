"""The flange on a joint's sheet: to scale, nothing left out."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib import import_module
from itertools import pairwise

import pytest
from tests.record import sample

from panelwright.quantities import Units
from panelwright.record.strip import LEFT_MM, WIDTH_MM, strip

Origin = import_module("panelwright.joints.answer").Origin
RIVET = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="[\d.]+" fill="#0b4a7f"/>')


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
def test_the_check_bar_is_100_mm_of_the_drawing():
    drawn = strip(sample.joint("arch", Origin.PROPOSAL))
    assert drawn is not None
    assert f'width="{WIDTH_MM:g}mm"' in drawn.svg
    assert f'viewBox="0 0 {WIDTH_MM:g} ' in drawn.svg
    assert f'x1="{LEFT_MM:g}"' in drawn.svg
    assert f'x2="{LEFT_MM + 100.0:g}"' in drawn.svg


def test_where_the_maker_is_asked_no_rivet_is_drawn():
    drawn = strip(sample.joint("rail", Origin.ASK, asks=("Which rivet?",)))
    assert drawn is not None
    asked = replace(
        sample.joint("rail", Origin.ASK, asks=("Which rivet?",)),
        origins=sample.joints.Origins(*[Origin.ASK] * 4),
    )
    again = strip(asked)
    assert again is not None
    assert rivets(again.svg) == []
    assert "ask the maker" in again.svg


def test_a_joint_of_unknown_length_has_no_drawing():
    assert strip(replace(sample.joint("arch", Origin.PROPOSAL), length_mm=None)) is None
