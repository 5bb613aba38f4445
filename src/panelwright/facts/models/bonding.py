"""Adhesive, lamp, temperatures, and the moments that clocks run from."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from panelwright.facts.models.adjusting import AdjusterSet
from panelwright.facts.models.base import (
    Instant,
    Name,
    NonNegativeLength,
    NotNegative,
    Positive,
    PositiveLength,
    Table,
)
from panelwright.quantities import Duration, Length, Power, Stress, Temperature, Volume

Preparation = Literal["hand-abraded", "wet-abrasive-blasted", "sulfuric-chromic etched", "anodised"]
"""Rows of the table ``bonding_window``."""
Surface = Literal["bare", "oxidised", "primed", "painted"]


class AdhesiveTime(Table):
    """`[[adhesive.time]]`: one figure of the data sheet."""

    event: Literal["work", "handle", "full"]
    at: Temperature
    time: Annotated[Duration, Positive]
    strength: Annotated[Stress, Positive] | None = None


class Kinetics(Table):
    """`[adhesive.kinetics]`: published parameters of Kamal's rate law, a second route."""

    a1: Annotated[float, Field(ge=0, le=1e30)] = 0.0
    """1/s."""
    e1: Annotated[float, Field(ge=0, le=300)] = 0.0
    """kJ/mol."""
    a2: Annotated[float, Field(gt=0, le=1e30)]
    """1/s."""
    e2: Annotated[float, Field(gt=0, le=300)]
    """kJ/mol."""
    m: Annotated[float, Field(ge=0, le=5)]
    n: Annotated[float, Field(ge=0, le=5)]
    start: Annotated[float, Field(ge=0, lt=1)] = 0.001
    """Degree of cure at the start."""
    full: Annotated[float, Field(gt=0, lt=1)] = 0.95
    """Degree of cure that counts as full."""
    diffusion: tuple[float, float, float] | None = None
    """C, degree of cure at 0 K, its rise for 1 K."""
    source: Annotated[str, Field(min_length=1)]


class Adhesive(Table):
    """`[[adhesive]]`."""

    id: Name
    name: str | None = None
    kind: str | None = None
    thickness: PositiveLength | None = None
    """Bond line."""
    cartridge: Annotated[Volume, Positive] | None = None
    on_hand: Annotated[int, Field(ge=0)] | None = None
    """Cartridges."""
    batch: str | None = None
    use_by: date | None = None
    limit: Temperature | None = None
    """Highest temperature while curing, by its data sheet."""
    lap_shear: Annotated[Stress, Positive] | None = None
    """At full cure."""
    prepared_within: Annotated[Duration, Positive] | None = None
    """Longest time from preparation to bead, by its data sheet or the procedure."""
    apply: tuple[Temperature, Temperature] | None = None
    """Lowest and highest temperature of the panel at which its data sheet lets it be applied."""
    humidity: Annotated[float, Field(gt=0, le=100)] | None = None
    """Highest relative humidity by its data sheet, %."""
    bake_limit: Temperature | None = None
    source: str | None = None
    kinetics: Kinetics | None = None
    time: tuple[AdhesiveTime, ...] = ()


class Lamp(Table):
    """`[[lamp]]`; everything but its id may be left out."""

    id: Name
    power: Annotated[Power, Positive] | None = None
    radiant: Annotated[float, Field(gt=0, le=1)] | None = None
    """Fraction of the power that leaves the front as radiation."""
    size: tuple[PositiveLength, PositiveLength] | None = None
    half_angle: Annotated[float, Field(ge=10, le=75)] | None = None
    """Degrees off its axis at which it shines half as strongly; left out: evenly (60)."""


class Stay(Table):
    """How long a lamp stands there; counted from when the joint was closed."""

    from_: Annotated[Duration, NotNegative] = Field(alias="from")
    to: Annotated[Duration, NotNegative]


class Heating(Table):
    """`[[heating]]`: a lamp before a joint."""

    joint: Name
    lamp: Name
    distance: Length
    centre: tuple[Length, Length] | None = None
    """Along the joint, across it; left out: the joint's middle."""
    stays: tuple[Stay, ...] = ()
    surface: Surface | None = None
    absorptivity: Annotated[float, Field(gt=0, le=1)] | None = None
    back: Literal["open", "closed"] | None = None
    """Behind the panel: the bay's air, or a closed box."""
    gap: PositiveLength | None = None
    """Air behind the panel in a closed box."""
    lies: Literal["upright", "level"] | None = None


class TemperatureReading(Table):
    """`[[temperature]]`: what a thermometer showed on the joint."""

    joint: Name
    along: NonNegativeLength | None = None
    minute: Annotated[float, Field(ge=0, le=100_000)]
    """After the joint was closed."""
    value: Temperature
    u: Annotated[float, Field(gt=0)] | None = None
    """Standard uncertainty, K."""
    with_: Annotated[Name | None, Field(alias="with")] = None
    """"infrared", "contact", or the thermometer's name."""
    emissivity: Annotated[float, Field(gt=0.01, le=1)] | None = None
    """Set on an infrared thermometer; left out: 0.95."""
    on: Literal["tape", "bare", "oxidised", "primed", "painted"] | None = None
    """What an infrared thermometer looked at; left out: the surface before the lamp."""
    by: str | None = None


EventKind = Literal[
    "moved",
    "prepared",
    "bead-begun",
    "closed",
    "rivets-set",
    "lamp-on",
    "lamp-off",
    "released",
    "done",
    "drilled",
    "set",
    "hung",
    "off",
    "pinned",
]
COUNTING = frozenset({"drilled", "set"})
"""Kinds that count holes drilled and rivets set on a joint, while it is done."""


class Event(Table):
    """`[[event]]`: a moment that something happened."""

    kind: EventKind
    at: Instant | None = None
    joint: Name | None = None
    part: Name | None = None
    setting: Annotated[int, Field(ge=1)] | None = None
    step: Name | None = None
    lamp: Name | None = None
    count: Annotated[int, Field(ge=-500, le=500)] | None = None
    """How many more, with drilled and set; below zero: so many were counted too much."""
    preparation: Preparation | None = None
    """With prepared: how; left out: hand-abraded."""
    adjusted: tuple[AdjusterSet, ...] = ()
    """With moved: where its adjusters stand from then on."""
    by: str | None = None
    note: str | None = None
