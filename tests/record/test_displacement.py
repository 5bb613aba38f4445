"""How sure a displacement is at a point, from the covariance of shift and turn."""

from __future__ import annotations

from importlib import import_module

import numpy as np
import pytest

from panelwright.record.displacement import covariance_at, homes

fit = import_module("panelwright.fit.part_answer")


def part(covariance: np.ndarray | None, shift: np.ndarray, turn: np.ndarray) -> object:
    home = {"A": (0.0, 0.0, 0.0), "B": (1000.0, 100.0, 0.0), "C": (200.0, -300.0, 800.0)}
    mean = np.mean(list(home.values()), axis=0)
    points = tuple(
        fit.HomedPoint(
            name,
            tuple(shift + np.cross(turn * 1e-3, np.subtract(place, mean))),
            (None, None, None),
            (0.5, 0.0, -0.5),
            False,
            None,
            None,
            fit.Verdict.UNDECIDED,
        )
        for name, place in home.items()
    )
    rows = None if covariance is None else tuple(tuple(map(float, row)) for row in covariance)
    return home, fit.PartFit(
        id="p",
        setting=1,
        shift_mm=tuple(shift),
        turn_mrad=tuple(turn),
        covariance=rows,
        points=points,
        stations=(),
        unseen=(),
        moves=(),
    )


def places(home: dict[str, tuple[float, float, float]], made: object) -> dict[str, object]:
    return {
        point.id: tuple(np.add(np.add(home[point.id], point.off_mm), point.shape_mm))
        for point in made.points
    }


@pytest.mark.exact
def test_homes_are_places_less_off_and_shape():
    home, made = part(None, np.array([1.0, 2.0, 3.0]), np.array([0.5, -1.0, 2.0]))
    found = homes(made, places(home, made))
    for name, place in home.items():
        assert found[name] == pytest.approx(place, abs=1e-9)


@pytest.mark.second_route
def test_covariance_agrees_with_a_sample_of_poses():
    dice = np.random.default_rng(7)
    root = dice.normal(size=(6, 6)) * 0.3
    covariance = root @ root.T
    home, made = part(covariance, np.zeros(3), np.zeros(3))
    found = homes(made, places(home, made))
    mean = np.mean(list(home.values()), axis=0)
    poses = dice.multivariate_normal(np.zeros(6), covariance, size=200_000)
    moved = poses[:, :3] + np.cross(poses[:, 3:] * 1e-3, np.subtract(home["B"], mean))
    # the relative spread of a variance from n samples is sqrt(2/n) = 0.3 %
    assert np.array(covariance_at(made, found, "B")) == pytest.approx(np.cov(moved.T), abs=0.02)


def test_a_motion_that_is_not_seen_has_no_covariance():
    home, made = part(None, np.zeros(3), np.zeros(3))
    assert covariance_at(made, homes(made, places(home, made)), "A") is None
