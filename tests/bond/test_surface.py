"""Dew point and bonding window against libraries, tables and the 3 K rule."""

from __future__ import annotations

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.bond.answer import Fit
from panelwright.bond.surface import (
    dew_point_magnus,
    humidity_at_panel,
    prepared_hours,
    surface_answer,
)
from panelwright.facts.models.header import Conditions
from panelwright.quantities import Temperature

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.published
@pytest.mark.parametrize(
    ("air", "humidity", "coolprop", "magnus"),
    [
        # Dew point by a reference library and by Magnus 17.62, 243.12 [computed].
        (20.0, 50.0, 9.274, 9.255),
        (21.0, 50.0, 10.194, 10.175),
        (23.0, 50.0, 12.031, 12.014),
        (25.0, 60.0, 16.704, 16.693),
        (30.0, 70.0, 23.931, 23.927),
    ],
)
def test_dew_points(air: float, humidity: float, coolprop: float, magnus: float) -> None:
    found = dew_point_magnus(air, humidity)
    assert found == pytest.approx(magnus, abs=6e-4)
    assert found == pytest.approx(coolprop, abs=0.04)


@pytest.mark.published
def test_dew_point_of_dry_air() -> None:
    # 22.9 °C, 23 % at 100 200 Pa: published 0.67 °C [seen, test file of a psychrometer program].
    assert dew_point_magnus(22.9, 23.0) == pytest.approx(0.67, abs=0.04)


@pytest.mark.second_route
@given(air=st.floats(5, 40), humidity=st.floats(15, 100))
def test_dew_point_by_another_library(air: float, humidity: float) -> None:
    theirs = psychrolib.GetTDewPointFromRelHum(air, humidity / 100.0)
    if theirs > 0.0:  # below it the other library speaks of ice
        assert dew_point_magnus(air, humidity) == pytest.approx(theirs, abs=0.06)


@pytest.mark.exact
@given(air=st.floats(-10, 40))
def test_saturated_air_is_at_its_dew_point(air: float) -> None:
    assert dew_point_magnus(air, 100.0) == pytest.approx(air, abs=1e-9)


@pytest.mark.invariant
@given(air=st.floats(5, 40), humidity=st.floats(10, 99))
def test_a_panel_at_the_dew_point_is_wet(air: float, humidity: float) -> None:
    dew = dew_point_magnus(air, humidity)
    assert humidity_at_panel(air, humidity, dew) == pytest.approx(100.0, abs=1e-6)


@pytest.mark.parametrize("humidity", [0.0, -5.0, 100.5])
def test_humidity_that_cannot_be_is_refused(humidity: float) -> None:
    with pytest.raises(ValueError, match="more than 0 up to 100"):
        dew_point_magnus(20.0, humidity)


def conditions(air: str | None, humidity: float | None, panel: str | None = None) -> Conditions:
    return Conditions(
        air=Temperature.parse(air) if air else None,
        humidity=humidity,
        panel=Temperature.parse(panel) if panel else None,
    )


@pytest.mark.published
def test_three_kelvin_above_the_dew_point() -> None:
    # 21 °C and 50 %: dew point 10 °C, paint at 13 °C or more [seen, a coating maker's note].
    surface, problems = surface_answer(conditions("21 °C", 50.0, "14 °C"))
    assert surface.panel_at_least_C == pytest.approx(13.2, abs=0.05)
    assert surface.bond is Fit.YES
    assert problems == ()


def test_a_panel_near_the_dew_point_is_not_bonded() -> None:
    surface, problems = surface_answer(conditions("21 °C", 50.0, "12 °C"))
    assert surface.bond is Fit.NO
    assert "Warm the panel" in problems[0].what


def test_damp_air_is_not_bonded_in() -> None:
    surface, problems = surface_answer(conditions("20 °C", 85.0, "24 °C"))
    assert surface.bond is Fit.NO
    assert "humidity" in problems[0].what


@pytest.mark.parametrize(
    ("air", "humidity"), [(None, 50.0), ("20 °C", None), ("20 °C", 0.0), ("300 °C", 40.0)]
)
def test_what_is_missing_is_asked_for(air: str | None, humidity: float | None) -> None:
    surface, problems = surface_answer(conditions(air, humidity))
    assert surface.bond is Fit.UNKNOWN
    assert surface.dew_point_C is None
    assert problems


@pytest.mark.published
def test_windows_of_prepared_aluminium() -> None:
    # Petrie, Handbook of Adhesives and Sealants, table 6.6 [seen].
    names = ("wet-abrasive-blasted", "sulfuric-chromic etched", "anodised")
    assert [prepared_hours(name) for name in names] == [72.0, 6 * 24.0, 30 * 24.0]
    assert prepared_hours() <= 8.0
    with pytest.raises(KeyError):
        prepared_hours("licked")
