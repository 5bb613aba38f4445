"""The whole repair file, key by key."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from panelwright.facts.models.adjusting import Adjuster
from panelwright.facts.models.base import Table
from panelwright.facts.models.bonding import Adhesive, Event, Heating, Lamp, TemperatureReading
from panelwright.facts.models.geometry import (
    Blocked,
    Contact,
    Locator,
    Point,
    Sister,
    Station,
    Tool,
)
from panelwright.facts.models.header import (
    Conditions,
    Procedure,
    RepairHeader,
    Shop,
    Symmetry,
    Vehicle,
)
from panelwright.facts.models.parts import Finding, Joint, Pad, Part, Photo, Rivet, Step
from panelwright.facts.models.readings import Reading


class Document(Table):
    """One repair file. Every table is optional; each question says what more it needs."""

    format: Literal[1] = 1
    repair: RepairHeader = Field(default_factory=RepairHeader)
    vehicle: Vehicle = Field(default_factory=Vehicle)
    procedure: Procedure = Field(default_factory=Procedure)
    conditions: Conditions = Field(default_factory=Conditions)
    shop: Shop = Field(default_factory=Shop)
    symmetry: Symmetry = Field(default_factory=Symmetry)
    part: tuple[Part, ...] = ()
    joint: tuple[Joint, ...] = ()
    point: tuple[Point, ...] = ()
    tool: tuple[Tool, ...] = ()
    reading: tuple[Reading, ...] = ()
    station: tuple[Station, ...] = ()
    contact: tuple[Contact, ...] = ()
    locator: tuple[Locator, ...] = ()
    blocked: tuple[Blocked, ...] = ()
    sister: tuple[Sister, ...] = ()
    event: tuple[Event, ...] = ()
    adjuster: tuple[Adjuster, ...] = ()
    adhesive: tuple[Adhesive, ...] = ()
    rivet: tuple[Rivet, ...] = ()
    lamp: tuple[Lamp, ...] = ()
    heating: tuple[Heating, ...] = ()
    temperature: tuple[TemperatureReading, ...] = ()
    pad: tuple[Pad, ...] = ()
    step: tuple[Step, ...] = ()
    finding: tuple[Finding, ...] = ()
    photo: tuple[Photo, ...] = ()
