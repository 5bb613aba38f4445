"""The kinds of quantities."""

from __future__ import annotations

from fractions import Fraction

from panelwright.quantities import units as u
from panelwright.quantities.grammar import Grammar
from panelwright.quantities.quantity import Quantity

_ZERO = Fraction(0)


class Length(Quantity):
    """A length; below zero where a direction is meant.

    Examples
    --------
    >>> Length.parse("12 3/8 in").mm
    314.325
    """

    grammar = Grammar(
        "length",
        (u.MILLIMETRE, u.CENTIMETRE, u.METRE, u.INCH, u.FOOT),
        u.MILLIMETRE,
        None,
        ("820 mm", "12 3/8 in", "3 ft 2 1/2 in"),
    )

    @property
    def mm(self) -> float:
        """Give it in millimetres."""
        return float(self.exact)


class Temperature(Quantity):
    """A temperature, not a difference of temperatures.

    Examples
    --------
    >>> Temperature.parse("212 °F").celsius
    100.0
    """

    grammar = Grammar(
        "temperature",
        (u.CELSIUS, u.FAHRENHEIT),
        u.CELSIUS,
        Fraction("-273.15"),
        ("19 °C", "66 °F"),
    )

    @property
    def celsius(self) -> float:
        """Give it in degrees Celsius."""
        return float(self.exact)


class Duration(Quantity):
    """A span of time.

    Examples
    --------
    >>> Duration.parse("1 h 30 min").minutes
    90.0
    """

    grammar = Grammar(
        "duration", (u.MINUTE, u.HOUR, u.SECOND), u.MINUTE, _ZERO, ("18 min", "1 h 30 min", "45 s")
    )

    @property
    def minutes(self) -> float:
        """Give it in minutes."""
        return float(self.exact)


class Volume(Quantity):
    """A volume.

    Examples
    --------
    >>> Volume.parse("0.2 l").ml
    200.0
    """

    grammar = Grammar(
        "volume",
        (u.MILLILITRE, u.LITRE, u.FLUID_OUNCE),
        u.MILLILITRE,
        _ZERO,
        ("200 ml", "0.2 l", "6.8 fl oz"),
    )

    @property
    def ml(self) -> float:
        """Give it in millilitres."""
        return float(self.exact)


class Force(Quantity):
    """A force; a number without unit is in kilonewtons.

    Examples
    --------
    >>> Force.parse("3.5 kN").newtons
    3500.0
    """

    grammar = Grammar(
        "force",
        (u.NEWTON, u.KILONEWTON, u.POUND_FORCE),
        u.KILONEWTON,
        _ZERO,
        ("3.5 kN", "3500 N", "790 lbf"),
    )

    @property
    def newtons(self) -> float:
        """Give it in newtons."""
        return float(self.exact)


class Stress(Quantity):
    """A stress or strength per area.

    Examples
    --------
    >>> Stress.parse("20 N/mm²").MPa
    20.0
    """

    grammar = Grammar(
        "stress",
        (u.MEGAPASCAL, u.PSI, u.GIGAPASCAL, u.KSI),
        u.MEGAPASCAL,
        _ZERO,
        ("20 MPa", "20 N/mm²", "2900 psi"),
    )

    @property
    def MPa(self) -> float:
        """Give it in megapascals."""
        return float(self.exact)


class Power(Quantity):
    """A power.

    Examples
    --------
    >>> Power.parse("1.5 kW").watts
    1500.0
    """

    grammar = Grammar("power", (u.WATT, u.KILOWATT), u.WATT, _ZERO, ("1500 W", "1.5 kW"))

    @property
    def watts(self) -> float:
        """Give it in watts."""
        return float(self.exact)


class Area(Quantity):
    """An area.

    Examples
    --------
    >>> Area.parse("12000 cm²").m2
    1.2
    """

    grammar = Grammar(
        "area",
        (u.SQUARE_METRE, u.SQUARE_MILLIMETRE, u.SQUARE_CENTIMETRE, u.SQUARE_FOOT, u.SQUARE_INCH),
        u.SQUARE_METRE,
        _ZERO,
        ("1.1 m²", "11000 cm²", "12 ft²"),
    )

    @property
    def m2(self) -> float:
        """Give it in square metres."""
        return float(self.exact)
