"""Adhesives whose truth is known, and the sheets that a maker would print of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from random import Random

COARSE = [1, 2, 3, 4, 5, 10, 15, 20, 30, 45, 60, 90]
COARSE += [60 * h for h in (2, 3, 4, 5, 6, 8, 10, 12, 16, 24, 36, 48, 72, 96, 120, 168)]
TEMPERATURES = (
    (15, 23, 35),
    (23, 60),
    (23, 40),
    (20, 30),
    (10, 20, 30),
    (23, 60, 80),
    (20, 40, 60),
)
MOST_ROWS = 10
KELVIN = 273.15


@dataclass(frozen=True)
class Truth:
    """One adhesive: its energy and its times at 23 °C."""

    energy_kJ: float
    minutes_23: dict[str, float]

    def minutes(self, event: str, celsius: float) -> float:
        """Minutes that it takes at a steady temperature."""
        warmer = 1 / (KELVIN + 23.0) - 1 / (KELVIN + celsius)
        return self.minutes_23[event] / math.exp(self.energy_kJ / 0.008314462618 * warmer)


@dataclass(frozen=True)
class Printed:
    """A sheet: rows of event, °C and minutes, and how it was printed."""

    rows: tuple[tuple[str, int, float], ...]
    style: str


def adhesive(dice: Random) -> Truth:
    """Six in ten are common amine epoxies (50 to 65 kJ/mol), the rest anything from 42 to 78."""
    energy = dice.uniform(50.0, 65.0) if dice.random() < 0.6 else dice.uniform(42.0, 78.0)
    work = math.exp(dice.uniform(math.log(10.0), math.log(120.0)))
    handle = work * dice.uniform(2.0, 6.0)
    return Truth(energy, {"work": work, "handle": handle, "full": handle * dice.uniform(3.0, 10.0)})


def sheet(truth: Truth, dice: Random) -> Printed:
    """Two to ten rows, scattered by the maker's own trials, rounded as sheets round."""
    style = dice.choice(("usual steps", "usual steps", "five minutes", "two figures"))
    scatter = dice.uniform(0.0, 0.12)
    events = dice.sample(["work", "handle", "full"], dice.choice((1, 2, 3, 3)))
    rows = [
        (
            event,
            celsius,
            _rounded(truth.minutes(event, celsius) * dice.lognormvariate(0, scatter), style),
        )
        for celsius in dice.choice(TEMPERATURES)
        for event in events
    ]
    return Printed(tuple(rows[:MOST_ROWS]), style)


def _rounded(minutes: float, style: str) -> float:
    if style == "usual steps":
        return float(min(COARSE, key=lambda step: abs(step - minutes)))
    if style == "five minutes" and minutes >= 10.0:
        return 5.0 * round(minutes / 5.0) if minutes < 180.0 else 30.0 * round(minutes / 30.0)
    return float(f"{minutes:.2g}")
