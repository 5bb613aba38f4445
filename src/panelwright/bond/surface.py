"""Whether air and panel allow bonding, and how long a prepared surface may wait."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.bond.answer import Fit, Surface
from panelwright.facts.problem import Problem
from panelwright.sources import merge
from panelwright.tables import load

if TYPE_CHECKING:
    from panelwright.facts.models.header import Conditions

AIR_RANGE_C = (-30.0, 60.0)
"""Air outside it is a slip of the pen, not a workshop."""
PANEL_RANGE_C = (-30.0, 120.0)
"""Likewise of a panel, which may be pre-warmed."""
DEFAULT_PREPARATION = "hand-abraded"


def dew_point_magnus(air_C: float, humidity_percent: float) -> float:
    """Dew point of moist air over water.

    γ = ln(RH/100) + 17.62 t/(243.12 + t), t_d = 243.12 γ/(17.62 − γ)   (1)

    Parameters
    ----------
    air_C : float
        Air temperature t, −45 to 60 [°C].
    humidity_percent : float
        Relative humidity, above 0 to 100 [%].

    Returns
    -------
    float
        Dew point [°C]; within 0.04 K of the ASHRAE formulation between 10 and 30 °C.

    Raises
    ------
    ValueError
        Humidity is 0 or less, or above 100 %.

    References
    ----------
    Sonntag D. (1990) Z. Meteorol. 70, 340–344; WMO-No. 8, annex 4.B (coefficients from memory).

    Examples
    --------
    >>> round(dew_point_magnus(25.0, 60.0), 3)
    16.693
    """
    if not 0.0 < humidity_percent <= 100.0:
        raise ValueError(f"humidity {humidity_percent:g} %: more than 0 up to 100 was expected")
    gamma = math.log(humidity_percent / 100.0) + 17.62 * air_C / (243.12 + air_C)
    return 243.12 * gamma / (17.62 - gamma)


def humidity_at_panel(air_C: float, humidity_percent: float, panel_C: float) -> float:
    """Relative humidity of the air right at a panel of another temperature.

    RH_panel = RH e_s(t)/e_s(t_panel), e_s ∝ exp[17.62 t/(243.12 + t)]   (1)

    Parameters
    ----------
    air_C, panel_C : float
        Temperatures of the air and of the panel, −45 to 60 [°C].
    humidity_percent : float
        Relative humidity of the air, 0 to 100 [%].

    Returns
    -------
    float
        Above 100 where water condenses [%].

    References
    ----------
    As for `dew_point_magnus`.

    Examples
    --------
    Panel at 18 °C in air of 23 °C and 60 %: 81.7 % by another library.

    >>> round(humidity_at_panel(23.0, 60.0, 18.0), 1)
    81.7
    """
    air, panel = (17.62 * t / (243.12 + t) for t in (air_C, panel_C))
    return humidity_percent * math.exp(air - panel)


def prepared_hours(preparation: str = DEFAULT_PREPARATION) -> float:
    """How long a prepared surface may wait for bead or primer.

    Parameters
    ----------
    preparation : str
        A row of the table ``bonding_window``.

    Returns
    -------
    float
        Hours [h].

    Raises
    ------
    KeyError
        The table has no such preparation.

    References
    ----------
    Table ``bonding_window`` (Petrie, table 6.6; the hand-abraded row is a choice at the safe end).

    Examples
    --------
    >>> prepared_hours("anodised")
    720.0
    """
    table = load("bonding_window")
    for number, row in enumerate(table.records()):
        if row["preparation"] == preparation:
            return table.number(number, "within")
    raise KeyError(preparation)


def air_temperature(conditions: Conditions) -> float | None:
    """Temperature of the air as read, where a workshop can have it.

    Parameters
    ----------
    conditions : Conditions
        Of the bay.

    Returns
    -------
    float or None
        [°C]
    """
    air, (low, high) = conditions.air, AIR_RANGE_C
    return air.celsius if air and low <= air.celsius <= high else None


def panel_temperature(conditions: Conditions) -> float | None:
    """Temperature of the panel as read, where it can be one.

    Parameters
    ----------
    conditions : Conditions
        Of the bay.

    Returns
    -------
    float or None
        [°C]
    """
    panel, (low, high) = conditions.panel, PANEL_RANGE_C
    return panel.celsius if panel and low <= panel.celsius <= high else None


def panel_problems(conditions: Conditions) -> tuple[Problem, ...]:
    """A panel temperature that cannot be, as a sentence.

    Parameters
    ----------
    conditions : Conditions
        Of the bay.

    Returns
    -------
    tuple of Problem
    """
    panel, (low, high) = conditions.panel, PANEL_RANGE_C
    if panel is None or low <= panel.celsius <= high:
        return ()
    return (
        Problem(
            "conditions.panel",
            f"{panel.celsius:g} °C is no panel to bond ({low:g} to {high:g} °C was expected); "
            f"air temperature is taken. Read it again",
        ),
    )


def _verdict(panel_C: float, needed_C: float, humidity_percent: float) -> tuple[Fit, str]:
    rules = load("bonding_air")
    low, high = rules.number(0, "humidity_low"), rules.number(0, "humidity_high")
    if panel_C < needed_C:
        return Fit.NO, (
            f"Do not bond: the panel at {panel_C:.0f} °C is below {needed_C:.1f} °C (dew point "
            f"plus {rules.number(0, 'dew_margin'):g} K). Warm the panel or dry the air first."
        )
    if humidity_percent > high:
        return Fit.NO, (
            f"Do not bond yet: {humidity_percent:.0f} % humidity is above {high:g} %. "
            f"Dry or warm the air, or ask the adhesive's maker."
        )
    dry = f" The air is drier than {low:g} %." if humidity_percent < low else ""
    return Fit.YES, f"Bond only while the panel reads {needed_C:.1f} °C or more.{dry}"


def surface_answer(conditions: Conditions) -> tuple[Surface, tuple[Problem, ...]]:
    """Dew point, the panel temperature that it asks for, and the wait of a prepared surface.

    Parameters
    ----------
    conditions : Conditions
        Air and panel [°C], humidity [%].

    Returns
    -------
    Surface
        Its verdict is `unknown` where air or humidity is missing.
    tuple of Problem
        What is missing or cannot be.

    References
    ----------
    ISO 12944-7: steel temperature at least 3 K above the dew point (seen in coating notes).
    """
    rules = load("bonding_air")
    sources = merge((rules.source,), (load("bonding_window").source,))
    air, humidity = air_temperature(conditions), conditions.humidity
    if air is None or humidity is None or humidity <= 0.0:
        words = "Measure air temperature and humidity: the dew point decides whether to bond."
        found = Problem("conditions", "the dew point needs air temperature and humidity above 0 %")
        surface = Surface(air, humidity, None, None, Fit.UNKNOWN, prepared_hours(), words, sources)
        return surface, (found,)
    dew = dew_point_magnus(air, humidity)
    needed = dew + rules.number(0, "dew_margin")
    panel = panel_temperature(conditions)
    fit, words = _verdict(air if panel is None else panel, needed, humidity)
    if panel is None:
        words += " The panel is taken at air temperature: read it with a contact thermometer."
    surface = Surface(air, humidity, dew, needed, fit, prepared_hours(), words, sources)
    return surface, (Problem("conditions", words),) if fit is Fit.NO else ()
