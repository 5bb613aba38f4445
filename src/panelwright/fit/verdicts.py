"""How far each point of a part is off, how surely, and whether that is within limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from panelwright.facts.models.geometry import AxisTolerance
from panelwright.fit.part_answer import Direction, HomedPoint, Verdict
from panelwright.fit.probability import inside_ball, inside_box, inside_interval
from panelwright.fit.rotation import cross_matrix, rotation_matrix, turning_jacobian
from panelwright.fit.spread import spread, vector

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import Point
    from panelwright.fit.datum import Adjusted
    from panelwright.fit.geometry import Placed, PosedPart
    from panelwright.fit.network import Network, Pose
    from panelwright.quantities import Length

    Floats = NDArray[np.float64]

SHAPE_FINDING = 3.0
"""A deviation of shape beyond so many of its uncertainties is a finding about panel or twin."""


@dataclass(frozen=True)
class PartState:
    """A part as the adjusted network has it.

    Parameters
    ----------
    home : array, shape (m, 3)
        Of its nodes: points first, then places [mm].
    off : array, shape (m, 3)
        c + R (h − c) + shift − h [mm].
    follow : array, shape (m, 3, 6)
        Derivative of `off` by shift [mm] and turn [rad].
    covariance : array, shape (6, 6)
        Of shift [mm] and turn [rad].
    open : array of bool, shape (m, 3)
        Where a motion that nothing holds reaches.
    undetermined : array, shape (6, k)
        Motions of the pose that nothing holds.
    """

    pose: Pose
    posed: PosedPart
    shift: Floats
    turn: Floats
    home: Floats
    off: Floats
    follow: Floats
    covariance: Floats
    open: NDArray[np.bool_]
    undetermined: Floats


def part_state(
    network: Network, adjusted: Adjusted, placed: Placed, pose: Pose, posed: PosedPart
) -> PartState:
    """Evaluate one pose.

    Parameters
    ----------
    network : Network
    adjusted : Adjusted
    placed : Placed
        The network's nodes there.
    pose : Pose
    posed : PosedPart
        The same pose in numbers.

    Returns
    -------
    PartState
    """
    unknowns = slice(posed.pose, posed.pose + 6)
    shift, turn = adjusted.x[unknowns][:3], adjusted.x[unknowns][3:]
    home, c = network.geometry.homes(posed, placed)
    turned = (home - c) @ rotation_matrix(turn).T
    follow = np.zeros((len(home), 3, 6))
    follow[:, :, :3] = np.eye(3)
    follow[:, :, 3:] = -cross_matrix(turned) @ turning_jacobian(turn)
    whole = np.zeros((len(home), 3, len(adjusted.x)))
    whole[:, :, unknowns] = follow
    return PartState(
        pose,
        posed,
        shift,
        turn,
        home,
        c + turned + shift - home,
        follow,
        adjusted.covariance[unknowns, unknowns],
        adjusted.leaves_open(whole),
        adjusted.undetermined[unknowns],
    )


@dataclass(frozen=True)
class Judge:
    """What turns a probability into a verdict."""

    confidence: float
    may_be_inside: bool
    """False where the readings as a whole disagree."""

    def verdict(self, p_inside: float | None) -> Verdict:
        """Inside, outside, or undecided where neither is sure enough."""
        if p_inside is None:
            return Verdict.UNDECIDED
        if p_inside >= self.confidence:
            return Verdict.INSIDE if self.may_be_inside else Verdict.UNDECIDED
        return Verdict.OUTSIDE if p_inside <= 1.0 - self.confidence else Verdict.UNDECIDED

    def objection(self, p_inside: float | None) -> str:
        """Why a place that looks inside is not called so; empty where nothing speaks against."""
        if p_inside is None or p_inside < self.confidence or self.may_be_inside:
            return ""
        return "the readings disagree among themselves"


def judged_axes(tolerance: Length | AxisTolerance | None) -> tuple[tuple[int, float], ...]:
    """Axes that are judged each by itself, with their tolerance [mm]; none for a distance.

    Parameters
    ----------
    tolerance : Length, AxisTolerance or None

    Returns
    -------
    tuple of (int, float)
        Axis (0, 1, 2) and tolerance [mm].
    """
    if not isinstance(tolerance, AxisTolerance):
        return ()
    by_axis = (tolerance.x, tolerance.y, tolerance.z)
    return tuple((k, limit.mm) for k, limit in enumerate(by_axis) if limit is not None)


def probability_inside(
    off: Floats, covariance: Floats, tolerance: Length | AxisTolerance | None
) -> float | None:
    """Probability that a point lies within its tolerance of home; None where there is none.

    Parameters
    ----------
    off : array, shape (3,)
        Estimate of how far it is off [mm].
    covariance : array, shape (3, 3)
        [mm²]
    tolerance : Length, AxisTolerance or None

    Returns
    -------
    float or None
        0 to 1 [1].
    """
    if tolerance is None:
        return None
    if not isinstance(tolerance, AxisTolerance):
        return inside_ball(off, covariance, tolerance.mm)
    axes = [axis for axis, _ in judged_axes(tolerance)]
    if not axes:
        return None
    half = np.array([limit for _, limit in judged_axes(tolerance)])
    return inside_box(off[axes], covariance[np.ix_(axes, axes)], half)


def judge_points(
    state: PartState, network: Network, adjusted: Adjusted, judge: Judge
) -> tuple[HomedPoint, ...]:
    """Verdicts on all points of a part that have a home.

    Parameters
    ----------
    state : PartState
    network : Network
    adjusted : Adjusted
    judge : Judge

    Returns
    -------
    tuple of HomedPoint
        In the order of the file.
    """
    return tuple(
        _judge_point(state, k, network.repair.point_by_id[home.point], adjusted, judge)
        for k, home in enumerate(state.pose.points)
    )


def _judge_point(
    state: PartState, k: int, point: Point, adjusted: Adjusted, judge: Judge
) -> HomedPoint:
    covariance = state.follow[k] @ state.covariance @ state.follow[k].T
    p_inside = p_best = None
    note = ""
    open_axes = state.open[k] & _is_judged(point.tolerance)
    if point.tolerance is None:
        note = "no tolerance given"
    elif open_axes.any():
        note = "not checked by these readings"
        p_inside = _at_most_inside(state.off[k], covariance, point.tolerance, open_axes, judge)
    else:
        p_inside = probability_inside(state.off[k], covariance, point.tolerance)
        p_best = probability_inside(np.zeros(3), covariance, point.tolerance)
    if p_best is not None and p_best < judge.confidence:
        note = "these readings could not prove it even if it were home"
    shape, finding = _shape(state, k, adjusted)
    return HomedPoint(
        point.id,
        vector(state.off[k]),
        spread(np.diagonal(covariance), state.open[k]),
        shape,
        finding,
        p_inside,
        p_best,
        judge.verdict(p_inside),
        note or judge.objection(p_inside),
        _directions(state.off[k], covariance, state.open[k], point.tolerance, judge),
    )


def _directions(
    off: Floats,
    covariance: Floats,
    open_axes: NDArray[np.bool_],
    tolerance: Length | AxisTolerance | None,
    judge: Judge,
) -> tuple[Direction, ...]:
    """Each axis by itself, against its own tolerance or the whole distance."""
    if tolerance is None:
        return ()
    if isinstance(tolerance, AxisTolerance):
        limits = judged_axes(tolerance)
    else:
        limits = tuple((axis, tolerance.mm) for axis in range(3))
    return tuple(
        direction_of(
            "xyz"[axis],
            float(off[axis]),
            None if open_axes[axis] else float(covariance[axis, axis]),
            limit,
            judge,
        )
        for axis, limit in limits
    )


def direction_of(
    name: str, off_mm: float, variance: float | None, limit_mm: float, judge: Judge
) -> Direction:
    """Judge one direction by itself.

    Parameters
    ----------
    name : str
    off_mm : float
    variance : float or None
        None where the readings leave it open [mm²].
    limit_mm : float
        Tolerance, both ways.
    judge : Judge

    Returns
    -------
    Direction
    """
    p_inside = None
    if variance is not None:
        u_mm = float(np.sqrt(max(variance, 0.0)))
        p_inside = inside_interval(off_mm, u_mm, -limit_mm, limit_mm)
    return Direction(name, p_inside, judge.verdict(p_inside))


def _is_judged(tolerance: Length | AxisTolerance | None) -> NDArray[np.bool_]:
    """Axes on which a tolerance judges, shape (3,); all of them for a distance."""
    if not isinstance(tolerance, AxisTolerance):
        return np.ones(3, dtype=bool)
    return np.isin(np.arange(3), [axis for axis, _ in judged_axes(tolerance)])


def _at_most_inside(
    off: Floats,
    covariance: Floats,
    tolerance: Length | AxisTolerance,
    open_axes: NDArray[np.bool_],
    judge: Judge,
) -> float | None:
    """Probability by the axes that are seen alone, where that is enough to call it outside.

    Whatever the other axes are, the point is no likelier inside than these allow.
    """
    kept = ~open_axes
    most = probability_inside(
        np.where(kept, off, 0.0), np.where(np.outer(kept, kept), covariance, 0.0), tolerance
    )
    return most if judge.verdict(most) is Verdict.OUTSIDE else None


def _shape(state: PartState, k: int, adjusted: Adjusted) -> tuple[tuple[float, float, float], bool]:
    """Deviation of shape at a point, and whether it is more than its part's shape allows."""
    own = state.posed.shape[k]
    e = np.where(own >= 0, adjusted.x[own], 0.0)
    allowed = SHAPE_FINDING * np.array(state.pose.points[k].shape_u_mm)
    return vector(e), bool(np.any((own >= 0) & (np.abs(e) > allowed)))
