"""Poses recovered from exact readings, and what points in a line or at one place do not show."""

from __future__ import annotations

import numpy as np
import pytest
from tests.fit.build import panel, repair

from panelwright.fit import answer
from panelwright.fit.part_answer import PartFit
from panelwright.fit.rotation import rotation_matrix

FIXED = [(51.65, -1.90, 50.07), (50.40, -1.23, 50.65), (50.68, -0.04, 51.54), (50.22, -0.02, 52.85)]
MOVING = [
    (51.30, -2.99, 46.54),
    (51.09, -1.88, 47.58),
    (52.36, -1.20, 48.03),
    (52.71, -1.18, 49.38),
]


def placed(homes: list[tuple[float, ...]], places: list[tuple[float, ...]]) -> PartFit:
    """A part with these homes whose points were read at these places."""
    points = [
        {"id": str(k), "on": "outer", "xyz": list(h), "u": 0, "home": "xyz", "tolerance": 1}
        for k, h in enumerate(homes)
    ]
    readings = [{"point": str(k), "xyz": list(p), "u": 0.01} for k, p in enumerate(places)]
    found = answer(repair(part=[{"id": "outer"}], point=points, reading=readings))
    return found.parts[0]


@pytest.mark.published
def test_four_pairs_of_places_superpose_as_published() -> None:
    """Four pairs from the tests of an open structure library (seen), turned by 47°.

    Printed to 0.001: y·R + t = x, so that our matrix is R transposed.
    """
    part = placed(MOVING, FIXED)
    R = rotation_matrix(1e-3 * np.array(part.turn_mrad))
    published = np.array([[0.683, 0.537, 0.495], [-0.523, 0.833, -0.181], [-0.510, -0.135, 0.849]])
    np.testing.assert_allclose(R.T, published, atol=1e-3)
    off = np.array([point.off_mm for point in part.points])
    moved = np.array(MOVING) + off
    printed = [
        (51.652, -1.900, 50.071),
        (50.398, -1.229, 50.649),
        (50.680, -0.042, 51.537),
        (50.220, -0.019, 52.853),
    ]
    np.testing.assert_allclose(moved, printed, atol=1e-3)
    rms = np.sqrt(np.mean(np.sum((moved - FIXED) ** 2, axis=1)))
    assert rms == pytest.approx(0.003, abs=5e-4)


@pytest.mark.exact
@pytest.mark.parametrize(
    ("homes", "free"),
    [
        ([(0, 0, 0), (100, 0, 0), (250, 0, 0)], 1),
        ([(5, 5, 5), (5, 5, 5)], 3),
        ([(0, 0, 0), (100, 0, 0), (0, 80, 0)], 0),
    ],
    ids=["in a line", "at one place", "in a triangle"],
)
def test_points_in_a_line_do_not_show_the_turn_about_it(
    homes: list[tuple[float, ...]], free: int
) -> None:
    places = [(x + 0.4, y - 0.2, z + 0.1) for x, y, z in homes]
    part = placed(homes, places)
    assert sum(unseen.u_mm is None for unseen in part.unseen) == free
    assert part.shift_mm == pytest.approx((0.4, -0.2, 0.1), abs=1e-6)


@pytest.mark.exact
def test_a_pose_is_recovered_from_gaps_and_flushes() -> None:
    shift, turn = (1.4, -2.2, 0.9), (3.0, -1.5, 2.0)
    part = answer(repair(**panel(shift, turn))).parts[0]
    assert part.shift_mm == pytest.approx(shift, abs=1e-6)
    assert part.turn_mrad == pytest.approx(turn, abs=1e-6)


@pytest.mark.exact
def test_a_pose_is_recovered_from_spans_alone_if_they_are_sharp() -> None:
    shift, turn = (1.4, -2.2, 0.9), (3.0, -1.5, 2.0)
    spans = tuple((a, b) for a in ("L1", "L2", "L3", "L4") for b in ("B1", "B2", "B3", "B4", "B5"))
    tables = panel(shift, turn, stations=(), spans=spans)
    found = answer(repair(**tables))
    assert found.parts[0].shift_mm == pytest.approx(shift, abs=1e-5)
    assert found.parts[0].turn_mrad == pytest.approx(turn, abs=1e-5)
    assert found.global_test.statistic == pytest.approx(0.0, abs=1e-6)


@pytest.mark.exact
def test_mirrored_points_recover_a_tilted_centre_plane() -> None:
    """Left points mirrored in n·x = 3 with n ∝ (0.01, 1, 0.02): pairs turn the body upright.

    The right points are computed, not published. Nothing but distances and pairs is given.
    """
    left = [(1000, 700, 500), (1500, 720, 300), (2500, 650, 900), (3200, 600, 400)]
    n = np.array([0.01, 1.0, 0.02]) / np.sqrt(1.0005)
    right = [np.array(p) - 2.0 * (n @ p - 3.0) * n for p in np.array(left, dtype=float)]
    np.testing.assert_allclose(right[0], (985.667181, -733.281859, 471.334363), atol=1e-6)
    places = {f"R{k}": np.array(p, dtype=float) for k, p in enumerate(left)}
    places |= {f"L{k}": p for k, p in enumerate(right)}
    names = list(places)
    found = answer(
        repair(
            symmetry={"u": 0.1},
            point=[
                {"id": a, "xyz": places[a].tolist(), "twin": ("L" if a[0] == "R" else "R") + a[1]}
                for a in names
            ],
            reading=[
                {
                    "from": a,
                    "to": b,
                    "value": float(np.linalg.norm(places[a] - places[b])),
                    "u": 0.1,
                }
                for i, a in enumerate(names)
                for b in names[:i]
            ],
        )
    )
    assert found.global_test.statistic == pytest.approx(0.0, abs=1e-9)
    assert found.datum == "inner constraints over the body points: x, z, pitch"
    for point in found.points:
        assert point.xyz_mm is not None
        assert point.xyz_mm[1] == pytest.approx(n @ places[point.id] - 3.0, abs=1e-6)
