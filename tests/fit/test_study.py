"""The honesty study in small: what is said to hold 95 % of the time does, by a simulator apart."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from bench.fit_study.figures import coverage, decided, tenths
from bench.fit_study.forward import rotation
from bench.fit_study.oracle import theory_of
from bench.fit_study.report import plains_of
from bench.fit_study.study import first
from bench.fit_study.trial import Plain, Trial
from bench.fit_study.truth import draw

REPAIRS, SEED = 60, 5
WIDE = 3.3
"""Standard deviations of a share of 60; one in a thousand would lie beyond."""


@pytest.fixture(scope="module")
def trials() -> list[Trial]:
    return first(REPAIRS, SEED, 1, roundings=("exact",), misreads=False)


@pytest.fixture(scope="module")
def plains(trials: list[Trial]) -> list[Plain]:
    return plains_of(trials, "exact")


@pytest.mark.second_route
def test_every_repair_tells_of_every_motion(plains: list[Plain]) -> None:
    assert len(plains) == REPAIRS
    assert {plain.home for plain in plains} == {"twin", "xyz", "before"}
    assert len({plain.zone for plain in plains}) == 6


@pytest.mark.second_route
def test_regions_cover_what_they_say(plains: list[Plain]) -> None:
    for name, covered in coverage(plains).items():
        assert covered.value > 0.95 - WIDE * sqrt(0.95 * 0.05 / REPAIRS), name


@pytest.mark.second_route
def test_points_are_inside_as_often_as_said(plains: list[Plain]) -> None:
    said = sum(tenth.said * tenth.count for tenth in tenths(plains))
    true = sum(tenth.true * tenth.count for tenth in tenths(plains))
    differences = [np.sum(plain.scored.inside - plain.scored.p) for plain in plains]
    assert abs(said - true) < WIDE * sqrt(REPAIRS) * float(np.std(differences))


@pytest.mark.second_route
def test_nearly_all_that_an_oracle_decides_is_decided(plains: list[Plain]) -> None:
    verdicts = decided(plains)
    assert verdicts.own >= 0.9 * verdicts.oracle
    assert verdicts.inside_wrong.value < 0.05
    assert verdicts.outside_wrong.value < 0.05


@pytest.mark.second_route
def test_redundancies_are_those_of_theory() -> None:
    """By derivatives taken as differences and another rotation, at the truth."""
    [trial] = first(1, SEED, 1, roundings=("exact",), misreads=False)
    plain = trial.plain["exact"]
    case = draw(np.random.default_rng([SEED, 0]), 0)
    theory = theory_of(case, case.design.rows.sigma)
    assert plain is not None
    own = theory.redundancy[: case.design.readings]
    np.testing.assert_allclose(plain.scored.redundancy, own, atol=0.01)


@pytest.mark.exact
def test_the_simulator_turns_by_the_right_hand_rule() -> None:
    """A quarter turn about z takes x to y."""
    turned = rotation(np.array([[0.0, 0.0, np.pi / 2.0]]))[0] @ np.array([1.0, 0.0, 0.0])
    np.testing.assert_allclose(turned, [0.0, 1.0, 0.0], atol=1e-15)
