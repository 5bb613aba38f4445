"""From trials to the study's figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from bench.fit_study.trial import CONFIDENCE, Misread, Plain
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TENTHS = 10


@dataclass(frozen=True)
class Share:
    """A share with its standard error, clustered by repair."""

    value: float
    error: float
    count: int


def share(groups: Sequence[NDArray[np.bool_] | Floats]) -> Share:
    """Mean over all entries; the entries of one group go together."""
    count = sum(len(group) for group in groups)
    if not count:
        return Share(float("nan"), float("nan"), 0)
    value = sum(float(np.sum(group)) for group in groups) / count
    spread = sum(float(np.sum(np.asarray(group, float) - value)) ** 2 for group in groups)
    return Share(value, float(np.sqrt(spread)) / count, count)


def coverage(plains: Iterable[Plain]) -> dict[str, Share]:
    """How often the truth lies in the 95 % regions."""
    scored = [plain.scored for plain in plains]
    return {
        "shift": share([np.array([s.shift]) for s in scored]),
        "turn": share([np.array([s.turn]) for s in scored]),
        "shift and turn": share([np.array([s.pose]) for s in scored]),
        "point off": share([s.off for s in scored]),
    }


@dataclass(frozen=True)
class Tenth:
    """Points whose p_inside lies in one tenth: said, true, and the difference in its sigma."""

    low: float
    count: int
    said: float
    true: float
    sigmas: float


def tenths(plains: Iterable[Plain]) -> list[Tenth]:
    """Whether points are inside as often as said, by tenths of p_inside."""
    groups = [(plain.scored.p, plain.scored.inside) for plain in plains]
    found = []
    for k in range(TENTHS):
        low = k / TENTHS
        differences, said, true, count = [], 0.0, 0.0, 0
        for p, inside in groups:
            member = (p >= low) & ((p < low + 1.0 / TENTHS) | (k == TENTHS - 1))
            differences.append(float(np.sum(inside[member] - p[member])))
            said += float(p[member].sum())
            true += float(inside[member].sum())
            count += int(member.sum())
        error = float(np.sqrt(np.sum(np.square(differences)))) or 1.0
        n = max(count, 1)
        found.append(Tenth(low, count, said / n, true / n, float(np.sum(differences)) / error))
    return found


@dataclass(frozen=True)
class Decided:
    """Share of points decided, the oracle's, and how often decided verdicts are wrong."""

    own: float
    oracle: float
    inside_wrong: Share
    outside_wrong: Share


def decided(plains: Sequence[Plain]) -> Decided:
    """Compare with an oracle that knows the true covariance."""
    oracle = np.concatenate([plain.oracle for plain in plains])
    verdicts = [np.array(plain.scored.verdicts) for plain in plains]
    every = np.concatenate(verdicts)
    return Decided(
        float(np.mean(every != "undecided")),
        float(np.mean((oracle >= CONFIDENCE) | (oracle <= 1.0 - CONFIDENCE))),
        _wrong(plains, "inside"),
        _wrong(plains, "outside"),
    )


def _wrong(plains: Sequence[Plain], called: str) -> Share:
    groups = []
    for plain in plains:
        member = np.array(plain.scored.verdicts) == called
        inside = plain.scored.inside[member]
        groups.append(~inside if called == "inside" else inside)
    return share(groups)


@dataclass(frozen=True)
class Found:
    """Misreads of one size: |w| above the critical value, by theory; named, by the textbook."""

    times_sigma: float
    count: int
    above: float
    expected: float
    named: float
    textbook: float
    wrongly_inside: float


def found(misreads: Iterable[Misread]) -> list[Found]:
    """How often misreads are found, by size."""
    by_size: dict[float, list[Misread]] = {}
    for one in misreads:
        by_size.setdefault(one.times_sigma, []).append(one)
    return [
        Found(
            size,
            len(group),
            float(np.mean([one.above for one in group])),
            float(np.mean([one.expected for one in group])),
            float(np.mean([one.named for one in group])),
            float(np.mean([one.theory_named for one in group])),
            sum(one.wrongly_inside for one in group) / sum(one.points for one in group),
        )
        for size, group in sorted(by_size.items())
    ]


@dataclass(frozen=True)
class Alarms:
    """False alarms without any misread."""

    w_above: Share
    named: Share
    textbook: Share
    global_test: Share
    body: Share


def alarms(plains: Sequence[Plain]) -> Alarms:
    """How often something is called wrong where nothing is."""
    w = [
        np.concatenate(
            [np.ones(plain.false_alarms), np.zeros(max(plain.checked - plain.false_alarms, 0))]
        )
        for plain in plains
    ]
    return Alarms(
        share(w),
        share([np.array([plain.named > 0]) for plain in plains]),
        share([np.array([plain.theory_named > 0]) for plain in plains]),
        share([np.array([plain.scored.global_ok is False]) for plain in plains]),
        share([np.array([plain.scored.body not in {"true", "not checked"}]) for plain in plains]),
    )
