"""Probability that a normally distributed place lies within its tolerance.

All integrals are done as fixed sums: along the axis in which the place is least certain in closed
form, across the others by Gauss-Legendre nodes. The same input gives the same bits.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_REACH = 8.5
"""Beyond so many standard deviations a normal distribution holds 2e-17."""
_CERTAIN = 1e-9
"""A standard deviation below this share of the tolerance counts as nought."""
_BALL_NODES = 64
_PANEL_NODES = 16
_MOST_CUT = 6
_PANELS = (-_REACH, -4.0, -2.0, 0.0, 2.0, 4.0, _REACH)
"""Ends of panels in standard deviations: 16 nodes to each are exact to about 1e-13."""


@cache
def _legendre(count: int) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def inside_interval(mean: float, u: float, low: float, high: float) -> float:
    """Probability that a normally distributed quantity lies in an interval.

    p = Φ((high − mean)/u) − Φ((low − mean)/u).

    Parameters
    ----------
    mean : float
        Estimate [any unit].
    u : float
        Its standard uncertainty, from 0 [that unit].
    low, high : float
        Tolerance limits; ±infinity for a one-sided tolerance [that unit].

    Returns
    -------
    float
        0 to 1 [1].

    References
    ----------
    JCGM 106:2012, 7.4, formula 17 (from memory).

    Examples
    --------
    The oil's viscosity of JCGM 106:2012, 7.4:

    >>> round(inside_interval(13.6, 1.8, 12.5, 16.3), 2)
    0.66
    """
    if u <= 0.0:
        return float(low <= mean <= high)
    return float(ndtr((high - mean) / u) - ndtr((low - mean) / u))


def inside_ball(mean: Floats, covariance: Floats, radius: float) -> float:
    """Probability that a normally distributed place lies within a distance of the origin.

    Parameters
    ----------
    mean : array, shape (3,)
        Estimate [mm].
    covariance : array, shape (3, 3)
        Positive semi-definite [mm²].
    radius : float
        Above 0 [mm].

    Returns
    -------
    float
        0 to 1; to about 1e-8.

    References
    ----------
    JCGM 106:2012, 7.1, formula 14, for a region in three dimensions (from memory).
    """
    u, m = _principal(mean / radius, covariance / radius**2)
    a, weight_a = _disc_nodes(m[0], u[0], np.ones(1))
    b, weight_b = _disc_nodes(m[1], u[1], np.sqrt(np.maximum(1.0 - a**2, 0.0)))
    half = np.sqrt(np.maximum(1.0 - a[..., None] ** 2 - b**2, 0.0))
    along = _between(-half, half, m[2], u[2])
    return _probability(np.sum(weight_a[..., None] * weight_b * along))


def inside_box(mean: Floats, covariance: Floats, half: Floats) -> float:
    """Probability that a normally distributed place lies within ± `half` on every axis.

    Parameters
    ----------
    mean : array, shape (d,), d = 1 to 3
        Estimate [mm].
    covariance : array, shape (d, d)
        Positive semi-definite [mm²].
    half : array, shape (d,)
        Tolerance of each axis, above 0 [mm].

    Returns
    -------
    float
        0 to 1; to about 1e-8.

    References
    ----------
    JCGM 106:2012, 7.1, formula 14, for a region in several dimensions (from memory).
    """
    if len(mean) == 1:
        spread = float(np.sqrt(covariance[0, 0]))
        return inside_interval(float(mean[0]), spread, -float(half[0]), float(half[0]))
    values, axes = np.linalg.eigh(covariance / np.outer(half, half))
    u = np.where(values > _CERTAIN**2, np.sqrt(np.maximum(values, 0.0)), 0.0)
    axes = axes * half[:, None]
    corners = _in_axes(_corners(half) - mean, half, axes)
    if len(mean) == 2:
        a, weight = _panel_nodes(corners[:, 0], u[0])
        low, high = _chord(mean + a[:, None] * axes[:, 0], half, axes[:, 1])
        return _probability(np.sum(weight * _between(low, high, 0.0, u[1])))
    return _inside_box_3d(mean, half, u, axes, corners)


def _inside_box_3d(mean: Floats, half: Floats, u: Floats, axes: Floats, corners: Floats) -> float:
    a, weight_a = _panel_nodes(corners[:, 0], u[0])
    matters = weight_a > 0.0
    a, weight_a = a[matters], weight_a[matters]
    b, weight_b = _panel_nodes(_crossings(corners, a), u[1])
    centre = mean + a[:, None, None] * axes[:, 0] + b[..., None] * axes[:, 1]
    low, high = _chord(centre, half, axes[:, 2])
    return _probability(np.sum(weight_a[:, None] * weight_b * _between(low, high, 0.0, u[2])))


def _probability(value: float | np.float64) -> float:
    return float(min(max(value, 0.0), 1.0))


def _principal(mean: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Standard deviations along the principal axes, smallest first, and the mean along them."""
    values, axes = np.linalg.eigh(covariance)
    u = np.where(values > _CERTAIN**2, np.sqrt(np.maximum(values, 0.0)), 0.0)
    return u, mean @ axes


def _disc_nodes(m: float, u: float, reach: Floats) -> tuple[Floats, Floats]:
    """Nodes and normal weights within ± reach, shape (..., n); even out the disc's edge.

    The substitution reach·sin t takes the square root at the edge away.
    """
    if u == 0.0:
        within = np.abs(m) <= reach
        return np.where(within, m, 0.0)[..., None], within[..., None].astype(float)
    safe = np.maximum(reach, 1e-300)
    low = np.arcsin(np.clip((m - _REACH * u) / safe, -1.0, 1.0))[..., None]
    high = np.arcsin(np.clip((m + _REACH * u) / safe, -1.0, 1.0))[..., None]
    nodes, weights = _legendre(_BALL_NODES)
    t = 0.5 * (low + high) + 0.5 * (high - low) * nodes
    value = reach[..., None] * np.sin(t)
    density = np.exp(-0.5 * ((value - m) / u) ** 2) / (u * np.sqrt(2.0 * np.pi))
    return value, 0.5 * (high - low) * weights * density * reach[..., None] * np.cos(t)


def _between(low: Floats, high: Floats, m: float, u: float) -> Floats:
    """Probability of lying between two limits along the last axis; 0 where there is no room."""
    if u == 0.0:
        return ((low <= m) & (m <= high)).astype(float)
    share: Floats = np.where(high > low, ndtr((high - m) / u) - ndtr((low - m) / u), 0.0)
    return share


def _panel_nodes(breaks: Floats, u: float) -> tuple[Floats, Floats]:
    """Nodes and normal weights about 0, in panels that end where the integrand has a kink.

    Breaks have shape (..., k), the answers (..., n); breaks beyond reach make panels of width 0.
    """
    if u == 0.0:
        return np.zeros((*breaks.shape[:-1], 1)), np.ones((*breaks.shape[:-1], 1))
    always = np.broadcast_to(u * np.array(_PANELS), (*breaks.shape[:-1], len(_PANELS)))
    ends = np.concatenate([np.clip(breaks, -_REACH * u, _REACH * u), always], axis=-1)
    ends.sort(axis=-1)
    nodes, weights = _legendre(_PANEL_NODES)
    middle, half = 0.5 * (ends[..., 1:] + ends[..., :-1]), 0.5 * np.diff(ends, axis=-1)
    value = (middle[..., None] + half[..., None] * nodes).reshape(*breaks.shape[:-1], -1)
    density = np.exp(-0.5 * (value / u) ** 2) / (u * np.sqrt(2.0 * np.pi))
    return value, (half[..., None] * weights).reshape(value.shape) * density


def _corners(half: Floats) -> Floats:
    """Corners of the box, shape (2^d, d)."""
    signs = np.array(np.meshgrid(*[(-1.0, 1.0)] * len(half), indexing="ij"))
    corners: Floats = signs.reshape(len(half), -1).T * half
    return corners


def _in_axes(offsets: Floats, half: Floats, axes: Floats) -> Floats:
    """Coordinates along the principal axes, which are orthonormal in units of `half`."""
    along: Floats = (offsets / half) @ (axes / half[:, None])
    return along


@cache
def _edges() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Corners at both ends of the twelve edges of a box: those that differ in one sign."""
    pairs = [(i, j) for i, j in combinations(range(8), 2) if (i ^ j) & ((i ^ j) - 1) == 0]
    one, other = np.array(pairs, dtype=np.intp).T
    return one, other


def _crossings(corners: Floats, at: Floats) -> Floats:
    """Second coordinates where the box's edges cross planes of first coordinate `at`.

    Shape (n,) to (n, 6): a plane cuts a box in six edges at most; −infinity stands for none.
    """
    one, other = _edges()
    low, high = corners[one, 0], corners[other, 0]
    crosses = (low - at[:, None]) * (high - at[:, None]) < 0.0
    share = (at[:, None] - low) / np.where(high != low, high - low, 1.0)
    place = corners[one, 1] + share * (corners[other, 1] - corners[one, 1])
    found: Floats = np.sort(np.where(crosses, place, -np.inf), axis=1)[:, -_MOST_CUT:]
    return found


def _chord(centre: Floats, half: Floats, along: Floats) -> tuple[Floats, Floats]:
    """Where lines centre + t·along enter and leave the box; centre (..., d), t shape (...)."""
    steep = np.abs(along) > 1e-14 * half
    low = np.full(centre.shape[:-1], -np.inf)
    high = np.full(centre.shape[:-1], np.inf)
    for axis, limit in enumerate(half):
        place = centre[..., axis]
        if steep[axis]:
            one, other = (-limit - place) / along[axis], (limit - place) / along[axis]
            np.maximum(low, np.minimum(one, other), out=low)
            np.minimum(high, np.maximum(one, other), out=high)
        else:
            beside = np.abs(place) > limit
            low[beside], high[beside] = np.inf, -np.inf
    return low, high
