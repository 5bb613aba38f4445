"""A repair as the rooms see it: what is known now, and what does not fit."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from panelwright.facts.assumed import Assumed, assumed_of, sure, to_start_from
from panelwright.facts.models.bonding import COUNTING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from panelwright.facts.models.adjusting import Adjuster
    from panelwright.facts.models.bonding import (
        Adhesive,
        Event,
        Heating,
        Lamp,
        TemperatureReading,
    )
    from panelwright.facts.models.document import Document
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
    from panelwright.facts.problem import Problem

BODY = "body"
"""The name that a point or a neighbour uses for the body itself."""

T = TypeVar("T", "Part", "Joint", "Point", "Station", "Adhesive", "Lamp")


def _by_id(items: tuple[T, ...]) -> dict[str, T]:
    table: dict[str, T] = {}
    for item in items:
        table.setdefault(item.id, item)
    return table


@dataclass(frozen=True)
class Repair:
    """Everything known about one repair.

    Parts carry the state that the latest finding gave them. `problems` are what does not fit
    together; a room leaves out what a problem touches and answers the rest. Of what is only
    assumed it holds what may be started from; `assumed` keeps it as it was proposed.
    """

    repair: RepairHeader
    vehicle: Vehicle
    procedure: Procedure
    conditions: Conditions
    shop: Shop
    symmetry: Symmetry
    parts: tuple[Part, ...] = ()
    joints: tuple[Joint, ...] = ()
    points: tuple[Point, ...] = ()
    tools: tuple[Tool, ...] = ()
    readings: tuple[Reading, ...] = ()
    stations: tuple[Station, ...] = ()
    contacts: tuple[Contact, ...] = ()
    locators: tuple[Locator, ...] = ()
    blocked: tuple[Blocked, ...] = ()
    sisters: tuple[Sister, ...] = ()
    events: tuple[Event, ...] = ()
    counts: tuple[Event, ...] = ()
    adjusters: tuple[Adjuster, ...] = ()
    adhesives: tuple[Adhesive, ...] = ()
    rivets: tuple[Rivet, ...] = ()
    lamps: tuple[Lamp, ...] = ()
    heatings: tuple[Heating, ...] = ()
    temperatures: tuple[TemperatureReading, ...] = ()
    pads: tuple[Pad, ...] = ()
    steps: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()
    photos: tuple[Photo, ...] = ()
    problems: tuple[Problem, ...] = ()
    assumed: Assumed = field(default_factory=Assumed)

    def __getstate__(self) -> dict[str, object]:
        """What another process is given: the tables, not what was looked up in them meanwhile.

        Other threads look things up while this is written, and a dictionary that grows cannot be.
        """
        return {one.name: getattr(self, one.name) for one in fields(self)}

    @property
    def name(self) -> str:
        """The repair's name."""
        return self.repair.name

    @cached_property
    def part_by_id(self) -> Mapping[str, Part]:
        """Parts by id."""
        return _by_id(self.parts)

    @cached_property
    def joint_by_id(self) -> Mapping[str, Joint]:
        """Joints by id."""
        return _by_id(self.joints)

    @cached_property
    def point_by_id(self) -> Mapping[str, Point]:
        """Points by id."""
        return _by_id(self.points)

    @cached_property
    def adhesive_by_id(self) -> Mapping[str, Adhesive]:
        """Adhesives by id."""
        return _by_id(self.adhesives)

    def is_structural(self, joint: Joint) -> bool:
        """Whether a layer of the joint is structural: nothing is proposed for it."""
        parts = (self.part_by_id.get(layer) for layer in joint.layers)
        return any(part is not None and part.structural for part in parts)

    def adhesive_of(self, joint: Joint) -> Adhesive | None:
        """The adhesive that a joint is remade with.

        The one that the procedure names; where it names none the first declared, as a proposal;
        none on a structural joint, where the maker must be asked.
        """
        named = joint.remake.adhesive if joint.remake else None
        if named is not None:
            return self.adhesive_by_id.get(named)
        if self.is_structural(joint):
            return None
        return self.adhesives[0] if self.adhesives else None


def _found(document: Document) -> tuple[Part, ...]:
    states = {found.part: found.state for found in document.finding if found.state is not None}
    return tuple(
        part.model_copy(update={"state": states[part.id]}) if part.id in states else part
        for part in to_start_from("part", document.part)
    )


def repair_of(document: Document, problems: tuple[Problem, ...] = ()) -> Repair:
    """The repair that a document describes, with its findings applied to the parts."""
    return Repair(
        repair=document.repair,
        vehicle=document.vehicle,
        procedure=document.procedure,
        conditions=document.conditions,
        shop=document.shop,
        symmetry=document.symmetry,
        parts=_found(document),
        joints=to_start_from("joint", document.joint),
        points=to_start_from("point", document.point),
        tools=document.tool,
        readings=document.reading,
        stations=sure(document.station),
        contacts=sure(document.contact),
        locators=sure(document.locator),
        blocked=document.blocked,
        sisters=document.sister,
        events=tuple(event for event in document.event if event.kind not in COUNTING),
        counts=tuple(event for event in document.event if event.kind in COUNTING),
        adjusters=document.adjuster,
        adhesives=document.adhesive,
        rivets=document.rivet,
        lamps=document.lamp,
        heatings=document.heating,
        temperatures=document.temperature,
        pads=document.pad,
        steps=document.step,
        findings=document.finding,
        photos=document.photo,
        problems=problems,
        assumed=assumed_of(document),
    )
