"""What may be said of the body, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.body_answer import BodyStatus, OpeningCheck, PairCheck, SheetCheck
from panelwright.fit.snooping import CRITICAL_W
from panelwright.fit.words import displacement_words
from panelwright.quantities import Units, show_length, show_length_with_u

if TYPE_CHECKING:
    from collections.abc import Iterator

_LEAST_OFF = 2.0
"""A direction in which a pair is off by less than so many of its u is not said."""


def body_words(
    status: BodyStatus,
    pairs: tuple[PairCheck, ...],
    sheet: tuple[SheetCheck, ...],
    units: Units = Units.MM,
    *,
    openings: tuple[OpeningCheck, ...] = (),
) -> str:
    """What may be said of the body.

    Parameters
    ----------
    status : BodyStatus
    pairs : tuple of PairCheck
    sheet : tuple of SheetCheck
    units : Units
        Of the page.
    openings : tuple of OpeningCheck

    Returns
    -------
    str
    """
    if status is BodyStatus.NOT_CHECKED:
        return (
            "these readings do not check the body: measure diagonals and openings between "
            "undamaged pairs, side against side"
        )
    if status is BodyStatus.TRUE:
        return _true_words(pairs, sheet, openings, units)
    said = [pair_words(pair, units) for pair in pairs if pair.damaged]
    said += [opening_words(check, units) for check in openings if check.racked][:2]
    if len(said) < 3:
        beyond = sorted(_beyond(pairs, sheet, units), reverse=True)
        said += [words for _, words in beyond[: 3 - len(said)]]
    return (
        f"the body may be racked: {'; '.join(said)}. Recheck these, then "
        "pull or replace structure before skin"
    )


def _true_words(
    pairs: tuple[PairCheck, ...],
    sheet: tuple[SheetCheck, ...],
    openings: tuple[OpeningCheck, ...],
    units: Units,
) -> str:
    spreads = [u for pair in pairs for u in pair.u_mm if u is not None]
    spreads += [check.u_mm for check in sheet]
    said = "no pair or given coordinate is off by more than these readings allow"
    if spreads:
        low, high = (show_length(u, units) for u in (min(spreads), max(spreads)))
        said = f"{said} (u {low} to {high})"
    if openings:
        # The one that stands furthest, so that "true" has a number to it.
        worst = max(openings, key=lambda check: abs(check.diagonal_mm))
        said = (
            f"{said}; the diagonals of {_opening(worst)} differ most, by {_diagonal(worst, units)}"
        )
    return said


def _opening(check: OpeningCheck) -> str:
    return f"the opening {' '.join((*check.pair, *check.against))}"


def _diagonal(check: OpeningCheck, units: Units) -> str:
    return show_length_with_u(abs(check.diagonal_mm), check.diagonal_u_mm, units)


def opening_words(check: OpeningCheck, units: Units = Units.MM) -> str:
    """How an opening is racked.

    Parameters
    ----------
    check : OpeningCheck
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "the diagonals of the opening L1 R1 L2 R2 differ by 6.0 ± 1.4 mm: its top stands
        4.9 ± 1.1 mm to the left against its bottom".
    """
    way = "right" if check.lean_mm > 0.0 else "left"
    lean = show_length_with_u(abs(check.lean_mm), check.lean_u_mm, units)
    said = (
        f"the diagonals of {_opening(check)} differ by {_diagonal(check, units)}: its "
        f"{check.ends[0]} stands {lean} to the {way} against its {check.ends[1]}"
    )
    if check.side_mm is None or check.side_u_mm is None:
        return said
    if abs(check.side_mm) <= _LEAST_OFF * check.side_u_mm:
        return said
    side = show_length_with_u(abs(check.side_mm), check.side_u_mm, units)
    return f"{said}, and its left side is {side} {'longer' if check.side_mm > 0 else 'shorter'}"


def pair_words(pair: PairCheck, units: Units = Units.MM) -> str:
    """How far a pair that looks damaged is off, and in which direction.

    Parameters
    ----------
    pair : PairCheck
    units : Units
        Of the page.

    Returns
    -------
    str
        Such as "L2 lies 6.1 ± 1.4 mm forward of the mirror image of R2, by the other pairs".
    """
    off = np.array([0.0 if d is None else d for d in pair.off_mm])
    u = np.array([np.inf if u is None else u for u in pair.off_u_mm])
    off = np.where(np.abs(off) > _LEAST_OFF * u, off, 0.0)
    if not off.any():
        return f"{pair.point} and {pair.twin} do not go with the other pairs"
    spread = float(u[int(np.argmax(np.abs(off)))])
    return (
        f"{pair.point} lies {displacement_words(off, units)} (u {show_length(spread, units)}) of "
        f"where the mirror image of {pair.twin} is by the other pairs: one of the two looks damaged"
    )


def _beyond(
    pairs: tuple[PairCheck, ...], sheet: tuple[SheetCheck, ...], units: Units
) -> Iterator[tuple[float, str]]:
    """What is off by more than the readings allow, with its |w|."""
    for pair in pairs:
        for axis, d, u, w in zip("xyz", pair.difference_mm, pair.u_mm, pair.w, strict=True):
            if pair.damaged or d is None or u is None or w is None or abs(w) <= CRITICAL_W:
                continue
            off = show_length_with_u(d, u, units)
            yield abs(w), f"{pair.point} and {pair.twin} differ by {off} in {axis}"
    for check in sheet:
        if abs(check.w) > CRITICAL_W:
            off = show_length_with_u(check.difference_mm, check.u_mm, units)
            yield abs(check.w), f"{check.point} is {off} off its {check.axis}"
