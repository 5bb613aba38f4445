"""Tables that a repair has once: itself, vehicle, procedure, conditions, shop, symmetry."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from panelwright.facts.models.base import (
    Instant,
    NonNegativeLength,
    PositiveDuration,
    RepairName,
    Table,
)
from panelwright.quantities import Length, Temperature

Day = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
WORKING_WEEK: tuple[Day, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri")


class RepairHeader(Table):
    """`[repair]`: which repair this is."""

    name: RepairName = "repair"
    opened: Instant | None = None
    invented: bool = False
    """True marks a demonstration whose data stand for no real vehicle."""
    promised: Instant | None = None
    note: str | None = None


class Vehicle(Table):
    """`[vehicle]`."""

    label: str = ""
    drive: Literal["combustion", "hybrid", "battery"] | None = None


class Procedure(Table):
    """`[procedure]`: the vehicle maker's procedure that governs this repair."""

    reference: str = ""
    revision: str = ""
    read_on: date | None = None


class Conditions(Table):
    """`[conditions]` of the bay."""

    air: Temperature | None = None
    humidity: Annotated[float, Field(ge=0, le=100)] | None = None
    """Relative humidity, %."""
    panel: Temperature | None = None


class ReadingMinutes(Table):
    """`[shop] minutes`: how long one reading takes, by what it is read with; for the fit."""

    tape: PositiveDuration | None = None
    tram: PositiveDuration | None = None
    caliper: PositiveDuration | None = None
    gauge: PositiveDuration | None = None
    level: PositiveDuration | None = None
    photo: PositiveDuration | None = None
    contact: PositiveDuration | None = None
    locator: PositiveDuration | None = None


class Shop(Table):
    """`[shop]`: its hours and what it has."""

    zone: str = "UTC"
    shift: tuple[str, ...] = ("07:30-12:00", "12:30-16:30")
    days: tuple[Day, ...] = WORKING_WEEK
    technicians: Annotated[int, Field(ge=1, le=50)] = 1
    lamps: Annotated[int, Field(ge=0, le=50)] = 1
    confidence: Annotated[float, Field(gt=0.5, lt=1)] = 0.95
    """Probability that a verdict must reach."""
    minutes: ReadingMinutes = ReadingMinutes()
    bake: Temperature | None = None
    """How warm metal gets in the paint oven."""


class Symmetry(Table):
    """`[symmetry]`: how alike the two sides of the body are, and two vehicles of one build."""

    u: NonNegativeLength = Length.parse("1 mm")
    sister: NonNegativeLength = Length.parse("1 mm")
    """Standard uncertainty by which a point of a sound sister vehicle lies elsewhere, each axis."""
