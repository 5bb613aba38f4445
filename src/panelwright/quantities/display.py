"""Numbers as people see them: rounded to what is known, always with the unit.

Rounding: a value is shown to the decimal place of the second significant digit of its
standard uncertainty (JCGM 100:2008, 7.2.6: two significant digits usually suffice; from
memory), else to the place that the kind of quantity has by default.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from fractions import Fraction

from panelwright.errors import QuantityError
from panelwright.quantities import units as u
from panelwright.quantities.units import Unit


class Units(StrEnum):
    """The units that a page is written in: metric or inch."""

    MM = "mm"
    IN = "in"


_FINEST_DECIMALS = 4


def decimals_from_uncertainty(uncertainty: float) -> int:
    """Give the decimal place of the second significant digit, below 0 left of the point.

    Parameters
    ----------
    uncertainty : float
        Standard uncertainty, above 0.

    Examples
    --------
    >>> decimals_from_uncertainty(1.13), decimals_from_uncertainty(0.0996)
    (1, 2)
    """
    rounded = float(f"{uncertainty:.1e}")  # 0.0996 becomes 0.10, one place less
    return min(1 - math.floor(math.log10(rounded)), _FINEST_DECIMALS)


def _rounded(value: float, decimals: int) -> str:
    """Give the value with so many decimals; below 0, rounded to tens, hundreds and so on."""
    if not math.isfinite(value):
        raise QuantityError(f"{value} is no finite number and cannot be shown")
    exact = Decimal(repr(float(value)))
    step = Decimal(1).scaleb(-decimals)
    whole = (exact / step).to_integral_value(ROUND_HALF_EVEN) * step
    words = f"{whole:.{max(decimals, 0)}f}"
    return words.removeprefix("-") if float(words) == 0 else words


def _shown(value: float, unit: Unit, decimals: int, uncertainty: float | None) -> str:
    """Give a value of the base unit in the unit; the uncertainty is in the base unit too."""
    if uncertainty is not None and uncertainty > 0 and math.isfinite(uncertainty):
        decimals = decimals_from_uncertainty(uncertainty / float(unit.factor))
    return f"{_rounded(unit.from_base(value), decimals)} {unit.symbol}"


def show_length(mm: float, units: Units = Units.MM, u_mm: float | None = None) -> str:
    """Show a length; without uncertainty to 0.1 mm or 0.001 in.

    Examples
    --------
    >>> show_length(1834.237, Units.MM, 1.13)
    '1834.2 mm'
    >>> show_length(1834.237, Units.IN, 1.13)
    '72.214 in'
    """
    unit, decimals = (u.MILLIMETRE, 1) if units is Units.MM else (u.INCH, 3)
    return _shown(mm, unit, decimals, u_mm)


def show_length_with_u(mm: float, u_mm: float, units: Units = Units.MM) -> str:
    """Show a length with its standard uncertainty.

    Examples
    --------
    >>> show_length_with_u(1834.237, 1.13)
    '1834.2 ± 1.1 mm'
    """
    unit = u.MILLIMETRE if units is Units.MM else u.INCH
    value, _, symbol = show_length(mm, units, u_mm).partition(" ")
    spread = _shown(u_mm, unit, 1 if units is Units.MM else 3, u_mm).partition(" ")[0]
    return f"{value} ± {spread} {symbol}"


def show_fraction(mm: float, denominator: int = 16) -> str:
    """Show a length in inches and the nearest fraction of an inch, as on a tape.

    Examples
    --------
    >>> show_fraction(314.325)
    '12 3/8 in'
    """
    if not math.isfinite(mm):
        raise QuantityError(f"{mm} is no finite number and cannot be shown")
    parts = round(Fraction(repr(float(mm))) / u.MM_PER_INCH * denominator)
    sign = "-" if parts < 0 else ""
    whole, rest = divmod(abs(parts), denominator)
    fraction = Fraction(rest, denominator)
    words = [str(whole)] if whole or not rest else []
    words += [f"{fraction.numerator}/{fraction.denominator}"] if rest else []
    return f"{sign}{' '.join(words)} in"


def show_temperature(celsius: float, units: Units = Units.MM, u_C: float | None = None) -> str:
    """Show a temperature in whole °C or °F, or to its uncertainty.

    Examples
    --------
    >>> show_temperature(18.9, Units.IN)
    '66 °F'
    """
    unit = u.CELSIUS if units is Units.MM else u.FAHRENHEIT
    return _shown(celsius, unit, 0, u_C)


def show_minutes(minutes: float) -> str:
    """Show a duration in hours and whole minutes; below one minute in seconds.

    Examples
    --------
    >>> show_minutes(80), show_minutes(0.5)
    ('1 h 20 min', '30 s')
    """
    if not math.isfinite(minutes):
        raise QuantityError(f"{minutes} is no finite number and cannot be shown")
    sign = "-" if minutes < 0 else ""
    seconds = round(abs(minutes) * 60)
    if 0 < seconds < 60:
        return f"{sign}{seconds} s"
    hours, rest = divmod(round(abs(minutes)), 60)
    words = [f"{hours} h"] if hours else []
    words += [f"{rest} min"] if rest or not hours else []
    return ("" if hours == rest == 0 else sign) + " ".join(words)


def show_volume(ml: float, units: Units = Units.MM, u_ml: float | None = None) -> str:
    """Show a volume in whole ml or in US fl oz to 0.1."""
    unit, decimals = (u.MILLILITRE, 0) if units is Units.MM else (u.FLUID_OUNCE, 1)
    return _shown(ml, unit, decimals, u_ml)


def show_force(newtons: float, units: Units = Units.MM, u_N: float | None = None) -> str:
    """Show a force in kN to 0.01 or in whole lbf."""
    unit, decimals = (u.KILONEWTON, 2) if units is Units.MM else (u.POUND_FORCE, 0)
    return _shown(newtons, unit, decimals, u_N)


def show_stress(MPa: float, units: Units = Units.MM, u_MPa: float | None = None) -> str:
    """Show a stress in MPa to 0.1 or in whole psi."""
    unit, decimals = (u.MEGAPASCAL, 1) if units is Units.MM else (u.PSI, 0)
    return _shown(MPa, unit, decimals, u_MPa)


def show_power(watts: float) -> str:
    """Show a power in whole W."""
    return _shown(watts, u.WATT, 0, None)


def show_area(m2: float, units: Units = Units.MM, u_m2: float | None = None) -> str:
    """Show an area in m² to 0.01 or in ft² to 0.1."""
    unit, decimals = (u.SQUARE_METRE, 2) if units is Units.MM else (u.SQUARE_FOOT, 1)
    return _shown(m2, unit, decimals, u_m2)
