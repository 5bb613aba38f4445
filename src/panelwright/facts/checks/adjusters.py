"""Adjusters that can be set: range, step, place and what they go with."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from panelwright.facts.checks.names import known, missing
from panelwright.facts.models.adjusting import NEAR_MM
from panelwright.facts.models.base import millimetres
from panelwright.facts.problem import Problem
from panelwright.facts.repair import BODY

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from panelwright.facts.models.adjusting import Adjuster
    from panelwright.facts.models.document import Document

_ALONG_ONE = 0.9998
"""Cosine of 1°: nearer directions are one."""


def stuck(adjuster: Adjuster) -> tuple[str, str] | None:
    """Key and words of what keeps an adjuster from being set; None where it can be.

    Parameters
    ----------
    adjuster : Adjuster

    Returns
    -------
    tuple of (str, str) or None
        Such as ("range", "runs from 3 mm to -3 mm: …"). Until it is mended the part is taken as
        held there along it.
    """
    low, high, at = adjuster.range[0].mm, adjuster.range[1].mm, adjuster.at.mm
    until = "until then it is taken as held where it is"
    if low > high:
        return "range", f"runs from {low:g} mm to {high:g} mm: write the smaller first; {until}"
    if not low <= at <= high:
        return (
            "at",
            (
                f"stands at {at:g} mm, outside its range of {low:g} mm to {high:g} mm: which of "
                f"them is wrong? {until}"
            ),
        )
    step = adjuster.step.mm if adjuster.step is not None else 0.0
    if step > high - low and high > low:
        return (
            "step",
            (
                f"a step of {step:g} mm does not fit its range of {low:g} mm to {high:g} mm: it "
                f"could only stay where it is; {until}"
            ),
        )
    return None


def same_as(adjusters: Sequence[Adjuster], number: int) -> int | None:
    """Number of an earlier adjuster of the same part in the same place and direction.

    Parameters
    ----------
    adjusters : sequence of Adjuster
    number : int

    Returns
    -------
    int or None
    """
    own = adjusters[number]
    for earlier, other in enumerate(adjusters[:number]):
        apart = math.dist(millimetres(own.xyz), millimetres(other.xyz))
        alike = abs(sum(a * b for a, b in zip(own.along, other.along, strict=True)))
        if other.part == own.part and apart <= NEAR_MM and alike >= _ALONG_ONE:
            return earlier
    return None


def adjusters_fit(document: Document) -> Iterator[Problem]:
    """Adjusters have a range that holds where they stand, and a place and direction of their own.

    Parameters
    ----------
    document : Document

    Yields
    ------
    Problem
    """
    parts = known((part.id for part in document.part), (BODY,))
    flanges, pins = known(c.id for c in document.contact), known(p.id for p in document.locator)
    seen: set[str] = set()
    for number, adjuster in enumerate(document.adjuster):
        where = f"adjuster[{number}]"
        if adjuster.id is not None and adjuster.id in seen:
            yield Problem(f"{where}.id", f"{adjuster.id!r} is used twice; give it another")
        seen |= {adjuster.id} if adjuster.id is not None else set()
        if adjuster.against == adjuster.part or adjuster.against not in parts:
            what = "it cannot stand on itself" if adjuster.against in parts else "no part here"
            yield Problem(f"{where}.against", f"{adjuster.against!r}: {what}; name what it is on")
        for name in adjuster.frees:
            yield from missing(f"{where}.frees", name, flanges | pins, "contact or locator")
        if (wrong := stuck(adjuster)) is not None:
            yield Problem(f"{where}.{wrong[0]}", wrong[1], hard=False)
        if (earlier := same_as(document.adjuster, number)) is not None:
            yield Problem(where, twice(earlier), hard=False)
    for number, event in enumerate(document.event):
        own = [adjuster for adjuster in document.adjuster if adjuster.part == event.part]
        for said in event.adjusted:
            if not any(adjuster.is_called(said.adjuster) for adjuster in own):
                what = f"{said.adjuster!r} is no adjuster of {event.part!r}; it is left out"
                yield Problem(f"event[{number}].adjusted", what, hard=False)


def twice(earlier: int) -> str:
    """Say that an adjuster is there already.

    Parameters
    ----------
    earlier : int
        Its number.

    Returns
    -------
    str
    """
    return f"is in the same place and direction as adjuster[{earlier}], and is left out; keep one"
