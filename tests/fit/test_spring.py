"""Twist and bow of a skin that is not pinned: shapes, estimates, and what is told."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tests.fit.build import PANEL, STATIONS, panel, repair

from panelwright.fit import answer
from panelwright.fit.datum import adjust
from panelwright.fit.network import network_of
from panelwright.fit.part_answer import Verdict
from panelwright.fit.rotation import cross_matrix
from panelwright.fit.skin_modes import modes_of

SIX = np.array(
    [(x, -850.0 - 0.02 * z, z) for x in (2600.0, 3300.0, 4100.0) for z in (500.0, 1500.0)]
)


@pytest.mark.exact
@pytest.mark.parametrize("homes", [SIX, np.array(list(PANEL.values()))], ids=["six", "four"])
def test_modes_have_no_rigid_motion_in_them(homes: np.ndarray) -> None:  # type: ignore[type-arg]
    """Over the homes they are orthogonal to three shifts and three turns, and to each other."""
    modes = modes_of(homes, homes)
    arms = homes - homes.mean(axis=0)
    shifts = np.tile(np.eye(3), (len(homes), 1, 1))
    rigid = np.concatenate([shifts, -cross_matrix(arms) / 1000.0], axis=2)
    np.testing.assert_allclose(np.einsum("nak,nam->km", rigid, modes), 0.0, atol=1e-9)
    assert np.einsum("na,na->", modes[..., 0], modes[..., 1]) == pytest.approx(0.0, abs=1e-12)
    sizes = np.linalg.norm(modes, axis=1).max(axis=0)
    assert sizes[0] == pytest.approx(1.0)
    assert sizes[1] == pytest.approx(1.0 if len(homes) == 6 else 0.0, abs=1e-12)


@pytest.mark.exact
def test_three_homes_show_no_spring() -> None:
    assert not modes_of(SIX[:3], SIX).any()


def sprung(twist_mm: float, **part: Any) -> dict[str, Any]:
    """Flush at four corners as a twisted panel that is in its place shows it."""
    tables = panel()
    homes = np.array(list(PANEL.values()))
    corners = {
        f"c{k}": (tuple(xyz), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0)) for k, xyz in enumerate(homes)
    }
    modes = modes_of(homes, homes)[:, :, 0]
    tables["part"] = [{"id": "outer", "state": "replace", "name": "outer panel", **part}]
    for k, (name, (place, gap, flush)) in enumerate(corners.items()):
        tables["station"].append(
            {
                "id": name,
                "part": "outer",
                "xyz": list(place),
                "gap_towards": list(gap),
                "flush_towards": list(flush),
                "gap": {"want": 5, "tolerance": 1},
                "flush": {"want": 0, "tolerance": 1},
            }
        )
        d = twist_mm * modes[k]
        read = {"gap": 5.0 + float(np.dot(gap, d)), "flush": float(np.dot(flush, d))}
        tables["reading"].append({"station": name, **read})
    places = np.array([STATIONS[name][0] for name in STATIONS])
    for reading, d, station in zip(
        tables["reading"],
        twist_mm * modes_of(homes, places)[:, :, 0],
        STATIONS.values(),
        strict=False,
    ):
        _, gap, flush = station
        reading["gap"], reading["flush"] = 5.0 + float(np.dot(gap, d)), float(np.dot(flush, d))
    return tables


@pytest.mark.exact
def test_spring_is_found_and_is_no_misplacement() -> None:
    (part,) = answer(repair(**sprung(2.1, spring="1.5 mm"))).parts
    (twist,) = [mode for mode in part.spring if mode.mode == "twist"]
    assert abs(twist.amplitude_mm) == pytest.approx(2.1, abs=0.1)
    assert twist.seen
    assert "the skin is sprung: twist 2." in twist.words
    assert np.abs(part.shift_mm).max() < 0.02
    assert all(abs(off) < 0.05 for point in part.points for off in point.off_mm)


@pytest.mark.exact
def test_taken_as_rigid_the_same_readings_disagree_and_spring_is_proposed() -> None:
    found = answer(repair(**sprung(2.1)))
    assert found.global_test.ok is False
    assert found.parts[0].spring == ()
    assert found.parts[0].verdict is not Verdict.INSIDE
    assert any("skin is sprung" in problem.what for problem in found.problems)


@pytest.mark.parametrize(
    "rigid", [{}, {"spring": "1 mm", "pinned": True}, {"spring": "1 mm", "flex": "box"}]
)
def test_without_the_key_or_pinned_or_a_box_the_part_is_rigid(rigid: dict[str, Any]) -> None:
    network = network_of(repair(**sprung(0.3, **rigid)))
    plain = network_of(repair(**sprung(0.3)))
    found = [adjust(n.equations, n.start, n.frame) for n in (network, plain)]
    np.testing.assert_array_equal(found[0].x, found[1].x)
    np.testing.assert_array_equal(found[0].covariance, found[1].covariance)


@pytest.mark.second_route
def test_derivatives_by_the_modes_are_those_of_differences() -> None:
    network = network_of(repair(**sprung(1.0, spring="1 mm")))
    x = network.start + 0.1
    unknowns = [int(k) for part in network.posed for k in part.spring if k >= 0]
    assert unknowns
    _, jacobian = network.equations.weighted(x)
    for k in unknowns:
        step = np.zeros(len(x))
        step[k] = 1e-4
        high, low = (network.equations.weighted(x + way * step)[0] for way in (1, -1))
        np.testing.assert_allclose((high - low) / 2e-4, jacobian[:, k], atol=1e-6)


def test_a_pinned_event_ends_the_spring_and_a_new_fit_brings_it_back() -> None:
    tables = sprung(1.0, spring="1 mm")
    tables["event"] = [{"kind": "pinned", "part": "outer"}]
    assert answer(repair(**tables)).parts[0].spring == ()
    tables["event"].append({"kind": "moved", "part": "outer", "setting": 2})
    assert answer(repair(**tables)).parts[0].spring != ()
