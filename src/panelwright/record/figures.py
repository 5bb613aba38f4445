"""Deviations and probabilities as they stand in tables."""

from __future__ import annotations

from panelwright.quantities import Units

MM_PER_INCH = 25.4


def signed(units: Units, mm: float | None, u_mm: float | None = None) -> str:
    """A deviation with its sign and standard uncertainty, in the column's unit."""
    if mm is None:
        return "–"
    factor, places = (1.0, 1) if units is Units.MM else (1.0 / MM_PER_INCH, 3)
    value = round(mm * factor, places)
    words = f"{value:+.{places}f}" if value else f"{0.0:.{places}f}"
    words = words.replace("-", "−")
    return words if u_mm is None else f"{words} ± {u_mm * factor:.{places}f}"


def percent(p: float | None) -> str:
    """A probability in percent that never claims certainty."""
    if p is None:
        return "–"
    if p > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if p < 0.001 else f"{100 * p:.1f} %"
