"""Accuracy classes of tapes and rules: what a tape itself may be off."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.sources import Source


def tape_source() -> Source:
    """Where the classes come from.

    Returns
    -------
    Source
    """
    return load("tape_limits_2014_32_eu").source


def tape_limit_mm(length_mm: float, tape_class: str, *, hooked_ends: int = 0) -> float:
    """Largest permissible error of a tape or rule, MPE = a + b·L (+ c for each end surface).

    Parameters
    ----------
    length_mm : float
        Nominal length, from 0 [mm]; rounded up to the next whole metre.
    tape_class : str
        "I", "II" or "III", as printed on the tape.
    hooked_ends : int
        How many ends of the length are a hook or butt: 0 or 1.

    Returns
    -------
    float
        [mm]

    References
    ----------
    Directive 2014/32/EU, Annex X (MI-008), chapter I, table 1.

    Examples
    --------
    >>> round(tape_limit_mm(2000.0, "II"), 3)
    0.7
    """
    rows = {row["class"]: row for row in load("tape_limits_2014_32_eu").records()}
    row = rows[tape_class]
    a, b, c = (float(row[key] or 0.0) for key in ("a", "b", "c"))
    metres = -(-length_mm // 1000.0)
    return a + b * metres + c * hooked_ends


def tape_u_mm(length_mm: float, tape_class: str, *, hooked_ends: int = 0) -> float:
    """Standard uncertainty from a tape's permissible error, taken as rectangular: MPE/√3.

    Parameters
    ----------
    length_mm : float
        Nominal length, from 0 [mm].
    tape_class : str
        "I", "II" or "III".
    hooked_ends : int
        0 or 1.

    Returns
    -------
    float
        [mm]; of the instrument alone, without seating and reading.

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular distribution); Directive 2014/32/EU, Annex X (MI-008).

    Examples
    --------
    >>> round(tape_u_mm(2000.0, "II"), 3)
    0.404
    """
    return tape_limit_mm(length_mm, tape_class, hooked_ends=hooked_ends) / sqrt(3.0)
