"""Which tools are at hand, how far each reaches, and how long a reading with it takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from panelwright.fit.tools import built_in
from panelwright.tables import load

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.repair import Repair
    from panelwright.fit.tools import Instrument
    from panelwright.sources import Source

SHORTEST_MM = 50.0
"""Shorter spans are not taken between points. Common practice, no source."""
ALWAYS_THERE = ("tape", "gauge")
"""Every shop has these. Common practice, no source."""
SPANS = frozenset({"tape", "tram", "caliper"})
"""Kinds of tools that read spans."""
WORDS = {"tram": "trammel", "caliper": "calliper", "photo": "camera"}


@dataclass(frozen=True)
class Usual:
    """Minutes of a reading and longest span [mm], None where it reads no span."""

    minutes: float
    reach_mm: float | None


@cache
def usual() -> Mapping[str, Usual]:
    """What is usual for each kind of tool, and for looking at a flange or a pin.

    Returns
    -------
    mapping
        From the table ``fit_minutes``.
    """
    table = load("fit_minutes")
    return {
        str(row["read"]): Usual(
            table.number(number, "minutes"),
            table.number(number, "reach") if row["reach"] is not None else None,
        )
        for number, row in enumerate(table.records())
    }


def minutes_source() -> Source:
    """On whose word minutes and reaches stand.

    Returns
    -------
    Source
    """
    return load("fit_minutes").source


@dataclass(frozen=True)
class AtHand:
    """The tools that this shop has, and its pace.

    Parameters
    ----------
    tools : mapping
        Instruments by id: a tape and a gauge, every declared tool, every tool that was read with.
    minutes : mapping
        Of one reading, by tool id and for "contact" and "locator".
    reach_mm : mapping
        Longest span by tool id; tools that read no spans are not in it.
    """

    tools: Mapping[str, Instrument]
    minutes: Mapping[str, float]
    reach_mm: Mapping[str, float]

    def of_kind(self, kind: str) -> tuple[Instrument, ...]:
        """Give the tools of a kind."""
        return tuple(tool for tool in self.tools.values() if (tool.kind or tool.id) == kind)

    def spanning(self) -> tuple[Instrument, ...]:
        """Give the tools that read spans."""
        return tuple(tool for tool in self.tools.values() if tool.id in self.reach_mm)


def at_hand(repair: Repair, tools: Mapping[str, Instrument], *more: str) -> AtHand:
    """Say which tools a shop has.

    Parameters
    ----------
    repair : Repair
    tools : mapping
        All tools that it could name, by id.
    more : str
        Built-in tools to count in although nobody said that they are there.

    Returns
    -------
    AtHand
    """
    named = {reading.with_ for reading in repair.readings if reading.with_ is not None}
    declared = {tool.id for tool in repair.tools}
    there = {
        id_: tool
        for id_, tool in tools.items()
        if id_ in ALWAYS_THERE or id_ in declared or id_ in named or id_ in more
    }
    return AtHand(there, _minutes(repair, there), _reach(repair, there))


def better_tools(hand: AtHand) -> tuple[str, ...]:
    """Give the built-in tools that are not at hand and could tell more than a tape or a gauge.

    Parameters
    ----------
    hand : AtHand

    Returns
    -------
    tuple of str
        Ids, the plainest first.
    """
    kinds = {tool.kind or tool.id for tool in hand.tools.values()}
    return tuple(id_ for id_ in ("tram", "caliper", "photo") if id_ in built_in().keys() - kinds)


def tool_words(tool: str) -> str:
    """Give what people call a tool.

    Parameters
    ----------
    tool : str
        Its id.

    Returns
    -------
    str
    """
    return WORDS.get(tool, tool)


def _minutes(repair: Repair, there: Mapping[str, Instrument]) -> Mapping[str, float]:
    shop = {
        kind: told.minutes for kind, told in repair.shop.minutes if told is not None
    }  # iterating over a table gives its keys with their values
    by_kind = {kind: shop.get(kind, one.minutes) for kind, one in usual().items()}
    own = {tool.id: tool.minutes.minutes for tool in repair.tools if tool.minutes is not None}
    by_tool = {
        id_: own.get(id_, by_kind.get(tool.kind or id_, by_kind["tape"]))
        for id_, tool in there.items()
    }
    return {**by_kind, **by_tool}


def _reach(repair: Repair, there: Mapping[str, Instrument]) -> Mapping[str, float]:
    own = {tool.id: tool.reach.mm for tool in repair.tools if tool.reach is not None}
    found = {}
    for id_, tool in there.items():
        kind = tool.kind or id_
        if kind in SPANS:
            found[id_] = own.get(id_, usual()[kind].reach_mm or 0.0)
        elif id_ in own and not tool.kind:
            found[id_] = own[id_]
    return found
