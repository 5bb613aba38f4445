"""Ask the package about each heating, before and after readings, and look where the truth lies."""

from __future__ import annotations

import math
import multiprocessing
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from random import Random
from typing import TypeVar

from bench.heat_study.ask import Asked, ask
from bench.heat_study.plate import course
from bench.heat_study.truth import AFTER_MIN, answers, readings
from bench.heat_study.world import Heating, Standing, Told, World, heating

STATED = {"80 %": (1, 3), "95 %": (0, 4)}
"""Each band's ends among the quantiles 2.5, 10, 50, 90 and 97.5 %."""
QUESTIONS = ("time to handle", "time to full", "coldest at 30 min", "hottest")
READINGS = (0, 1, 3)
BROKEN = ("lamp moved, not recorded", "wrong surface named", "air 8 K off")
MISTAKEN = {
    "bare": "painted",
    "oxidised": "primed",
    "primed": "bare",
    "painted": "oxidised",
    "black": "bare",
}

T = TypeVar("T")


@dataclass(frozen=True)
class Trial:
    """One heating asked.

    Parameters
    ----------
    groups : tuple of str
        What it is one of.
    truth : dict
        By question.
    asked : tuple of Asked
        After none, one and three readings.
    """

    groups: tuple[str, ...]
    truth: dict[str, float]
    asked: tuple[Asked, ...]


@dataclass(frozen=True)
class Count:
    """How often of n something was so."""

    n: int
    times: int

    @property
    def rate(self) -> float:
        """Share."""
        return self.times / self.n if self.n else math.nan

    def u(self, stated: float) -> float:
        """Standard uncertainty of the share, were it the stated one (binomial)."""
        return math.sqrt(stated * (1.0 - stated) / self.n) if self.n else math.nan

    def holds(self, stated: float) -> bool:
        """Within three standard uncertainties of what is stated, or 1 %."""
        return abs(self.rate - stated) <= max(3.0 * self.u(stated), 0.01)


def count(marks: Iterable[bool]) -> Count:
    """Of marks."""
    every = list(marks)
    return Count(len(every), sum(every))


def truths(trials: Sequence[Trial], question: str, stage: int) -> list[tuple[float, Asked]]:
    """Truth and answer of all heatings in which a question was answered."""
    return [
        (one.truth[question], one.asked[stage])
        for one in trials
        if question in one.asked[stage].bands
    ]


def inside(trials: Sequence[Trial], question: str, stage: int, stated: str) -> Count:
    """How often the truth lay in a band."""
    low, high = STATED[stated]
    pairs = truths(trials, question, stage)
    return count(a.bands[question][low] <= t <= a.bands[question][high] for t, a in pairs)


def beyond(trials: Sequence[Trial], question: str, stage: int) -> tuple[Count, Count]:
    """How often it lay below the 80 % band, and above it."""
    pairs = truths(trials, question, stage)
    below = count(t < a.bands[question][1] for t, a in pairs)
    return below, count(t > a.bands[question][3] for t, a in pairs)


def many(work: Callable[[int], T], numbers: int, jobs: int) -> list[T]:
    """Do all numbers, several at once."""
    if jobs == 1:
        return [work(number) for number in range(numbers)]
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        return list(pool.imap(work, range(numbers), chunksize=4))


def run(heatings: int, seed: int, jobs: int = 1) -> list[Trial]:
    """Heatings whose world is as the model takes it to be, but for what it does not know."""
    found = many(partial(sound, seed=seed), heatings, jobs)
    return [one for one in found if one is not None]


def run_broken(heatings: int, seed: int, jobs: int = 1) -> list[Trial]:
    """So many of each kind in which something was not as it was written."""
    found = many(partial(broken, seed=seed), heatings * len(BROKEN), jobs)
    return [one for one in found if one is not None]


def sound(number: int, seed: int) -> Trial | None:
    """One heating; None where the package refuses its data sheet."""
    dice = Random(f"heating {seed} {number}")
    return tried(heating(dice), dice, ())


def broken(number: int, seed: int) -> Trial | None:
    """One in which something was not as it was written."""
    dice = Random(f"broken {seed} {number}")
    kind = BROKEN[number % len(BROKEN)]
    found = heating(dice)
    while kind == BROKEN[0] and len(found.told.lamp.standings) > 1:
        found = heating(dice)
    return tried(_spoilt(found, kind, dice), dice, (kind,))


def _spoilt(found: Heating, kind: str, dice: Random) -> Heating:
    world, told = found.world, found.told
    if kind == BROKEN[0]:
        return replace(found, world=_moved(world, told))
    if kind == BROKEN[1]:
        return replace(found, told=replace(told, surface=MISTAKEN[told.surface]))
    off = dice.choice((-8.0, 8.0))
    air = replace(world.air, celsius=told.air_C + off)
    return replace(found, world=replace(world, air=air))


def _moved(world: World, told: Told) -> World:
    """The lamp stands after 20 min where nobody wrote that it stands."""
    (one,) = world.lamp.standings
    then = one.from_min + 20.0
    there = 0.15 if one.along_mm > 0.5 * told.metal.length else 0.85
    second = Standing(there * told.metal.length, then, one.to_min)
    return replace(world, lamp=replace(world.lamp, standings=(replace(one, to_min=then), second)))


def tried(found: Heating, dice: Random, groups: tuple[str, ...]) -> Trial | None:
    """Simulate a heating, take its readings and ask."""
    world, told = found.world, found.told
    path = course(world)
    taken = readings(found, path, dice)
    after = told.lamp.standings[0].from_min + AFTER_MIN
    asked = []
    for number in READINGS:
        said = ask(told, taken[:number], after)
        if said is None:
            return None
        asked.append(said)
    return Trial((*groups, *_groups(told)), answers(world, path), tuple(asked))


def _groups(told: Told) -> tuple[str, ...]:
    moved = "moved" if len(told.lamp.standings) > 1 else "not moved"
    if told.power_W is None:
        known = "nothing"
    elif told.radiant is None:
        known = "power and size"
    else:
        known = "power, size and share"
    return f"surface {told.surface}", f"lamp {moved}", f"of the lamp is written: {known}"
