"""The study's figures as the page in the docs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from bench.fit_study.ask import Scored
from bench.fit_study.broken import BREAKS, Degraded
from bench.fit_study.figures import (
    Share,
    alarms,
    coverage,
    decided,
    found,
    tenths,
)
from bench.fit_study.trial import Plain, Trial
from bench.fit_study.truth import STEPS_MM

LOW, HIGH = 0.935, 0.965
SIGMAS, LEAST_DECIDED, FOUND_WITHIN = 3.0, 0.90, 0.03


@dataclass(frozen=True)
class Aim:
    """What was to hold, and whether it does."""

    what: str
    measured: str
    holds: bool


def plains_of(trials: Sequence[Trial], rounding: str) -> list[Plain]:
    """All answers that tell of every motion."""
    return [plain for trial in trials if (plain := trial.plain[rounding]) is not None]


def aims(trials: Sequence[Trial]) -> list[Aim]:
    """The aims of the first study, each with its figure."""
    return [aim for rounding in STEPS_MM for aim in _aims(trials, rounding)]


def _aims(trials: Sequence[Trial], rounding: str) -> Iterator[Aim]:
    plains = plains_of(trials, rounding)
    how = "as read" if rounding == "exact" else f"rounded to {rounding}"
    covered = coverage(plains)
    lowest, highest = (f(c.value for c in covered.values()) for f in (min, max))
    yield Aim(
        f"{how}: 95 % regions cover 93.5 to 96.5 %",
        f"{_percent(lowest)} to {_percent(highest)}",
        lowest >= LOW and highest <= HIGH,
    )
    worst = max((tenth for tenth in tenths(plains) if tenth.count), key=lambda t: abs(t.sigmas))
    yield Aim(
        f"{how}: every tenth of p_inside is right within 3 sigma",
        f"{worst.sigmas:+.1f} sigma at most",
        abs(worst.sigmas) <= SIGMAS,
    )
    verdicts = decided(plains)
    yield Aim(
        f"{how}: decides at least 90 % of what an oracle decides",
        _percent(verdicts.own / verdicts.oracle),
        verdicts.own >= LEAST_DECIDED * verdicts.oracle,
    )
    sizes = found(one for trial in trials for one in trial.misread.get(rounding, ()))
    if sizes:
        gap = max((one.above - one.expected for one in sizes), key=abs)
        yield Aim(
            f"{how}: misreads are found at the rate of theory ± 3 %",
            f"{100.0 * gap:+.1f} % at most",
            abs(gap) <= FOUND_WITHIN,
        )


def page(trials: Sequence[Trial], degraded: Sequence[Degraded], heading: dict[str, str]) -> str:
    """The whole page."""
    lines = [*_head(heading), *_aims_table(trials)]
    for rounding in STEPS_MM:
        how = "as read" if rounding == "exact" else f"rounded to {rounding}"
        lines += [f"## Readings {how}", "", *_first(trials, rounding)]
    lines += _second(degraded)
    return "\n".join(lines).rstrip() + "\n"


def _head(heading: dict[str, str]) -> Iterator[str]:
    yield "# Does the fit room keep its word?"
    yield ""
    yield (
        "Made by `./go bench fit_study --write`; do not edit. A simulator with geometry and noise "
        "of its own makes repairs whose truth it knows, over all six starting layouts, both sides, "
        "homes from twin, sheet and before, with random misplacements and random ordinary readings "
        "(spans by tape and tram, comparisons, gaps, flushes, contacts, pins). It hands the repair "
        "file to the package and scores the published answer. Panels lie anywhere alike in a "
        "region that is wide against what the readings leave unsure: `p_inside` takes no place "
        "for likelier than another. Readings that leave a point less sure than 2.5 mm are drawn "
        "anew."
    )
    yield ""
    yield (
        "Tools say to what step they are read (`resolution`): rounding then counts as "
        "resolution/√12 on top of `u`. A comparison is one reading of the difference with the "
        "tool's `u`; whoever takes it as two tape readings must say `u` for the difference (the "
        "last section shows what happens otherwise). Errors after ± are one standard error, "
        "repairs counted as wholes."
    )
    yield ""
    yield from (f"- {key}: {value}" for key, value in heading.items())
    yield ""


def _aims_table(trials: Sequence[Trial]) -> Iterator[str]:
    yield "| aim | measured | holds |"
    yield "| --- | --- | --- |"
    for aim in aims(trials):
        yield f"| {aim.what} | {aim.measured} | {'yes' if aim.holds else '**no**'} |"
    yield ""


def _first(trials: Sequence[Trial], rounding: str) -> Iterator[str]:
    plains = plains_of(trials, rounding)
    yield f"{len(plains)} of {len(trials)} repairs tell of every motion of the panel."
    yield ""
    yield "| 95 % region of | covers |"
    yield "| --- | --- |"
    for name, one in coverage(plains).items():
        yield f"| {name} | {_with_error(one)} |"
    for home in ("twin", "xyz", "before"):
        some = [plain for plain in plains if plain.home == home]
        if some:
            whole = coverage(some)["shift and turn"]
            yield f"| shift and turn, home {home} | {_with_error(whole)} |"
    yield ""
    yield "| p_inside | points | said | truly inside | off by, in sigma |"
    yield "| --- | --- | --- | --- | --- |"
    for tenth in tenths(plains):
        yield (
            f"| {tenth.low:.1f} to {tenth.low + 0.1:.1f} | {tenth.count} | {tenth.said:.3f} | "
            f"{tenth.true:.3f} | {tenth.sigmas:+.1f} |"
        )
    yield ""
    yield from _verdicts(plains)
    yield from _misreads(trials, rounding)


def _verdicts(plains: Sequence[Plain]) -> Iterator[str]:
    verdicts, false = decided(plains), alarms(plains)
    yield "| verdicts and false alarms | measured | theory |"
    yield "| --- | --- | --- |"
    yield f"| points decided | {_percent(verdicts.own)} | oracle {_percent(verdicts.oracle)} |"
    yield f"| called inside, but are not | {_with_error(verdicts.inside_wrong)} | under 5 % |"
    yield f"| called outside, but are inside | {_with_error(verdicts.outside_wrong)} | under 5 % |"
    yield f"| readings with abs(w) over 3.29 | {_with_error(false.w_above, 3)} | 0.1 % |"
    yield (
        f"| repairs with a reading named suspect | {_with_error(false.named)} | "
        f"snooping on the same noise {_percent(false.textbook.value)} |"
    )
    yield f"| global test fails | {_with_error(false.global_test)} | 5 % |"
    yield f"| body called racked | {_with_error(false.body)} | 0.1 % of each check |"
    yield ""


def _misreads(trials: Sequence[Trial], rounding: str) -> Iterator[str]:
    sizes = found(one for trial in trials for one in trial.misread.get(rounding, ()))
    if not sizes:
        return
    yield (
        "One numeric reading of each repair, any of them, wrong by so many of its sigma on top of "
        "its noise. The theory is the normal w-test of that reading. It is *named* only where it "
        "stands out against all others, as in textbook snooping; where another fault explains as "
        "much, the answer says that it cannot be located."
    )
    yield ""
    yield (
        "| misread by | repairs | abs(w) over 3.29 | theory for its redundancy | named | "
        "snooping on the same noise | points wrongly called inside |"
    )
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for one in sizes:
        yield (
            f"| {one.times_sigma:g} sigma | {one.count} | {_percent(one.above)} | "
            f"{_percent(one.expected)} | {_percent(one.named)} | {_percent(one.textbook)} | "
            f"{_percent(one.wrongly_inside)} |"
        )
    yield ""


def _second(degraded: Sequence[Degraded]) -> Iterator[str]:
    yield "## Where the truth is other than the file says"
    yield ""
    yield (
        "*Speaks*: the global test fails high, a reading is named suspect, a shape finding, or the "
        "body is called racked. *Too good*: the global test fails low. Wrong verdicts are counted "
        "among all points of the panel. What speaks is no proof: the answers say what to look at, "
        "and where the global test fails high no point is called inside."
    )
    yield ""
    columns = ["shift and turn covered", "points decided", "wrongly inside", "wrongly outside"]
    columns += [
        "speaks",
        "global test",
        "suspect",
        "shape",
        "body",
        "too good",
        "asks for the resolution",
    ]
    yield f"| what is wrong | repairs | {' | '.join(columns)} |"
    yield "| --- |" + " --- |" * (1 + len(columns))
    for name in BREAKS:
        some = [one.scored for one in degraded if one.broken == name and one.scored is not None]
        if some:
            cells = " | ".join(_percent(float(value)) for value in _broken_row(some))
            yield f"| {name} | {len(some)} | {cells} |"
    yield ""


def _broken_row(some: Sequence[Scored]) -> Iterator[float]:
    verdicts = np.concatenate([np.array(one.verdicts) for one in some])
    inside = np.concatenate([one.inside for one in some])
    yield float(np.mean([one.pose for one in some]))
    yield float(np.mean(verdicts != "undecided"))
    yield float(np.mean((verdicts == "inside") & ~inside))
    yield float(np.mean((verdicts == "outside") & inside))
    yield float(np.mean([one.speaks for one in some]))
    yield float(np.mean([one.global_high for one in some]))
    yield float(np.mean([bool(one.suspects) for one in some]))
    yield float(np.mean([one.shape_finding for one in some]))
    yield float(np.mean([one.body not in {"true", "not checked"} for one in some]))
    yield float(np.mean([one.too_good for one in some]))
    yield float(np.mean([one.asks_resolution for one in some]))


def _percent(value: float) -> str:
    return f"{100.0 * value:.1f} %"


def _with_error(one: Share, digits: int = 1) -> str:
    if not one.count:
        return "–"
    return f"{100.0 * one.value:.{digits}f} ± {100.0 * one.error:.{digits}f} %"
