"""Spans between two points: exact right triangles, and a span that is read alone."""

from __future__ import annotations

from math import hypot, sqrt

import numpy as np
import pytest
from tests.fit.build import BODY, PANEL, off_of, panel, repair

from panelwright.errors import Unanswerable
from panelwright.fit.span import span_between


def test_a_span_of_known_points_is_the_right_triangles_side() -> None:
    points = [{"id": "A", "xyz": [0, 0, 0], "u": 0}, {"id": "B", "xyz": [300, 400, 0], "u": 0}]
    points.append({"id": "C", "xyz": [10, 10, 500], "u": 20})
    reading = {"from": "A", "to": "C", "value": 501, "u": 1}
    span = span_between(repair(point=points, reading=[reading]), "A", "B")
    assert (span.length_mm, span.u_mm, span.home_mm) == (pytest.approx(500.0), 0.0, None)


def test_two_readings_of_one_span_meet_at_their_weighted_mean() -> None:
    # Closed form: weights 1/u²; the prior on B is so wide that it adds nothing.
    points = [
        {"id": "A", "xyz": [0, 0, 0], "u": 0},
        {"id": "B", "xyz": [1000, 0, 0], "u": ["free", 0, 0]},
    ]
    readings = [
        {"from": "A", "to": "B", "value": 1000, "u": 1},
        {"from": "A", "to": "B", "value": 1003, "u": 2},
    ]
    span = span_between(repair(point=points, reading=readings), "A", "B")
    assert span.length_mm == pytest.approx((1000 / 1 + 1003 / 4) / (1 / 1 + 1 / 4), abs=1e-6)
    assert span.u_mm == pytest.approx(sqrt(1 / (1 / 1 + 1 / 4)), rel=1e-3)


def test_it_says_what_the_span_is_at_home_too() -> None:
    shift, turn = (2.0, -1.0, 1.5), (0.0, 0.0, 0.0)
    spans = tuple((a, b) for a in PANEL for b in BODY)
    span = span_between(repair(**panel(shift, turn, spans=spans)), "L1", "B1")
    home = np.array(PANEL["L1"]) - np.array(BODY["B1"])
    now = home + off_of(np.array(shift), np.array(turn), PANEL["L1"])
    assert span.length_mm == pytest.approx(hypot(*now), abs=0.02)
    assert span.home_mm == pytest.approx(hypot(*home), abs=1e-9)
    assert span.u_mm is not None
    assert 0.0 < span.u_mm < 1.0


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [("A", "A", "needs two"), ("A", "Z", "no point"), ("A", "D", "No reading reaches D")],
)
def test_what_is_no_span_is_said_in_words(a: str, b: str, why: str) -> None:
    points = [{"id": "A", "xyz": [0, 0, 0], "u": 0}, {"id": "D", "xyz": [1, 2, 3]}]
    points.append({"id": "B", "xyz": [300, 400, 0], "u": 10})
    known = repair(point=points, reading=[{"from": "A", "to": "B", "value": 501, "u": 1}])
    with pytest.raises(Unanswerable, match=why):
        span_between(known, a, b)


def test_a_span_that_nothing_holds_has_no_uncertainty() -> None:
    points = [
        {"id": "A", "xyz": [0, 0, 0], "u": 0},
        {"id": "B", "xyz": [1000, 0, 0]},
        {"id": "C", "xyz": [0, 1000, 0]},
    ]
    readings = [
        {"from": "A", "to": "B", "value": 1000, "u": 1},
        {"from": "A", "to": "C", "value": 1000, "u": 1},
    ]
    span = span_between(repair(point=points, reading=readings), "B", "C")
    assert span.u_mm is None
