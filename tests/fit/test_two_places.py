"""Points without a rough place: placed by distances alone, and mirror images told in words."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from tests.fit.build import as_repair, repair
from tests.fit.plain_model import simulated_corner
from tests.fit.test_networks import BLUNDERS, FREE_SQUARE, WOLF

from panelwright.fit import answer
from panelwright.fit.answer import Answer, Status
from panelwright.fit.datum import adjust
from panelwright.fit.distance_geometry import onto, places_from_distances
from panelwright.fit.network import network_of

if TYPE_CHECKING:
    from pathlib import Path

    from panelwright.facts.repair import Repair

WOLF_OTHER_Z = 499.99375
NOT_OK = frozenset({"51", "103"})


def without_places(whole: Repair, *names: str) -> Repair:
    """The repair without the rough coordinates of these points; of all where none is named."""
    bare = {"xyz": None, "u": None}
    return replace(
        whole,
        points=tuple(
            p.model_copy(update=bare) if p.id in names or not names else p for p in whole.points
        ),
    )


def place(found: Answer, name: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    xyz = next(point.xyz_mm for point in found.points if point.id == name)
    assert xyz is not None
    return np.array(xyz)


@pytest.mark.published
@pytest.mark.parametrize("start", [1300.0, 500.0])
def test_wolfs_point_fits_above_and_below_and_the_rough_place_tells(start: float) -> None:
    """Wolf 1979, p. 87: z 1300.006 m; by symmetry 499.994 m fits as well (exact)."""
    places = {**WOLF.places, "P": (900.0, 900.0, start)}
    found = answer(as_repair(replace(WOLF, places=places)))
    (both,) = found.two_places
    assert both.points == ("P",)
    assert both.settled
    assert sorted([both.xyz_mm[0][2], both.other_mm[0][2]]) == pytest.approx(
        [1000.0 * WOLF_OTHER_Z, 1_300_006.25], abs=0.5
    )
    assert both.xyz_mm[0][2] == pytest.approx(1000.0 * start, abs=10.0)
    assert not any("two places" in problem.what for problem in found.problems)


@pytest.mark.published
def test_without_a_rough_place_both_are_told_as_open() -> None:
    found = answer(without_places(as_repair(WOLF), "P"))
    (both,) = found.two_places
    assert not both.settled
    (told,) = [p.what for p in found.problems if "two places" in p.what]
    assert "z 499994" in told
    assert "z 1300006" in told
    assert "read a height" in told


@pytest.mark.exact
def test_a_height_tells_which_side_and_a_wrong_start_is_left() -> None:
    """One height with u 5 m (to the scale of this network) takes the doubt away."""
    whole = as_repair(WOLF)
    tall = repair(reading=[{"point": "P", "height": 499_000, "u": 5000}])
    from_above = replace(whole, readings=(*whole.readings, *tall.readings))
    found = answer(from_above)
    assert found.two_places == ()
    assert place(found, "P")[2] == pytest.approx(1000.0 * WOLF_OTHER_Z, abs=10.0)


@pytest.mark.exact
@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_start_heeds_more_than_spans(side: float) -> None:
    """Three known points in the plane z = 500; a height says on which side of it P is."""
    anchors = {"A": (0.0, 0.0, 500.0), "B": (1500.0, 100.0, 500.0), "C": (300.0, 1200.0, 500.0)}
    wanted = np.array([600.0, 400.0, 500.0 + 400.0 * side])
    points = [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in anchors.items()]
    readings = [
        {"from": name, "to": "P", "value": float(np.linalg.norm(wanted - xyz))}
        for name, xyz in anchors.items()
    ]
    readings.append({"point": "P", "height": float(wanted[2])})
    network = network_of(repair(point=[*points, {"id": "P"}], reading=readings))
    (number,) = (k for node, k in network.number.items() if node.id == "P")
    assert network.geometry.roots[number] == pytest.approx(wanted, abs=1.0)


def test_a_point_read_by_coordinates_alone_fits_one_place() -> None:
    whole = repair(
        point=[{"id": "A", "xyz": [0, 0, 0], "u": 0}, {"id": "B"}],
        reading=[{"point": "B", "xyz": [1200, -700, 900], "u": 0.5}],
    )
    found = answer(whole)
    assert place(found, "B") == pytest.approx([1200.0, -700.0, 900.0])
    assert found.two_places == ()
    assert not any("two places" in problem.what for problem in found.problems)


@pytest.mark.published
def test_blankenbach_and_willerts_point_is_found_without_a_rough_place() -> None:
    """AVN 8-9 (2009) without its two blunders: MS at (−2.5078, 24.3202, 9.7753) m.

    Computed by an independent script. The anchors lie nearly in a plane, so that its image is near.
    """
    sound = replace(BLUNDERS, distances=tuple(d for d in BLUNDERS.distances if d[1] not in NOT_OK))
    found = answer(without_places(as_repair(sound), "MS"))
    assert found.status is Status.CONVERGED
    wanted = [-2507.8, 24320.2, 9775.3]
    others = [both.other_mm[0] for both in found.two_places]
    tries = [place(found, "MS"), *(np.array(other) for other in others)]
    assert min(float(np.abs(xyz - wanted).max()) for xyz in tries) < 0.06


@pytest.mark.published
def test_a_free_network_without_any_place_keeps_its_published_distances() -> None:
    """Strang and Borre 1997, p. 411; out of the plane it may bend only as far as readings allow."""
    found = answer(without_places(as_repair(FREE_SQUARE)))
    for a, b, metres, _ in FREE_SQUARE.distances:
        length = np.linalg.norm(place(found, a) - place(found, b))
        assert length == pytest.approx(1000.0 * metres, abs=30.0)


@pytest.mark.published
def test_distances_alone_give_the_published_places(reference_folder: Path) -> None:
    """Every reference network, from its distances and those between its known points.

    Laid onto the published places they agree as well as the readings do; in the plane alone where
    the network is flat, because out of it distances say next to nothing.
    """
    networks = json.loads((reference_folder / "networks.json").read_text("utf-8"))
    for network in networks:
        places = {n: [*xyz, 0.0][:3] for n, xyz in network["approx_or_fixed_coords"].items()}
        for name, axes in network["published_adjusted"].items():
            for axis, value in axes.items():
                places[name]["xyz".index(axis)] = value["adj_m"]
        names = list(places)
        flat = all(len(xyz) == 2 for xyz in network["approx_or_fixed_coords"].values())
        known = np.array([places[name] for name in names])
        fixed = [n for n in names if n not in network["published_adjusted"]]
        pairs = [(d["i"], d["j"], d["d"]) for d in network["distances"]]
        pairs += [
            (a, b, float(np.linalg.norm(np.subtract(places[a], places[b]))))
            for i, a in enumerate(fixed)
            for b in fixed[:i]
        ]
        found = places_from_distances(
            len(names),
            np.array([(names.index(a), names.index(b)) for a, b, _ in pairs]),
            np.array([1000.0 * length for _, _, length in pairs]),
        )
        worst = []
        for image in (found, found * np.array([1.0, 1.0, -1.0])):
            turn, shift = onto(image, 1000.0 * known)
            off = image @ turn.T + shift - 1000.0 * known
            worst.append(float(np.abs(off[:, : 2 if flat else 3]).max()))
        missed = max(
            abs(1000.0 * (d - float(np.linalg.norm(np.subtract(places[a], places[b])))))
            for a, b, d in pairs
        )
        assert min(worst) < 5.0 * missed


@pytest.mark.second_route
@pytest.mark.parametrize("seed", range(4))
def test_starting_places_100_mm_off_come_to_the_same_answer(seed: int) -> None:
    model, _ = simulated_corner(seed)
    right = network_of(repair(**model.tables))
    there = adjust(right.equations, right.start, right.frame)
    random = np.random.default_rng(seed)
    for point in model.tables["point"]:
        if "xyz" in point and "u" not in point and point.get("home") != "xyz":
            way = random.normal(size=3)
            off = 100.0 * way / np.linalg.norm(way)
            point["xyz"] = np.add(point["xyz"], off).tolist()
    wrong = network_of(repair(**model.tables))
    found = adjust(wrong.equations, wrong.start, wrong.frame)
    assert found.status is Status.CONVERGED
    assert found.sum_of_squares == pytest.approx(there.sum_of_squares, abs=1e-4)


@pytest.mark.second_route
@pytest.mark.parametrize("seed", range(3))
def test_without_any_rough_place_the_corner_is_found_all_the_same(seed: int) -> None:
    """All body points without given coordinates lose their xyz."""
    model, _ = simulated_corner(seed)
    whole = repair(**model.tables)
    right = answer(whole)
    free = [p.id for p in whole.points if p.u is None and p.home != "xyz"]
    found = answer(without_places(whole, *free))
    assert found.global_test.statistic == pytest.approx(right.global_test.statistic, abs=1e-3)
    for part, expected in zip(found.parts, right.parts, strict=True):
        assert part.shift_mm == pytest.approx(expected.shift_mm, abs=1e-2)
