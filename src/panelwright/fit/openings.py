"""Openings and their diagonals: how far the structure is racked, by the readings alone.

Two pairs make an opening. In a sound body its diagonals are alike, whatever its shape; where they
differ by Δ, one pair stands sideways against the other by s = Δ D / 2 b, with D the mean diagonal
and b the mean width: a shear. Neither the symmetry of the body nor given coordinates may hide that,
so both are left out of the estimate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from math import hypot, sqrt
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from panelwright.fit.body_answer import OpeningCheck
from panelwright.fit.homes import node_now
from panelwright.fit.sketch import Kind, Node

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Point
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.network import Network

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

FALSE_ALARM = 0.001
"""Over all openings of a repair together."""
LARGEST_U_MM = 10.0
"""Differences that the readings know no better than this are not told."""
SMALLEST_MM = 100.0
"""Pairs nearer than this, or narrower, make no opening."""
MOST = 10
_OPEN = 1e-6
_SEEN = 1e-4
"""A quantity is known where no larger share of it lies outside what the equations determine."""
_NOUGHT = 1e-10
"""Columns of the Jacobian below this share of the largest are rounding."""


@dataclass(frozen=True)
class _Local:
    """The network's unknowns by some of its equations, linear about where it was adjusted.

    Parameters
    ----------
    step : array, shape (u,)
    covariance : array, shape (u, u)
    seen : array, shape (r, u)
        Orthonormal directions of the scaled unknowns that these equations determine.
    scale : array, shape (u,)
    among : array of bool, shape (all unknowns,)
        The u unknowns that these equations are about.
    """

    step: Floats
    covariance: Floats
    seen: Floats
    scale: Floats
    among: Flags

    @classmethod
    def of(cls, adjusted: Adjusted, rows: Flags) -> _Local:
        jacobian, residual = adjusted.jacobian[rows], adjusted.residual[rows]
        scale = np.linalg.norm(jacobian, axis=0)
        among = scale > _NOUGHT * scale.max(initial=0.0)
        jacobian, scale = jacobian[:, among], scale[among]
        left, values, right = np.linalg.svd(jacobian / scale, full_matrices=False)
        held = values > _OPEN * values.max(initial=0.0)
        left, values, right = left[:, held], values[held], right[held]
        into = right.T / values / scale[:, None]
        return cls(-into @ (left.T @ residual), into @ into.T, right, scale, among)

    def by_how_much(self, follow: Floats) -> tuple[float, float] | None:
        """Correction of a quantity with derivative `follow`, and its u; None where it is open."""
        outside = float(np.linalg.norm(follow[~self.among]))
        follow = follow[self.among]
        scaled = follow / self.scale
        size = float(np.linalg.norm(scaled))
        beyond = float(np.linalg.norm(scaled - self.seen.T @ (self.seen @ scaled)))
        if size == 0.0 or beyond > _SEEN * size or outside > _SEEN:
            return None
        variance = float(follow @ self.covariance @ follow)
        return float(follow @ self.step), sqrt(max(variance, 0.0))


def opening_checks(network: Network, adjusted: Adjusted, kept: Flags) -> tuple[OpeningCheck, ...]:
    """Diagonals and sides of every opening that the readings tell, largest doubt first.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
        Of the equations that are kept.
    kept : array of bool, shape (m + p,)
        Equations that are kept; readings that do not fit are not.

    Returns
    -------
    tuple of OpeningCheck
        At most ten.
    """
    pairs = list(_pairs(network))
    if len(pairs) < 2:
        return ()
    by_reading = np.ones(len(kept), dtype=bool)
    for row, sketch in enumerate(network.sketches):
        by_reading[row] = sketch.kind is Kind.READING
    # Readings of the body alone: those of a panel that hangs on it tell little and cost much.
    hung = [k for part in network.posed for k in range(part.pose, part.pose + 6)]
    of_body = ~(np.abs(adjusted.jacobian[:, hung]).max(axis=1, initial=0.0) > 0.0)
    local = _Local.of(adjusted, by_reading[kept] & of_body)
    measured = _Measured(network, adjusted, local)
    found = [
        check
        for one, other in combinations(pairs, 2)
        if (check := measured.opening(one, other)) is not None
    ]
    limit = float(ndtri(1.0 - 0.5 * FALSE_ALARM / max(2 * len(found), 1)))
    told = [replace(check, racked=check.w > limit) for check in found]
    return tuple(sorted(told, key=lambda check: -check.w))[:MOST]


def _pairs(network: Network) -> Iterator[tuple[Node, Node]]:
    """Pairs of the body, damaged or not, left point first: the structure is what is asked for."""
    seen: set[frozenset[str]] = set()
    points = network.repair.point_by_id
    for point in network.repair.points:
        twin = points.get(point.twin) if point.twin is not None else None
        if twin is None or twin.id == point.id or frozenset((point.id, twin.id)) in seen:
            continue
        seen.add(frozenset((point.id, twin.id)))
        if point.assumed or twin.assumed or {point.on, twin.on} & network.settings.fitted:
            continue
        one, other = _node(point, network), _node(twin, network)
        if one is not None and other is not None:
            y = [network.rough(node) for node in (one, other)]
            swapped = y[0] is not None and float(y[0][1]) > 0.0
            yield (other, one) if swapped else (one, other)


def _node(point: Point, network: Network) -> Node | None:
    node = node_now(point, network.settings)
    return node if node in network.number else None


class _Measured:
    """Spans of the network by its readings."""

    def __init__(self, network: Network, adjusted: Adjusted, local: _Local) -> None:
        self._network = network
        self._placed = network.geometry.place(adjusted.x)
        self._local = local
        self._sound_u_mm = sqrt(2.0) * network.repair.symmetry.u.mm

    def opening(self, one: tuple[Node, Node], other: tuple[Node, Node]) -> OpeningCheck | None:
        """One opening; None where its diagonals are not told."""
        (a, a_), (b, b_) = (self._at(pair) for pair in (one, other))
        width = 0.5 * float(np.linalg.norm(a - a_) + np.linalg.norm(b - b_))
        apart = 0.5 * (a + a_) - 0.5 * (b + b_)
        if min(width, float(np.linalg.norm(apart))) < SMALLEST_MM:
            return None
        diagonal = self._difference((one[0], other[1]), (one[1], other[0]))
        if diagonal is None:
            return None
        side = self._difference((one[0], other[0]), (one[1], other[1]))
        mean = 0.5 * float(np.linalg.norm(a - b_) + np.linalg.norm(a_ - b))
        # The left point nears the other right one where its pair stands to the right.
        lean = -mean / (2.0 * width)
        axis = int(abs(apart[2]) > abs(apart[0]))
        names = (("front", "rear"), ("bottom", "top"))[axis]
        here = int(apart[2 if axis else 0] > 0.0)
        side_mm, side_u_mm = side or (None, None)
        return OpeningCheck(
            pair=(one[0].id, one[1].id),
            against=(other[0].id, other[1].id),
            diagonal_mm=diagonal[0],
            diagonal_u_mm=diagonal[1],
            lean_mm=lean * diagonal[0],
            lean_u_mm=abs(lean) * diagonal[1],
            side_mm=side_mm,
            side_u_mm=side_u_mm,
            w=max(self._w(d) for d in (diagonal, side) if d is not None),
            racked=False,
            ends=(names[here], names[1 - here]),
        )

    def _at(self, pair: tuple[Node, Node]) -> tuple[Floats, Floats]:
        one, other = (self._placed.xyz[self._network.number[node]] for node in pair)
        return one, other

    def _w(self, found: tuple[float, float]) -> float:
        return abs(found[0]) / hypot(found[1], self._sound_u_mm)

    def _difference(
        self, span: tuple[Node, Node], less: tuple[Node, Node]
    ) -> tuple[float, float] | None:
        """One span less another, and its u [mm]; None where the readings leave it open."""
        value, follow = 0.0, np.zeros(self._network.geometry.size)
        for sign, (p, q) in ((1.0, span), (-1.0, less)):
            i, k = self._network.number[p], self._network.number[q]
            arm = self._placed.xyz[i] - self._placed.xyz[k]
            length = float(np.linalg.norm(arm))
            if length == 0.0:
                return None
            value += sign * length
            follow += sign * (arm / length) @ (self._placed.follow[i] - self._placed.follow[k])
        found = self._local.by_how_much(follow)
        if found is None or found[1] > LARGEST_U_MM:
            return None
        return value + found[0], found[1]
