"""Whether the body that everything hangs on is itself true: structure before skin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.answer import Status
from panelwright.fit.body_answer import BodyAnswer, BodyStatus, OpeningCheck, PairCheck, SheetCheck
from panelwright.fit.body_words import body_words
from panelwright.fit.datum import Adjusted, adjust
from panelwright.fit.doubts import body_groups
from panelwright.fit.openings import opening_checks
from panelwright.fit.sketch import Kind
from panelwright.fit.snooping import CRITICAL_W, redundancy_of
from panelwright.fit.suspects import Suspects
from panelwright.fit.vector import Spread

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

__all__ = ["LEAST_CHECK", "body_answer", "body_words"]

LEAST_CHECK = 0.05
"""Redundancy below which the other readings say next to nothing about a pair or coordinate."""


@dataclass(frozen=True)
class _Judged:
    """The network without the readings that do not fit, all arrays in the network's order.

    Parameters
    ----------
    kept : array of bool, shape (m + p,)
    residual, redundancy : array, shape (m + p,)
        0 where a reading is left out.
    """

    adjusted: Adjusted
    kept: Flags
    residual: Floats
    redundancy: Floats


def body_answer(network: Network, adjusted: Adjusted, suspects: Suspects) -> BodyAnswer:
    """Compare undamaged pairs, openings, and body points with the coordinates given for them.

    A misread length must not make the body look racked: readings that do not fit the rest are left
    out of this question.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
        With all readings.
    suspects : Suspects

    Returns
    -------
    BodyAnswer
        Differences are what all other readings say: residual / redundancy.
    """
    judged = _judged(network, adjusted, suspects)
    pairs: dict[tuple[str, ...], dict[str, tuple[float, float, float]]] = {}
    sheet: list[SheetCheck] = []
    for row, sketch in enumerate(network.sketches):
        if sketch.kind not in (Kind.PAIR, Kind.COORDINATE):
            continue
        if sketch.kind is Kind.PAIR:
            pairs.setdefault(sketch.about, {})
        if judged.redundancy[row] < LEAST_CHECK:
            continue
        found = _left_out(sketch.spread.u_mm, judged.residual[row], judged.redundancy[row])
        if sketch.kind is Kind.PAIR:
            pairs[sketch.about][sketch.component] = found
        else:
            sheet.append(SheetCheck(sketch.about[0], sketch.component, *found))
    damaged = _damaged(network, suspects)
    checks = tuple(
        replace(
            _pair(about, found), damaged=True, off_mm=damaged[about][0], off_u_mm=damaged[about][1]
        )
        if about in damaged
        else _pair(about, found)
        for about, found in pairs.items()
    )
    return _answer(checks, tuple(sheet), opening_checks(network, judged.adjusted, judged.kept))


def _judged(network: Network, adjusted: Adjusted, suspects: Suspects) -> _Judged:
    equations = network.equations
    kept = np.ones(equations.count, dtype=bool)
    kept[sorted(suspects.rows)] = False
    if suspects.rows:
        near = suspects.without.x if suspects.without is not None else adjusted.x
        without = adjust(replace(equations, kept=kept), near, network.frame)
        if without.status is Status.CONVERGED:
            adjusted = without
        else:
            kept = np.ones(equations.count, dtype=bool)
    residual, redundancy = np.zeros(equations.count), np.zeros(equations.count)
    residual[kept], redundancy[kept] = adjusted.residual, redundancy_of(adjusted)
    return _Judged(adjusted, kept, residual, redundancy)


def _damaged(
    network: Network, suspects: Suspects
) -> Mapping[tuple[str, ...], tuple[Spread, Spread]]:
    """Pairs that do not go with the others, and how far they are off without themselves."""
    if suspects.without is None:
        return {}
    groups = body_groups(network)
    found: dict[tuple[str, ...], tuple[Spread, Spread]] = {}
    residual, jacobian = replace(network.equations, kept=None).weighted(suspects.without.x)
    for group in suspects.body:
        first = network.sketches[groups[group][0]]
        if first.kind is not Kind.PAIR:
            continue
        off: list[float | None] = []
        off_u: list[float | None] = []
        for row in groups[group]:
            u_mm, follow = network.sketches[row].spread.u_mm, jacobian[row]
            is_open = bool(suspects.without.leaves_open(follow))
            variance = float(follow @ suspects.without.covariance @ follow)
            off.append(None if is_open else float(residual[row]) * u_mm)
            off_u.append(None if is_open else u_mm * sqrt(max(variance, 0.0)))
        found[first.about] = ((off[0], off[1], off[2]), (off_u[0], off_u[1], off_u[2]))
    return found


def _left_out(u_mm: float, weighted: float, redundancy: float) -> tuple[float, float, float]:
    """Difference, its u and w, as the other readings have it without this equation."""
    root = float(np.sqrt(redundancy))
    return float(weighted * u_mm / redundancy), u_mm / root, float(weighted / root)


def _pair(about: tuple[str, ...], found: Mapping[str, tuple[float, float, float]]) -> PairCheck:
    point, twin = about
    columns = [tuple(found[a][k] if a in found else None for a in "xyz") for k in range(3)]
    difference, u_mm, w = ((x, y, z) for x, y, z in columns)
    return PairCheck(point, twin, difference, u_mm, w)


def _answer(
    pairs: tuple[PairCheck, ...],
    sheet: tuple[SheetCheck, ...],
    openings: tuple[OpeningCheck, ...],
) -> BodyAnswer:
    all_w = [w for pair in pairs for w in pair.w if w is not None]
    all_w += [check.w for check in sheet]
    off = any(pair.damaged for pair in pairs) or any(check.racked for check in openings)
    if not all_w and not openings:
        status = BodyStatus.NOT_CHECKED
    elif off or max((abs(w) for w in all_w), default=0.0) > CRITICAL_W:
        status = BodyStatus.RACKED
    else:
        status = BodyStatus.TRUE
    words = body_words(status, pairs, sheet, openings=openings)
    return BodyAnswer(status, words, pairs, sheet, openings)
