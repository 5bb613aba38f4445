"""Whether the body that everything hangs on is itself true."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.answer import BodyAnswer, BodyStatus, PairCheck, SheetCheck
from panelwright.fit.sketch import Kind
from panelwright.fit.snooping import CRITICAL_W
from panelwright.quantities import Units, show_length, show_length_with_u

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]

LEAST_CHECK = 0.05
"""Redundancy below which the other readings say next to nothing about a pair or coordinate."""


def body_answer(network: Network, weighted_residual: Floats, redundancy: Floats) -> BodyAnswer:
    """Compare undamaged pairs, and body points with the coordinates given for them.

    Parameters
    ----------
    network : Network
    weighted_residual, redundancy : array, shape (m,)
        Of all equations, in the network's order.

    Returns
    -------
    BodyAnswer
        Differences are what all other readings say: residual / redundancy.
    """
    pairs: dict[tuple[str, ...], dict[str, tuple[float, float, float]]] = {}
    sheet: list[SheetCheck] = []
    for row, sketch in enumerate(network.sketches):
        if sketch.kind is Kind.READING or redundancy[row] < LEAST_CHECK:
            if sketch.kind is Kind.PAIR:
                pairs.setdefault(sketch.about, {})
            continue
        found = _left_out(sketch.spread.u_mm, weighted_residual[row], redundancy[row])
        if sketch.kind is Kind.PAIR:
            pairs.setdefault(sketch.about, {})[sketch.component] = found
        else:
            sheet.append(SheetCheck(sketch.about[0], sketch.component, *found))
    checks = tuple(_pair(about, found) for about, found in pairs.items())
    return _answer(checks, tuple(sheet))


def _left_out(u_mm: float, weighted: float, redundancy: float) -> tuple[float, float, float]:
    """Difference, its u and w, as the other readings have it without this equation."""
    root = float(np.sqrt(redundancy))
    return float(weighted * u_mm / redundancy), u_mm / root, float(weighted / root)


def _pair(about: tuple[str, ...], found: Mapping[str, tuple[float, float, float]]) -> PairCheck:
    point, twin = about
    columns = [tuple(found[a][k] if a in found else None for a in "xyz") for k in range(3)]
    difference, u_mm, w = ((x, y, z) for x, y, z in columns)
    return PairCheck(point, twin, difference, u_mm, w)


def _answer(pairs: tuple[PairCheck, ...], sheet: tuple[SheetCheck, ...]) -> BodyAnswer:
    all_w = [w for pair in pairs for w in pair.w if w is not None]
    all_w += [check.w for check in sheet]
    if not all_w:
        status = BodyStatus.NOT_CHECKED
    elif max(abs(w) for w in all_w) > CRITICAL_W:
        status = BodyStatus.RACKED
    else:
        status = BodyStatus.TRUE
    return BodyAnswer(status, body_words(status, pairs, sheet), pairs, sheet)


def body_words(
    status: BodyStatus,
    pairs: tuple[PairCheck, ...],
    sheet: tuple[SheetCheck, ...],
    units: Units = Units.MM,
) -> str:
    """What may be said of the body.

    Parameters
    ----------
    status : BodyStatus
    pairs : tuple of PairCheck
    sheet : tuple of SheetCheck
    units : Units
        Of the page.

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
        spreads = [u for pair in pairs for u in pair.u_mm if u is not None]
        spreads += [check.u_mm for check in sheet]
        said = "no pair or given coordinate is off by more than these readings allow"
        if not spreads:
            return said
        low, high = (show_length(u, units) for u in (min(spreads), max(spreads)))
        return f"{said} (u {low} to {high})"
    beyond = sorted(_beyond(pairs, sheet, units), reverse=True)[:3]
    return (
        f"the body may be racked: {'; '.join(words for _, words in beyond)}. Recheck these, then "
        "pull or replace structure before skin"
    )


def _beyond(
    pairs: tuple[PairCheck, ...], sheet: tuple[SheetCheck, ...], units: Units
) -> Iterator[tuple[float, str]]:
    """What is off by more than the readings allow, with its |w|."""
    for pair in pairs:
        for axis, d, u, w in zip("xyz", pair.difference_mm, pair.u_mm, pair.w, strict=True):
            if d is not None and u is not None and w is not None and abs(w) > CRITICAL_W:
                off = show_length_with_u(d, u, units)
                yield abs(w), f"{pair.point} and {pair.twin} differ by {off} in {axis}"
    for check in sheet:
        if abs(check.w) > CRITICAL_W:
            off = show_length_with_u(check.difference_mm, check.u_mm, units)
            yield abs(check.w), f"{check.point} is {off} off its {check.axis}"
