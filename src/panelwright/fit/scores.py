"""Scores Φ⁻¹(p) of lying within tolerance, for many places at once.

They are approximate, from three moments or from each direction by itself, and cheap;
`panelwright.fit.probability` has the exact integrals.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtr, ndtri

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FLOOR = 1e-12
"""Least variance, in tolerances squared."""
MOST_SCORE = 8.0
"""Scores beyond it are as sure as can be."""


def ball_score(off: Floats, covariance: Floats) -> Floats:
    """Score Φ⁻¹(p) of lying within distance 1 of the origin, by three moments.

    Parameters
    ----------
    off : array, shape (..., d)
    covariance : array, shape (..., d, d)

    Returns
    -------
    array, shape (...)
        [1]

    References
    ----------
    Jensen and Solomon 1972 (from memory): with θₖ = tr Cᵏ + k·mᵀCᵏ⁻¹m and h = 1 − 2θ₁θ₃/(3θ₂²),
    (Q/θ₁)ʰ is about normal with mean 1 + θ₂h(h − 1)/θ₁² and variance 2θ₂h²/θ₁².
    """
    size = off.shape[-1]
    scores = ball_cloud(off.reshape(-1, 1, size), covariance.reshape(-1, size, size))
    return scores.reshape(off.shape[:-1])


def score_of_moments(t1: Floats, t2: Floats, t3: Floats) -> Floats:
    """The score of `ball_score` from its three moments.

    Parameters
    ----------
    t1, t2, t3 : array
        θ₁, θ₂ and θ₃, all of one shape, in units of the limit [1].

    Returns
    -------
    array
        Of that shape [1].
    """
    t1, t2 = np.maximum(t1, FLOOR), np.maximum(t2, FLOOR**2)
    h = 1.0 - 2.0 * t1 * t3 / (3.0 * t2**2)
    h = np.where(np.abs(h) < 1e-3, np.copysign(1e-3, h), np.clip(h, -3.0, 1.0))
    power = np.exp(np.clip(-h * np.log(t1), -50.0, 50.0))
    score = (power - 1.0 - t2 * h * (h - 1.0) / t1**2) * t1 / (h * np.sqrt(2.0 * t2))
    return np.clip(score, -MOST_SCORE, MOST_SCORE)


def box_score(off: Floats, covariance: Floats) -> Floats:
    """Score of lying within ± 1 in every direction, as if these did not go together.

    Parameters
    ----------
    off : array, shape (..., d)
    covariance : array, shape (..., d, d)

    Returns
    -------
    array, shape (...)
        [1]
    """
    u = np.sqrt(np.maximum(np.einsum("...ii->...i", covariance), FLOOR))
    return score_of_box(off, u)


def score_of_box(off: Floats, u: Floats) -> Floats:
    """Score of lying within ± 1 in every direction by its mean and uncertainty alone.

    Parameters
    ----------
    off, u : array, shape (..., d)
        In tolerances.

    Returns
    -------
    array, shape (...)
        [1]
    """
    inside = np.prod(ndtr((1.0 - off) / u) - ndtr((-1.0 - off) / u), axis=-1)
    score: Floats = np.clip(ndtri(np.clip(inside, 1e-15, 1.0 - 1e-15)), -MOST_SCORE, MOST_SCORE)
    return score


def ball_line(off: Floats, covariance: Floats, gain: Floats, at: Floats) -> Floats:
    """Scores along off + g·ξ with the covariance C − g gᵀ. θ₁, θ₂ and θ₃ are quadratic in ξ.

    Parameters
    ----------
    off, gain : array, shape (p, d)
        In tolerances.
    covariance : array, shape (p, d, d)
    at : array, shape (n,)
        Values of ξ [1].

    Returns
    -------
    array, shape (p, n)
        [1]
    """
    left = covariance - gain[:, :, None] * gain[:, None, :]
    by_off, by_gain = (left @ off[:, :, None])[:, :, 0], (left @ gain[:, :, None])[:, :, 0]
    squared = left @ left
    t1 = _quadratic(
        trace_of(left) + dot_of(off, off), 2.0 * dot_of(gain, off), dot_of(gain, gain), at
    )
    t2 = _quadratic(
        trace_of(squared) + 2.0 * dot_of(by_off, off),
        4.0 * dot_of(by_gain, off),
        2.0 * dot_of(gain, by_gain),
        at,
    )
    t3 = _quadratic(
        np.einsum("cij,cji->c", squared, left) + 3.0 * dot_of(by_off, by_off),
        6.0 * dot_of(by_off, by_gain),
        3.0 * dot_of(by_gain, by_gain),
        at,
    )
    return score_of_moments(t1, t2, t3)


def dot_of(one: Floats, other: Floats) -> Floats:
    """Scalar products over the last axis.

    Parameters
    ----------
    one, other : array, shape (..., d)

    Returns
    -------
    array, shape (...)
    """
    product: Floats = np.einsum("...i,...i->...", one, other)
    return product


def trace_of(matrix: Floats) -> Floats:
    """Traces over the last two axes.

    Parameters
    ----------
    matrix : array, shape (..., d, d)

    Returns
    -------
    array, shape (...)
    """
    total: Floats = np.einsum("...ii->...", matrix)
    return total


def _quadratic(constant: Floats, slope: Floats, bend: Floats, at: Floats) -> Floats:
    value: Floats = (bend[:, None] * at + slope[:, None]) * at + constant[:, None]
    return value


def box_line(off: Floats, covariance: Floats, gain: Floats, at: Floats) -> Floats:
    """Scores along off + g·ξ with the covariance C − g gᵀ. For a tolerance by direction.

    Parameters
    ----------
    off, gain : array, shape (p, d)
        In tolerances.
    covariance : array, shape (p, d, d)
    at : array, shape (n,)
        Values of ξ [1].

    Returns
    -------
    array, shape (p, n)
        [1]
    """
    u = np.sqrt(np.maximum(np.einsum("...ii->...i", covariance) - gain**2, FLOOR))
    return score_of_box(off[:, None] + gain[:, None, :] * at[:, None], u[:, None, :])


def ball_cloud(off: Floats, covariance: Floats) -> Floats:
    """Scores of clouds of places that have one covariance each.

    Parameters
    ----------
    off : array, shape (p, n, d)
        In tolerances.
    covariance : array, shape (p, d, d)

    Returns
    -------
    array, shape (p, n)
        [1]
    """
    squared = covariance @ covariance
    through = off @ covariance
    t1 = trace_of(covariance)[:, None] + dot_of(off, off)
    t2 = trace_of(squared)[:, None] + 2.0 * dot_of(off, through)
    t3 = np.einsum("pij,pji->p", squared, covariance)[:, None] + 3.0 * dot_of(through, through)
    return score_of_moments(t1, t2, t3)
