"""What adjusters are to bring inside: points, gaps and flushes that have a tolerance."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.fit.adjuster_task import Item
from panelwright.fit.places import neighbour
from panelwright.fit.probability import inside_ball, inside_box
from panelwright.fit.verdicts import judged_axes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Check, Station
    from panelwright.fit.adjuster_scene import Gathered, Scene, Seen
    from panelwright.fit.sketch import Vector

    Floats = NDArray[np.float64]

AXES = "xyz"


@dataclass(frozen=True)
class Judged:
    """Items of one point or station, judged together.

    Parameters
    ----------
    items : tuple of Item
    covariance : array, shape (d, d)
        Of how far off their rows are, in their order [mm²].
    """

    items: tuple[Item, ...]
    covariance: Floats

    def p_inside(self, off_mm: Floats) -> float:
        """Probability of lying within tolerance.

        Parameters
        ----------
        off_mm : array, shape (d,)
            How far off the rows are, in their order.

        Returns
        -------
        float
            0 to 1.
        """
        if len(self.items[0].rows) > 1:
            return inside_ball(off_mm, self.covariance, self.items[0].tolerance_mm)
        half = np.array([item.tolerance_mm for item in self.items])
        return inside_box(off_mm, self.covariance, half)


def items_of(gathered: Gathered, parts: frozenset[str]) -> tuple[Judged, ...]:
    """Everything of a group of parts that has a tolerance and is seen by the readings.

    Parameters
    ----------
    gathered : Gathered
    parts : frozenset of str

    Returns
    -------
    tuple of Judged
        Points part by part, then stations, in the order of the file.
    """
    scene = gathered.scene
    found = [one for part in parts_in_order(scene, parts) for one in _points(gathered, part)]
    for station in scene.network.repair.stations:
        if {station.part, neighbour(station)} & parts and station.part in scene.states:
            found += _station(gathered, station)
    return tuple(found)


def parts_in_order(scene: Scene, parts: frozenset[str]) -> tuple[str, ...]:
    """Parts in the order of the file.

    Parameters
    ----------
    scene : Scene
    parts : frozenset of str

    Returns
    -------
    tuple of str
    """
    return tuple(part.id for part in scene.network.repair.parts if part.id in parts)


def _points(gathered: Gathered, part: str) -> Iterator[Judged]:
    scene = gathered.scene
    state = scene.states[part]
    for k, home in enumerate(state.pose.points):
        tolerance = scene.network.repair.point_by_id[home.point].tolerance
        axes = judged_axes(tolerance)
        judged = [axis for axis, _ in axes] or [0, 1, 2]
        limits = [limit for _, limit in axes]
        if not isinstance(tolerance, AxisTolerance) and tolerance is not None:
            limits = [tolerance.mm]
        if not limits or state.open[k][judged].any():
            continue
        whole = state.follow[k] @ state.covariance @ state.follow[k].T
        covariance, off = whole[np.ix_(judged, judged)], state.off[k][judged]
        rows = tuple(gathered.point(part, k, np.eye(3)[axis]) for axis in judged)
        terms: list[tuple[str, tuple[int, ...], tuple[float, ...]]]
        if axes:
            terms = [
                (AXES[a], (r,), (float(n),)) for a, r, n in zip(judged, rows, off, strict=True)
            ]
            variances = np.diagonal(covariance)
        else:
            terms = [("", rows, (float(off[0]), float(off[1]), float(off[2])))]
            variances = np.linalg.eigvalsh(covariance)[-1:]
        items = tuple(
            Item("point", home.point, part, *term, limit, _floor(variance, limit, scene.confidence))
            for term, limit, variance in zip(terms, limits, variances, strict=True)
        )
        yield Judged(items, covariance)


def _floor(variance: float, tolerance_mm: float, confidence: float) -> float:
    """Ratio up to which one limit alone would be proven kept; from 0."""
    u_mm = float(np.sqrt(max(variance, 0.0)))
    return max(0.0, 1.0 - float(ndtri(confidence)) * u_mm / tolerance_mm)


def _station(gathered: Gathered, station: Station) -> Iterator[Judged]:
    checks: tuple[tuple[str, Check | None, Vector | None], ...] = (
        ("gap", station.gap, station.gap_towards),
        ("flush", station.flush, station.flush_towards),
    )
    found: list[tuple[str, float, Seen]] = []
    for kind, check, towards in checks:
        if check is not None and check.tolerance is not None and towards is not None:
            name = f"station {station.id}"
            seen = gathered.between(name, station.part, neighbour(station), towards)
            found.append((kind, check.tolerance.mm, seen))
    if not found or any(seen.u_mm is None for _, _, seen in found):
        return
    follow = np.array([seen.follow for _, _, seen in found])
    confidence = gathered.scene.confidence
    items = tuple(
        Item(
            kind,
            station.id,
            station.part,
            "",
            (seen.row,),
            (seen.now_mm,),
            limit,
            _floor((seen.u_mm or 0.0) ** 2, limit, confidence),
        )
        for kind, limit, seen in found
    )
    yield Judged(items, follow @ gathered.scene.adjusted.covariance @ follow.T)
