"""Where to put the lamp, in sentences, and as a JSON object."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.quantities import Units, show_length, show_minutes, show_temperature
from panelwright.sources import marks

if TYPE_CHECKING:
    from panelwright.bond.answer import Band
    from panelwright.bond.lamp_answer import LampAnswer
    from panelwright.bond.placing import Placing, Standing

WARM_MOVES = (
    "Warm metal moves: judge gaps and flushes again once the panel is cold, and set nothing by a "
    "gap that was read warm."
)


def standing_words(one: Standing, units: Units) -> str:
    """One standing of a lamp: place, distance, minutes after the panel is on.

    Parameters
    ----------
    one : Standing
    units : Units

    Returns
    -------
    str
    """
    place = show_length(one.along_mm, units, 10.0)
    off = show_length(one.distance_mm, units, 10.0)
    return (
        f"lamp before {place} from the joint's start, glass {off} off, from minute "
        f"{one.from_min:.0f} to {one.to_min:.0f}"
    )


def held(band: Band) -> str:
    """When a joint may be handled: the late bound first.

    Parameters
    ----------
    band : Band
        Minutes after closing.

    Returns
    -------
    str
    """
    return f"{show_minutes(math.ceil(band.late))} (likely {show_minutes(band.likely)})"


def lines(answer: LampAnswer, units: Units) -> tuple[str, ...]:
    """What to do with the lamp, and what it brings, instruction first.

    Parameters
    ----------
    answer : LampAnswer
    units : Units

    Returns
    -------
    tuple of str
    """
    advice, best = answer.advice, answer.advice.best
    if best is None:
        return (
            (
                f"No lamp: of {advice.looked_at} ways to stand it none holds sooner without a "
                f"chance of more than 10 % to pass {show_temperature(advice.limit_C, units)}. "
                f"In air the joint may be handled after {held(advice.unheated_min)}."
            ),
        )
    first = [f"{number}. {standing_words(one, units)}" for number, one in _numbered(best)]
    return (
        *first,
        (
            f"Handled then after {held(best.handle_min)}; with one fixed place before the middle, "
            f"{show_length(advice.usual.standings[0].distance_mm, units, 10.0)} off, after "
            f"{held(advice.usual.handle_min)}; without a lamp after {held(advice.unheated_min)}."
        ),
        (
            f"Hottest spot likely {show_temperature(best.hottest_C, units)}; chance to pass "
            f"{show_temperature(advice.limit_C, units)}: {100 * best.p_over_limit:.0f} %. It rises "
            f"by {best.steepest_K_min:.0f} K a minute at most."
        ),
        (
            f"The panel grows by about {show_length(answer.growth_mm, units, 0.1)} along the "
            f"joint. {WARM_MOVES}"
        ),
    )


def _numbered(best: Placing) -> list[tuple[int, Standing]]:
    return list(enumerate(best.standings, start=1))


def away(answer: LampAnswer, units: Units) -> tuple[str, ...]:
    """What keeps how far away from the lamp's axis.

    Parameters
    ----------
    answer : LampAnswer
    units : Units

    Returns
    -------
    tuple of str
        Farthest first.
    """
    found = sorted(answer.keep_away, key=lambda one: -one.along_mm)
    return tuple(
        f"{one.thing} (stands {show_temperature(one.limit_C, units)}): "
        f"{show_length(_up(max(one.along_mm, one.across_mm)), units, 10.0)} from the lamp's axis, "
        "or out, or shielded"
        for one in found
        if one.along_mm > 0.0
    )


def _up(mm: float) -> float:
    """To the next centimetre that is not too near [mm]."""
    return 10.0 * math.ceil(mm / 10.0)


def as_json(answer: LampAnswer) -> dict[str, object]:
    """The answer under its own keys; lengths in mm, times in minutes after closing.

    Parameters
    ----------
    answer : LampAnswer

    Returns
    -------
    dict
    """
    advice = answer.advice
    return {
        "joint": answer.joint,
        "lamp": answer.lamp,
        "surface": answer.surface,
        "best": _placing(advice.best) if advice.best else None,
        "usual": _placing(advice.usual),
        "unheated_min": _band(advice.unheated_min),
        "looked_at": advice.looked_at,
        "limit_C": advice.limit_C,
        "keep_away": [vars(one) for one in answer.keep_away],
        "growth_mm": answer.growth_mm,
        "notes": list(answer.notes),
        "sources": [str(source) for source in answer.sources],
        "marks": list(marks(answer.sources)),
    }


def _placing(one: Placing) -> dict[str, object]:
    return {
        "standings": [vars(standing) for standing in one.standings],
        "handle_min": _band(one.handle_min),
        "hottest_C": one.hottest_C,
        "p_over_limit": one.p_over_limit,
        "steepest_K_min": one.steepest_K_min,
    }


def _band(band: Band) -> dict[str, float]:
    return {"early": band.early, "likely": band.likely, "late": band.late}
