"""One repair of the first study: asked exactly, rounded, and with misreads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from bench.fit_study.ask import Scored, published, score
from bench.fit_study.oracle import CRITICAL, Theory, chances, found_rate, snooped, theory_of
from bench.fit_study.truth import STEPS_MM, Case, rounded, sigma_of, tables
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SIZES = (5.0, 7.0, 10.0)
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Plain:
    """A repair without misread.

    `oracle` holds the oracle's chance of lying inside of every point, `false_alarms` how many
    readings have |w| above the critical value, `named` how many are called suspect and
    `theory_named` how many textbook snooping names in the same noise.
    """

    zone: str
    home: str
    scored: Scored
    oracle: Floats
    false_alarms: int
    checked: int
    named: int
    theory_named: int


@dataclass(frozen=True)
class Misread:
    """A repair with one reading wrong by exactly so many of its sigma."""

    times_sigma: float
    expected: float
    above: bool
    named: bool
    theory_named: bool
    points: int
    wrongly_inside: int


@dataclass(frozen=True)
class Trial:
    """What is kept of one repair; None where the answer left a motion open or did not end."""

    number: int
    plain: dict[str, Plain | None]
    misread: dict[str, list[Misread]]
    """By rounding; repairs take turns in the size."""
    seconds: float


def plain(case: Case, rounding: str, random: np.random.Generator) -> Plain | None:
    """Ask once and compare with what theory says of the same noise."""
    observed = case.true + case.noise
    answer = published(tables(case, rounding, observed, random))
    scored = score(case, answer)
    if scored is None:
        return None
    theory = theory_of(case, sigma_of(case.design, STEPS_MM[rounding]))
    noise = case.noise + _by_rounding(case, observed, STEPS_MM[rounding])
    above = np.abs(np.nan_to_num(scored.w)) > CRITICAL
    return Plain(
        case.design.zone.name,
        case.design.home,
        scored,
        chances(theory, noise),
        int(above.sum()),
        int((scored.redundancy > 1e-6).sum()),
        len(scored.suspects),
        len(snooped(theory, noise)),
    )


def _by_rounding(case: Case, observed: Floats, step_mm: float) -> Floats:
    """What rounding adds to the error of every equation."""
    added = np.zeros(len(observed))
    rows = case.design.numeric
    added[rows] = rounded(observed[rows], step_mm) - observed[rows]
    return added


def misread(
    case: Case, rounding: str, times_sigma: float, random: np.random.Generator
) -> Misread | None:
    """Make one reading wrong by so many of its sigma and ask again."""
    step_mm = STEPS_MM[rounding]
    theory = theory_of(case, sigma_of(case.design, step_mm))
    row = int(random.choice(case.design.numeric))
    noise = case.noise.copy()
    noise[row] += float(random.choice([-1.0, 1.0])) * times_sigma * theory.sigma[row]
    observed = case.true + noise
    scored = score(case, published(tables(case, rounding, observed, random)))
    if scored is None:
        return None
    return _found(theory, scored, row, times_sigma, noise + _by_rounding(case, observed, step_mm))


def _found(theory: Theory, scored: Scored, row: int, times_sigma: float, noise: Floats) -> Misread:
    inside = np.array([verdict == "inside" for verdict in scored.verdicts])
    return Misread(
        times_sigma,
        found_rate(times_sigma, float(theory.redundancy[row])),
        bool(abs(np.nan_to_num(scored.w[row])) > CRITICAL),
        row in scored.suspects,
        row in snooped(theory, noise),
        len(inside),
        int((inside & ~scored.inside).sum()),
    )
