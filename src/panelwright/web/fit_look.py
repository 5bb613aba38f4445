"""The drawing of a part to tap on: a point for its verdict, a second one for the span."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import numpy as np

from panelwright.errors import Unanswerable
from panelwright.fit.span import span_between
from panelwright.fit.words import displacement_words
from panelwright.quantities import Units, in_units, show_length, show_length_with_u
from panelwright.record.figures import percent
from panelwright.web.fit_part import ROW_SIGNS, SIGNS, picture
from panelwright.web.fit_targets import Read, Target
from panelwright.web.shown import Sign

if TYPE_CHECKING:
    from panelwright.facts.repair import Repair
    from panelwright.fit.answer import Answer as FitAnswer
    from panelwright.fit.answer import PointPlace
    from panelwright.fit.part_answer import HomedPoint, PartFit
    from panelwright.fit.vector import Vector

LEAST_MM = 0.1
LARGE_MM = (150.0, 130.0)
"""Room of the drawing where it stands alone."""


@dataclass(frozen=True)
class Chip:
    """A point that can be tapped, with where that leads."""

    id: str
    path: str
    chosen: bool


@dataclass(frozen=True)
class PointCard:
    """What is known of the tapped point."""

    id: str
    name: str
    sign: Sign
    verdict: str
    words: tuple[str, ...]


@dataclass(frozen=True)
class SpanCard:
    """What is known of the span between the two tapped points."""

    title: str
    words: tuple[str, ...]
    read: str


@dataclass(frozen=True)
class DryFit:
    """One dry fit of the part, drawn beside the others."""

    setting: int
    sign: Sign
    word: str
    counts: str
    off: str
    svg: str
    caption: str


@dataclass(frozen=True)
class Look:
    """The whole page."""

    label: str
    fits: tuple[DryFit, ...]
    chips: tuple[Chip, ...]
    point: PointCard | None
    span: SpanCard | None
    marked: tuple[str, ...]


def look_of(
    repair: Repair, fit: FitAnswer, part: PartFit, tapped: tuple[str, str], at: Where
) -> Look:
    """Give the page.

    Parameters
    ----------
    repair : Repair
    fit : FitAnswer
    part : PartFit
        In its latest dry fit.
    tapped : tuple of str
        First and second point; empty where there is none. Unknown ones count as none.
    at : Where
    """
    known = _tappable(fit, part)
    first, second = (one if one in known else "" for one in tapped)
    chosen = tuple(one for one in (first, second) if one)
    every = (part, *(one for one in reversed(fit.earlier) if one.id == part.id))
    return Look(
        label=part.label or part.id,
        fits=tuple(_dry_fit(repair, fit, one, every, at.units) for one in every),
        chips=tuple(Chip(one, at.tap(part.id, first, second, one), one in chosen) for one in known),
        point=_point(repair, fit, part, first, at.units) if first and not second else None,
        span=_span(repair, first, second, at) if second and first != second else None,
        marked=chosen,
    )


@dataclass(frozen=True)
class Where:
    """The address of the page Fit, and the person's units."""

    path: str
    units: Units

    def tap(self, part: str, first: str, second: str, tapped: str) -> str:
        """Give where a tap leads: a first point, a second one, or a new first one."""
        said = {"part": part}
        if first and not second and tapped != first:
            said |= {"a": first, "b": tapped}
        elif tapped != first or second:
            said |= {"a": tapped}
        return f"{self.path}/look?{urlencode(said)}"


def _tappable(fit: FitAnswer, part: PartFit) -> tuple[str, ...]:
    """Points that the drawing shows or could show: the part's own first."""
    own = [point.id for point in part.points]
    placed = [place.id for place in fit.points if place.xyz_mm is not None]
    return tuple(dict.fromkeys([*own, *placed]))


def _dry_fit(
    repair: Repair, fit: FitAnswer, part: PartFit, beside: tuple[PartFit, ...], units: Units
) -> DryFit:
    sign, word = SIGNS[part.verdict]
    inside = sum(point.verdict.value == "inside" for point in part.points)
    svg, caption = picture(repair, fit, (part, *beside), units, LARGE_MM)
    return DryFit(
        setting=part.setting,
        sign=sign,
        word=word,
        counts=f"{inside} of {len(part.points)} points inside",
        off=_off(part.shift_mm, units),
        svg=svg,
        caption=caption,
    )


def _point(repair: Repair, fit: FitAnswer, part: PartFit, name: str, units: Units) -> PointCard:
    declared = repair.point_by_id.get(name)
    called = (declared.name or "") if declared else ""
    homed = next((point for point in part.points if point.id == name), None)
    if homed is not None:
        return PointCard(
            name, called, ROW_SIGNS[homed.verdict], homed.verdict.value, _said(homed, units)
        )
    place = next(one for one in fit.points if one.id == name)
    return PointCard(name, called, Sign.WAIT, "not judged", _placed(place, units))


def _off(mm: Vector, units: Units) -> str:
    """Say a displacement by its axes; one that nobody could see is said as such."""
    words = displacement_words(np.array(mm), units)
    return words or f"less than {show_length(LEAST_MM, units)} in each direction"


def _said(point: HomedPoint, units: Units) -> tuple[str, ...]:
    spread = [u for u in point.u_mm if u is not None]
    sure = f"; each direction ± {show_length(max(spread), units)} at most" if spread else ""
    said = [f"Off its target position: {_off(point.off_mm, units)}{sure}."]
    if None in point.u_mm:
        said.append("A direction of it is not checked by these readings.")
    if point.p_inside is not None:
        said.append(f"Chance that it lies within its tolerance: {percent(point.p_inside)}.")
    if point.note:
        note = in_units(point.note, units)
        said.append(f"{note[:1].upper()}{note[1:]}.")
    return tuple(said)


def _placed(place: PointPlace, units: Units) -> tuple[str, ...]:
    if place.xyz_mm is None:
        return ("No reading reaches it yet.",)
    ways = ("rearward", "to the right", "up")
    values = (
        f"{show_length_with_u(value, u, units) if u is not None else show_length(value, units)} {w}"
        for value, u, w in zip(place.xyz_mm, place.u_mm, ways, strict=True)
    )
    return (f"By all readings it lies at {', '.join(values)}.",)


def _span(repair: Repair, first: str, second: str, at: Where) -> SpanCard:
    title = f"{first} to {second}"
    read = f"{at.path}/read?of={Target(Read.SPAN, (first, second)).key}"
    blocked = any({one.from_, one.to} == {first, second} for one in repair.blocked)
    try:
        span = span_between(repair, first, second)
    except Unanswerable as error:
        return SpanCard(title, tuple(error.why), "" if blocked else read)
    units = at.units
    if span.u_mm is None:
        said = ["These readings do not hold it: measure it."]
    else:
        said = [f"{show_length_with_u(span.length_mm, span.u_mm, units)} by all readings."]
    if span.home_mm is not None:
        more = span.length_mm - span.home_mm
        size = show_length(abs(more), units)
        off = f": it is {size} too {'long' if more > 0 else 'short'}" if abs(more) >= 0.05 else ""
        said.append(f"{show_length(span.home_mm, units)} at the target position{off}.")
    if blocked:
        said.append("No tape reaches it.")
    return SpanCard(title, tuple(said), "" if blocked else read)
