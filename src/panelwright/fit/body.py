"""Whether the body that everything hangs on is itself true."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from panelwright.fit.answer import BodyAnswer, BodyStatus, PairCheck, SheetCheck
from panelwright.fit.sketch import Kind
from panelwright.fit.snooping import CRITICAL_W

if TYPE_CHECKING:
    from collections.abc import Mapping

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
            sheet.append(
                SheetCheck(sketch.about[0], sketch.component, -found[0], found[1], found[2])
            )
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
    beyond = [
        (abs(w), f"{pair.point} and {pair.twin} differ by {d:.1f} mm in {axis}, u {u:.1f} mm")
        for pair in pairs
        for axis, d, u, w in zip("xyz", pair.difference_mm, pair.u_mm, pair.w, strict=True)
        if d is not None and u is not None and w is not None and abs(w) > CRITICAL_W
    ]
    beyond += [
        (abs(c.w), f"{c.point} is {c.difference_mm:.1f} mm off its {c.axis}, u {c.u_mm:.1f} mm")
        for c in sheet
        if abs(c.w) > CRITICAL_W
    ]
    if beyond:
        words = "; ".join(said for _, said in sorted(beyond, reverse=True)[:3])
        return BodyAnswer(
            BodyStatus.RACKED,
            f"the body may be racked: {words}. Recheck these, then pull or replace structure "
            "before skin",
            pairs,
            sheet,
        )
    checked = [u for pair in pairs for u in pair.u_mm if u is not None]
    checked += [check.u_mm for check in sheet]
    if not checked:
        return BodyAnswer(
            BodyStatus.NOT_CHECKED,
            "these readings do not check the body: measure diagonals and openings between "
            "undamaged pairs, side against side",
            pairs,
            sheet,
        )
    return BodyAnswer(
        BodyStatus.TRUE,
        "no pair or given coordinate is off by more than these readings allow "
        f"(u {min(checked):.1f} to {max(checked):.1f} mm)",
        pairs,
        sheet,
    )
