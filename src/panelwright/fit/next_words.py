"""What to read next, in words."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panelwright.fit.at_hand import tool_words
from panelwright.fit.next_answer import NextReading
from panelwright.fit.places import named_places
from panelwright.fit.words import joined

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.candidate import What
    from panelwright.fit.network import Network

WORTH_COUNTING = 0.05
"""Expected verdicts from which they are counted; else the doubt that goes is said."""


def reading_of(what: What, network: Network) -> NextReading:
    """A candidate as the answer names it, still without gain.

    Parameters
    ----------
    what : What
    network : Network

    Returns
    -------
    NextReading
    """
    words = what_words(what, network.repair)
    base = NextReading(
        0.0, words, kind=what.kind, minutes=what.minutes, with_=what.tool, length_mm=what.length_mm
    )
    return _named(base, what)


def _named(base: NextReading, what: What) -> NextReading:
    match what.kind:
        case "span":
            return replace(base, from_=what.names[0], to=what.names[1])
        case "compare":
            a, b, c, d = what.names
            return replace(base, compare=((a, b), (c, d)))
        case "station":
            return replace(base, station=what.names[0])
        case "contact":
            return replace(base, contact=what.names[0])
        case "locator":
            return replace(base, locator=what.names[0])
    return replace(base, point=what.names[0])


def what_words(what: What, repair: Repair) -> str:
    """What to do, such as "measure L6 to L3 with the tape".

    Parameters
    ----------
    what : What
    repair : Repair

    Returns
    -------
    str
    """
    tool = tool_words(what.tool) if what.tool is not None else ""
    match what.kind:
        case "span" | "compare" | "height" | "place":
            return _point_words(what, tool)
        case "station":
            by = f" with the {tool}" if what.tool != "gauge" else ""
            return f"read gap and flush at {_label(what, repair)}{by}"
        case "contact":
            return f"see whether the flange lies on at {_label(what, repair)}"
    return f"see whether the pin or hole lines up at {_label(what, repair)}"


def _point_words(what: What, tool: str) -> str:
    match what.kind:
        case "span":
            return f"measure {what.names[0]} to {what.names[1]} with the {tool}"
        case "compare":
            a, b, c, d = what.names
            return f"compare {a} to {b} with {c} to {d}, with the {tool}"
        case "height":
            return f"read the height of {what.names[0]} with the {tool}"
    return f"take the coordinates of {what.names[0]} with the {tool}"


def _label(what: What, repair: Repair) -> str:
    wanted = f"{what.kind} {what.names[0]}"
    found = (place for name, place in named_places(repair) if name == wanted)
    return next((place.name or place.id for place in found), what.names[0])


def together_words(
    readings: tuple[NextReading, ...], settles: float, doubted: int, minutes: float
) -> str:
    """What a set of readings is expected to do.

    Parameters
    ----------
    readings : tuple of NextReading
    settles : float
        Verdicts that it is expected to settle [-].
    doubted : int
        Places without a verdict.
    minutes : float
        They take [min].

    Returns
    -------
    str
    """
    what = joined([reading.words for reading in readings])
    return (
        f"{what}: together {minutes:.1f} min, expected to settle {settles:.1f} of {doubted} "
        f"open verdict{'s' if doubted != 1 else ''}"
    )


def worth_words(reading: NextReading, open_verdicts: int) -> str:
    """What a reading is expected to do, such as "takes 0.6 min, settles about 1.3 of 4 verdicts".

    Parameters
    ----------
    reading : NextReading
    open_verdicts : int
        Places without a verdict.

    Returns
    -------
    str
    """
    took = f"takes {reading.minutes:.1f} min"
    if reading.settles >= WORTH_COUNTING:
        many = "verdicts" if open_verdicts != 1 else "verdict"
        return f"{took}, settles about {reading.settles:.1f} of {open_verdicts} open {many}"
    gain = f"{100.0 * reading.gain:.0f} %" if reading.gain >= 0.01 else "less than 1 %"
    return f"{took}, takes away {gain} of the doubt"
