"""Before you cut: the fewest readings by which every point can be judged at the dry fit.

Cutting takes away what can be measured of the old part, and nobody measures the other side once
the new part hangs. From everything that could be read before, readings are chosen one by one: each
time the one that brings the points nearest to the confidence wanted in its time. Then those that
turn out not to be needed are left out again. Whether a point could be judged is `p_best`: the
probability of lying within tolerance if it were exactly home, with what was read before and all
that can be read at the dry fit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from panelwright.fit.at_hand import at_hand, better_tools
from panelwright.fit.before_plan import Plan, plan_of
from panelwright.fit.before_words import cannot_words, reading_before, whole_words
from panelwright.fit.datum import frame_motions
from panelwright.fit.in_doubt import Doubted, of_point
from panelwright.fit.next_answer import BeforeCut, CannotBefore
from panelwright.fit.rotation import cross_matrix
from panelwright.fit.scores import ball_score, box_score
from panelwright.fit.settings import settings_of
from panelwright.fit.still_on import parts_still_on
from panelwright.fit.tools import instruments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.repair import Repair
    from panelwright.fit.next_answer import BeforeReading

    Floats = NDArray[np.float64]
    Chosen = tuple[int, ...]

LOOSE_MM = 50.0
"""How far a point is known beforehand, at least: it stands on the vehicle. Common practice, no
source."""
LOOSE_RAD = 0.05
_FAR = 1e-3
_FREE = 1e-10
_NO_NEARER = 1e-9
_HOME_WORTH = 4.0
"""Score that a point gains by having a home at all: that of one known to nothing."""


@dataclass(frozen=True)
class Wanted:
    """The points that are to be judged, in a plan.

    Parameters
    ----------
    plan : Plan
    points : tuple of Doubted
    base : array, shape (u, u)
        Normal matrix of what is known anyway.
    confidence : float
    """

    plan: Plan
    points: tuple[Doubted, ...]
    base: Floats
    confidence: float

    def covariance(self, chosen: Chosen) -> Floats:
        """Covariance of the unknowns with a choice of readings, shape (u, u)."""
        normal = self.base.copy()
        for k in chosen:
            normal += self.plan.rows[k].T @ self.plan.rows[k]
        scale = 1.0 / np.sqrt(np.diagonal(normal))
        inverse = np.linalg.inv(normal * np.outer(scale, scale))
        covariance: Floats = inverse * np.outer(scale, scale)
        return covariance

    def best(self, chosen: Chosen) -> Floats:
        """`p_best` of every point with a choice of readings, shape (n,)."""
        covariance = self.covariance(chosen)
        return np.array(
            [
                point.probability(point.rows @ covariance @ point.rows.T, at_home=True)
                for point in self.points
            ]
        )

    def judged(self, chosen: Chosen) -> NDArray[np.bool_]:
        """Which points can be judged with a choice of readings, shape (n,)."""
        enough: NDArray[np.bool_] = self.best(chosen) >= self.confidence
        return enough & self.homed(chosen)

    def homed(self, chosen: Chosen) -> NDArray[np.bool_]:
        """Which points have a home with a choice of readings, shape (n,)."""
        return np.array([self.plan.has_home(p.id, chosen) for p in self.points], dtype=bool)

    def all(self) -> Chosen:
        """Every reading."""
        return tuple(range(len(self.plan.what)))

    def minutes(self, chosen: Chosen) -> float:
        """How long a choice of readings takes [min]."""
        return float(sum(self.plan.what[k].minutes for k in chosen))


def before_cut(repair: Repair) -> BeforeCut | None:
    """What to read while the parts that are to come off are still on.

    Parameters
    ----------
    repair : Repair

    Returns
    -------
    BeforeCut or None
        None where every such part is off, or none has a point to be judged.
    """
    parts = parts_still_on(repair, settings_of(repair))
    wanted = wanted_of(repair, parts) if parts else None
    if wanted is None or not wanted.points:
        return None
    can = wanted.judged(wanted.all())
    reached = replace(
        wanted, points=tuple(p for p, ok in zip(wanted.points, can, strict=True) if ok)
    )
    chosen = smallest(reached)
    readings = tuple(_told(reached, chosen, k) for k in chosen)
    cannot = _cannot(repair, parts, wanted, can)
    labels = tuple(
        repair.part_by_id[part].name or part
        for part in dict.fromkeys(p.part for p in wanted.points)
    )
    minutes = wanted.minutes(chosen)
    words = whole_words(labels, len(readings), minutes, len(cannot), len(wanted.points))
    return BeforeCut(parts, minutes, readings, cannot, words)


def wanted_of(repair: Repair, parts: tuple[str, ...], *more_tools: str) -> Wanted | None:
    """The points of some parts in a plan of everything that could be read.

    Parameters
    ----------
    repair : Repair
    parts : tuple of str
    more_tools : str
        Built-in tools to count in although they are not at hand.

    Returns
    -------
    Wanted or None
        None where nothing could be read or no part has a home.
    """
    plan = plan_of(repair, parts, *more_tools)
    if not plan.network.number or not plan.network.geometry.size:
        return None
    return Wanted(plan, tuple(_points(plan, parts)), _base(plan), repair.shop.confidence)


def _points(plan: Plan, parts: tuple[str, ...]) -> list[Doubted]:
    """Every point with home and tolerance, with how its displacement follows its part's pose."""
    network = plan.network
    placed = network.geometry.place(network.start)
    found = []
    for pose, posed in network.latest_poses():
        if pose.part not in parts:
            continue
        homes, c = network.geometry.homes(posed, placed)
        for home, at in zip(pose.points, homes - c, strict=False):
            follow = np.zeros((3, network.geometry.size))
            follow[:, posed.pose : posed.pose + 3] = np.eye(3)
            follow[:, posed.pose + 3 : posed.pose + 6] = -cross_matrix(at[None])[0]
            point = network.repair.point_by_id[home.point]
            one = of_point(pose.part, point, follow, np.zeros(3), None)
            if one is not None:
                found.append(one)
    return found


def _base(plan: Plan) -> Floats:
    """Normal matrix of what is known anyway, nothing further off than a vehicle's points can be."""
    loose = np.full(plan.network.geometry.size, LOOSE_MM)
    for posed in plan.network.posed:
        loose[posed.pose + 3 : posed.pose + 6] = LOOSE_RAD
    held = _held(plan)
    base: Floats = plan.always.T @ plan.always + np.diag(loose**-2.0) + held.T @ held
    return base


def _held(plan: Plan) -> Floats:
    """Constraints in place of motions of the whole body that no reading at all can hold."""
    everything = plan.everything
    scale = np.linalg.norm(everything, axis=0)
    scale[scale == 0.0] = 1.0
    scaled = everything / scale
    values, axes = np.linalg.eigh(scaled.T @ scaled)
    motions = axes[:, values < _FREE] / scale[:, None]
    rigid = frame_motions(plan.network.equations, plan.network.start, plan.network.frame)
    basis, size, _ = np.linalg.svd(rigid, full_matrices=False)
    basis = basis[:, size > _FAR * max(float(size.max(initial=0.0)), _FREE)]
    moved = basis.T @ motions
    left, size, _ = np.linalg.svd(moved, full_matrices=False)
    directions = left[:, size > _FAR * max(float(np.abs(motions).max(initial=0.0)), _FREE)]
    constraints: Floats = (basis @ directions).T / _FAR
    return constraints


def smallest(wanted: Wanted) -> Chosen:
    """Few and quick readings by which every point can be judged, best first.

    Greedy: the optimum is not promised. The tests compare with trying every set.

    Parameters
    ----------
    wanted : Wanted
        Of which every point can be judged once all is read.

    Returns
    -------
    tuple of int
    """
    if not wanted.points:
        return ()
    chosen: Chosen = ()
    while not wanted.judged(chosen).all():
        best = _nearest(wanted, chosen)
        if best is None:
            break
        chosen = (*chosen, best)
    for k in sorted(chosen, key=lambda k: -wanted.plan.what[k].minutes):
        without = tuple(other for other in chosen if other != k)
        if wanted.judged(without).all():
            chosen = without
    return chosen


def _nearest(wanted: Wanted, chosen: Chosen) -> int | None:
    """The reading that brings the points nearest to the confidence, in its time."""
    left = [k for k in wanted.all() if k not in chosen]
    if not left:
        return None
    covariance = wanted.covariance(chosen)
    short = _shortfall(wanted, [p.rows @ covariance @ p.rows.T for p in wanted.points])
    single = [k for k in left if len(wanted.plan.rows[k]) == 1]
    worth = np.full(len(wanted.plan.what), -np.inf)
    if single:
        rows = np.concatenate([wanted.plan.rows[k] for k in single])
        seen = rows @ covariance
        size = np.sqrt(1.0 + np.einsum("ij,ij->i", seen, rows))
        after = []
        for point in wanted.points:
            gain = seen @ point.rows.T / size[:, None]
            known = point.rows @ covariance @ point.rows.T
            after.append(known - gain[:, :, None] * gain[:, None, :])
        worth[single] = short - _shortfall(wanted, after)
    for k in set(left) - set(single):
        with_it = wanted.covariance((*chosen, k))
        worth[k] = short - _shortfall(wanted, [p.rows @ with_it @ p.rows.T for p in wanted.points])
    homeless = ~wanted.homed(chosen)
    for k in left if homeless.any() else ():
        worth[k] += _HOME_WORTH * np.sum(homeless & wanted.homed((k,)))
    worth /= [what.minutes for what in wanted.plan.what]
    best = int(np.argmax(worth))
    return best if worth[best] > _NO_NEARER else None


def _shortfall(wanted: Wanted, covariances: list[Floats]) -> Floats:
    """By how much the points fall short of the confidence's score together, shape (...)."""
    needed = float(ndtri(wanted.confidence)) + 0.05  # the score is approximate
    short = np.zeros(covariances[0].shape[:-2])
    for point, covariance in zip(wanted.points, covariances, strict=True):
        score = ball_score if point.ball else box_score
        home = np.zeros(covariance.shape[:-1])
        short += np.maximum(needed - score(home, covariance), 0.0)
    return short


def _told(wanted: Wanted, chosen: Chosen, reading: int) -> BeforeReading:
    """A chosen reading with what is lost without it."""
    without = tuple(k for k in chosen if k != reading)
    lost = ~wanted.judged(without)
    before, after = wanted.covariance(chosen), wanted.covariance(without)
    losses: list[tuple[str, int | None]] = []
    homed = wanted.homed(without)
    for point, is_lost, has_home in zip(wanted.points, lost, homed, strict=True):
        if not has_home:
            losses.append((point.id, None))
        elif is_lost:
            grown = np.einsum("iu,uv,iv->i", point.follow, after - before, point.follow)
            losses.append((point.id, int(np.argmax(grown))))
    return reading_before(wanted.plan.what[reading], wanted.plan.network.repair, tuple(losses))


def _cannot(
    repair: Repair, parts: tuple[str, ...], wanted: Wanted, can: NDArray[np.bool_]
) -> tuple[CannotBefore, ...]:
    if can.all():
        return ()
    best = wanted.best(wanted.all())
    tools: dict[str, tuple[str, ...]] = {}
    for tool in better_tools(at_hand(repair, instruments(repair))):
        other = wanted_of(repair, parts, tool)
        if other is not None:
            for point, ok in zip(other.points, other.judged(other.all()), strict=True):
                if ok:
                    tools[point.id] = (*tools.get(point.id, ()), tool)
    return tuple(
        CannotBefore(
            point.id,
            float(p),
            tools.get(point.id, ()),
            cannot_words(point.id, tools.get(point.id, ())),
        )
        for point, p, ok in zip(wanted.points, best, can, strict=True)
        if not ok
    )
