"""Published networks of distances, through the repair file's model, metres as millimetres.

Source of all: F. Krumm, Geodetic Network Adjustment Examples, Geodätisches Institut, Universität
Stuttgart, rev. 3.5, 2020, as transcribed in public test data (seen), which cite the textbook named
at each case. Published standard errors are a posteriori: u · √variance_factor. Tolerance: 0.6 of
the last printed digit, 0.1 mm in coordinates and 0.001 cm in standard errors.
"""

from __future__ import annotations

import json
from dataclasses import replace
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.fit.build import Spans, as_repair

from panelwright.fit import answer
from panelwright.fit.answer import Answer, Status
from panelwright.fit.datum import adjust
from panelwright.fit.network import network_of

COORDINATE_MM = 0.06
SIGMA_CM = 0.0006

BENNING = Spans(
    # Benning 2011, example 8-2; Krumm 3.1.1, pp. 48-50.
    places={"1": (0.0, 1000.0), "2": (1000.0, 1000.0), "3": (0.0, 0.0), "4": (1000.0, 0.0)},
    fixed=frozenset({"x1", "y1", "x2", "y2"}),
    distances=(
        ("1", "3", 1000.02, 0.01),
        ("1", "4", 1414.2, 0.01),
        ("2", "3", 1414.24, 0.01),
        ("2", "4", 999.98, 0.01),
        ("3", "4", 1000.0, 0.01),
    ),
    published={
        ("3", "x"): (-0.0096, 0.901),
        ("3", "y"): (-0.0226, 0.637),
        ("4", "x"): (999.993, 0.901),
        ("4", "y"): (0.0174, 0.637),
    },
)
WOLF = Spans(
    # Wolf 1979, p. 87.
    places={
        "1": (1200.0, 900.0, 900.0),
        "2": (900.0, 600.0, 900.0),
        "3": (600.0, 900.0, 900.0),
        "4": (900.0, 1200.0, 900.0),
        "P": (900.0, 900.0, 1300.0),
    },
    fixed=frozenset(f"{axis}{k}" for axis in "xyz" for k in range(1, 5)),
    distances=(
        ("1", "P", 499.99, 0.01),
        ("2", "P", 500.0, 0.01),
        ("3", "P", 500.01, 0.01),
        ("4", "P", 500.02, 0.01),
    ),
    published={
        ("P", "x"): (900.0167, 1.179),
        ("P", "y"): (899.9833, 1.179),
        ("P", "z"): (1300.0062, 0.625),
    },
)
FREE_SQUARE = Spans(
    # Strang and Borre 1997, example 12.4, p. 411: nothing is held.
    places={
        "P": (170.71, 170.71),
        "1": (170.71, 270.71),
        "2": (100.0, 100.0),
        "3": (241.42, 100.0),
    },
    fixed=frozenset(),
    distances=(
        ("1", "P", 100.01, 0.01),
        ("2", "P", 100.02, 0.01),
        ("3", "P", 100.03, 0.01),
        ("1", "2", 184.785, 0.01),
        ("2", "3", 141.44, 0.01),
        ("1", "3", 184.805, 0.01),
    ),
    published={
        ("P", "x"): (170.7123, 1.079),
        ("P", "y"): (170.7185, 0.682),
        ("1", "x"): (170.7032, 0.81),
        ("1", "y"): (270.7213, 0.551),
        ("2", "x"): (99.9912, 0.641),
        ("2", "y"): (99.9971, 0.705),
        ("3", "x"): (241.4333, 0.64),
        ("3", "y"): (99.983, 0.705),
    },
)
BLUNDERS = Spans(
    # Blankenbach and Willert 2009, AVN 8-9, pp. 320-327: the distances to 51 and 103 are wrong.
    places={
        "51": (-8.62, 27.42, 10.29),
        "37": (-4.95, 27.3, 10.04),
        "31": (-4.85, 20.69, 10.51),
        "102": (0.52, 22.59, 9.77),
        "331": (-6.12, 25.48, 10.92),
        "35": (0.45, 27.39, 10.75),
        "103": (0.61, 17.19, 9.71),
        "101": (-7.88, 22.45, 10.16),
        "MS": (-2.59, 24.22, 9.62),
    },
    fixed=frozenset(
        f"{axis}{name}"
        for axis in "xyz"
        for name in ("51", "37", "31", "102", "331", "35", "103", "101")
    ),
    distances=(
        ("MS", "51", 8.2, 0.05),
        ("MS", "37", 3.85, 0.05),
        ("MS", "31", 4.35, 0.05),
        ("MS", "102", 3.51, 0.05),
        ("MS", "331", 3.98, 0.05),
        ("MS", "35", 4.37, 0.05),
        ("MS", "103", 8.17, 0.05),
        ("MS", "101", 5.73, 0.05),
    ),
    published={
        ("MS", "x"): (-2.3042, 29.914),
        ("MS", "y"): (24.3101, 33.222),
        ("MS", "z"): (9.5248, 119.427),
    },
)


def assert_published(found: Answer, spans: Spans) -> None:
    assert found.status is Status.CONVERGED
    factor = sqrt(found.variance_factor or 0.0)
    places = {point.id: point for point in found.points}
    for (name, axis), (metres, sigma_cm) in spans.published.items():
        place = places[name]
        k = "xyz".index(axis)
        assert place.xyz_mm is not None
        assert place.xyz_mm[k] == pytest.approx(1000.0 * metres, abs=COORDINATE_MM)
        u_mm = place.u_mm[k]
        assert u_mm is not None
        assert u_mm * factor / 10.0 == pytest.approx(sigma_cm, abs=SIGMA_CM)


@pytest.mark.published
@pytest.mark.parametrize(
    "spans", [BENNING, WOLF, FREE_SQUARE, BLUNDERS], ids=["benning", "wolf", "free", "blunders"]
)
def test_a_published_network_comes_out_as_printed(spans: Spans) -> None:
    assert_published(answer(as_repair(spans)), spans)


def test_in_millimetres_the_network_is_the_published_one() -> None:
    """The comparison above can fail: a span 1 mm off moves the result out of its tolerance."""
    a, b, value, sigma = BENNING.distances[0]
    wrong = replace(BENNING, distances=((a, b, value + 0.001, sigma), *BENNING.distances[1:]))
    with pytest.raises(AssertionError):
        assert_published(answer(as_repair(wrong)), BENNING)


def reference_networks(folder: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((folder / "networks.json").read_text("utf-8"))
    return found


@pytest.mark.published
def test_all_networks_of_the_reference_folder_come_out_as_printed(reference_folder: Path) -> None:
    """Seven networks, among them Ghilani 14.5 at coordinates of 2.4 million, and Weiss et al.

    Their redundancies and w are computed by an independent script, to the digits it printed.
    """
    networks = reference_networks(reference_folder)
    assert len(networks) == 7
    for network in networks:
        spans = Spans(
            places={name: tuple(xyz) for name, xyz in network["approx_or_fixed_coords"].items()},
            fixed=frozenset(
                network["datum"].removeprefix("fixed:").split()
                if network["datum"].startswith("fixed")
                else ()
            ),
            distances=tuple((d["i"], d["j"], d["d"], d["sigma"]) for d in network["distances"]),
            published={
                (name, axis): (value["adj_m"], value["sd_cm"])
                for name, axes in network["published_adjusted"].items()
                for axis, value in axes.items()
            },
        )
        found = answer(as_repair(spans))
        assert_published(found, spans)
        computed = network["computed_here"]
        assert found.dof == computed["f"]
        np.testing.assert_allclose(
            [row.redundancy for row in found.readings], computed["redundancy"], atol=2e-6
        )
        np.testing.assert_allclose([row.w for row in found.readings], computed["w"], atol=2e-3)


@pytest.mark.published
def test_two_planted_blunders_are_the_suspects_and_no_other() -> None:
    found = answer(as_repair(BLUNDERS))
    suspects = {BLUNDERS.distances[row.index][1] for row in found.readings if row.suspect}
    assert suspects == {"51", "103"}
    assert found.global_test.ok is False


@pytest.mark.published
def test_with_one_degree_of_freedom_nothing_is_suspect_but_a_failure_is_told() -> None:
    """Every |w| is the same: Strang and Borre's fixed network fails and cannot say where."""
    spans = Spans(
        places={**FREE_SQUARE.places},
        fixed=frozenset(f"{axis}{k}" for axis in "xy" for k in (1, 2, 3)),
        distances=FREE_SQUARE.distances[:3],
        published={("P", "x"): (170.7029, 3.303), ("P", "y"): (170.7234, 2.335)},
    )
    found = answer(as_repair(spans))
    assert_published(found, spans)
    assert found.dof == 1
    assert not any(row.suspect for row in found.readings)
    assert "cannot be located" in found.suspects_note
    assert [abs(row.w or 0.0) for row in found.readings] == pytest.approx([3.303] * 3, abs=2e-3)


@pytest.mark.published
def test_a_sound_network_of_one_degree_of_freedom_has_no_note() -> None:
    found = answer(as_repair(BENNING))
    assert (found.dof, found.suspects_note) == (1, "")
    assert not any(row.suspect for row in found.readings)


@pytest.mark.published
def test_a_free_plane_network_lacks_two_shifts_and_a_turn() -> None:
    """8 unknowns, rank 5; the trace of its inner-constraint cofactors is 3.183150e-4 m²."""
    network = network_of(as_repair(FREE_SQUARE))
    adjusted = adjust(network.equations, network.start, network.frame)
    assert adjusted.rank == 5
    assert adjusted.datum == ("x", "y", "yaw")
    assert not adjusted.undetermined.size
    assert np.trace(adjusted.covariance) == pytest.approx(318.3150, abs=1e-3)


@pytest.mark.exact
def test_a_free_space_network_lacks_all_six_motions() -> None:
    corners = np.array([(x, y, z) for x in (0, 3) for y in (0, 2) for z in (0, 1)], dtype=float)
    names = [str(k) for k in range(8)]
    spans = Spans(
        places={n: tuple(c.tolist()) for n, c in zip(names, corners, strict=True)},
        fixed=frozenset(),
        distances=tuple(
            (names[i], names[j], float(np.linalg.norm(corners[i] - corners[j])), 0.001)
            for i in range(8)
            for j in range(i)
        ),
        published={},
    )
    network = network_of(as_repair(spans))
    adjusted = adjust(network.equations, network.start, network.frame)
    assert len(adjusted.x) - adjusted.rank == 6
    assert adjusted.datum == ("x", "y", "z", "roll", "pitch", "yaw")


@pytest.mark.exact
@pytest.mark.parametrize(("start", "expected"), [(1300.0, 1300.00625), (500.0, 499.99375)])
def test_a_point_over_a_plane_stays_on_the_side_it_starts_from(
    start: float, expected: float
) -> None:
    """Wolf's four anchors lie in the plane z = 900: two places fit the distances alike."""
    places = {**WOLF.places, "P": (900.0, 900.0, start)}
    found = answer(as_repair(replace(WOLF, places=places)))
    place = next(point for point in found.points if point.id == "P")
    assert place.xyz_mm is not None
    assert place.xyz_mm[2] == pytest.approx(1000.0 * expected, abs=0.01)


@pytest.mark.exact
def test_a_point_without_xyz_is_placed_by_its_spans_and_both_places_are_told() -> None:
    whole = as_repair(WOLF)
    bare = replace(
        whole,
        points=tuple(
            p if p.id != "P" else p.model_copy(update={"xyz": None, "u": None})
            for p in whole.points
        ),
    )
    found = answer(bare)
    place = next(point for point in found.points if point.id == "P")
    assert place.xyz_mm is not None
    assert abs(place.xyz_mm[2] - 900_000.0) == pytest.approx(400_006.25, abs=0.01)
    assert any("fit two places" in problem.what for problem in found.problems)


@pytest.mark.exact
def test_wolfs_residuals_are_half_a_sigma_each() -> None:
    """By symmetry v = ±5 mm, r = 1/4, w = ±1, and the sum of squares is 1.

    The adjusted point is 17 mm beside the axis at 500 m: r differs from 1/4 by some 1e-5.
    """
    found = answer(as_repair(WOLF))
    assert [abs(row.residual_mm) for row in found.readings] == pytest.approx([5.0] * 4, abs=1e-3)
    assert [row.redundancy for row in found.readings] == pytest.approx([0.25] * 4, abs=2e-5)
    assert found.global_test.statistic == pytest.approx(1.0, abs=1e-4)
