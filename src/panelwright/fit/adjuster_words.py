"""Adjusters in plain words: how to set them, how good it can get, what limits it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.adjuster_answer import LimitKind
from panelwright.fit.words import displacement_words, joined
from panelwright.quantities import Units, show_length

if TYPE_CHECKING:
    from panelwright.fit.adjuster_answer import AdjusterSetting, ExpectedPlace, Limit, Reach

CONTRADICTS = (
    "what holds the part (hinges, flanges, pins) leaves its adjusters no common setting: check "
    "their places and directions"
)
_AXES = {"x": "fore and aft", "y": "across", "z": "in height", "": ""}
_OTHER = {
    LimitKind.STEP: "the shims are too coarse: thinner ones would bring every place inside",
    LimitKind.HINGE: (
        "its hinges hold it in the direction in which it would have to go, and nothing adjusts it "
        "there"
    ),
    LimitKind.RIGID: (
        "no position of the part as a whole does it: what is wanted at its places does not go "
        "together; look at its shape, its neighbours and the wanted values"
    ),
}


def setting_words(setting: AdjusterSetting, units: Units = Units.MM) -> str:
    """How to set one adjuster.

    Parameters
    ----------
    setting : AdjusterSetting
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "shims on the flange: add 3 of 0.5 mm, 1.5 mm forward".
    """
    if not setting.changes:
        return f"{setting.name}: leave it"
    way = displacement_words(setting.by_mm * np.array(setting.along), units)
    if setting.steps is not None and setting.step_mm is not None:
        does = "add" if setting.steps > 0 else "take out"
        count, thick = abs(setting.steps), show_length(setting.step_mm, units)
        return f"{setting.name}: {does} {count} of {thick}, so that it goes {way}"
    end = ", to its end" if setting.at_end else ""
    return f"{setting.name}: {way}{end}"


def place_said(place: ExpectedPlace) -> str:
    """A point, gap or flush.

    Parameters
    ----------
    place : ExpectedPlace

    Returns
    -------
    str
        Such as "the gap at d1" or "point L3 in height".
    """
    if place.kind != "point":
        return f"the {place.kind} at {place.id}"
    return f"point {place.id} {_AXES[place.axis]}".rstrip()


def limit_words(
    kind: LimitKind, what: str, more_mm: float | None = None, units: Units = Units.MM
) -> str:
    """What limits a setting.

    Parameters
    ----------
    kind : LimitKind
    what : str
        The adjuster, or the flanges and pins.
    more_mm : float or None
        How much more range it would take.
    units : Units
        Of the page.

    Returns
    -------
    str
    """
    if kind is LimitKind.RANGE:
        more = show_length(abs(more_mm or 0.0), units)
        return f"{what} is at its end: it would take {more} more"
    if kind is LimitKind.FLANGE:
        return f"{what} would have to give way"
    return _OTHER[kind]


def limit_said(limit: Limit, units: Units = Units.MM) -> str:
    """A limit in the units of a page.

    Parameters
    ----------
    limit : Limit
    units : Units

    Returns
    -------
    str
    """
    if limit.kind is LimitKind.RANGE:
        return limit_words(limit.kind, limit.adjuster or "", limit.more_mm, units)
    return limit.words


def parts_said(reach: Reach) -> str:
    """Which parts are set together; empty for one alone.

    Parameters
    ----------
    reach : Reach

    Returns
    -------
    str
        Such as "outer and door together: ".
    """
    return f"{joined(list(reach.parts))} together: " if len(reach.parts) > 1 else ""


def reach_words(reach: Reach, units: Units = Units.MM) -> str:
    """How good it can get, where, and what limits it.

    Parameters
    ----------
    reach : Reach
    units : Units
        Of the page.

    Returns
    -------
    str
    """
    worst = reach.worst
    off, allowed = show_length(abs(worst.off_mm), units), show_length(worst.tolerance_mm, units)
    where = f"{place_said(worst)} {off} off, tolerance {allowed}"
    limits = joined([limit_said(limit, units) for limit in reach.limited_by])
    if reach.inside:
        because = f". Closer it does not come: {limits}" if limits else ""
        least = min(place.p_inside for place in reach.expected)
        chance = f"{100.0 * least:.0f} %" if least < 0.995 else "above 99 %"
        return (
            f"every place is then expected inside, the farthest is {where}; chance inside at the "
            f"least sure place {chance}{because}"
        )
    because = f". What limits it: {limits}" if limits else ""
    return f"home is out of reach: at best {where}{because}"
