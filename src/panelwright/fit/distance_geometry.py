"""Places from distances alone: classical scaling of completed distances, then least squares."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import shortest_path

from panelwright.fit.adjust import solve

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

_RESTARTS = 8
_GOLDEN = 0.5 * (5.0**0.5 - 1.0)
_MOST_DENSE = 300
"""More points than this are left as majorisation has them; the network puts them right."""
_STRESS_STEPS = 200
_WELL_MM = 3.0
"""Spans that come out this well, root mean square, need no other try."""


def places_from_distances(count: int, ends: Indices, lengths: Floats) -> Floats:
    """Place points so that their distances come out as given, anywhere and either way round.

    Missing distances are completed by the shortest way through the others, cut by an eighth for
    its bends; classical scaling gives places for these, majorisation of the known distances alone
    and least squares put them right. Where spans stay wrong it is tried again from disturbed
    places, of a fixed sequence.

    Parameters
    ----------
    count : int
        How many points; every one hangs together with every other.
    ends : array of int, shape (m, 2)
        Points of each distance.
    lengths : array, shape (m,)
        Above 0 [mm].

    Returns
    -------
    array, shape (count, 3)
        [mm]

    References
    ----------
    W. S. Torgerson, Multidimensional scaling, Psychometrika 17 (1952) 401-419: classical scaling.
    I. Borg, P. Groenen, Modern Multidimensional Scaling, 2nd ed., 2005, ch. 8: majorisation (both
    from memory).
    """
    if count == 1:
        return np.zeros((1, 3))
    scaled = _classical(_completed(count, ends, lengths))
    best, least = _settled(scaled, ends, lengths)
    size = float(lengths.mean())
    for number in range(_RESTARTS):
        if least <= _WELL_MM:
            break
        tried, rms = _settled(scaled + 0.5 * size * _spread_out(count, number), ends, lengths)
        if rms < least:
            best, least = tried, rms
    return best


def _spread_out(count: int, number: int) -> Floats:
    """Disturbances between −1 and 1 that are the same every time, shape (count, 3)."""
    steps = np.arange(1.0, 3.0 * count + 1.0) + 3.0 * count * number
    shares: Floats = (2.0 * np.modf(steps * _GOLDEN)[0] - 1.0).reshape(count, 3)
    return shares


def _completed(count: int, ends: Indices, lengths: Floats) -> Floats:
    """All distances, those that are not known by the shortest way, shape (count, count) [mm]."""
    known = csr_array((lengths, (ends[:, 0], ends[:, 1])), shape=(count, count))
    whole = shortest_path(known, directed=False)
    whole[np.isinf(whole)] = float(lengths.mean())
    direct = np.zeros((count, count), dtype=bool)
    direct[ends[:, 0], ends[:, 1]] = direct[ends[:, 1], ends[:, 0]] = True
    completed: Floats = np.where(direct, whole, 0.875 * whole)
    return completed


def _classical(distances: Floats) -> Floats:
    """Classical scaling in three dimensions, shape (n, 3)."""
    count = len(distances)
    centre = np.eye(count) - 1.0 / count
    values, axes = np.linalg.eigh(-0.5 * centre @ distances**2 @ centre)
    last = min(3, count)
    places = np.zeros((count, 3))
    places[:, :last] = axes[:, ::-1][:, :last] * np.sqrt(np.maximum(values[::-1][:last], 0.0))
    return places


def _settled(places: Floats, ends: Indices, lengths: Floats) -> tuple[Floats, float]:
    """Majorise, then least squares; places and root mean square of the spans' errors [mm]."""
    a, b = ends[:, 0], ends[:, 1]
    places = _majorised(places, ends, lengths)
    if len(places) > _MOST_DENSE:
        wrong = np.linalg.norm(places[a] - places[b], axis=1) - lengths
        return places, float(np.sqrt(np.mean(wrong**2)))
    rows = np.arange(len(a))

    def evaluate(x: Floats) -> tuple[Floats, Floats]:
        at = x.reshape(-1, 3)
        between = at[a] - at[b]
        size = np.maximum(np.linalg.norm(between, axis=1), 1e-9)
        unit = between / size[:, None]
        jacobian = np.zeros((len(a), len(at), 3))
        jacobian[rows, a] += unit
        jacobian[rows, b] -= unit
        return size - lengths, jacobian.reshape(len(a), -1)

    found = solve(evaluate, places.ravel(), most_iterations=60)
    rms = float(np.sqrt(np.mean(found.residual**2)))
    return found.x.reshape(-1, 3), rms


def _majorised(places: Floats, ends: Indices, lengths: Floats) -> Floats:
    """Lower the sum of squared errors of the known distances step by step, which never fails."""
    a, b = ends[:, 0], ends[:, 1]
    count = len(places)
    weights = np.zeros((count, count))
    np.add.at(weights, (a, b), 1.0)
    np.add.at(weights, (b, a), 1.0)
    laplace = np.diag(weights.sum(axis=1)) - weights
    inverse = np.linalg.pinv(laplace, hermitian=True)
    for _ in range(_STRESS_STEPS):
        between = places[a] - places[b]
        size = np.maximum(np.linalg.norm(between, axis=1), 1e-9)
        pull = between * (lengths / size)[:, None]
        right = np.zeros_like(places)
        np.add.at(right, a, pull)
        np.add.at(right, b, -pull)
        moved = inverse @ right
        if np.abs(moved - places).max() < 1e-3:
            return moved
        places = moved
    return places


def onto(places: Floats, known: Floats) -> tuple[Floats, Floats]:
    """Rotation and shift that lay points onto others best, without mirroring them.

    Parameters
    ----------
    places, known : array, shape (n, 3)
        Points, and where they should come to lie [mm].

    Returns
    -------
    array, shape (3, 3)
        R, for R p + t [1].
    array, shape (3,)
        t [mm]

    References
    ----------
    W. Kabsch, Acta Crystallographica A32 (1976) 922-923 (from memory).
    """
    from_, to = places.mean(axis=0), known.mean(axis=0)
    left, _, right = np.linalg.svd((places - from_).T @ (known - to))
    sign = float(np.sign(np.linalg.det(left @ right))) or 1.0
    turn = (left @ np.diag([1.0, 1.0, sign]) @ right).T
    return turn, to - turn @ from_
