"""Where the rivets go: the procedure's word, else one for one beside the old places."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.problem import Problem
from panelwright.joints import references
from panelwright.joints.answer import LayoutStatus, Origin, Pitch, Rivet
from panelwright.joints.catalogue import LARGEST_MM
from panelwright.joints.layout import Layout, Row, lay_out, no_room_for
from panelwright.joints.rules import Rules, rules_for
from panelwright.sources import Source

if TYPE_CHECKING:
    from panelwright.joints.gather import JointFacts


@dataclass(frozen=True)
class Positions:
    """Where the rivets go, on whose word, and what stands in the way."""

    at_mm: tuple[float, ...]
    origin: Origin
    status: LayoutStatus
    asks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    sources: tuple[Source, ...] = ()


def ideal_places(
    old_mm: tuple[float, ...], count: int, opened_mm: tuple[float, float]
) -> tuple[float, ...]:
    """Where so many rivets would sit if nothing stood in the way.

    Parameters
    ----------
    old_mm : tuple of float
        Old places, ascending [mm].
    count : int
        > 0.
    opened_mm : (float, float)
        From where to where the joint is remade [mm].

    Returns
    -------
    tuple of float
        The old places, one for one; another number is spread along the old row in its own rhythm;
        without an old row evenly, half a pitch from the ends [mm].

    Examples
    --------
    >>> ideal_places((10.0, 30.0), 3, (0.0, 40.0))
    (10.0, 20.0, 30.0)
    """
    if len(old_mm) == count:
        return old_mm
    if len(old_mm) < 2:
        low, high = opened_mm
        pitch = (high - low) / count
        return tuple(low + pitch * (number + 0.5) for number in range(count))
    along = np.linspace(0.0, len(old_mm) - 1.0, count) if count > 1 else [(len(old_mm) - 1) / 2]
    return tuple(float(place) for place in np.interp(along, np.arange(len(old_mm)), old_mm))


def _row(facts: JointFacts, rules: Rules, opened_mm: tuple[float, float]) -> Row:
    """What the rivets keep off; their ideal places come once it is known that there is room."""
    return Row(
        low_mm=opened_mm[0],
        high_mm=opened_mm[1],
        ideal_mm=(),
        end_mm=rules.end_wide_mm,
        pitch_mm=rules.pitch_mm,
        avoid_mm=tuple((low.mm, high.mm) for low, high in facts.joint.avoid),
        half_head_mm=rules.head_mm / 2.0,
        old_mm=facts.old.at_mm,
        old_clearance_mm=rules.old_clearance_mm,
    )


def no_room(label: str, count: int, layout: Layout) -> str:
    """Say that a row of rivets has no room, what stands in the way, and what to do.

    Parameters
    ----------
    label : str
        The joint.
    count : int
        Rivets that were wanted.
    layout : Layout
        Without positions.

    Returns
    -------
    str
    """
    several = len(layout.clash) > 3
    way = (
        "several rules together: " + ", ".join(layout.clash)
        if several
        else " or ".join(layout.clash)
    )
    fit = f"at most {layout.most} fit" if layout.most else "none fits"
    return (
        f"{count} rivets have no room on {label!r}, {fit}; in the way: {way}. Check length, places "
        "and stretches to avoid, take a smaller rivet, or ask the maker whether old holes may be "
        "used again"
    )


def _proposed(facts: JointFacts, rules: Rules, count: int) -> Positions:
    if facts.opened_mm is None:
        note = "no positions: the joint's length is not known"
        return Positions((), Origin.MISSING, LayoutStatus.NONE, notes=(note,))
    wide = _row(facts, rules, facts.opened_mm)
    row, status = wide, LayoutStatus.WIDE
    if no_room_for(wide, count):
        row, status = replace(wide, end_mm=rules.end_minimum_mm), LayoutStatus.MINIMUM
    if failed := no_room_for(row, count):
        words = no_room(facts.joint.label, count, failed)
        problem = Problem(facts.where, words, hard=False)
        return Positions(
            (), Origin.MISSING, LayoutStatus.INFEASIBLE, notes=(words,), problems=(problem,)
        )
    ideal = ideal_places(facts.old_in_opening, count, facts.opened_mm)
    layout = lay_out(replace(row, ideal_mm=ideal))
    farthest = max(abs(x - y) for x, y in zip(layout.at_mm, ideal, strict=True))
    beside = "its old place" if facts.old_in_opening else "an even spread"
    note = (
        f"one for one beside the old holes, at least {rules.old_clearance_mm:.1f} mm from each; "
        if facts.old.at_mm
        else ""
    )
    notes = [f"{note}no rivet is farther than {farthest:.1f} mm from {beside}"]
    if status is LayoutStatus.MINIMUM:
        notes.append(
            f"twice the diameter from the joint's ends has no room: the standards' "
            f"{rules.end_minimum_mm:.1f} mm are kept"
        )
    sources = [references.ONE_FOR_ONE, references.OLD_HOLE]
    if facts.old.assumed or not facts.old.at_mm:
        sources.append(references.EVEN_SPREAD)
    return Positions(
        layout.at_mm, Origin.PROPOSAL, status, notes=tuple(notes), sources=tuple(sources)
    )


def _given(facts: JointFacts, places: tuple[float, ...], count: int | None) -> Positions:
    problems = []
    if count is not None and count != len(places):
        problems.append(
            Problem(
                f"{facts.where}.remake.at",
                f"the procedure gives {len(places)} places for {count} rivets; read it again",
                hard=False,
            )
        )
    beyond = [x for x in places if facts.length_mm is not None and x > facts.length_mm]
    problems += [
        Problem(
            f"{facts.where}.remake.at",
            f"{x:g} mm lies beyond the joint's length of {facts.length_mm:g} mm; check both",
            hard=False,
        )
        for x in beyond
    ]
    return Positions(
        places,
        Origin.PROCEDURE,
        LayoutStatus.GIVEN,
        problems=tuple(problems),
        sources=(facts.procedure,),
    )


def place_rivets(facts: JointFacts, rivet: Rivet | None, count: int | None) -> Positions:
    """Where the rivets of a joint go.

    Parameters
    ----------
    facts : JointFacts
    rivet : Rivet or None
    count : int or None

    Returns
    -------
    Positions
        The procedure's places as they are; on a structural joint without them none; else a
        proposal, or in words why there is none.
    """
    if facts.remake and facts.remake.at:
        return _given(facts, tuple(sorted(place.mm for place in facts.remake.at)), count)
    if count == 0:
        return Positions((), Origin.NONE, LayoutStatus.NONE)
    if facts.structural:
        ask = "where the rivets go: the joint is structural and the procedure gives no places"
        return Positions((), Origin.ASK, LayoutStatus.NONE, asks=(ask,))
    if count is None:
        return Positions((), Origin.MISSING, LayoutStatus.NONE)
    placed = _proposed(facts, rules_for(facts, rivet), count)
    if rivet is None or rivet.diameter_mm is None:
        note = (
            f"the rivet's diameter is not known: laid out for {LARGEST_MM:g} mm, the largest of "
            "the series, so any smaller one has room too"
        )
        return replace(placed, notes=(*placed.notes, note))
    return placed


def pitch_of(at_mm: tuple[float, ...]) -> Pitch:
    """Smallest and largest distance between neighbours.

    Parameters
    ----------
    at_mm : tuple of float
        Ascending [mm].

    Returns
    -------
    Pitch
    """
    gaps = [later - earlier for earlier, later in pairwise(at_mm)]
    return Pitch(min(gaps), max(gaps)) if gaps else Pitch(None, None)
