"""Heatings as they are, and what a technician would write of them.

Where each range comes from stands in `bench.heat_study.ranges`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.sheet_study.truth import Printed, Truth, adhesive, sheet

if TYPE_CHECKING:
    from random import Random

ABSORBED_W_M2 = (250.0, 1300.0)
"""A lamp that would give its nearest spot less or more than this is not set up so: 1.1 to 1.5
kW/m² absorbed keep a painted panel at 80 °C."""
LIKELY = {"bare": 0.2, "oxidised": 0.3, "primed": 0.7, "painted": 0.6, "black": 0.9}
"""What the simulator's technician would guess of each surface."""
FORWARD = 0.6


@dataclass(frozen=True)
class Standing:
    """A lamp's place along the joint [mm] and its time there, minutes after closing."""

    along_mm: float
    from_min: float
    to_min: float


@dataclass(frozen=True)
class Lamp:
    """As it is, or as it was written: power radiated forward [W], aperture, beam, distance."""

    forward_W: float
    size_mm: tuple[float, float]
    distance_mm: float
    standings: tuple[Standing, ...]
    lobe: float = 1.0
    tilt: float = 0.0
    """Of its axis along the joint [rad]."""
    across_mm: float = 0.0


@dataclass(frozen=True)
class Metal:
    """Sheets and adhesive: thicknesses, widths and reaches in mm, conductivity in W/(m K)."""

    length: float
    overlap: float
    inner: float
    skin: float
    film: float
    conductivity: float = 160.0
    reach_inner: float = 300.0
    reach_skin: float = 300.0
    reach_ends: float = 300.0


@dataclass(frozen=True)
class Air:
    """Of the bay: middle and swing over the day [°C, K], walls beside it, draught, convection."""

    celsius: float
    swing_K: float = 0.0
    phase: float = 0.0
    walls_K: float = 0.0
    draught_m_s: float = 0.0
    height_m: float = 0.6
    convection: float = 1.0

    def at(self, minute: float) -> float:
        """Temperature at a minute after closing [°C]."""
        return self.celsius + self.swing_K * math.sin(2.0 * math.pi * minute / 1440.0 + self.phase)


@dataclass(frozen=True)
class World:
    """All that is so."""

    lamp: Lamp
    absorptivity: float
    emissivity: tuple[float, float]
    """Front and back."""
    metal: Metal
    air: Air
    adhesive: Truth


@dataclass(frozen=True)
class Told:
    """All that is written; the lamp's standings are those that were switched."""

    surface: str
    power_W: float | None
    radiant: float | None
    lamp: Lamp
    metal: Metal
    air_C: int
    sheet: Printed
    late_min: int
    """How much later the lamp was switched on than planned."""


@dataclass(frozen=True)
class Heating:
    """One heating: what is so, what is written, and the thermometer that will be used."""

    world: World
    told: Told
    thermometer_K: float
    reads_low: float


def heating(dice: Random) -> Heating:
    """A heating that a technician would set up."""
    while True:
        found = _drawn(dice)
        told, lamp = found.told, found.world.lamp
        power = (told.power_W or lamp.forward_W / FORWARD) * FORWARD
        nominal = replace(told.lamp, forward_W=power, size_mm=lamp.size_mm)
        low, high = ABSORBED_W_M2
        if low <= LIKELY[told.surface] * on_axis(nominal) <= high:
            return found


def on_axis(lamp: Lamp) -> float:
    """What a diffuse lamp gives to the spot before its middle [W/m²]."""
    x, y = (0.5 * side / lamp.distance_mm for side in lamp.size_mm)
    a, b = math.sqrt(1.0 + x * x), math.sqrt(1.0 + y * y)
    factor = 2.0 / math.pi * (x / a * math.atan(y / a) + y / b * math.atan(x / b))
    return lamp.forward_W / (lamp.size_mm[0] * lamp.size_mm[1] * 1e-6) * factor


def _drawn(dice: Random) -> Heating:
    surface = dice.choice(tuple(LIKELY))
    absorptivity, front = _surface(surface, dice)
    metal, real = _metal(dice)
    lamp, true_lamp, power, radiant, late = _lamp(metal.length, dice)
    read_C = dice.randint(12, 28)
    bay = Air(
        read_C + dice.uniform(-2.5, 2.5),
        dice.uniform(0.0, 1.0),
        dice.uniform(0.0, 2.0 * math.pi),
        dice.uniform(-2.0, 1.0),
        dice.uniform(0.0, 0.4),
        dice.uniform(0.3, 1.2),
        dice.uniform(0.85, 1.2),
    )
    back = dice.uniform(0.85, 0.95) if dice.random() < 0.6 else dice.uniform(0.10, 0.30)
    glue, printed = _sheet(dice)
    return Heating(
        World(true_lamp, absorptivity, (front, back), real, bay, glue),
        Told(surface, power, radiant, lamp, metal, read_C, printed, late),
        dice.uniform(-1.5, 1.5),
        dice.uniform(0.0, 0.05),
    )


def _surface(surface: str, dice: Random) -> tuple[float, float]:
    """Absorptivity for the lamp and emissivity in the long wave."""
    first = dice.random() < 0.5
    if surface == "bare":
        mill = (dice.uniform(0.10, 0.25), dice.uniform(0.05, 0.12))
        return mill if first else (dice.uniform(0.20, 0.35), dice.uniform(0.10, 0.28))
    if surface == "oxidised":
        return dice.uniform(0.20, 0.40), dice.uniform(0.20, 0.30)
    if surface == "primed":
        taken = dice.uniform(0.40, 0.80) if first else dice.uniform(0.70, 0.90)
        return taken, dice.uniform(0.88, 0.95)
    if surface == "painted":
        taken = dice.uniform(0.45, 0.60) if first else dice.uniform(0.40, 0.90)
        return taken, dice.uniform(0.87, 0.95)
    return dice.uniform(0.84, 0.97), dice.uniform(0.87, 0.97)


def _metal(dice: Random) -> tuple[Metal, Metal]:
    """As written and as it is."""
    written = Metal(
        length=10.0 * dice.randint(40, 120),
        overlap=float(dice.randint(15, 25)),
        inner=dice.choice((1.0, 1.2, 1.5)),
        skin=dice.choice((0.8, 0.9, 1.0, 1.2)),
        film=dice.choice((0.2, 0.25, 0.3, 0.5)),
    )
    real = replace(
        written,
        overlap=written.overlap + dice.uniform(-1.0, 1.0),
        inner=written.inner * dice.uniform(0.97, 1.03),
        skin=written.skin * dice.uniform(0.97, 1.03),
        film=written.film * dice.uniform(0.8, 1.3),
        conductivity=dice.uniform(130.0, 200.0),
        reach_inner=dice.uniform(80.0, 400.0),
        reach_skin=dice.uniform(200.0, 600.0),
        reach_ends=dice.uniform(100.0, 500.0),
    )
    return written, real


def _lamp(length: float, dice: Random) -> tuple[Lamp, Lamp, float | None, float | None, int]:
    """As written and as it is, power and share as written, and how late it was switched on."""
    power = 100.0 * round(10.0 * math.exp(dice.uniform(0.0, math.log(3.0))))
    size = dice.choice(((300.0, 100.0), (400.0, 200.0), (500.0, 300.0)))
    forward = dice.uniform(0.80, 0.90) * dice.uniform(0.60, 0.90)
    standings = _standings(length, dice)
    distance = 50.0 * dice.randint(6, 14)
    written = Lamp(power * FORWARD, size, distance, standings)
    off_mm = dice.uniform(-20.0, 20.0)
    real = Lamp(
        power * forward * dice.uniform(0.92, 1.05),
        size,
        distance * dice.uniform(0.94, 1.06),
        tuple(replace(one, along_mm=one.along_mm + off_mm) for one in standings),
        dice.uniform(0.8, 1.6),
        dice.uniform(-0.07, 0.07),
        dice.uniform(-20.0, 20.0),
    )
    share = round(20.0 * forward * dice.uniform(0.85, 1.15)) / 20.0
    known = dice.random()
    return (
        written,
        real,
        power if known < 0.9 else None,
        share if known < 0.45 else None,
        dice.randint(0, 5),
    )


def _standings(length: float, dice: Random) -> tuple[Standing, ...]:
    on = float(dice.randint(5, 25))
    if dice.random() < 1.0 / 3.0:
        stay = float(dice.choice((30, 45, 60, 90)))
        share = dice.uniform(0.15, 0.35)
        first, second = (10.0 * round(0.1 * part * length) for part in (share, 1.0 - share))
        return Standing(first, on, on + stay), Standing(second, on + stay, on + 2.0 * stay)
    where = 10.0 * round(0.1 * length * dice.uniform(0.3, 0.7))
    return (Standing(where, on, on + dice.choice((45, 60, 90, 120, 180))),)


def _sheet(dice: Random) -> tuple[Truth, Printed]:
    """A batch as it is, and the sheet of its kind: two to six rows, handling among them."""
    while True:
        kind = adhesive(dice)
        printed = sheet(kind, dice)
        rows = printed.rows
        if 2 <= len(rows) <= 6 and any(event == "handle" for event, _, _ in rows):
            batch = dice.lognormvariate(0.0, 0.05)
            minutes = {event: batch * time for event, time in kind.minutes_23.items()}
            return replace(kind, minutes_23=minutes), printed
