"""Motions of a part that the readings do not show, or show too weakly for its tolerances."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from panelwright.fit.part_answer import Unseen
from panelwright.fit.spread import vector
from panelwright.fit.verdicts import judged_axes
from panelwright.fit.words import LINE, moved_place, unseen_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from panelwright.facts.models.geometry import AxisTolerance
    from panelwright.fit.network import Network
    from panelwright.fit.verdicts import PartState
    from panelwright.quantities import Length

    Floats = NDArray[np.float64]

_NOUGHT = 1e-6


def unseen_motions(state: PartState, network: Network) -> tuple[Unseen, ...]:
    """Motions of a part that nothing holds, then those that are held too weakly.

    Parameters
    ----------
    state : PartState
    network : Network

    Returns
    -------
    tuple of Unseen
        Motions that nothing holds (`u_mm` None) as 1 mm at the place that moves most; weak ones,
        weakest first, as one standard uncertainty.
    """
    k = reach_of(network.repair.shop.confidence)
    scale = metric(state)
    nothing = _span(state.undetermined * scale[:, None])
    found = [_unseen(state, motion / scale, None) for motion in _plain_motions(nothing)]
    weak = _weak(state, network, scale, nothing)
    found += [_unseen(state, motion, k) for motion in weak]
    return tuple(found)


def reach_of(confidence: float) -> float:
    """How many standard uncertainties either way hold a value with some confidence.

    Parameters
    ----------
    confidence : float
        Between 0 and 1 [1].

    Returns
    -------
    float
        Two-sided quantile of the normal distribution [1].

    Examples
    --------
    >>> round(reach_of(0.95), 4)
    1.96
    """
    return float(ndtri(0.5 + 0.5 * confidence))


def metric(state: PartState) -> Floats:
    """Weights that make a turn comparable with a shift: by the radius of the part.

    Parameters
    ----------
    state : PartState

    Returns
    -------
    array, shape (6,)
        1 for a shift [1], the radius for a turn [mm per rad].
    """
    arms = state.home - state.home.mean(axis=0)
    radius = max(float(np.sqrt(np.mean(np.sum(arms**2, axis=1)))), 1.0)
    return np.array([1.0, 1.0, 1.0, radius, radius, radius])


def _span(motions: Floats) -> Floats:
    """Orthonormal rows that span the columns, shape (k, 6)."""
    if not motions.size:
        return np.zeros((0, 6))
    left, values, _ = np.linalg.svd(motions, full_matrices=False)
    rows: Floats = left[:, values > _NOUGHT * max(float(values[0]), _NOUGHT)].T
    return rows


def _plain_motions(span: Floats) -> Floats:
    """The same span, with its motions as near to single shifts and turns as it allows."""
    plain: list[Floats] = []
    rest = span
    while len(rest):
        axis = int(np.argmax(np.sum(rest**2, axis=0)))
        motion = rest.T @ rest[:, axis]
        motion /= np.linalg.norm(motion)
        plain.append(motion)
        left = rest - np.outer(rest @ motion, motion)
        rest = _span(left.T)[: len(rest) - 1]
    return np.array(plain).reshape(-1, 6)


def _weak(state: PartState, network: Network, scale: Floats, nothing: Floats) -> Iterator[Floats]:
    """Principal motions of the pose, one u each, that could exceed a point's tolerance unseen.

    What is free altogether, rows of shape (k, 6), is taken out: it has no uncertainty.
    """
    k = reach_of(network.repair.shop.confidence)
    held = np.eye(6) - nothing.T @ nothing
    values, axes = np.linalg.eigh(held @ (state.covariance * np.outer(scale, scale)) @ held)
    for value, axis in zip(values[::-1], axes.T[::-1], strict=True):
        motion = axis * np.sqrt(max(float(value), 0.0)) / scale
        effects = state.follow @ motion
        for effect, home in zip(effects, state.pose.points, strict=False):
            tolerance = network.repair.point_by_id[home.point].tolerance
            if _exceeds(k * effect, tolerance):
                yield motion
                break


def _exceeds(effect: Floats, tolerance: Length | AxisTolerance | None) -> bool:
    if tolerance is None:
        return False
    axes = judged_axes(tolerance)
    if axes:
        return any(abs(effect[axis]) > limit for axis, limit in axes)
    return bool(np.linalg.norm(effect) > getattr(tolerance, "mm", np.inf))


def _unseen(state: PartState, motion: Floats, k: float | None) -> Unseen:
    """One motion in words; `k` u of it may pass unseen, None where nothing holds it."""
    weak = k is not None
    effects = state.follow @ motion
    sizes = np.linalg.norm(effects, axis=1)
    worst = int(np.argmax(sizes))
    u_mm = float(sizes[worst]) if weak else None
    if not weak and sizes[worst] < _NOUGHT * float(np.linalg.norm(motion * metric(state))):
        return _turn_about_its_places(motion)
    if not weak:
        motion = motion / sizes[worst]
        effects = effects / sizes[worst]
        sizes = sizes / sizes[worst]
    place = moved_place(effects, worst, state.home)
    along = effects[worst] / (sizes[worst] or 1.0)
    reach_mm = k * u_mm if k is not None and u_mm is not None else None
    words = unseen_words(place, along, u_mm, reach_mm=reach_mm)
    return Unseen(
        vector(motion[:3]),
        vector(1e3 * motion[3:]),
        u_mm,
        place,
        vector(along),
        words,
        reach_mm=reach_mm,
        at=_name(state, worst),
    )


def _name(state: PartState, worst: int) -> str:
    """The point or the place that a motion moves most."""
    points = [home.point for home in state.pose.points]
    return [*points, *(node.id for node in state.pose.places)][worst]


def _turn_about_its_places(motion: Floats) -> Unseen:
    """A free turn about the line on which all places of the part lie: 1 mm at 1 m from it."""
    size = float(np.linalg.norm(motion[3:])) or 1.0
    motion = motion / (1e3 * size)
    along = motion[3:] / (float(np.linalg.norm(motion[3:])) or 1.0)
    words = unseen_words(LINE, along, None)
    return Unseen(vector(motion[:3]), vector(1e3 * motion[3:]), None, LINE, vector(along), words)
