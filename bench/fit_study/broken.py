"""The second study: truths that are other than the repair file says.

Everything is done through the errors of the equations, before the truth is made from them: a bent
skin is a deviation of shape at its points and edges, a racked body a difference of its pairs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from bench.fit_study.ask import Scored, published, score
from bench.fit_study.design import Design
from bench.fit_study.study import many
from bench.fit_study.truth import Spoil, draw, tables
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BOW_MM, RACK_MM, ASYMMETRY = 6.0, 10.0, 4.0


def _rows_after_pairs(plan: Design) -> int:
    return plan.pair_rows + 3 * len(plan.zone.pairs)


def _bow(xyz: Floats, panel: Floats) -> Floats:
    """How far places are bowed out: nothing at both ends of the panel, most in the middle."""
    axis = int(np.argmax(np.ptp(panel, axis=0)))
    low, high = panel[:, axis].min(), panel[:, axis].max()
    share = np.clip((2.0 * xyz[:, axis] - low - high) / (high - low), -1.0, 1.0)
    bow: Floats = BOW_MM * (1.0 - share**2)
    return bow


def bent_skin(plan: Design, noise: Floats, random: np.random.Generator) -> Floats:
    """The skin is bowed out of its surface between its ends, by 6 mm in the middle."""
    noise = noise.copy()
    out = np.mean([flange.normal for flange in plan.zone.flanges], axis=0)
    out = out / np.linalg.norm(out) * random.choice([-1.0, 1.0])
    panel = np.array(list(plan.zone.panel.values()))
    shape = (_bow(panel, panel)[:, None] * out).ravel()
    first = _rows_after_pairs(plan)
    noise[first : first + len(shape)] -= shape
    rows = plan.rows
    bow = _bow(plan.layout.places, panel)[rows.displaced[:, 1]]
    noise[rows.displaced[:, 0]] += bow * (rows.towards @ out)
    return noise


def asymmetric(plan: Design, noise: Floats, _random: np.random.Generator) -> Floats:
    """Left and right, or panel and sheet, differ four times as much as the file says."""
    noise = noise.copy()
    noise[plan.pair_rows : -2] *= ASYMMETRY
    return noise


def racked(plan: Design, noise: Floats, _random: np.random.Generator) -> Floats:
    """The damaged side of the body is 10 mm further back than the other."""
    noise = noise.copy()
    noise[plan.pair_rows : _rows_after_pairs(plan) : 3] -= RACK_MM
    return noise


def unsteady(times: float, plan: Design, noise: Floats, _random: np.random.Generator) -> Floats:
    """Every number read errs so many times as much as its tool's uncertainty says."""
    noise = noise.copy()
    noise[plan.numeric] *= times
    return noise


def compared(plan: Design, noise: Floats, random: np.random.Generator) -> Floats:
    """Each comparison is the difference of two readings of the tape, not one reading."""
    noise = noise.copy()
    for entry in plan.entries:
        for name, row in entry.components:
            if name == "compare":
                noise[row] += random.normal(0.0, plan.rows.sigma[row])
    return noise


def _nothing(_plan: Design, noise: Floats, _random: np.random.Generator) -> Floats:
    return noise


@dataclass(frozen=True)
class Break:
    """A way in which the truth is other than the file says."""

    spoil: Spoil = _nothing
    rounding: str = "exact"
    """What readings are rounded to without a word of it."""


BREAKS = {
    "nothing, for comparison": Break(),
    "skin bowed by 6 mm": Break(bent_skin),
    "sides, or panel and sheet, differ 4 × as much": Break(asymmetric),
    "damaged side of the body 10 mm further back": Break(racked),
    "tools 2 × as unsure as told": Break(partial(unsteady, 2.0)),
    "tools 0.5 × as unsure as told": Break(partial(unsteady, 0.5)),
    "comparisons are two readings each": Break(compared),
    "rounded to 1 mm, resolution not told": Break(rounding="1 mm"),
    "rounded to 1/16 in, resolution not told": Break(rounding="1/16 in"),
}


@dataclass(frozen=True)
class Degraded:
    """One answer to a repair whose file is wrong about it."""

    broken: str
    scored: Scored | None


def one(number: int, *, seed: int) -> list[Degraded]:
    """Break one repair in every way."""
    found = []
    for k, (name, wrong) in enumerate(BREAKS.items()):
        random = np.random.default_rng([seed, number, k + 1])
        case = draw(random, number, wrong.spoil)
        observed = case.true + case.noise
        document = tables(case, wrong.rounding, observed, random, tells_step=False)
        found.append(Degraded(name, score(case, published(document))))
    return found


def second(count: int, seed: int, jobs: int) -> list[Degraded]:
    """The second study."""
    work: Callable[[int], list[Degraded]] = partial(one, seed=seed)
    return [degraded for group in many(work, count, jobs) for degraded in group]
