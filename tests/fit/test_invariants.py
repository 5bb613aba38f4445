"""What must not change the verdicts, and what may only sharpen them."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from tests.fit.build import BODY, PANEL, panel, repair
from tests.fit.plain_model import simulated_corner

from panelwright.fit import answer
from panelwright.fit.answer import Answer

Floats = NDArray[np.float64]
FEW = settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
OFF = st.tuples(*[st.floats(-4.0, 4.0)] * 3)
VECTORS = ("gap_towards", "flush_towards", "normal", "axis", "slot_along")


def noisy_panel(shift: tuple[float, float, float], seed: int) -> dict[str, Any]:
    """A panel with gaps, flushes and spans that carry noise."""
    random = np.random.default_rng(seed)
    spans = tuple((a, b) for a in PANEL for b in ("B1", "B3", "B5"))
    tables = panel(shift, (1.0, -2.0, 0.5), spans=spans)
    for reading in tables["reading"]:
        for key, u in (("gap", 0.2), ("flush", 0.2), ("value", 1.0)):
            if key in reading:
                reading[key] += random.normal(0.0, u)
    tables["contact"] = [
        {"id": "c1", "part": "outer", "xyz": [3300, -870, 500], "normal": [0, -1, 0]}
    ]
    tables["reading"].append({"contact": "c1", "state": "seated"})
    return tables


def moved_frame(tables: dict[str, Any], turn: float, shift: Floats) -> dict[str, Any]:
    """The same in axes that are shifted in x and z and turned about y."""
    R = Rotation.from_rotvec([0.0, turn, 0.0]).as_matrix()
    moved = copy.deepcopy(tables)
    for rows in moved.values():
        for row in rows if isinstance(rows, list) else ():
            if "xyz" in row:
                row["xyz"] = (R @ np.array(row["xyz"], dtype=float) + shift).tolist()
            for key in VECTORS:
                if key in row:
                    row[key] = (R @ np.array(row[key], dtype=float)).tolist()
    return moved


def mirrored(tables: dict[str, Any]) -> dict[str, Any]:
    """Left for right."""
    moved = copy.deepcopy(tables)
    for rows in moved.values():
        for row in rows if isinstance(rows, list) else ():
            for key in ("xyz", *VECTORS):
                if key in row:
                    x, y, z = row[key]
                    row[key] = [x, -y, z]
    return moved


def judged(found: Answer) -> list[tuple[str, float | None]]:
    return [
        (str(place.verdict), place.p_inside)
        for part in found.parts
        for place in (*part.points, *part.stations)
    ]


def assert_same_verdicts(one: Answer, other: Answer) -> None:
    for (verdict, p), (other_verdict, q) in zip(judged(one), judged(other), strict=True):
        assert verdict == other_verdict
        assert q == pytest.approx(p, abs=1e-6)


@pytest.mark.invariant
@FEW
@given(shift=OFF, seed=st.integers(0, 99), turn=st.floats(-1.0, 1.0), x=st.floats(-3e3, 3e3))
def test_other_axes_in_the_centre_plane_leave_the_verdicts_alone(
    shift: tuple[float, float, float], seed: int, turn: float, x: float
) -> None:
    tables = noisy_panel(shift, seed)
    there = moved_frame(tables, turn, np.array([x, 0.0, 0.7 * x]))
    one, other = answer(repair(**tables)), answer(repair(**there))
    assert_same_verdicts(one, other)
    assert other.variance_factor == pytest.approx(one.variance_factor, rel=1e-6)
    R = Rotation.from_rotvec([0.0, turn, 0.0]).as_matrix()
    for point, turned in zip(one.parts[0].points, other.parts[0].points, strict=True):
        np.testing.assert_allclose(turned.off_mm, R @ point.off_mm, atol=1e-6)


@pytest.mark.invariant
@FEW
@given(shift=OFF, seed=st.integers(0, 99))
def test_left_for_right_mirrors_the_answer(shift: tuple[float, float, float], seed: int) -> None:
    tables = noisy_panel(shift, seed)
    one, other = answer(repair(**tables)), answer(repair(**mirrored(tables)))
    assert_same_verdicts(one, other)
    a, b = one.parts[0], other.parts[0]
    np.testing.assert_allclose(b.shift_mm, np.array(a.shift_mm) * [1, -1, 1], atol=1e-6)
    # A turn is an axial vector: mirroring in y turns its x and z round.
    np.testing.assert_allclose(b.turn_mrad, np.array(a.turn_mrad) * [-1, 1, -1], atol=1e-6)
    for point, image in zip(a.points, b.points, strict=True):
        np.testing.assert_allclose(image.u_mm, point.u_mm, rtol=1e-6)


@pytest.mark.invariant
def test_left_for_right_mirrors_a_corner_with_twins_and_settings() -> None:
    model, _ = simulated_corner(11)
    other_side = mirrored(model.tables)
    for row in other_side["reading"]:
        if row.get("locator") == "p2":  # a round hole's second direction follows its axis
            row["off"] = [-row["off"][0], row["off"][1]]
    one, other = answer(repair(**model.tables)), answer(repair(**other_side))
    for a, b in zip(one.points, other.points, strict=True):
        np.testing.assert_allclose(b.xyz_mm, np.array(a.xyz_mm) * [1, -1, 1], atol=1e-4)
    assert_same_verdicts(one, other)


@pytest.mark.invariant
@FEW
@given(
    seed=st.integers(0, 99),
    a=st.sampled_from(sorted(PANEL)),
    b=st.sampled_from(sorted(BODY)),
    u=st.floats(0.1, 20.0),
)
def test_one_more_reading_never_makes_a_place_less_sure(
    seed: int, a: str, b: str, u: float
) -> None:
    """The reading is the one that the network expects, so that nothing else changes."""
    tables = noisy_panel((1.0, -1.0, 0.5), seed)
    before = answer(repair(**tables))
    place = {point.id: np.array(point.xyz_mm) for point in before.points}
    length = float(np.linalg.norm(place[a] - place[b]))
    tables["reading"].append({"from": a, "to": b, "value": length, "u": u})
    after = answer(repair(**tables))
    assert after.dof == before.dof + 1
    for one, other in zip(before.points, after.points, strict=True):
        assert np.all(np.array(other.u_mm) <= np.array(one.u_mm) * (1.0 + 1e-6) + 1e-9)
    for one, other in zip(before.parts[0].points, after.parts[0].points, strict=True):
        assert np.all(np.array(other.u_mm) <= np.array(one.u_mm) * (1.0 + 1e-6))


@pytest.mark.invariant
def test_the_order_of_the_readings_does_not_matter() -> None:
    model, _ = simulated_corner(7)
    turned = copy.deepcopy(model.tables)
    turned["reading"].reverse()
    one, other = answer(repair(**model.tables)), answer(repair(**turned))
    assert_same_verdicts(one, other)
    count = len(turned["reading"])
    rows = {(row.index, row.component): row.residual_mm for row in one.readings}
    for row in other.readings:
        assert row.residual_mm == pytest.approx(
            rows[count - 1 - row.index, row.component], abs=1e-6
        )


@pytest.mark.invariant
def test_redundancies_add_up_to_the_degrees_of_freedom_with_priors_and_pairs() -> None:
    from panelwright.fit.datum import adjust  # noqa: PLC0415
    from panelwright.fit.network import network_of  # noqa: PLC0415
    from panelwright.fit.snooping import redundancy_of  # noqa: PLC0415

    network = network_of(repair(**simulated_corner(5)[0].tables))
    adjusted = adjust(network.equations, network.start, network.frame)
    assert redundancy_of(adjusted).sum() == pytest.approx(adjusted.dof, abs=1e-6)


@pytest.mark.invariant
def test_the_same_repair_gets_the_same_answer() -> None:
    tables = simulated_corner(2)[0].tables
    assert answer(repair(**tables)) == answer(repair(**tables))
