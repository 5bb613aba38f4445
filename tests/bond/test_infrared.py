"""Infrared thermometers: band radiation against tables, what they show, what a reading is worth."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from panelwright.bond import answer
from panelwright.bond.answer import JointBond
from panelwright.bond.infrared import (
    BAND_UM,
    View,
    band_exitance,
    band_temperature,
    corrected,
    fraction_below,
    panel_from,
    shown,
)

from .conftest import Make


@pytest.mark.published
def test_shares_of_black_body_radiation() -> None:
    """Incropera 6th ed., table 12.1 (values from memory, to its digits)."""
    found = fraction_below(np.array([1000.0, 2898.0, 4000.0, 6000.0]))
    np.testing.assert_allclose(found, [0.000321, 0.250108, 0.480877, 0.737818], atol=4e-5)


@pytest.mark.second_route
@pytest.mark.parametrize("celsius", [-10.0, 20.0, 60.0, 200.0])
def test_the_band_by_quadrature_of_plancks_law(celsius: float) -> None:
    T = celsius + 273.15

    def planck(um: float) -> float:
        return float(3.741771852e8 / um**5 / np.expm1(14_387.768775 / (um * T)))

    assert float(band_exitance(celsius)) == pytest.approx(quad(planck, *BAND_UM)[0], rel=1e-6)


@pytest.mark.published
def test_the_band_by_the_interpolation_of_a_standard() -> None:
    """Sakuma-Hattori for 8 to 14 µm, A = 9.364 µm, B = 178.4 µm K (ASTM E2847, from memory)."""

    def signal(celsius: float) -> float:
        return float(1.0 / np.expm1(14_388.0 / (9.364 * (celsius + 273.15) + 178.4)))

    scale = float(band_exitance(20.0)) / signal(20.0)
    for celsius in (-15.0, 0.0, 40.0, 60.0, 80.0, 100.0):
        flux = float(band_exitance(celsius))
        by_standard = (14_388.0 / np.log1p(scale / flux) - 178.4) / 9.364 - 273.15
        assert by_standard == pytest.approx(celsius, abs=0.25)


@pytest.mark.second_route
def test_a_small_error_of_emissivity_by_wien_s_law() -> None:
    """ΔT = λT²/c₂ Δε/ε at one wavelength (any book on pyrometry), 10 µm standing for the band."""
    T = 353.15
    wien = 10.2 * T**2 / 14_388.0 * 0.01
    found = shown(80.0, emissivity=0.96, setting=0.96 / 1.01, walls_C=-80.0) - 80.0
    assert found == pytest.approx(wien, rel=0.12)


@pytest.mark.exact
def test_there_and_back() -> None:
    for view in (View("bare", 0.95, 20.0, 3.0), View("oxidised", 0.3, 25.0, 3.0, 40.0, 30.0)):
        read = view.shows(71.0)
        back = panel_from(
            read,
            emissivity=view.emissivity[1],
            setting=view.setting,
            walls_C=view.walls_C,
            lamp=view.lamp,
        )
        assert back == pytest.approx(71.0, abs=0.05)
    assert float(band_temperature(band_exitance(63.1))) == pytest.approx(63.1, abs=0.01)


@pytest.mark.exact
def test_as_warm_as_the_bay_it_shows_the_bay_whatever_the_surface() -> None:
    for emissivity in (0.03, 0.5, 0.95):
        read = shown(20.0, emissivity=emissivity, setting=0.95, walls_C=20.0)
        assert read == pytest.approx(20.0, abs=0.01)


@pytest.mark.invariant
def test_bare_metal_reads_far_too_low_and_a_lamp_s_mirror_image_too_high() -> None:
    bare = View("bare", 0.95, 20.0, 3.0)
    assert bare.shows(60.0) < 30.0
    lit = View("bare", 0.95, 20.0, 3.0, 60.0, 50.0)
    assert lit.shows(30.0) > 30.0
    assert View("tape", 0.95, 20.0, 3.0).shows(60.0) == pytest.approx(60.0, abs=0.1)


@pytest.mark.second_route
def test_uncertainty_by_drawing() -> None:
    view = View("primed", 0.95, 20.0, 3.6)
    low, likely, high = view.emissivity
    rng = np.random.default_rng(5)
    drawn = [
        panel_from(
            float(rng.normal(62.0, 2.0)),
            emissivity=float(rng.normal(likely, (high - low) / 3.29)),
            setting=0.95,
            walls_C=float(rng.normal(20.0, 3.6)),
        )
        for _ in range(2000)
    ]
    seen = corrected(62.0, 2.0, view)
    assert seen.celsius == pytest.approx(float(np.mean(drawn)), abs=0.3)
    assert seen.u_K == pytest.approx(float(np.std(drawn)), rel=0.1)


def read(value: str, **keys: Any) -> Any:
    row = {"joint": "arch", "along": "200 mm", "minute": 30.0, "value": value, **keys}
    return lambda data: data.setdefault("temperature", []).append(row)


def only(make: Make, *changes: Any) -> JointBond:
    (bond,) = answer(make(*changes, heated=True)).joints
    return bond


def test_on_tape_it_counts_nearly_as_a_contact_thermometer(make: Make) -> None:
    touched = only(make, read("46 °C"))
    taped = only(make, read("46 °C", **{"with": "infrared", "on": "tape"}))
    (check,) = taped.readings
    assert check.counts
    assert check.value_C == pytest.approx(46.0, abs=2.0)
    assert "on black tape with the lamp on" in check.words
    assert touched.handle_min is not None
    assert taped.handle_min is not None
    assert taped.handle_min.late == pytest.approx(touched.handle_min.late, rel=0.1)


def test_on_bare_metal_it_is_given_no_weight_and_the_way_out_is_said(make: Make) -> None:
    before = only(make)
    after = only(make, read("24 °C", **{"with": "infrared", "emissivity": 0.95, "on": "bare"}))
    (check,) = after.readings
    assert not check.counts
    assert "Stick black tape" in check.words
    assert any("No weight is given" in note for note in after.notes)
    assert before.handle_min is not None
    assert after.handle_min is not None
    assert after.handle_min.late == pytest.approx(before.handle_min.late, rel=0.03)


def test_what_was_looked_at_is_the_lamp_s_surface_where_nobody_says(make: Make) -> None:
    (check,) = only(make, read("46 °C", **{"with": "infrared"})).readings
    assert "on primer" in check.words
    (off,) = only(make, read("30 °C", **{"with": "infrared", "minute": 55.0})).readings
    assert "with the lamp on" not in off.words
