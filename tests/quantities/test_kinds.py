from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.errors import QuantityError
from panelwright.quantities import (
    Area,
    Duration,
    Force,
    Length,
    Power,
    Quantity,
    Stress,
    Temperature,
    Volume,
)

KINDS = [Length, Temperature, Duration, Volume, Force, Stress, Power, Area]

# NIST SP 811 (2008), Appendix B.8, seven significant digits; from memory
FACTORS = [
    (Length.parse("1 in").mm, 25.4),
    (Length.parse("1 ft").mm, 304.8),
    (Force.parse("1 lbf").newtons, 4.448222),
    (Stress.parse("1 psi").MPa, 6.894757e-3),
    (Stress.parse("1 ksi").MPa, 6.894757),
    (Volume.parse("1 fl oz").ml, 29.57353),
    (Area.parse("1 ft²").m2, 9.290304e-2),
    (Area.parse("1 in²").m2, 6.4516e-4),
]


@pytest.mark.published
@pytest.mark.parametrize(("ours", "published"), FACTORS)
def test_factors_agree_with_the_published_ones(ours: float, published: float) -> None:
    assert ours == pytest.approx(published, rel=1e-7)  # the seventh published digit


EXACT = [
    (Temperature, "19 °C", 19),
    (Temperature, "19 degC", 19),
    (Temperature, "19C", 19),
    (Temperature, 19, 19),
    (Temperature, "212 °F", 100),
    (Temperature, "32 F", 0),
    (Temperature, "-40 °F", -40),
    (Temperature, "66 °F", Fraction(170, 9)),
    (Duration, "18 min", 18),
    (Duration, "1 h 30 min", 90),
    (Duration, "1h30min", 90),
    (Duration, "1.5 hours", 90),
    (Duration, "45 s", Fraction(3, 4)),
    (Duration, "1 h 0 min 30 s", Fraction(121, 2)),
    (Duration, 60, 60),
    (Volume, "200 ml", 200),
    (Volume, "0.2 l", 200),
    (Volume, "0.2 L", 200),
    (Volume, "2 fl. oz.", Fraction("59.147059125")),
    (Volume, 50, 50),
    (Force, 3.5, 3500),
    (Force, "3.5 kN", 3500),
    (Force, "3500 N", 3500),
    (Force, "100 lbf", Fraction("444.82216152605")),
    (Stress, 20, 20),
    (Stress, "20 N/mm²", 20),
    (Stress, "20 N/mm2", 20),
    (Stress, "70 GPa", 70_000),
    (Power, "1500 W", 1500),
    (Power, "1.5 kW", 1500),
    (Power, 1500, 1500),
    (Area, "1.1 m2", Fraction("1.1")),
    (Area, "1.1 m²", Fraction("1.1")),
    (Area, "11000 cm²", Fraction("1.1")),
    (Area, "1100000 mm²", Fraction("1.1")),
    (Area, 1.1, Fraction("1.1")),
]


@pytest.mark.exact
@pytest.mark.parametrize(("kind", "typed", "value"), EXACT)
def test_each_kind_is_read_exactly(
    kind: type[Quantity], typed: str | float, value: Fraction | int
) -> None:
    assert kind.parse(typed).exact == value


REFUSED = [
    (Temperature, "-300 °C", "below -273.15 °C"),
    (Temperature, "-460 °F", "below -273.15 °C"),
    (Temperature, "20", "the unit of 20 is missing"),
    (Temperature, "290 K", "no unit of temperature"),
    (Duration, "1 h 20", "the unit of 20 is missing"),
    (Duration, "1 h 60 min", "must be less than 1 h"),
    (Duration, "1:20", "no unit of duration"),
    (Duration, -1, "below 0 min"),
    (Duration, "5 m", "no unit of duration"),
    (Volume, "10 oz", "no unit of volume"),
    (Volume, "-1 ml", "below 0 ml"),
    (Force, "5 lb", "no unit of force"),
    (Force, "-1 N", "below 0 N"),
    (Stress, "5 mPa", "no unit of stress"),
    (Stress, "5 kN", "no unit of stress"),
    (Power, "1 MW", "no unit of power"),
    (Power, "1 hp", "no unit of power"),
    (Area, "1.1 m", "no unit of area"),
    (Area, "1,1 m²", 'write "1.1 m²"'),
    (Area, "1,1 m2", 'write "1.1 m2"'),
]


@pytest.mark.exact
@pytest.mark.parametrize(("kind", "typed", "sentence"), REFUSED)
def test_each_kind_refuses_other_units_in_words(
    kind: type[Quantity], typed: str | float, sentence: str
) -> None:
    with pytest.raises(QuantityError, match=sentence):
        kind.parse(typed)


@pytest.mark.exact
def test_each_kind_gives_its_base_unit_as_a_float() -> None:
    assert Temperature.parse("19 °C").celsius == 19.0
    assert Duration.parse("45 s").minutes == 0.75
    assert Volume.parse("0.2 l").ml == 200.0
    assert Force.parse(3.5).newtons == 3500.0
    assert Stress.parse("1 GPa").MPa == 1000.0
    assert Power.parse("1.5 kW").watts == 1500.0
    assert Area.parse("11000 cm²").m2 == 1.1


@pytest.mark.exact
@pytest.mark.parametrize("kind", KINDS)
def test_every_example_and_every_spelling_is_read(kind: type[Quantity]) -> None:
    for example in kind.grammar.examples:
        kind.parse(example)
    for spelling, unit in kind.grammar.by_spelling.items():
        assert kind.parse(f"3 {spelling}").exact == unit.to_base(Fraction(3))


def read_or_refused(kind: type[Quantity], typed: object) -> Quantity | str:
    try:
        return kind.parse(typed)
    except QuantityError as refused:
        return str(refused)


# letters that readings are made of, so that near misses are met often
READING_LIKE = st.text("0123456789 .,/-+'\"′″⅜½²°mcinftMPaNklbfhsWFCoz", max_size=30)


@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
@given(typed=st.one_of(st.text(), READING_LIKE))
def test_any_text_is_read_or_refused_in_words(kind: type[Quantity], typed: str) -> None:
    outcome = read_or_refused(kind, typed)
    if isinstance(outcome, str):
        assert "; expected " in outcome
        assert "; write " in outcome
    else:
        assert outcome.typed == typed
        assert abs(outcome.exact) <= 10**12


ANYTHING = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.binary(),
    st.lists(st.integers()),
    st.dictionaries(st.text(), st.integers()),
    st.complex_numbers(),
)


@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
@given(typed=ANYTHING)
def test_any_value_is_read_or_refused_in_words(kind: type[Quantity], typed: object) -> None:
    outcome = read_or_refused(kind, typed)
    assert "; write " in outcome if isinstance(outcome, str) else outcome.typed is typed


@pytest.mark.invariant
@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_hours_minutes_and_seconds_add_up(hours: int, minutes: int, seconds: int) -> None:
    duration = Duration.parse(f"{hours} h {minutes} min {seconds} s")
    assert duration.exact * 60 == hours * 3600 + minutes * 60 + seconds
