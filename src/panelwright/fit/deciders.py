"""What would decide each place that is undecided, at least cost."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.at_hand import better_tools, tool_words
from panelwright.fit.foresight import with_all
from panelwright.fit.next_answer import Decider, Deciding, NextReading
from panelwright.fit.next_reading import MOST_TOGETHER, answer_of, best_addition
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from panelwright.fit.in_doubt import Doubted
    from panelwright.fit.survey import Survey
    from panelwright.fit.verdicts import Judge

    Floats = NDArray[np.float64]
    _Set = tuple[tuple[NextReading, ...], float | None]

LIKELY = 0.5
"""A reading is said to decide a place where that is likelier than not."""


def deciders_of(
    survey: Survey | None, judge: Judge, with_tool: Callable[[str], Survey | None]
) -> tuple[Decider, ...]:
    """The cheapest way to decide each place in doubt.

    Parameters
    ----------
    survey : Survey or None
    judge : Judge
    with_tool : callable
        Gives the survey with one more tool at hand.

    Returns
    -------
    tuple of Decider
        In the order of the places in doubt.
    """
    if survey is None:
        return ()
    best = _best_of(survey)
    wanting = [k for k, p in enumerate(best) if p < judge.confidence]
    tools = _tools_for(wanting, survey, judge, with_tool) if wanting else {}
    return tuple(
        _decider(survey, k, best[k], tools.get(k, ()), judge) for k in range(len(survey.doubted))
    )


def _best_of(survey: Survey) -> list[float]:
    """Chance to be found inside if it were exactly home, once everything is read."""
    after = with_all(survey.pool, survey.covariance)
    return [
        one.probability(survey.rows[own] @ after @ survey.rows[own].T, at_home=True)
        for one, own in zip(survey.doubted, survey.parts, strict=True)
    ]


def _tools_for(
    wanting: list[int], survey: Survey, judge: Judge, with_tool: Callable[[str], Survey | None]
) -> dict[int, tuple[str, ...]]:
    """Tools that are not at hand and would prove each of some places."""
    found: dict[int, tuple[str, ...]] = {}
    for tool in better_tools(survey.hand):
        other = with_tool(tool)
        if other is None:
            continue
        best = _best_of(other)
        for k in wanting:
            if best[k] >= judge.confidence:
                found[k] = (*found.get(k, ()), tool)
    return found


def _decider(
    survey: Survey, place: int, best: float, tools: tuple[str, ...], judge: Judge
) -> Decider:
    one = survey.doubted[place]
    nothing: _Set = ((), None)
    if not judge.may_be_inside and one.p_inside is not None and one.p_inside >= judge.confidence:
        words = "it looks inside, but the readings disagree: recheck them first"
        return _said(one, Deciding.RECHECK, words, nothing, best)
    chosen, chance = _cheapest(survey, place)
    readings = tuple(answer_of(survey, c) for c in chosen)
    if chance >= LIKELY:
        return _said(one, Deciding.READ, _read_words(readings, chance), (readings, chance), best)
    if best >= judge.confidence:
        words = (
            "near its limit: even the best few readings decide it with a chance of "
            f"{_percent(chance)} only; bring it closer rather than read on"
        )
        return _said(one, Deciding.NEAR, words, (readings, chance), best)
    if tools:
        words = f"no reading with these tools can prove it; a {_either(tools)} would"
        return replace(_said(one, Deciding.TOOL, words, nothing, best), tools=tools)
    words = (
        "no reading that is known here can prove it: more points on sound structure near it, or a "
        "place where it meets its neighbour, would"
    )
    return _said(one, Deciding.NOTHING, words, nothing, best)


def _said(one: Doubted, kind: Deciding, words: str, chosen: _Set, best: float) -> Decider:
    readings, chance = chosen
    minutes = float(sum(reading.minutes for reading in readings))
    said = f"{one.id}: {words}"
    return Decider(
        one.part, one.id, one.is_station, kind, readings, minutes, chance, best, (), said
    )


def _cheapest(survey: Survey, place: int) -> tuple[tuple[int, ...], float]:
    """The cheapest reading that is likely to decide a place; else a set grown one by one."""
    alone = survey.settled[:, place]
    likely = np.flatnonzero(alone >= LIKELY)
    if len(likely):
        order = np.lexsort((-alone[likely], survey.pool.minutes[likely]))
        best = int(likely[order[0]])
        return (best,), float(alone[best])
    chosen: tuple[int, ...] = ()
    settled = np.zeros(1)
    while len(chosen) < MOST_TOGETHER and settled[0] < LIKELY:
        following = best_addition(survey, chosen, settled, place)
        if following is None:
            break
        chosen, settled = following
    return chosen, float(settled[0])


def _read_words(readings: tuple[NextReading, ...], chance: float) -> str:
    what = joined([reading.words for reading in readings])
    minutes = float(sum(reading.minutes for reading in readings))
    together = "together " if len(readings) > 1 else ""
    return f"{what}: {together}{minutes:.1f} min, decides it with a chance of {_percent(chance)}"


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.0f} %" if chance >= 0.005 else "less than 1 %"


def _either(tools: tuple[str, ...]) -> str:
    return " or a ".join(tool_words(tool) for tool in tools)
