"""How the readings were taken: corrections, repeats, tools; and what they leave open."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.cli.text import bullets, heading
from panelwright.cli.text import page as laid_out
from panelwright.fit.words import joined, sits_words
from panelwright.quantities import show_length, show_length_with_u

if TYPE_CHECKING:
    from collections.abc import Iterator

    from panelwright.fit.answer import Answer, HeldWeakly, TwoPlaces
    from panelwright.fit.part_answer import PartFit, Spring
    from panelwright.fit.reading_answer import Correction, LearntTool, Repeat
    from panelwright.fit.vector import Vector
    from panelwright.quantities import Units

_BY = {
    "edge": "from the edge of a hole to its middle",
    "pointers": "from the beam of the tram to the span between its pointers",
    "temperature": "from the temperature of the metal to 20 °C",
}
MOST_LINES = 12


def means_section(answer: Answer, units: Units) -> str:
    """What was done to readings before they counted, what repeats say, and of which tools.

    Parameters
    ----------
    answer : Answer
    units : Units

    Returns
    -------
    str
        Empty where there is nothing to say.
    """
    lines = [
        *_most([_correction(one, units) for one in answer.corrections]),
        *_most([_repeat(one, units) for one in answer.repeats]),
        *(_learnt(one, units) for one in answer.learnt),
    ]
    return laid_out(heading("How it was read"), bullets(lines)) if lines else ""


def open_section(answer: Answer, units: Units) -> str:
    """Points that could be elsewhere, or that the readings hold weakly.

    Parameters
    ----------
    answer : Answer
    units : Units

    Returns
    -------
    str
        Empty where there is none.
    """
    lines = [
        *_most([_two_places(both, units) for both in answer.two_places]),
        *_most([_weak(held, units) for held in answer.weak]),
    ]
    return laid_out(heading("Points that are not held well"), bullets(lines)) if lines else ""


def spring_lines(part: PartFit, units: Units) -> Iterator[str]:
    """Twist and bow of a part that is not pinned.

    Parameters
    ----------
    part : PartFit
    units : Units

    Yields
    ------
    str
    """
    for spring in part.spring:
        yield _spring(spring, units)


def _most(lines: list[str]) -> list[str]:
    if len(lines) <= MOST_LINES:
        return lines
    return [*lines[:MOST_LINES], f"and {len(lines) - MOST_LINES} more; --json lists all"]


def _correction(one: Correction, units: Units) -> str:
    by = show_length_with_u(one.by_mm, one.u_mm, units)
    return f"reading {one.index}: {by} added, {_BY[one.kind]}"


def _repeat(one: Repeat, units: Units) -> str:
    by = f" with {one.tool}" if one.tool else ""
    mean = show_length_with_u(one.mean_mm, one.u_mm, units)
    scatter = show_length(one.scatter_mm, units, 0.01)
    said = f"{one.about}, read {len(one.indices)} times{by}: mean {mean}, scatter {scatter}"
    if one.ok:
        return said
    return f"{said}; more than the tool's u allows: one is misread or slipped, read it again"


def _learnt(one: LearntTool, units: Units) -> str:
    own, used, both = (
        show_length(value, units, 0.01) for value in (one.repeats_u_mm, one.used_u_mm, one.u_mm)
    )
    said = f"{one.id}: your repeats say {own} ({one.readings} readings), the program uses {used}"
    if not one.proposal:
        return said
    keys = ", ".join(f"{key} = {value!r}" for key, value in one.proposal)
    return f"{said}; together {both}. To take it over: [[tool]] {keys}"


def _two_places(both: TwoPlaces, units: Units) -> str:
    end = (
        "the first, near its rough xyz, is taken"
        if both.settled
        else "nothing tells which: give a rough xyz, or read a height"
    )
    one, other = (_at(places[0], units) for places in (both.xyz_mm, both.other_mm))
    return f"{joined(list(both.points))} fits two places, {one} or {other}; {end}"


def _at(place: Vector, units: Units) -> str:
    return ", ".join(
        f"{axis} {show_length(value, units, 1.0)}" for axis, value in zip("xyz", place, strict=True)
    )


def _weak(held: HeldWeakly, units: Units) -> str:
    if held.u_mm is None:
        return held.words
    way = sits_words(np.array(held.along))
    reach = show_length(held.u_mm, units, 1.0)
    return f"{held.point} is held weakly: {way} it is known to no better than u {reach}"


def _spring(spring: Spring, units: Units) -> str:
    size = show_length_with_u(abs(spring.amplitude_mm), spring.u_mm, units)
    if not spring.seen:
        return f"no {spring.mode} of the skin seen: {size}"
    return (
        f"the skin is sprung: {spring.mode} {size} at the {spring.place}; it is not out of place "
        "there, ease what strains it before it is pinned"
    )
