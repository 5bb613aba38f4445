"""Readings rounded more coarsely than their tool is said to read are asked about."""

from __future__ import annotations

from math import hypot, sqrt
from typing import Any

import numpy as np
import pytest
from tests.fit.build import panel, repair

from panelwright.fit import answer
from panelwright.fit.rounding import coarsest_step
from panelwright.fit.tools import rounding_u_mm


def said(step_mm: float, **tool: Any) -> list[str]:
    """What is said of the gauge where gaps and flushes are rounded to a step."""
    tables = panel((1.0, -2.0, 1.5), (0.5, 1.0, -2.0))
    for reading in tables["reading"]:
        for key in ("gap", "flush"):
            reading[key] = step_mm * round(reading[key] / step_mm)
        reading["with"] = "gauge"
    tools = [{"id": "gauge", "u": 0.2, **tool}]
    found = answer(repair(**tables, tool=tools))
    return [problem.what for problem in found.problems if problem.where == "tool gauge"]


@pytest.mark.exact
@pytest.mark.parametrize("step", ["1/16 in", "1 mm"])
def test_the_step_that_shows_in_the_values_is_asked_for(step: str) -> None:
    [words] = said({"1/16 in": 25.4 / 16, "1 mm": 1.0}[step])
    assert f'resolution = "{step}"' in words


@pytest.mark.exact
def test_nothing_is_asked_where_the_step_is_told_or_fine() -> None:
    assert not said(1.0, resolution="1 mm")
    assert not said(0.1)


@pytest.mark.exact
def test_a_few_whole_values_are_chance() -> None:
    assert coarsest_step([1.0, 2.0, 3.0]) is None
    assert coarsest_step([2.0] * 20) is None
    assert coarsest_step([1.0, 2.0, 3.0, 4.0, 5.0, 6.3]) is None


@pytest.mark.published
def test_rounding_adds_the_rectangular_uncertainty() -> None:
    """JCGM 100:2008, F.2.2.1: a step δ has variance δ²/12 (from memory)."""
    assert rounding_u_mm(1.0) == pytest.approx(1.0 / sqrt(12.0))


@pytest.mark.exact
def test_a_told_resolution_widens_the_answer_as_its_variance_says() -> None:
    """All readings with one tool: every u grows alike, by √(u² + δ²/12) / u."""
    tables = panel((1.0, -2.0, 1.5), (0.5, 1.0, -2.0))
    for reading in tables["reading"]:
        reading["with"] = "gauge"
    found = [
        answer(repair(**tables, tool=[{"id": "gauge", "u": 0.2, **more}])).parts[0].covariance
        for more in ({}, {"resolution": "1/16 in"})
    ]
    bare, wide = (np.array(covariance) for covariance in found)
    larger = hypot(0.2, 25.4 / 16 / sqrt(12.0)) / 0.2
    np.testing.assert_allclose(wide, larger**2 * bare, rtol=0.02)
