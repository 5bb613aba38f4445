"""What is so of a heating: temperatures, and when the adhesive holds everywhere."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from random import Random

    from bench.heat_study.plate import Course
    from bench.heat_study.world import Heating, World

AFTER_MIN = 30.0
"""After the lamp was switched on."""
STEP_MIN = 10.0
LONGEST_MIN = 60.0 * 24.0 * 60.0
GAS_KJ = 0.008314462618


@dataclass(frozen=True)
class Read:
    """One contact reading as it is written."""

    along_mm: float
    minute: int
    celsius: int


def answers(world: World, course: Course) -> dict[str, float]:
    """The truth of each question: minutes after closing, and °C."""
    coldest = course.row(world.lamp.standings[0].from_min + AFTER_MIN).min()
    return {
        "time to handle": reached(world, course, "handle"),
        "time to full": reached(world, course, "full"),
        "coldest at 30 min": float(coldest),
        "hottest": float(course.celsius.max()),
    }


def reached(world: World, course: Course, event: str) -> float:
    """Minutes after closing at which the joint's slowest place is as old as the sheet asks.

    Age at 23 °C, ∫ exp[−E/R (1/T − 1/T_23)] dt; after the course the joint is as warm as the air.
    """
    wanted = world.adhesive.minutes_23[event]

    def rate(celsius: np.ndarray | float) -> np.ndarray | float:
        colder = 1.0 / (np.asarray(celsius) + 273.15) - 1.0 / 296.15
        return np.exp(-world.adhesive.energy_kJ / GAS_KJ * colder)

    speed = np.asarray(rate(course.celsius))
    step = np.diff(course.minutes)[:, None]
    age = np.vstack([0.0 * speed[:1], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * step, axis=0)])
    slowest = age.min(axis=1)
    if slowest[-1] >= wanted:
        return float(np.interp(wanted, slowest, course.minutes))
    now, minute = float(slowest[-1]), float(course.minutes[-1])
    while minute < LONGEST_MIN:
        gained = STEP_MIN * float(rate(world.air.at(minute + 0.5 * STEP_MIN)))
        if now + gained >= wanted:
            return minute + STEP_MIN * (wanted - now) / gained
        now, minute = now + gained, minute + STEP_MIN
    return math.inf


def readings(found: Heating, course: Course, dice: Random) -> tuple[Read, Read, Read]:
    """Three readings that a technician would take; the first is the one where only one is taken.

    The end that is farthest from the lamp after 15 to 30 min; before the lamp 5 to 15 min later;
    and half-way along to the other end, or there where the lamp was moved to, towards its end.
    """
    told = found.told
    first, last = told.lamp.standings[0], told.lamp.standings[-1]
    length = told.metal.length
    cold = 0.0 if first.along_mm > 0.5 * length else length
    minute = first.from_min + dice.randint(15, 30)
    second = min(minute + dice.randint(5, 15), first.to_min - 1.0)
    third = last.to_min - dice.randint(2, 10)
    away = length - cold if first is last else last.along_mm
    places = (cold, first.along_mm, 0.5 * (first.along_mm + away) if first is last else away)
    taken = [
        _taken(found, course, place, round(when), dice)
        for place, when in zip(places, (minute, second, third), strict=True)
    ]
    return taken[0], taken[1], taken[2]


def _taken(found: Heating, course: Course, place: float, minute: int, dice: Random) -> Read:
    at = minute + dice.uniform(-1.0, 1.0)
    where = min(max(place + dice.uniform(-15.0, 15.0), 0.0), found.told.metal.length)
    true = course.at(at, where)
    low = found.reads_low * (true - found.world.air.at(at))
    shown = true - low + found.thermometer_K + dice.gauss(0.0, 0.7)
    return Read(place, minute, round(shown))
