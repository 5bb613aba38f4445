"""Every limit of surface and air beside what was read, with its source and what to do."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from panelwright.bond.answer import Clock, Fit, LimitCheck, Surface
from panelwright.bond.surface import (
    DEFAULT_PREPARATION,
    air_temperature,
    panel_temperature,
    prepared_hours,
)
from panelwright.facts.problem import Problem
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panelwright.bond.sheet import Sheet
    from panelwright.facts.models.bonding import Adhesive, Event
    from panelwright.facts.models.header import Conditions

DEW_SOURCE = "ISO 12944-7, 3 K above the dew point [from memory; seen in coating notes]"
PRACTICE = "common practice, no source"
HAND_SOURCE = "a choice at the safe end; practice says 0.5 to 8 h [from memory]"
WINDOW_SOURCE = "Petrie, Handbook of Adhesives and Sealants, table 6.6: clean dry storage"
AGE = "time since the surface was prepared"
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)
WIDE_K = 1.0
"""Rows closer together give no range of temperatures."""
WARM, COOL = "warm the panel", "wait until the panel has cooled"


def air_limits(surface: Surface, conditions: Conditions) -> tuple[LimitCheck, ...]:
    """Panel against the dew point, and humidity against common practice.

    Parameters
    ----------
    surface : Surface
        Dew point and the panel's least temperature [°C].
    conditions : Conditions
        Air and panel [°C], humidity [%].

    Returns
    -------
    tuple of LimitCheck

    References
    ----------
    Table ``bonding_air``.
    """
    rules = load("bonding_air")
    low, high = rules.number(0, "humidity_low"), rules.number(0, "humidity_high")
    if surface.dew_point_C is None or surface.panel_at_least_C is None:
        ask = "measure air temperature and humidity"
        missing = LimitCheck("panel over the dew point", "", "", Fit.UNKNOWN, ask, DEW_SOURCE)
        return (missing,)
    panel, said = _panel(conditions, surface.air_C)
    limit = f"at least {surface.panel_at_least_C:.1f} °C (dew point {surface.dew_point_C:.1f} °C)"
    wet = panel is not None and panel < surface.panel_at_least_C
    found = [
        LimitCheck(
            "panel over the dew point",
            said,
            limit,
            Fit.NO if wet else Fit.YES,
            WARM if wet else "",
            DEW_SOURCE,
        )
    ]
    humidity = surface.humidity_percent or 0.0
    damp, dry = humidity > high, humidity < low
    action = "wait: dry or warm the air" if damp else ""
    if dry:
        action = "wipe down against static and dust, and watch for early skinning"
    verdict = Fit.NO if damp else Fit.YES
    words = f"{low:g} to {high:g} %"
    found.append(LimitCheck("humidity", f"{humidity:.0f} %", words, verdict, action, PRACTICE))
    return tuple(found)


def _panel(conditions: Conditions, air_C: float | None) -> tuple[float | None, str]:
    """Panel temperature, as read or that of the air, and how to say it."""
    panel = panel_temperature(conditions)
    if panel is not None:
        return panel, f"{panel:.0f} °C"
    return air_C, "" if air_C is None else f"{air_C:.0f} °C (the air's: read the panel)"


def joint_limits(
    adhesive: Adhesive,
    sheet: Sheet,
    conditions: Conditions,
    clock: Clock,
    preparation: tuple[str, float],
) -> tuple[LimitCheck, ...]:
    """Panel, humidity and age of the surface against one joint's adhesive.

    Parameters
    ----------
    adhesive : Adhesive
        With the range that its sheet allows [°C] and its highest humidity [%], or none.
    sheet : Sheet
        Its rows as a law.
    conditions : Conditions
        Air and panel [°C].
    clock : Clock
        Surfaces prepared and adhesive started.
    preparation : tuple of (str, float)
        How the surface was prepared, and for how long that holds [h].

    Returns
    -------
    tuple of LimitCheck

    References
    ----------
    The adhesive's data sheet; table ``bonding_window``.
    """
    air_C = air_temperature(conditions)
    found = [_age(adhesive, clock, preparation), _range(adhesive, sheet, conditions, air_C)]
    if adhesive.humidity is not None:
        found.append(_sheet_humidity(adhesive.humidity, conditions.humidity, _source(adhesive)))
    return tuple(found)


def _source(adhesive: Adhesive) -> str:
    return adhesive.source or f"data sheet of {adhesive.id} as entered"


def _age(adhesive: Adhesive, clock: Clock, preparation: tuple[str, float]) -> LimitCheck:
    name, hours = preparation
    what, limit = AGE, f"at most {hours:g} h ({name})"
    source = HAND_SOURCE if name == "hand-abraded" else WINDOW_SOURCE
    if adhesive.prepared_within is not None:
        source = _source(adhesive)
    if clock.prepared is None:
        ask = "say when the surface was prepared"
        return LimitCheck(what, "", limit, Fit.UNKNOWN, ask, source)
    if clock.bead_begun is None:
        ask = "start the adhesive by then, or abrade again"
        return LimitCheck(what, "running", limit, Fit.UNKNOWN, ask, source)
    waited = (clock.bead_begun - clock.prepared).total_seconds() / 3600.0
    late = waited > hours
    action = "abrade again before any bead; a bead laid too late comes off" if late else ""
    verdict = Fit.NO if late else Fit.YES
    return LimitCheck(what, f"{waited:.1f} h", limit, verdict, action, source)


def _range(
    adhesive: Adhesive, sheet: Sheet, conditions: Conditions, air_C: float | None
) -> LimitCheck:
    panel, said = _panel(conditions, air_C)
    what, law = "panel within the adhesive's range", sheet.law
    if adhesive.apply is not None:
        low, high = (end.celsius for end in adhesive.apply)
        source, hint = _source(adhesive), ""
    elif law.high_C - law.low_C > WIDE_K:
        low, high, hint = law.low_C, law.high_C, ": times outside are extrapolated"
        source = f"temperatures of the rows of {_source(adhesive)}"
    else:
        ask = "look up on the sheet at which temperatures it may be applied"
        return LimitCheck(what, said, "not entered", Fit.UNKNOWN, ask, _source(adhesive))
    limit = f"{low:.0f} to {high:.0f} °C"
    if low > high:
        ask = "the lower end stands above the upper: read both on the sheet again"
        return LimitCheck(what, said, limit, Fit.UNKNOWN, ask, source)
    if panel is None:
        ask = "read the panel with a contact thermometer"
        return LimitCheck(what, "", limit, Fit.UNKNOWN, ask, source)
    action = WARM if panel < low else COOL if panel > high else ""
    verdict = Fit.NO if action else Fit.YES
    return LimitCheck(what, said, limit, verdict, action + hint if action else "", source)


def _sheet_humidity(highest: float, humidity: float | None, source: str) -> LimitCheck:
    limit = f"at most {highest:g} %"
    what = "humidity by the adhesive's sheet"
    if humidity is None:
        return LimitCheck(what, "", limit, Fit.UNKNOWN, "measure the humidity", source)
    damp = humidity > highest
    action = "wait: dry or warm the air" if damp else ""
    verdict = Fit.NO if damp else Fit.YES
    return LimitCheck(what, f"{humidity:.0f} %", limit, verdict, action, source)


def preparation_of(
    events: Sequence[Event], joint: str, adhesive: Adhesive | None
) -> tuple[str, float]:
    """How a joint's surface was prepared last, and for how long that holds.

    Parameters
    ----------
    events : sequence of Event
        Of the whole repair.
    joint : str
        Id.
    adhesive : Adhesive or None
        Whose sheet or procedure governs where it gives a time.

    Returns
    -------
    tuple of (str, float)
        Name; time [h].

    References
    ----------
    Table ``bonding_window``.
    """
    mine = [e for e in events if e.joint == joint and e.kind == "prepared" and e.at is not None]
    last = max(mine, key=lambda event: event.at or LONG_AGO, default=None)
    name = last.preparation if last and last.preparation else DEFAULT_PREPARATION
    if adhesive is not None and adhesive.prepared_within is not None:
        return name, adhesive.prepared_within.minutes / 60.0
    return name, prepared_hours(name)


def limit_problems(joint: str, limits: Sequence[LimitCheck]) -> tuple[Problem, ...]:
    """Temperatures and humidity that the adhesive's sheet does not allow, before the bead.

    Parameters
    ----------
    joint : str
        Id.
    limits : sequence of LimitCheck
        Of the joint; a surface prepared too long ago has its own sentence.

    Returns
    -------
    tuple of Problem
    """
    return tuple(
        Problem(f"joint {joint}", f"{one.what}: {one.value}, {one.limit}: {one.action}")
        for one in limits
        if one.fit is Fit.NO and one.what != AGE
    )


VERDICTS = {Fit.YES: "within", Fit.NO: "NOT within", Fit.UNKNOWN: "open"}


def check_words(check: LimitCheck) -> str:
    """One limit in a line.

    Parameters
    ----------
    check : LimitCheck
        Any.

    Returns
    -------
    str
        What, verdict, value, limit, action and source.
    """
    read = ", ".join(part for part in (check.value, check.limit) if part)
    action = f" → {check.action}" if check.action else ""
    known = f": {read}" if read else ""
    return f"{check.what}, {VERDICTS[check.fit]}{known}{action} ({check.source})"
