"""What each kind of reading sees by itself, and what two equal diagonals leave open."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.stats import norm
from tests.fit.build import panel, repair

from panelwright.fit import answer
from panelwright.fit.part_answer import Sees
from panelwright.fit.sees import LOOSE_MM, sees_words
from panelwright.quantities import Units

WIDTH, HEIGHT, U = 1800.0, 1300.0, 1.0


def rectangle(**more: Any) -> dict[str, Any]:
    """A panel whose two points and their twins on a known body make an upright rectangle."""
    right = {"R1": (3000.0, WIDTH / 2, 400.0), "R2": (3000.0, WIDTH / 2, 400.0 + HEIGHT)}
    left = {f"L{k[1]}": (x, -y, z) for k, (x, y, z) in right.items()}
    return {
        "part": [{"id": "outer", "state": "replace"}],
        "symmetry": {"u": 0},
        "point": [{"id": k, "xyz": list(v), "u": 0} for k, v in right.items()]
        + [
            {
                "id": k,
                "on": "outer",
                "xyz": list(v),
                "twin": f"R{k[1]}",
                "home": "twin",
                "tolerance": 3,
            }
            for k, v in left.items()
        ],
        "reading": [{"compare": [["L2", "R1"], ["R2", "L1"]], "difference": 0, "u": U}],
        **more,
    }


def row(tables: dict[str, Any], kind: str) -> Sees:
    found = answer(repair(**tables)).sees
    return next(one for one in found if one.kind == kind)


@pytest.mark.exact
def test_what_two_equal_diagonals_of_a_rectangle_leave_open() -> None:
    """Δ = |L2 R1| − |R2 L1| answers to 2 h/d per mm of height and b h/d per rad of roll, no more.

    Left edge of a rectangle b by h with diagonal d: a shift to the side lengthens both diagonals
    alike, one along x is across them, pitch and yaw move the edge along x: nothing of these shows.
    """
    told = row(rectangle(), "side against side")
    diagonal, k = np.hypot(WIDTH, HEIGHT), norm.ppf(0.975)
    high_mm = k * U * diagonal / (2.0 * HEIGHT)
    roll_mrad = k * U * diagonal / (WIDTH * HEIGHT)
    assert told.motions == 1
    assert [mm is None for mm in told.open_mm] == [True, True, False, False, True, True]
    assert told.open_mm[2] == pytest.approx(high_mm, rel=2e-4)
    assert told.open_mm[3] == pytest.approx(roll_mrad * HEIGHT / 2.0, rel=2e-4)
    assert told.share[:2] == pytest.approx((0.0, 0.0), abs=1e-6)
    assert "any amount forward or rearward, to the left or to the right" in told.words.replace(
        " or to the left or to the right", ", to the left or to the right"
    )


@pytest.mark.exact
def test_height_and_roll_share_what_one_equation_tells() -> None:
    """One equation a·m = 0 ± u on loose motions takes L² aᵢ²/(L² |a|² + u²) of each."""
    told = row(rectangle(), "side against side")
    diagonal, radius = np.hypot(WIDTH, HEIGHT), HEIGHT / 2.0
    a = np.array([2.0 * HEIGHT / diagonal, WIDTH * HEIGHT / diagonal / radius])
    expected = (LOOSE_MM * a) ** 2 / (LOOSE_MM**2 * a @ a + U**2)
    assert told.share[2:4] == pytest.approx(tuple(expected), rel=1e-6)
    assert sum(told.share) <= 1.0


def test_each_kind_has_its_row_and_the_last_is_all_together() -> None:
    tables = panel(spans=(("L1", "B1"), ("L3", "B3")))
    found = answer(repair(**tables)).sees
    assert [one.kind for one in found] == ["span", "gap", "flush", "all together"]
    assert [one.readings for one in found] == [2, 4, 4, 10]


@pytest.mark.invariant
def test_all_together_see_at_least_what_each_kind_sees() -> None:
    found = answer(repair(**panel(spans=(("L1", "B1"), ("L3", "B3"))))).sees
    every = found[-1]
    for one in found[:-1]:
        assert all(a <= b + 1e-9 for a, b in zip(one.share, every.share, strict=True))
        assert one.motions <= every.motions


def test_flushes_see_sideways_and_gaps_do_not() -> None:
    found = {one.kind: one for one in answer(repair(**panel())).sees}
    assert found["flush"].share[1] > 0.99
    assert found["flush"].open_mm[0] is None
    assert found["gap"].open_mm[1] is None
    assert found["gap"].share[0] > 0.5


def test_the_cross_measure_is_told_where_nobody_took_it() -> None:
    told = row(
        rectangle(reading=[{"from": "L1", "to": "R2", "value": 2220.0}]), "side against side"
    )
    assert told.readings == 0
    assert "would hold 1 of the 6 motions" in told.words


def test_the_sentence_is_in_the_units_asked_for() -> None:
    told = row(rectangle(), "side against side")
    assert " mm" in told.words
    assert " mm" not in sees_words(told, Units.IN)


@pytest.mark.exact
@pytest.mark.parametrize("confidence", [0.9, 0.99])
def test_what_could_sit_off_unseen_is_told_at_the_confidence_of_the_verdicts(
    confidence: float,
) -> None:
    tables = panel(tolerance=0.1)
    tables["shop"] = {"confidence": confidence}
    (part,) = answer(repair(**tables)).parts
    weak = [motion for motion in part.unseen if motion.u_mm is not None]
    assert weak
    for motion in weak:
        assert motion.u_mm is not None
        k = norm.ppf(0.5 + 0.5 * confidence)
        assert motion.reach_mm == pytest.approx(k * motion.u_mm, rel=1e-9)
        assert f"up to {motion.reach_mm:.1f} mm" in motion.words
        assert motion.at
