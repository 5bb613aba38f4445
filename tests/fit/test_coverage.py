"""Simulation: what is said to hold 95 % of the time does."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, chi2
from tests.fit.build import PANEL, off_of, panel, repair

from panelwright.fit import answer
from panelwright.fit.part_answer import Verdict

TRIALS = 100


@pytest.fixture(scope="module")
def trials() -> list[tuple[bool, bool, list[tuple[float, bool]]]]:
    """Of simulated panels: is the true pose in its 95 % region, did the test pass, verdicts."""
    random = np.random.default_rng(20261125)
    found = []
    for _ in range(TRIALS):
        shift, turn = random.uniform(-6.0, 6.0, 3), random.uniform(-6.0, 6.0, 3)
        tables = panel(tuple(shift), tuple(turn), tolerance=4)
        for reading in tables["reading"]:
            reading["gap"] += random.normal(0.0, 0.5)
            reading["flush"] += random.normal(0.0, 0.5)
            reading["u"] = 0.5
        said = answer(repair(**tables))
        part = said.parts[0]
        error = np.array([*part.shift_mm, *part.turn_mrad]) - np.concatenate([shift, turn])
        distance = error @ np.linalg.solve(np.array(part.covariance), error)
        inside = [
            (
                point.p_inside or 0.0,
                bool(np.linalg.norm(off_of(shift, 1e-3 * turn, PANEL[point.id])) <= 4.0),
            )
            for point in part.points
        ]
        ok = said.global_test.ok is True
        found.append((bool(distance <= chi2.ppf(0.95, 6)), ok, inside))
    return found


def plausible(count: int, probability: float) -> bool:
    """Whether so many of the trials are within 99.9 % of what the probability forecasts."""
    low, high = binom.interval(0.999, TRIALS, probability)
    return bool(low <= count <= high)


@pytest.mark.second_route
def test_the_true_pose_lies_in_its_95_per_cent_region_as_often_as_said(
    trials: list[tuple[bool, bool, list[tuple[float, bool]]]],
) -> None:
    assert plausible(sum(covered for covered, _, _ in trials), 0.95)


@pytest.mark.second_route
def test_the_test_of_all_readings_passes_as_often_as_said(
    trials: list[tuple[bool, bool, list[tuple[float, bool]]]],
) -> None:
    assert plausible(sum(ok for _, ok, _ in trials), 0.95)


@pytest.mark.second_route
def test_the_chance_of_lying_inside_is_right_on_average(
    trials: list[tuple[bool, bool, list[tuple[float, bool]]]],
) -> None:
    """Over panels that lie anywhere alike, far wider than their spread, the mean chance is true.

    The four points of a panel go together, so that panels count, not points.
    """
    p = np.array([[chance for chance, _ in points] for _, _, points in trials])
    truth = np.array([[inside for _, inside in points] for _, _, points in trials], dtype=float)
    difference = (p - truth).mean(axis=1)
    assert 0.05 < truth.mean() < 0.9
    assert abs(difference.mean()) < 3.3 * difference.std() / np.sqrt(TRIALS)


@pytest.mark.second_route
def test_a_panel_at_its_limit_is_rarely_called_inside() -> None:
    """A point exactly at its tolerance may be called inside in at most 5 % of the cases."""
    random = np.random.default_rng(7)
    called = 0
    for _ in range(TRIALS):
        tables = panel((0.0, 1.5, 0.0), (0.0, 0.0, 0.0), tolerance=1.5)
        for reading in tables["reading"]:
            reading["gap"] += random.normal(0.0, 0.2)
            reading["flush"] += random.normal(0.0, 0.2)
        point = answer(repair(**tables)).parts[0].points[0]
        called += point.verdict is Verdict.INSIDE
    assert called <= binom.ppf(0.999, TRIALS, 0.05)
