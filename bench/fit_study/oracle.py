"""What theory says of one repair, by the true covariance and the noise that was drawn.

Everything is linear about the truth: estimate, probabilities, redundancies and the w-test, with
data snooping as the textbooks have it (leave out the largest |w| above the critical value, adjust
again; from memory: W. Baarda, A testing procedure for use in geodetic networks, 1968).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from bench.fit_study.truth import Case, covariance_of, off_slopes
from numpy.typing import NDArray
from scipy.special import ndtr

Floats = NDArray[np.float64]

CRITICAL = 3.2905
"""Two-sided 0.1 % of the normal distribution (from tables)."""
_DRAWS = 4000
_CHECKED, _TIED = 1e-6, 1e-6


@dataclass(frozen=True)
class Theory:
    """Covariance and hat matrix of one repair.

    Parameters
    ----------
    covariance : array, shape (6, 6)
        Of the pose [mm, rad].
    hat : array, shape (m, m)
        Of the weighted equations.
    gain : array, shape (6, m)
        Pose by weighted errors.
    """

    case: Case
    sigma: Floats
    covariance: Floats
    hat: Floats
    gain: Floats

    @property
    def redundancy(self) -> Floats:
        """Of every equation."""
        return 1.0 - np.diagonal(self.hat)

    def w(self, noise: Floats) -> Floats:
        """The w of every equation; 0 where nothing checks it."""
        r = self.redundancy
        left = (np.eye(len(r)) - self.hat) @ (noise / self.sigma)
        return np.where(r > _CHECKED, left / np.sqrt(np.maximum(r, _CHECKED)), 0.0)


def theory_of(case: Case, sigma: Floats) -> Theory:
    """Linear theory at the truth."""
    covariance = covariance_of(case.slopes, sigma)
    weighted = case.slopes / sigma[:, None]
    across = covariance @ weighted.T
    pose = case.design.layout.pose
    return Theory(case, sigma, covariance[pose, pose], weighted @ across, across[pose])


@cache
def _normal() -> Floats:
    half = np.random.default_rng(3).standard_normal((_DRAWS // 2, 3))
    return np.concatenate([half, -half])


def chance_inside(off: Floats, covariance: Floats, tolerance: float | dict[str, float]) -> float:
    """Probability of lying within tolerance, by drawing."""
    values, axes = np.linalg.eigh(covariance)
    drawn = off + (_normal() * np.sqrt(np.maximum(values, 0.0))) @ axes.T
    if isinstance(tolerance, float):
        return float(np.mean((drawn**2).sum(axis=1) <= tolerance**2))
    within = [np.abs(drawn[:, "xyz".index(axis)]) <= limit for axis, limit in tolerance.items()]
    return float(np.mean(np.all(within, axis=0)))


def is_inside(off: Floats, tolerance: float | dict[str, float]) -> bool:
    """Whether a point truly is within tolerance."""
    if isinstance(tolerance, float):
        return bool(np.linalg.norm(off) <= tolerance)
    return all(abs(off["xyz".index(axis)]) <= limit for axis, limit in tolerance.items())


def chances(theory: Theory, noise: Floats) -> Floats:
    """What an oracle with the true covariance says of every point of the panel."""
    case = theory.case
    change = theory.gain @ (noise / theory.sigma)
    follow = off_slopes(case.design, case.state)
    off = case.off + follow @ change
    spread = follow @ theory.covariance @ follow.transpose(0, 2, 1)
    limits = case.design.tolerance.values()
    return np.array([chance_inside(o, c, t) for o, c, t in zip(off, spread, limits, strict=True)])


def found_rate(times_sigma: float, redundancy: float) -> float:
    """How often the w-test of one reading finds an error of so many sigma in it."""
    reach = times_sigma * np.sqrt(max(redundancy, 0.0))
    return float(ndtr(reach - CRITICAL) + ndtr(-reach - CRITICAL))


def snooped(theory: Theory, noise: Floats) -> set[int]:
    """Readings that data snooping names, one after the other."""
    weighted = theory.case.slopes / theory.sigma[:, None]
    error = noise / theory.sigma
    kept = np.ones(len(error), dtype=bool)
    named: set[int] = set()
    scale = np.linalg.norm(weighted, axis=0)
    while True:
        rows = np.flatnonzero(kept)
        left, _ = np.linalg.qr(weighted[rows] / scale)
        r = np.maximum(1.0 - (left**2).sum(axis=1), 0.0)
        residual = error[rows] - left @ (left.T @ error[rows])
        w = np.where(r > _CHECKED, np.abs(residual) / np.sqrt(np.maximum(r, _CHECKED)), 0.0)
        of_readings = np.where(rows < theory.case.design.readings, w, 0.0)
        worst = int(np.argmax(of_readings))
        tied = np.sum(np.abs(w - w[worst]) <= _TIED * w[worst]) > 1
        if of_readings[worst] <= CRITICAL or tied:
            return named
        named.add(int(rows[worst]))
        kept[rows[worst]] = False
