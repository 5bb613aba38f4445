"""The units that people may type, with their factors.

Every factor is exact by definition: inch = 25.4 mm, foot = 12 in, pound-force =
4.4482216152605 N, US fluid ounce = 29.5735295625 ml; the rest follows from these.

References
----------
NIST Special Publication 811 (2008), Guide for the Use of the International System of
Units, Appendix B. From memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Ladder(StrEnum):
    """Units that are said one after the other, the larger first: 3 ft 2 in, 1 h 30 min."""

    METRIC = "metric"
    FEET = "feet"
    CLOCK = "clock"


@dataclass(frozen=True)
class Unit:
    """One unit: value in base unit = factor × number + offset."""

    symbol: str
    factor: Fraction
    spellings: tuple[str, ...]
    ladder: Ladder | None = None
    offset: Fraction = Fraction(0)

    def to_base(self, number: Fraction) -> Fraction:
        """Give the number in the base unit, exactly."""
        return self.factor * number + self.offset

    def from_base(self, value: float) -> float:
        """Give a value of the base unit in this unit."""
        return (value - float(self.offset)) / float(self.factor)


def _any_case(*words: str) -> tuple[str, ...]:
    """Give the words as typed, in small letters, in capitals and with a capital first."""
    forms = (form for word in words for form in (word, word.lower(), word.upper(), word.title()))
    return tuple(dict.fromkeys(forms))


MM_PER_INCH = Fraction("25.4")
NEWTONS_PER_POUND = Fraction("4.4482216152605")
_PSI = NEWTONS_PER_POUND / MM_PER_INCH**2  # N/mm² = MPa

MILLIMETRE = Unit(
    "mm",
    Fraction(1),
    _any_case("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    Ladder.METRIC,
)
CENTIMETRE = Unit(
    "cm",
    Fraction(10),
    _any_case("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    Ladder.METRIC,
)
METRE = Unit(
    "m",
    Fraction(1000),
    ("m", *_any_case("metre", "metres", "meter", "meters")),
    Ladder.METRIC,
)
INCH = Unit("in", MM_PER_INCH, ('"', "''", *_any_case("in", "in.", "inch", "inches")), Ladder.FEET)
FOOT = Unit("ft", 12 * MM_PER_INCH, ("'", *_any_case("ft", "ft.", "foot", "feet")), Ladder.FEET)

CELSIUS = Unit("°C", Fraction(1), ("°C", "° C", "℃", "C", "c", "°c", "degC", "deg C"))
FAHRENHEIT = Unit(
    "°F",
    Fraction(5, 9),
    ("°F", "° F", "℉", "F", "f", "°f", "degF", "deg F"),
    offset=Fraction(-160, 9),
)

SECOND = Unit(
    "s",
    Fraction(1, 60),
    _any_case("s", "sec", "secs", "second", "seconds"),
    Ladder.CLOCK,
)
MINUTE = Unit(
    "min",
    Fraction(1),
    _any_case("min", "min.", "mins", "minute", "minutes"),
    Ladder.CLOCK,
)
HOUR = Unit("h", Fraction(60), _any_case("h", "hr", "hrs", "hour", "hours"), Ladder.CLOCK)

MILLILITRE = Unit(
    "ml",
    Fraction(1),
    ("ml", "mL", *_any_case("millilitre", "millilitres", "milliliter", "milliliters")),
)
LITRE = Unit("l", Fraction(1000), ("l", "L", *_any_case("litre", "litres", "liter", "liters")))
FLUID_OUNCE = Unit(
    "fl oz",
    Fraction("29.5735295625"),
    (*_any_case("fl oz", "fl. oz.", "floz"), "US fl oz", "us fl oz", "US fl. oz."),
)

NEWTON = Unit("N", Fraction(1), ("N", "n", *_any_case("newton", "newtons")))
KILONEWTON = Unit("kN", Fraction(1000), ("kN", "kn", "KN", *_any_case("kilonewton", "kilonewtons")))
POUND_FORCE = Unit("lbf", NEWTONS_PER_POUND, _any_case("lbf"))

MEGAPASCAL = Unit("MPa", Fraction(1), ("MPa", "Mpa", "MPA", "N/mm²", "N/mm2", "N/mm^2"))
GIGAPASCAL = Unit("GPa", Fraction(1000), ("GPa", "Gpa", "GPA"))
PSI = Unit("psi", _PSI, _any_case("psi"))
KSI = Unit("ksi", 1000 * _PSI, _any_case("ksi"))

WATT = Unit("W", Fraction(1), ("W", "w", *_any_case("watt", "watts")))
KILOWATT = Unit("kW", Fraction(1000), ("kW", "kw", "KW", "Kw", *_any_case("kilowatt", "kilowatts")))

SQUARE_METRE = Unit("m²", Fraction(1), ("m²", "m2", "m^2", "sq m"))
SQUARE_CENTIMETRE = Unit("cm²", Fraction(1, 10**4), ("cm²", "cm2", "cm^2", "sq cm"))
SQUARE_MILLIMETRE = Unit("mm²", Fraction(1, 10**6), ("mm²", "mm2", "mm^2", "sq mm"))
SQUARE_FOOT = Unit("ft²", Fraction("0.09290304"), ("ft²", "ft2", "ft^2", "sq ft"))
SQUARE_INCH = Unit("in²", Fraction("0.00064516"), ("in²", "in2", "in^2", "sq in"))
