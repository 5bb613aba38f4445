"""Readings to take again: which, what the others say, and the smallest error that shows."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm
from tests.fit.build import BODY, as_repair, panel, repair
from tests.fit.test_levelling import wicki
from tests.fit.test_networks import BLUNDERS

from panelwright.facts.file import read
from panelwright.fit import answer
from panelwright.fit.answer import Answer
from panelwright.fit.body_answer import BodyStatus
from panelwright.fit.chance import surprise
from panelwright.fit.datum import adjust
from panelwright.fit.doubts import doubts_of
from panelwright.fit.network import network_of
from panelwright.fit.reading_answer import Recheck
from panelwright.fit.recheck import recheck_words
from panelwright.fit.reliability import (
    DELTA_0,
    POWER,
    chance_of_notice,
    check_words,
    smallest_errors,
)
from panelwright.fit.snooping import CRITICAL_W, normalised, redundancy_of
from panelwright.fit.suspects import suspects_of
from panelwright.quantities import Units

PLACES = {name: np.array(place) for name, place in BLUNDERS.places.items()}
ANCHORS = [to for _, to, _, _ in BLUNDERS.distances]


def anchored(errors: dict[str, float]) -> Answer:
    """Blankenbach and Willert's anchors with exact distances [m] but for some errors."""
    place = np.array([-2.5, 24.3, 9.8])
    distances = tuple(
        ("MS", to, float(np.linalg.norm(PLACES[to] - place)) + errors.get(to, 0.0), 0.05)
        for to in ANCHORS
    )
    return answer(as_repair(replace(BLUNDERS, distances=distances)))


def suspects(found: Answer) -> set[str]:
    return {ANCHORS[row.index] for row in found.readings if row.suspect}


@pytest.mark.published
def test_the_others_say_what_both_wrong_distances_should_be() -> None:
    """Blankenbach and Willert: without 51 and 103 the place is (−2.5078, 24.3202, 9.7753) m."""
    found = answer(as_repair(BLUNDERS))
    place = np.array([-2.5078, 24.3202, 9.7753])
    told = {ANCHORS[one.index]: one for one in found.recheck}
    assert set(told) == {"51", "103"}
    for name, one in told.items():
        true_mm = 1000.0 * np.linalg.norm(PLACES[name] - place)
        assert one.others_say_mm == pytest.approx(true_mm, abs=0.2)
        assert one.located


@pytest.mark.published
def test_wickis_network_without_its_errors_is_where_the_step_by_step_search_ends() -> None:
    """Heights after both are out: −27807.19, 4246.38, −2309.74, 30417.29 (independent script)."""
    equations = wicki(with_blunders=True)
    start = adjust(equations, np.array([-27800.0, 4200.0, -2300.0, 30400.0]), np.arange(5))
    found = suspects_of(equations, start, np.arange(5), np.ones(9, dtype=bool))
    assert found.without is not None
    np.testing.assert_allclose(
        found.without.x, [-27807.19, 4246.38, -2309.74, 30417.29], atol=0.006
    )
    assert found.rivals == ()


def test_two_errors_that_hide_each_other_are_both_found() -> None:
    """No |w| is beyond the limit, and yet both readings are 6 u wrong."""
    found = anchored({"31": 0.3, "103": 0.3})
    assert max(abs(row.w or 0.0) for row in found.readings) < CRITICAL_W
    assert suspects(found) == {"31", "103"}


@pytest.mark.parametrize(
    "errors", [{"102": 0.6, "101": -0.84}, {"35": 1.0, "103": 0.7}, {"51": 1.0, "103": -1.0}]
)
def test_a_good_reading_that_was_blamed_first_is_put_back(errors: dict[str, float]) -> None:
    found = anchored(errors)
    worst = max(found.readings, key=lambda row: abs(row.w or 0.0))
    assert ANCHORS[worst.index] not in errors
    assert suspects(found) == set(errors)


def test_without_errors_nothing_is_to_be_read_again() -> None:
    found = anchored({})
    assert found.recheck == ()
    assert found.suspects_note == ""


@pytest.mark.exact
@pytest.mark.parametrize("dof", [1, 2, 3])
def test_surprise_is_the_logarithm_of_the_chance(dof: int) -> None:
    from scipy.stats import chi2  # noqa: PLC0415

    for statistic in (0.1, 1.0, 12.0, 60.0, 900.0):
        assert surprise(statistic, dof) == pytest.approx(-chi2.logsf(statistic, dof), rel=1e-9)
    assert surprise(5000.0, dof) > surprise(4000.0, dof)


@pytest.mark.published
def test_the_constants_are_baardas() -> None:
    """Critical value 3.29 and δ₀ = 4.13 at 0.1 % and 80 % (seen in public code)."""
    assert pytest.approx(norm.ppf(1 - 0.0005), abs=5e-5) == CRITICAL_W
    assert pytest.approx(norm.ppf(1 - 0.0005) + norm.ppf(POWER), abs=5e-5) == DELTA_0
    assert round(CRITICAL_W, 2) == 3.29
    assert round(DELTA_0, 2) == 4.13


@pytest.mark.exact
def test_the_smallest_error_is_delta_0_over_the_root_of_the_redundancy() -> None:
    least = smallest_errors(np.array([1.0, 0.25, 0.005]), np.array([1.0, 2.0, 1.0]))
    np.testing.assert_allclose(least[:2], [4.1321, 16.5284])
    assert np.isinf(least[2])


@pytest.mark.invariant
@pytest.mark.parametrize("in_u", [3.0, 5.0, 7.0])
def test_errors_are_noticed_as_often_as_theory_says(in_u: float) -> None:
    """10,000 panels with one gap misread: |w| is non-central normal about √r·error/u.

    Three standard deviations of a share of 10,000 are at most 1.5 %.
    """
    network = network_of(repair(**panel(spans=(("L1", "B1"), ("L3", "B3")))))
    adjusted = adjust(network.equations, network.start, network.frame)
    redundancy, row = redundancy_of(adjusted), 0
    u_mm = network.sketches[row].spread.u_mm
    rng = np.random.default_rng(7)
    noise = rng.standard_normal((10_000, len(adjusted.residual)))
    noise[:, row] += in_u
    cover = np.eye(len(redundancy)) - adjusted.jacobian @ adjusted.covariance @ adjusted.jacobian.T
    w = (noise @ cover)[:, row] / np.sqrt(redundancy[row])
    share = float(np.mean(np.abs(w) > CRITICAL_W))
    expected = chance_of_notice(in_u * u_mm, float(redundancy[row]), u_mm)
    assert share == pytest.approx(expected, abs=0.015)


@pytest.mark.invariant
def test_the_smallest_error_is_noticed_in_80_of_100() -> None:
    found = answer(repair(**panel(spans=(("L1", "B1"), ("L3", "B3")))))
    network = network_of(repair(**panel(spans=(("L1", "B1"), ("L3", "B3")))))
    for row, sketch in zip(found.readings, network.sketches, strict=False):
        assert row.mdb_mm is not None
        chance = chance_of_notice(row.mdb_mm, row.redundancy, sketch.spread.u_mm)
        assert chance == pytest.approx(POWER, abs=1e-4)


def test_a_reading_that_nothing_checks_is_named() -> None:
    """One point hangs on three spans alone: any of them could be wrong."""
    tables = panel(spans=(("L1", "B1"), ("L3", "B3")))
    tables["point"].append({"id": "N", "xyz": [3000, 100, 900]})
    for name in ("B1", "B2", "B3"):
        length = float(np.linalg.norm(np.array([3000, 100, 900]) - np.array(BODY[name])))
        tables["reading"].append({"from": "N", "to": name, "value": length})
    found = answer(repair(**tables))
    unchecked = {row.about for row in found.readings if not row.checked}
    assert {"N to B1", "N to B2", "N to B3"} <= unchecked
    assert all(row.mdb_mm is None for row in found.readings if not row.checked)
    said = " ".join(check_words(found.readings))
    assert said.startswith("Nothing checks ")
    assert "N to B1, N to B2 and N to B3" in said


def misread(value: object, spans: int = 6, **more: Any) -> Recheck:
    """The recheck of one span to a well-held body point, read as `value`."""
    place = np.array([3000.0, 100.0, 900.0])
    points = [{"id": name, "xyz": list(xyz), "u": 0} for name, xyz in BODY.items()]
    points += [{"id": "N", "xyz": place.tolist()}, *more.get("points", [])]
    readings: list[dict[str, Any]] = [
        {"from": "N", "to": name, "value": float(np.linalg.norm(place - np.array(xyz)))}
        for name, xyz in list(BODY.items())[:spans]
    ]
    readings.append({"from": "N", "to": more.get("to", "B4"), "value": value})
    found = answer(repair(point=points, reading=readings)).recheck
    assert [one.index for one in found if one.located] == [len(readings) - 1]
    return next(one for one in found if one.located)


TRUE_MM = float(np.linalg.norm(np.array([3000.0, 100.0, 900.0]) - np.array(BODY["B4"])))


@pytest.mark.parametrize(
    ("value", "hint"),
    [
        (TRUE_MM + 100.0, "100 mm too much: measured from the 100 mm mark?"),
        (TRUE_MM - 100.0, "100 mm too little: a mark misread?"),
        (TRUE_MM + 50.3, "50 mm too much: a mark misread?"),
        (TRUE_MM - 10.2, "10 mm too little: a mark misread?"),
        (TRUE_MM / 2.54, "an inch read as a centimetre?"),
        (TRUE_MM * 2.54, "a centimetre read as an inch?"),
        (TRUE_MM / 10.0, "centimetres entered as millimetres?"),
        (f"{TRUE_MM / 25.4 + 1.0:.3f} in", "1 in too much: measured from the 1 in mark?"),
        (TRUE_MM + 33.0, ""),
    ],
)
def test_usual_mistakes_are_asked_about(value: object, hint: str) -> None:
    told = misread(value)
    assert told.hint == hint
    assert told.others_say_mm == pytest.approx(TRUE_MM, abs=0.5)


def test_a_span_to_the_other_side_is_told() -> None:
    """B4's opposite number was measured: left and right exchanged."""
    x, y, z = BODY["B4"]
    twin = {"id": "T4", "xyz": [x, -y, z], "u": 0, "twin": "B4", "damaged": True}
    length = float(np.linalg.norm(np.array([3000.0, 100.0, 900.0]) - np.array([x, -y, z])))
    told = misread(length, points=[twin])
    assert told.hint.startswith("left and right exchanged? N to T4 would fit.")


def test_a_neighbouring_point_is_told() -> None:
    near = np.array(BODY["B4"]) + np.array([120.0, 0.0, 90.0])
    length = float(np.linalg.norm(np.array([3000.0, 100.0, 900.0]) - near))
    told = misread(length, points=[{"id": "B4a", "xyz": near.tolist(), "u": 0}])
    assert told.hint == "B4a taken for B4? N to B4a would fit."


def test_the_sentence_gives_what_the_others_say_in_the_units_asked_for() -> None:
    told = misread(TRUE_MM + 100.0)
    assert told.words.startswith("N to B4 was read as ")
    assert "; the others say " in told.words
    assert " mm" not in recheck_words(replace(told, hint=""), Units.IN)


def test_a_racked_pair_is_not_put_down_to_the_tape() -> None:
    """One body point 15 mm off its mirror place: no reading is blamed, the pair is."""
    from tests.fit.test_room import mirrored_body  # noqa: PLC0415

    tables = repair(**mirrored_body(15.0))
    network = network_of(tables)
    adjusted = adjust(network.equations, network.start, network.frame)
    found = doubts_of(network, adjusted)
    assert found.rows == frozenset()
    assert len(found.body) == 1
    assert normalised(adjusted, redundancy_of(adjusted)).size


@pytest.mark.parametrize("typed", ["12351 mm", "235.1 mm", "23 mm"])
def test_a_length_that_leads_the_search_astray_is_found(typed: str) -> None:
    """A digit too many or too few: the adjustment goes astray, the rough places tell which it was.

    R1 to L2 of the demonstration was read as 2351 mm.
    """
    text = (Path(__file__).parents[2] / "examples" / "heron.toml").read_text(encoding="utf-8")
    before = 'from = "R1"\nto = "L2"\nvalue = "2351 mm"'
    assert before in text
    found = answer(read(text.replace(before, before.replace("2351 mm", typed))))
    assert [one.about for one in found.recheck if one.located] == ["R1 to L2"]
    assert found.recheck[0].others_say_mm == pytest.approx(2351.0, abs=5.0)
    assert found.body.status is BodyStatus.TRUE
