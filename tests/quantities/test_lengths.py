from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelwright.errors import QuantityError
from panelwright.quantities import Length, show_fraction

# inch = 25.4 mm exactly (NIST SP 811 (2008), Appendix B; from memory); the rest is arithmetic
READ = [
    ("12 3/8 in", Fraction("314.325")),
    ("12-3/8 in", Fraction("314.325")),
    ("12⅜ in", Fraction("314.325")),
    ("12 ⅜″", Fraction("314.325")),
    ("12 3⁄8 inches", Fraction("314.325")),
    ('1/16"', Fraction("1.5875")),
    ("3' 2 1/2\"", Fraction("977.9")),
    ("3′2½″", Fraction("977.9")),
    ("3’ 2''", Fraction("965.2")),
    ("3 ft 2 in", Fraction("965.2")),
    ("3'", Fraction("914.4")),
    ("-5/8 in", Fraction("-15.875")),
    ("−3' 6\"", Fraction("-1066.8")),
    ("+2 mm", Fraction(2)),
    ("820 mm", Fraction(820)),
    ("82.0cm", Fraction(820)),
    ("1.834 m", Fraction(1834)),
    ("1 m 834 mm", Fraction(1834)),
    ("1 m 83.4 cm", Fraction(1834)),
    (".5 in", Fraction("12.7")),
    ("0 mm", Fraction(0)),
    ("12\u00a0mm", Fraction(12)),
    (1834, Fraction(1834)),
    (0.1, Fraction(1, 10)),
    (-3, Fraction(-3)),
]


@pytest.mark.exact
@pytest.mark.parametrize(("typed", "mm"), READ)
def test_a_length_is_read_exactly_and_kept_as_typed(typed: str | float, mm: Fraction) -> None:
    length = Length.parse(typed)
    assert length.exact == mm
    assert length.typed is typed
    assert length.mm == float(mm)


# what is refused, and a piece of the sentence that shows the way out
REFUSED = [
    ("12", 'the unit of 12 is missing.*write "12 mm" or .*"12 in"'),
    ("12 3/8", 'the unit of 12 3/8 is missing.*"12 3/8 in"'),
    ("1,834 mm", 'thousands or a decimal.*write "1834 mm".*"1.834 mm"'),
    ("1'234", 'thousands or a decimal.*write "1234 mm"'),
    ("-1,834", 'write "-1834 mm".*"-1.834 mm"'),
    ("-12", 'write "-12 mm"'),
    ("315,5", 'write "315.5 mm"'),
    ("1'234 mm", 'write "1234 mm"'),
    ("1 834 mm", 'write "1834 mm"'),
    ("1\u202f834 mm", 'write "1834 mm"'),
    ("12,345,678 mm", 'write "12345678 mm"'),
    ("1,834.5 mm", 'write "1834.5 mm"'),
    ("315,5 mm", 'a comma may mean.*write "315.5 mm"'),
    ("0,5 mm", 'write "0.5 mm"'),
    ("12 parsec", '"parsec" is no unit of length.*mm, cm, m, in, ft'),
    ("12 °C", "no unit of length"),
    ("1e3 mm", "expected a length with unit"),
    ("1.834.000 mm", "not understood"),
    ("12 9/8 in", "9/8 must be below 1"),
    ("1/0 in", "divides by zero"),
    ("12.5 3/8 in", "not understood"),
    ("12 in 3/8", "not understood"),
    ("12½0 mm", "not understood"),  # not 12 1/20
    ("½⅜ in", "not understood"),
    ("3½/4 in", "not understood"),
    ("3' 14\"", "must be less than 1 ft"),
    ("3.5' 2\"", "must be a whole number"),
    ("2 in 3 ft", "ft cannot follow in"),
    ("3 ft 20 mm", "mm cannot follow ft"),
    ("5 mm 5 mm", "mm cannot follow mm"),
    ("", "nothing is written"),
    ("   ", "nothing is written"),
    ("-", "a sign alone"),
    ("--5 mm", "not understood"),
    ("mm", "not understood"),
    ("five mm", "not understood"),
    ("5 mm" + " " * 90, "longer than 80 letters"),
    (True, "neither a text nor a number"),
    (None, "neither a text nor a number"),
    ([1], "neither a text nor a number"),
    (float("nan"), "no finite number"),
    (float("inf"), "no finite number"),
    pytest.param(10**5000, "larger than anything", id="10**5000"),
    (1e300, "larger than anything"),
    ("9" * 70 + " mm", "larger than anything"),
]


@pytest.mark.exact
@pytest.mark.parametrize(("typed", "sentence"), REFUSED)
def test_what_could_mean_two_things_is_refused_with_the_way_to_write_it(
    typed: object, sentence: str
) -> None:
    with pytest.raises(QuantityError, match=sentence) as refused:
        Length.parse(typed)
    assert "expected a length with unit, or a number in mm; write " in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.exact
def test_the_example_in_every_refusal_is_accepted() -> None:
    for example in Length.grammar.examples:
        Length.parse(example)


@pytest.mark.invariant
def test_equal_lengths_are_equal_however_typed() -> None:
    assert Length.parse("1 in") == Length.parse(25.4) == Length.parse("2.54 cm")
    assert Length.parse("1 in") < Length.parse("26 mm")
    assert len({Length.parse("1 ft"), Length.parse("12 in")}) == 1


@pytest.mark.invariant
@given(st.integers(-10_000, 10_000))
def test_sixteenths_of_an_inch_come_back_as_shown(sixteenths: int) -> None:
    length = Length.parse(show_fraction(sixteenths * 25.4 / 16))
    assert length.exact == sixteenths * Fraction("25.4") / 16


@pytest.mark.invariant
@given(
    st.decimals(-99_999, 99_999, allow_nan=False, places=3),
    st.sampled_from([("mm", 1), ("cm", 10), ("m", 1000), ("in", "25.4"), ("ft", "304.8")]),
)
def test_a_decimal_keeps_every_digit(number: object, unit: tuple[str, str | int]) -> None:
    symbol, factor = unit
    assert Length.parse(f"{number} {symbol}").exact == Fraction(str(number)) * Fraction(factor)


@pytest.mark.invariant
@given(st.floats(-1e11, 1e11, allow_nan=False))
def test_a_bare_number_is_millimetres_to_the_last_bit(number: float) -> None:
    assert Length.parse(number).mm == number
