from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.errors import QuantityError
from panelwright.quantities import (
    Duration,
    Length,
    Units,
    show_area,
    show_force,
    show_fraction,
    show_length,
    show_length_with_u,
    show_minutes,
    show_power,
    show_stress,
    show_temperature,
    show_volume,
)

# JCGM 100:2008, 7.2.6: two significant digits of u, the estimate rounded to the same place.
# Its worked figures: 10.0476 ohm with u = 27 milliohm becomes 10.048 ohm. From memory.


@pytest.mark.published
def test_a_value_is_rounded_to_the_second_digit_of_its_uncertainty() -> None:
    assert show_length(10.04762, Units.MM, 0.027) == "10.048 mm"


@pytest.mark.exact
@pytest.mark.parametrize(
    ("u_mm", "words"),
    [
        (None, "1834.2 mm"),
        (0.0, "1834.2 mm"),
        (math.inf, "1834.2 mm"),
        (1.13, "1834.2 mm"),
        (0.0996, "1834.24 mm"),
        (0.0994, "1834.237 mm"),
        (9.96, "1834 mm"),
        (113.0, "1830 mm"),
        (1e-12, "1834.2370 mm"),
    ],
)
def test_length_digits_follow_the_uncertainty(u_mm: float | None, words: str) -> None:
    assert show_length(1834.237, Units.MM, u_mm) == words


@pytest.mark.exact
def test_inches_have_as_many_digits_as_are_known() -> None:
    assert show_length(314.325, Units.IN) == "12.375 in"
    assert show_length(1834.237, Units.IN, 1.13) == "72.214 in"  # u = 0.044 in
    assert show_length(1834.237, Units.IN, 25.4) == "72.2 in"
    assert show_length_with_u(1834.237, 1.13) == "1834.2 ± 1.1 mm"
    assert show_length_with_u(1834.237, 1.13, Units.IN) == "72.214 ± 0.044 in"
    assert show_length_with_u(1834.237, 0.0) == "1834.2 ± 0.0 mm"


@pytest.mark.exact
def test_nothing_is_shown_as_minus_zero() -> None:
    assert show_length(-0.01) == "0.0 mm"
    assert show_fraction(-0.01) == "0 in"
    assert show_minutes(-0.001) == "0 min"


@pytest.mark.exact
@pytest.mark.parametrize(
    ("mm", "denominator", "words"),
    [
        (314.325, 16, "12 3/8 in"),
        (314.325, 4, "12 1/2 in"),  # halfway between quarters: to the even one
        (0.0, 16, "0 in"),
        (1.5875, 16, "1/16 in"),
        (25.4, 16, "1 in"),
        (-314.325, 16, "-12 3/8 in"),
        (25.3, 16, "1 in"),
        (0.79375, 32, "1/32 in"),
    ],
)
def test_fractions_of_an_inch_are_in_lowest_terms(mm: float, denominator: int, words: str) -> None:
    assert show_fraction(mm, denominator) == words


@pytest.mark.exact
@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0, "0 min"),
        (0.5, "30 s"),
        (1, "1 min"),
        (59.4, "59 min"),
        (59.6, "1 h"),
        (80, "1 h 20 min"),
        (120, "2 h"),
        (1570, "26 h 10 min"),
        (-80, "-1 h 20 min"),
    ],
)
def test_minutes_are_said_in_hours_and_minutes(minutes: float, words: str) -> None:
    assert show_minutes(minutes) == words


@pytest.mark.exact
def test_every_kind_is_shown_with_its_unit() -> None:
    assert show_temperature(18.9) == "19 °C"
    assert show_temperature(100, Units.IN) == "212 °F"
    assert show_temperature(48.26, Units.MM, 0.5) == "48.26 °C"
    assert show_temperature(48.26, Units.IN, 5.0) == "118.9 °F"
    assert show_volume(200) == "200 ml"
    assert show_volume(200, Units.IN) == "6.8 fl oz"
    assert show_force(3500) == "3.50 kN"
    assert show_force(3500, Units.MM, 250) == "3.50 kN"
    assert show_force(3500, Units.IN) == "787 lbf"
    assert show_stress(20) == "20.0 MPa"
    assert show_stress(20, Units.IN) == "2901 psi"
    assert show_power(1500) == "1500 W"
    assert show_area(1.1) == "1.10 m²"
    assert show_area(1.1, Units.IN) == "11.8 ft²"


@pytest.mark.exact
@pytest.mark.parametrize("show", [show_length, show_fraction, show_minutes, show_temperature])
def test_what_is_no_number_is_not_shown_as_one(show: object) -> None:
    assert callable(show)
    with pytest.raises(QuantityError, match="no finite number"):
        show(math.nan)


@pytest.mark.invariant
@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e3), st.sampled_from(Units))
def test_what_is_shown_is_read_back_within_a_tenth_of_the_uncertainty(
    mm: float, u_mm: float, units: Units
) -> None:
    back = Length.parse(show_length(mm, units, u_mm)).mm
    # half a unit of the second digit of u is at most u/20; twice that allows for the round of u
    # and the finest shown step of 0.0001
    assert abs(back - mm) <= 0.1 * u_mm + 0.0001 * 25.4


@pytest.mark.invariant
@given(st.integers(0, 100_000))
def test_whole_minutes_are_read_back_as_shown(minutes: int) -> None:
    assert Duration.parse(show_minutes(minutes)).minutes == minutes
